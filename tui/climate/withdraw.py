"""The form that takes a logger file out of the reckoning, with the reason why."""

from typing import TYPE_CHECKING

from stockroom.clock import moment_text
from stockroom.core.model import Import, Place
from stockroom.desk.lookup import find
from stockroom.desk.climate.readings import withdraw_readings
from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.units import count_of
from tui.forms import Field, Form, Values

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from tui.words import Target


def withdraw_form(desk: "Desk", target: "Target") -> Form:
    """Withdraw a logger file; a reason is wanted."""
    with desk.reading() as view:
        taken = find(view, Import, target.about)
        place = find(view, Place, taken.place)

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        if not values["why"].strip():
            raise BadValueError(
                "Why is it withdrawn?",
                "Whoever looks later wants to know why its readings do not count.",
                "Type a few words, such as: wrong logger.",
            )
        return withdraw_readings(desk, taken.code, reason=values["why"], key=key)

    span = f"{moment_text(taken.from_s, desk.zone)} to {moment_text(taken.to_s, desk.zone)}"
    return Form(
        f"withdraw {taken.code}",
        f"Withdraw a logger file of {safe(place.name)}",
        "Withdraw it",
        [Field("why", "Why", hint="a few words")],
        submit,
        lambda values: [
            safe(taken.name, length=70),
            f"{count_of(taken.readings, 'reading')}, {span}",
            "",
            "Its readings count no more: ages and warm spells are reckoned without them.",
            "The file itself is kept, and a folder that is taken in leaves it alone.",
        ],
        start="why",
        tells="Takes a logger file out of the reckoning, such as one of another logger or place. "
        "A reason is asked, and stands in the trail. Nothing is lost: undo brings it back.",
    )
