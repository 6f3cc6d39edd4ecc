"""The form of a measured white patch: what was measured, beside its control, and what it meets."""

from typing import TYPE_CHECKING

from stockroom.clock import local_date
from stockroom.core.act_wording import patch_cautions, patch_text
from stockroom.core.patches import QUANTITIES, Quantity, held_against
from stockroom.core.records import BACKINGS, MEASURING, Backing, Measuring, Patch
from stockroom.core.wording import CAUTION, dated
from stockroom.desk.condition import whites
from stockroom.desk.condition.whites import shown_life
from stockroom.desk.reckoning import reckoned
from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.units import days_text, number
from tui.forms import Field, Form, Values, one_of
from tui.stock.acts import Subject, happened, when_field

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from tui.words import Target

MEASURING_WORDS: dict[Measuring, str] = {
    "M0": "M0, ultraviolet as it comes",
    "M1": "M1, daylight D50",
    "M2": "M2, without ultraviolet",
    "M3": "M3, polarised",
    "unknown": "unknown",
}
"""Measuring conditions in a few words (ISO 13655)."""
BACKING_WORDS: dict[Backing, str] = {
    "white": "white",
    "black": "black",
    "own": "more of the same paper",
}


def patch_form(desk: "Desk", target: "Target") -> Form:
    """Write down a measured patch; how it is measured stands there as it was the last time."""
    subject = Subject(desk, target.about)
    unit = subject.unit
    with reckoned(desk) as reckoning:
        whites.paper_roll(reckoning.view, unit.code)
        usual = whites.usual_patch(reckoning, unit)
        before = whites.patches_of_emulsion(reckoning, unit)
        zone = reckoning.zone

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        own, other = whites.colour_of(values["b"]), whites.colour_of(values["control_b"])
        beside = values["control_b"].strip() or values["control_density"].strip()
        return whites.note_patch(
            desk,
            unit.code,
            l=own[0],
            a=own[1],
            b=own[2],
            density=whites.density_of(values["density"]),
            instrument=values["instrument"],
            measuring=one_of(MEASURING, values["measuring"]),
            backing=one_of(BACKINGS, values["backing"]),
            spots=_whole(values["spots"]),
            control=values["control"] if beside else None,
            control_l=other[0],
            control_a=other[1],
            control_b=other[2],
            control_density=whites.density_of(values["control_density"]),
            happened_s=happened(desk, values),
            key=key,
        )

    def told(values: Values) -> list[str]:
        quantity = _typed(values, usual.quantity)
        first = held_against(
            before, quantity, values["instrument"].strip(), values["measuring"], values["backing"]
        )
        lines = subject.facts()
        if first is not None:
            on = dated(local_date(first.at_s, zone))
            lines.append(f"Held against {first.unit} on {on}: {patch_text(first)}.")
        else:
            lines.append(_alone(before))
        beside = bool(values[f"control_{quantity}"].strip())
        lines += patch_cautions(control=beside, measuring=values["measuring"])
        named = values["control"].strip()
        if first is not None and beside and named and first.control is not None:
            lines += _other_control(first.control, named)
        lines.append(f"Processing chemistry: gloves, ventilation. {CAUTION}")
        return lines

    return Form(
        f"patch {unit.code}", f"White patch of {subject.word}", "Write it down",
        [
            *_measured(usual.quantity, usual.control),
            Field("instrument", "Instrument", usual.instrument, hint="what it is measured with"),
            Field("measuring", "Measuring condition", usual.measuring,
                  list(MEASURING_WORDS.items())),
            Field("backing", "Backing", usual.backing, list(BACKING_WORDS.items())),
            Field("spots", "Spots averaged", str(usual.spots)),
            when_field(),
        ],
        submit, told, start=usual.quantity,
    )  # fmt: skip


def _measured(first: Quantity, control: str) -> list[Field]:
    """Fields of patch and control, those of the quantity that is usual above the others."""
    pairs: dict[Quantity, tuple[Field, Field]] = {
        "b": (
            Field("b", "Patch L* a* b*", hint="94.1 -0.3 -2.15, or b*"),
            Field("control_b", "Control L* a* b*", hint="likewise"),
        ),
        "density": (
            Field("density", "Patch density", hint="blue, such as 0.087"),
            Field("control_density", "Control density", hint="likewise"),
        ),
    }
    name = Field("control", "Control", control, hint="a strip, or a roll", scans="unit")
    other: Quantity = "density" if first == "b" else "b"
    return [pairs[first][0], name, pairs[first][1], *pairs[other]]


def _typed(values: Values, usual: Quantity) -> Quantity:
    """The quantity that is being typed; the usual one as long as none, or both, are."""
    typed = [quantity for quantity in QUANTITIES if values[quantity].strip()]
    return typed[0] if len(typed) == 1 else usual


def _whole(text: str) -> int:
    value = number(text.strip() or "1", "a number of spots")
    if value != int(value):
        raise BadValueError(
            f"{safe(text, length=30)!r} is no number of spots.", try_="Type 1 or 4."
        )
    return int(value)


def _alone(before: list[Patch]) -> str:
    if not before:
        return "The first of its emulsion: with a control, later ones are held against it."
    return "No patch of its emulsion was measured so, with a control: held against none."


def _other_control(first: str, named: str) -> list[str]:
    if named.casefold() == first.casefold():
        return []
    return [
        f"The first had control {safe(first)}: with another one it counts only where both were "
        "measured within a day."
    ]


def trust_form(desk: "Desk", target: "Target") -> Form:
    """Give a word that a roll may count on its measured white beyond its label."""
    subject = Subject(desk, target.about)
    unit, most_days = shown_life(desk, target.about)

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return whites.trust_white(desk, unit.code, values["why"], most_days=most_days, key=key)

    return Form(
        f"trust {unit.code}",
        f"Trust the white of {subject.word}",
        "Give my word",
        [Field("why", "Why", hint="a few words")],
        submit,
        lambda values: [
            *subject.facts(),
            f"By its white it counts up to {days_text(most_days)} of life from now on;",
            "a later patch that says less shortens it at once. z takes the word back.",
        ],
        start="why",
    )
