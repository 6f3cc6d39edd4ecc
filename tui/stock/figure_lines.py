"""Figures of a unit as lines, and one figure with its inputs and sources; pure."""

from typing import TYPE_CHECKING

from stockroom.text import safe
from tui.words import BLANK, Line, Row, Target, head, note, pad, say, wrap, wrapped

if TYPE_CHECKING:
    from stockroom.core.figures import Figure, Notice

NAME = 18
"""Cells of a figure's name."""
MARKS = {"": " ", "good": "●", "ask": "◐", "bad": "○"}
"""A mark of our own for each tone; never colour alone."""


def figure_rows(figures: "tuple[Figure, ...]", unit: str, width: int) -> list[Row]:
    """Return the figures of a unit under their headings; Enter on one tells what it rests on."""
    rows: list[Row] = []
    group = ""
    for figure in figures:
        if figure.group != group:
            group = figure.group
            rows += [note(BLANK), head(group)]
        rows.append(
            Row(
                _lines(figure, width),
                key=f"figure {figure.name}",
                target=Target("figure", unit, (figure.name,)),
                unit=unit,
            )
        )
    return rows


def _lines(figure: "Figure", width: int) -> tuple[Line, ...]:
    texts = wrap(safe(figure.value, length=400), max(20, width - NAME - 4))
    lines: list[Line] = []
    for index, text in enumerate(texts):
        name = safe(figure.name) if index == 0 else ""
        mark = MARKS[figure.tone] if index == 0 else " "
        lines.append(((f"{mark} ", figure.tone), (pad(name, NAME), "dim"), (text, "")))
    return tuple(lines)


def figure_page(figure: "Figure", unit: str, width: int) -> list[Row]:
    """Return one figure: what it comes to, the rule, each input with its source."""
    rows = [
        note(*wrapped(f"{safe(figure.name)}: {safe(figure.value, length=400)}", width, "strong")),
        note(BLANK),
        head("How it is made"),
        note(*wrapped(safe(figure.how, length=600), width, first="  ", rest="  ")),
    ]
    if figure.inputs:
        rows += [note(BLANK), head("What it is made from")]
    for item in figure.inputs:
        lines = wrapped(
            f"{safe(item.name)}: {safe(item.value, length=400)}", width, first="· ", rest="  "
        )
        if item.source:
            text = f"from: {safe(item.source, length=400)}"
            lines += wrapped(text, width, "dim", first="    ", rest="    ")
        rows.append(note(*lines))
    if figure.form:
        rows += [
            note(BLANK),
            Row(
                (say("Change what it rests on", "strong"),),
                key="change",
                target=Target(figure.form, unit),
                unit=unit,
            ),
        ]
    return rows


def notice_row(notice: "Notice", width: int) -> Row:
    """Return something one should see in the morning as two lines."""
    first: Line = ((f"{MARKS[notice.tone]} ", notice.tone), (safe(notice.what, length=300), ""))
    lines = [first, *wrapped(safe(notice.why, length=400), width, "dim", first="  ", rest="  ")]
    of_job = notice.act == "job"
    of_unit = notice.act not in ("job", "material")
    return Row(
        tuple(lines),
        key=f"notice {notice.unit} {notice.what}",
        target=Target(notice.act or "unit", notice.unit),
        unit=notice.unit if of_unit else "",
        job=notice.unit if of_job else "",
    )
