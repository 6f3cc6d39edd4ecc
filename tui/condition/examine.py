"""One key for a unit's condition: the form that fits what it is."""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from stockroom.core.model import Unit
from stockroom.desk.lookup import find, material_of
from stockroom.errors import RefusedError

if TYPE_CHECKING:
    from stockroom.desk.session import Desk
    from tui.forms import Form
    from tui.words import Target

_FORM_OF = {
    "white_judged": ("condition.white", "patch_form"),
    "rigid": ("condition.faces", "surface_form"),
    "on_core": ("condition.faces", "fault_form"),
}
"""What is written down of a unit, by a trait of its material; the first that it has counts."""


def examine_form(desk: "Desk", target: "Target") -> "Form":
    """Return the form for a unit's condition: white of paper, faults of film, faces of sheets.

    Raises
    ------
    RefusedError
        Where there is nothing to examine.
    """
    with desk.reading() as view:
        unit = find(view, Unit, target.about)
        traits = material_of(view, unit).traits
    named = next((named for trait, named in _FORM_OF.items() if getattr(traits, trait)), None)
    if named is None:
        raise RefusedError(
            f"{unit.code} has no condition to write down.",
            "Papers, films, sheets and boards have.",
            "Count it with c, or hold it with w.",
        )
    module, name = named
    build: Any = getattr(import_module(f"tui.{module}"), name)
    form: Form = build(desk, target)
    return form
