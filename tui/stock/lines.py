"""Units, one unit, and offcuts as lines of text; pure, nothing is read here."""

from datetime import UTC, date, datetime, time
from typing import TYPE_CHECKING

from stockroom.clock import local_date, moment_text
from stockroom.core.act_wording import act_brief
from stockroom.core.sheets import lift_of
from stockroom.core.wording import CAUTION, lift_text, unit_size_text, usable_by_text
from stockroom.text import listed, safe
from stockroom.units import count_of, days_text, m_text, mm_text, size_text
from tui.shared.picture import Curve, axis, bar, curve_span, life_picture
from tui.stock.figure_lines import figure_rows
from tui.today.lines import answer_spans, reasons, short_why, unit_word
from tui.words import (
    BLANK,
    Line,
    Row,
    Target,
    columns,
    cut_line,
    head,
    note,
    say,
    shorten,
    when,
    wrapped,
)

if TYPE_CHECKING:
    from stockroom.core.records import Material, Unit
    from stockroom.desk.cutting.one_cut import OffcutAnswer
    from stockroom.desk.stock.counting import TrailLine
    from stockroom.desk.stock.views import ShelfLine, UnitPicture

BAR = 6
"""Cells of a bar of what is left."""
ENDS = 29
"""Cells of a usable-by day with its year."""


def share_left(line: "ShelfLine") -> float:
    """Return what is left of a unit, as a share of what it is when new; 1 where nobody knows."""
    unit, material = line.unit, line.material
    if unit.shape.by_length:
        whole = max(unit.length_dmm, material.length_dmm or 0, 1)
        return unit.remaining_dmm / whole
    if not unit.shape.flat or unit.count > 1 or not material.whole_qty:
        return 1.0
    return unit.measure / material.whole_qty


def amount_left(unit: "Unit") -> str:
    """Return what is left of a unit, short.

    >>> from stockroom.core.records import Unit
    >>> amount_left(Unit(code="1", lot="2", form="roll", place="3", remaining_dmm=94_000))
    '9.4 m'
    """
    about = "~" if unit.plus_minus_dmm else ""
    if unit.shape.by_length:
        return about + m_text(unit.remaining_dmm)
    if unit.shape.flat and unit.count == 1:
        return size_text(unit.width_dmm, unit.length_dmm)
    return count_of(unit.count, "sheet") if unit.shape.flat else str(unit.count)


def state_word(line: "ShelfLine") -> tuple[str, str]:
    """Return a unit's state in a word or two, and its role."""
    if line.unit.state != "in stock":
        return line.unit.state, "dim"
    if line.held:
        return f"on hold: {safe(line.held)}", "bad"
    if line.put_by_for:
        return f"put by for {safe(', '.join(line.put_by_for))}", ""
    if line.strip is not None and line.strip.result != "clean":
        return f"strip {line.strip.result}", "ask"
    return line.unit.condition, "dim"


def ends_text(line: "ShelfLine", today: date) -> str:
    """Return the likely last day of a unit, or that nothing tells."""
    if line.usable is not None and not line.usable.runs_out:
        return "over 20 years"
    if line.ends is None:
        return "does not age"
    return when(line.ends, today)


def unit_rows(lines: "list[ShelfLine]", today: date, width: int) -> list[Row]:
    """Return units by material: code, a bar of what is left, where, state, usable-by."""
    if not lines:
        return [
            note(
                say("Nothing is in stock.", "strong"),
                *wrapped("R takes in a delivery; its labels carry the codes.", width),
            )
        ]
    rows: list[Row] = []
    last = ""
    for line in lines:
        if line.material.code != last:
            last = line.material.code
            if rows:
                rows.append(note(BLANK))
            rows.append(head(safe(line.material.name)))
        rows.append(
            Row(
                _unit_lines(line, today, width),
                key=f"unit {line.unit.code}",
                target=Target("unit", line.unit.code),
                detail=tuple(unit_facts(line, today, 58)),
                unit=line.unit.code,
                material=line.material.code,
            )
        )
    return rows


def _unit_lines(line: "ShelfLine", today: date, width: int) -> tuple[Line, ...]:
    """One line; what is out of the ordinary goes on a second one where there is no room."""
    word, role = state_word(line)
    if line.unit.is_offcut and word == "open":
        word = "offcut"
    place = safe(line.place.name)
    place_wide = width - 6 - BAR - 14 - ENDS - 4
    usual = word in (line.unit.condition, "offcut")
    plain = usual and len(place) + len(word) + 2 <= place_wide
    cells = [
        (line.unit.code, 6, "strong"),
        (bar(share_left(line), BAR), BAR, "key"),
        (amount_left(line.unit), -14, ""),
        (f"{place}, {word}" if plain else place, place_wide, ""),
        (ends_text(line, today), ENDS, ""),
    ]
    first = cut_line(columns(cells, " "), width)
    return (first,) if plain else (first, cut_line(say(f"{'':<29}{word}", role), width))


def unit_facts(line: "ShelfLine", today: date, width: int, *, brief: bool = False) -> list[Line]:
    """Return what is known of a unit, in short sentences; briefly where its figures follow."""
    unit, lot, material = line.unit, line.lot, line.material
    lines = [
        say(f"{unit_word(unit).capitalize()} {unit.code}, {safe(material.name)}", "strong"),
        say(f"{unit_size_text(unit)}, {line.state or unit.condition}, in {safe(line.place.name)}"),
    ]
    printed = f", printed date {when(lot.label_date, today)}" if brief and lot.label_date else ""
    lines.append(say(f"{material.traits.lot_word} {safe(lot.number)}{printed}"))
    if lot.label_date and not brief:
        lines.append(say(f"printed date {when(lot.label_date, today)}"))
    if line.usable is not None and not brief:
        usable = line.usable
        text = (
            f"Usable until likely "
            f"{usable_by_text(usable.likely, usable.earliest, usable.latest, today)}; "
            f"{days_text(usable.used_days)} of {days_text(usable.life_days)} of life used."
            if usable.runs_out
            else "Usable for more than 20 years at this rate."
        )
        lines += wrapped(text, width)
        if usable.unproven:
            lines.append(say("Past the printed date that is unproven.", "dim"))
    if line.held:
        lines += wrapped(f"On hold: {safe(line.held)}", width, "bad")
    if line.put_by_for:
        lines += wrapped(f"Put by for {safe(', '.join(line.put_by_for))}", width)
    if lot.owner != "mine":
        lines.append(say(f"It belongs to: {lot.owner}", "ask"))
    if unit.parent:
        lines.append(say(f"Cut from {unit.parent}", "dim"))
    return lines


def unit_page(found: "UnitPicture", width: int) -> list[Row]:
    """Return one unit: figures, its life drawn, the answers for booked prints, its trail."""
    line, today = found.line, found.today
    rows = [note(*unit_facts(line, today, width, brief=True))]
    rows += lift_rows(line.unit, line.material, width)
    rows += figure_rows(found.figures, line.unit.code, width)
    if found.life is not None and line.usable is not None:
        rows += [note(BLANK), head("Life used, over time"), note(*life_lines(found, width, 8))]
    if found.prints:
        rows += [note(BLANK), head("OK to print?")]
        for index, (job, verdict) in enumerate(found.prints):
            title: Line = (
                *answer_spans(verdict),
                (f"  {safe(job.name)}, {when(job.print_on, today)}", "strong"),
            )
            why = (
                reasons(verdict, today, width)
                if index == 0
                else [say(f"  {short_why(verdict, today, width - 2)}", "dim")]
            )
            rows.append(
                Row(
                    (cut_line(title, width), *why),
                    key=f"print {job.code}",
                    target=Target("print", job.code),
                    unit=line.unit.code,
                    job=job.code,
                )
            )
    rows += [note(BLANK), head("Its trail")]
    rows += [trail_row(item, found.zone, width) for item in found.trail]
    return rows


def life_lines(found: "UnitPicture", width: int, height: int) -> list[Line]:
    """Return the picture of a unit's used life, with its days below."""
    life, usable = found.life, found.line.usable
    if life is None or usable is None:
        return []

    def at(day: date) -> float:
        return datetime.combine(day, time(12), UTC).timestamp()

    prints = tuple((at(job.print_on), safe(job.name)) for job, _ in found.prints[:1])
    curve = Curve(
        tuple(map(float, life.t_s)),
        tuple(map(float, life.used)),
        tuple(map(float, life.low)),
        tuple(map(float, life.high)),
        float(found.now_s),
        (at(usable.likely), at(usable.earliest), at(usable.latest)),
        life.limit_days,
        prints,
    )
    left, right = curve_span(curve)
    came = local_date(int(curve.t_s[0]), found.zone)
    marks = [(curve.t_s[0], f"{came.day} {came.strftime('%b %Y')}"), (curve.now_s, "│now")]
    marks += [(at_s, f"┊{name}") for at_s, name in prints]
    if usable.runs_out and at(usable.likely) > curve.now_s:
        marks.append((at(usable.likely), f"▾{usable.likely.day} {usable.likely:%b %Y}"))
    text = (
        f"{days_text(usable.used_days)} used of {days_text(life.limit_days)}; "
        "░ the range, ┊ the next print, ▾ likely the last day"
    )
    return [
        *life_picture(curve, width, height),
        say(axis(marks, left, right, width)),
        *wrapped(text, width, "dim"),
    ]


def trail_row(item: "TrailLine", zone: str, width: int) -> Row:
    """Return one act of the trail as a line."""
    act = item.act
    said = safe(act_brief(act))
    if item.together:
        said = f"{said} (with {listed([str(seq) for seq in item.together])})"
    if item.undone_by:
        said = f"{said} (taken back by act {item.undone_by})"
    cells = columns(
        [
            (moment_text(item.occurred_s, zone), 21, ""),
            (f"act {act.seq}", -7, "dim"),
            (said, max(12, width - 21 - 7 - 10 - 6), "dim" if item.undone_by else "strong"),
            (safe(act.actor), 10, "dim"),
        ]
    )
    return Row((cut_line(cells, width),), key=f"act {act.seq}", target=Target("act", str(act.seq)))


# --- offcuts ---------------------------------------------------------------------------------


def offcut_rows(
    yes: "list[OffcutAnswer]",
    no: "list[OffcutAnswer]",
    size: tuple[int, int],
    width: int,
    today: date,
) -> list[Row]:
    """Return the offcuts that take a piece, best first, then those that do not, with why."""
    rows = [head(f"Takes {size_text(*size)}")]
    if not yes:
        rows.append(note(say("No offcut and no sheet here takes it.", "strong")))
    for item in yes:
        turned = ", turned" if item.fit is not None and item.fit.turned else ""
        told = f"{safe(item.material.name)}, {_kind(item)}{turned}"
        second = say(f"  {remains_text(item)}", "dim")
        lines = [_offcut_line(item, told, width, takes=True), cut_line(second, width)]
        for caution in item.cautions(today):
            text = shorten(safe(caution, length=400), width - 4)
            lines.append(cut_line(say(f"  ◐ {text}", "ask"), width))
        rows.append(_offcut_row(item, tuple(lines), today))
    if no:
        rows += [note(BLANK), head("Does not take it")]
    for item in no:
        lines = [_offcut_line(item, safe(item.why_not), width, takes=False)]
        rows.append(_offcut_row(item, tuple(lines), today))
    for item in yes[:1]:
        rows += lift_rows(item.unit, item.material, width)
    return rows


def _offcut_line(item: "OffcutAnswer", told: str, width: int, *, takes: bool) -> Line:
    mark, code, place = ("●", "good", "strong") if takes else ("○", "dim", "")
    cells = [
        (f"{mark} {item.unit.code}", 9, code),
        (safe(item.place.name), 12, place),
        (size_text(item.unit.width_dmm, item.unit.length_dmm), 16, ""),
        (told, width - 43, ""),
    ]
    return cut_line(columns(cells), width)


def lift_rows(unit: "Unit", material: "Material", width: int) -> list[Row]:
    """Return what a sheet weighs and how many lift it, as a caution; nothing for anything else."""
    if not unit.shape.flat:
        return []
    lift = lift_of(material, unit.width_dmm, unit.length_dmm)
    text = CAUTION if lift is None else f"{unit.code}: {lift_text(lift)}"
    return [note(BLANK), note(*wrapped(text, width, "dim"))]


def _kind(item: "OffcutAnswer") -> str:
    if item.kind == "offcut":
        return "offcut"
    if item.kind == "cut to size":
        return "sheet cut to size"
    return f"full sheet, {item.unit.count} here" if item.unit.count > 1 else "full sheet"


def remains_text(item: "OffcutAnswer") -> str:
    """Return what remains of an offcut once the piece is cut from it."""
    left = item.fit.remainders if item.fit is not None else ()
    if not left:
        return "nothing remains but the kerf"
    sizes = " and ".join(f"{mm_text(w)[:-3]} x {mm_text(h)}" for w, h in left)
    return f"{sizes} remain" + ("s" if len(left) == 1 else "")


def _offcut_row(item: "OffcutAnswer", lines: tuple[Line, ...], today: date) -> Row:
    detail = [
        say(f"{_kind(item).capitalize()} {item.unit.code}", "strong"),
        say(safe(item.material.name)),
        say(f"batch {safe(item.lot.number)}, in {safe(item.place.name)}"),
    ]
    if item.fit is not None:
        detail.append(say(remains_text(item)))
        detail.append(say(f"{item.fit.waste_dmm2 / 1e8:.3f} m² kerf and trim", "dim"))
        detail += [BLANK, say(f"Cut for: {item.use}", "dim")]
        for caution in item.cautions(today):
            detail += wrapped(safe(caution, length=400), 58, "ask", first="◐ ", rest="  ")
    else:
        detail += wrapped(safe(item.why_not, length=400), 58)
    return Row(
        lines,
        key=f"unit {item.unit.code}",
        target=Target("unit", item.unit.code),
        detail=tuple(detail),
        unit=item.unit.code,
    )


def act_unit(item: "TrailLine") -> str:
    """Return the code of the unit an act was about, "" where it was about none or many."""
    payload = item.act.payload
    if payload.get("unit"):
        return str(payload["unit"])
    units = payload.get("units")
    if isinstance(units, list) and units:
        first = units[0]
        return str(first if isinstance(first, str) else first.get("code", ""))
    return ""


def act_detail(item: "TrailLine", zone: str, width: int) -> tuple[Line, ...]:
    """Return an act in full: who, when, when it was written, why, and what was said."""
    act = item.act
    lines = [
        *wrapped(f"Act {act.seq}: {safe(act_brief(act))}", width, "strong"),
        say(f"by {safe(act.actor)}"),
        say(f"happened {moment_text(item.occurred_s, zone)}"),
        say(f"written  {moment_text(act.recorded_s, zone)}", "dim"),
    ]
    if item.together:
        with_ = listed([str(seq) for seq in item.together])
        lines += wrapped(f"one command with act {with_}: undo takes all back", width, "ask")
    if item.undone_by:
        lines.append(say(f"taken back by act {item.undone_by}", "ask"))
    lines.append(BLANK)
    for name, value in act.payload.items():
        if value not in (None, "", [], {}):
            text = f"{name}: {value}" if not isinstance(value, list | dict) else f"{name}: …"
            lines += wrapped(safe(text), width, "dim")
    return tuple(lines)
