"""Forms of condition: a sheet or board looked over, a fault in a roll of film or paper."""

from typing import TYPE_CHECKING

from stockroom.core.figures import Figure
from stockroom.core.records import GRADES, MASKINGS, MATTES, Grade, Masking, Matte, Unit
from stockroom.core.wording import CAUTION, dated, surface_text
from stockroom.desk.condition import surfaces
from stockroom.desk.figures import figures_of
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.text import safe
from stockroom.units import m_text
from tui.forms import Field, Form, Values, one_of
from tui.stock.acts import Subject, happened, when_field

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from tui.words import Target

MASK_WORDS: dict[Masking, str] = {
    "on": "on all over",
    "lifted": "lifted at an edge",
    "off": "taken off",
    "none": "came without",
}
GRADE_WORDS: dict[Grade, str] = {
    "face": "a face",
    "back": "a back or a sample",
    "jig": "jigs only",
}
MATTE_WORDS: dict[Matte, str] = {
    "none": "none, both gloss",
    "front": "the front",
    "back": "the back",
    "both": "both",
}


def surface_form(desk: "Desk", target: "Target") -> Form:
    """Write down what a sheet or board is like; all stands there as it was seen last."""
    subject = Subject(desk, target.about)
    unit = subject.unit
    with reckoned(desk) as reckoning:
        surfaces.sheet_of(reckoning.view, unit.code)
        faces = surfaces.faces_of(reckoning, unit)
    was = faces.surface

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return surfaces.look_over(
            desk,
            unit.code,
            mask_front=one_of(MASKINGS, values["front"]),
            mask_back=one_of(MASKINGS, values["back"]),
            grade=one_of(GRADES, values["grade"]),
            chipped=values["chipped"],
            matte=one_of(MATTES, values["matte"]),
            happened_s=happened(desk, values),
            key=key,
        )

    def told(values: Values) -> list[str]:
        lines = subject.facts()
        if unit.count > 1:
            lines.append(f"What you say holds for all {unit.count} sheets of it.")
        if was is None:
            lines.append("Nobody has looked it over yet; all stands as it comes.")
        else:
            seen = f" on {dated(faces.seen_on)}" if faces.seen_on else ""
            whose = "It was seen" if faces.own else f"The sheet it was cut from, {was.unit}, was"
            lines.append(f"{whose}{seen}: {surface_text(was)}.")
        lines.append(f"Sheet edges are sharp. {CAUTION}")
        return lines

    return Form(
        f"look over {unit.code}", f"Look over {subject.word}", "It is so",
        [
            Field("front", "Mask in front", was.mask_front if was else "on",
                  list(MASK_WORDS.items()), "the side the viewer sees"),
            Field("back", "Mask behind", was.mask_back if was else "on", list(MASK_WORDS.items())),
            Field("grade", "Good for", was.grade if was else "face", list(GRADE_WORDS.items())),
            Field("chipped", "Chipped corners", was.chipped if was else "",
                  hint="top left, or tl br"),
            Field("matte", "Matte side", was.matte if was else "none", list(MATTE_WORDS.items())),
            when_field(),
        ],
        submit, told, start="front",
    )  # fmt: skip


def fault_form(desk: "Desk", target: "Target") -> Form:
    """Write down a fault in a roll of film or paper."""
    subject = Subject(desk, target.about)
    unit = subject.unit
    with reckoned(desk) as reckoning:
        surfaces.roll_of(reckoning.view, unit.code)
        came_dmm = surfaces.length_come_dmm(reckoning.view, unit)
        figure = _ahead(reckoning, unit)
    gone_dmm = came_dmm - unit.remaining_dmm

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        begins = surfaces.distance_dmm(values["from"])
        ends = surfaces.distance_dmm(values["to"]) if values["to"].strip() else begins
        return surfaces.note_fault(
            desk, unit.code, begins, ends, values["what"],
            happened_s=happened(desk, values), key=key,
        )  # fmt: skip

    def told(values: Values) -> list[str]:
        lines = [
            *subject.facts(),
            f"It came with {m_text(came_dmm)}; count from its outer end as it was delivered.",
            f"The outer end is now at {m_text(gone_dmm)}.",
        ]
        if figure is not None:
            lines.append(f"Ahead so far: {safe(figure.value, length=400)}.")
        return lines

    return Form(
        f"fault {unit.code}", f"Fault in {subject.word}", "Write it down",
        [
            Field("what", "What it is", hint="gel, crease, splice"),
            Field("from", "From", hint="m, such as 3.2"),
            Field("to", "To", hint="m; empty for a spot"),
            when_field(),
        ],
        submit, told, start="what",
    )  # fmt: skip


def _ahead(reckoning: Reckoning, unit: Unit) -> Figure | None:
    """What is ahead in the roll as it is known so far."""
    found = figures_of(reckoning, unit, reckoning.today)
    return next((figure for figure in found if figure.name == "Faults ahead"), None)
