"""One key for a unit's condition: the form that fits what it is."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from stockroom.core.model import Lot, Material, Unit
from stockroom.desk.lookup import find
from stockroom.errors import RefusedError

if TYPE_CHECKING:
    from stockroom.desk.session import Desk
    from tui.forms import Form
    from tui.words import Target

_FORM_OF = {
    "paper": ("white", "patch_form"),
    "film": ("faces", "fault_form"),
    "sheet": ("faces", "surface_form"),
    "board": ("faces", "surface_form"),
}


def examine_form(desk: "Desk", target: "Target") -> "Form":
    """Return the form for a unit's condition: white of paper, faults of film, faces of sheets.

    Raises
    ------
    RefusedError
        Where there is nothing to examine.
    """
    with desk.reading() as view:
        unit = find(view, Unit, target.about)
        family = find(view, Material, find(view, Lot, unit.lot).material).family
    if family not in _FORM_OF:
        raise RefusedError(
            f"{unit.code} has no condition to write down.",
            "Papers, films, sheets and boards have.",
            "Count it with c, or hold it with w.",
        )
    module, name = _FORM_OF[family]
    build: Any = getattr(import_module(f"tui.screens.{module}"), name)
    form: Form = build(desk, target)
    return form
