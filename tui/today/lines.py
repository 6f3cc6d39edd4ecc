"""Today and a booked print as lines of text; pure, nothing is read here."""

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from rich.cells import cell_len

from stockroom.clock import local_date
from stockroom.core.wording import (
    ANSWERS,
    MARKS,
    cut_text,
    kept_back_text,
    lasting_text,
    sentence,
    unit_size_text,
)
from stockroom.desk.climate.warming_text import at_text, cautions, out_now_text, ready_text
from stockroom.text import safe
from stockroom.units import count_of, days_text, m_text, size_text
from tui.cutting.lines import today_cut_rows
from tui.orders.supply_lines import planned_soon
from tui.stock.figure_lines import notice_row
from tui.today.glance import print_line
from tui.words import (
    BLANK,
    WHEN,
    Line,
    Row,
    Span,
    Target,
    below,
    columns,
    cut_line,
    head,
    note,
    say,
    sections,
    shorten,
    two_lines,
    when,
    wrapped,
)
from tui.work.lines import bench_rows, need_row

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stockroom.core.records import Job, Material, Order, Unit
    from stockroom.core.verdict import Verdict
    from stockroom.desk.climate.pull_out import Outing, OutNow
    from stockroom.desk.condition.checking import Answered
    from stockroom.desk.day import AtRisk, GoingOff, PrintLine, Return, Today
    from stockroom.desk.orders.ordering import Reorder
    from stockroom.desk.orders.plan import PlannedOrder
    from stockroom.desk.work.needs import MaterialNeed

ANSWER_ROLES = {"yes": "good", "strip": "ask", "no": "bad"}


def unit_word(unit: "Unit") -> str:
    """Return what a person calls a unit: roll, pack, sheet, offcut, length, goods."""
    if unit.is_offcut:
        return "offcut"
    if unit.shape.flat:
        return "sheet" if unit.count == 1 else "pack"
    return unit.shape.one if unit.shape.by_length else "goods"


def material_word(material: "Material", count: int) -> str:
    """Return a number of whole units of a material."""
    return count_of(count, material.shape.one)


def answer_spans(verdict: "Verdict") -> tuple[Span, ...]:
    """Return an answer's mark and word."""
    role = ANSWER_ROLES[verdict.answer]
    return ((f"{MARKS[verdict.answer]} {ANSWERS[verdict.answer]}", role),)


def reasons(verdict: "Verdict", today: date, width: int) -> list[Line]:
    """Return every reason of an answer, wrapped, the one that decides first."""
    lines: list[Line] = []
    for index, reason in enumerate(verdict.reasons):
        role = {"bars": "bad", "asks": "ask", "warns": "ask"}.get(reason.weight, "")
        if index and reason.weight == "notes":
            role = "dim"
        text = safe(sentence(reason, today), length=500)
        lines += wrapped(text, width, role, first="· ", rest="  ")
    return lines


def short_why(verdict: "Verdict", today: date, width: int) -> str:
    """Return the reason that decides in one line, and what fits of the next one."""
    first = shorten(safe(sentence(verdict.first, today), length=400), width)
    if len(first) > width // 2 or len(verdict.reasons) < 2:
        return first
    whole = first.removesuffix(" …")
    full = whole if whole.endswith(".") else f"{whole}."
    after = safe(sentence(verdict.reasons[1], today), length=400)
    return f"{full} {shorten(after, width - len(full) - 1)}"


# --- today -----------------------------------------------------------------------------------


def today_rows(found: "Today", width: int, side: int = 60, zone: str = "UTC") -> list[Row]:
    """Return the morning: what is booked, to do, to order, coming, going off."""
    if found.empty:
        return empty_rows(width)
    groups = (
        ("Prints booked", [_print_row(line, found.day, width, side) for line in found.prints]),
        ("On the bench", bench_rows(found.work, found.day, width, side)),
        (
            "Take out of the cold, shut in its bag, by",
            [outing_row(x, found.day, width, side, zone) for x in found.take_out],
        ),
        (
            "Out to warm, ready by",
            [out_now_row(x, found.day, found.now_s, width, side, zone) for x in found.out_now],
        ),
        (
            "Put back into the cold by",
            [return_row(x, found.day, width, zone) for x in found.put_back],
        ),
        (
            "Warm spells waiting for a word",
            [spell_row(x, found.day, width, side, zone) for x in found.spells],
        ),
        ("To cut", today_cut_rows(found.cuts, found.cards, found.day, width, side)),
        (
            "Order by",
            to_order_rows(
                [x for x in found.prints if x.order_rolls],
                found.reorder,
                found.day,
                width,
                side,
                found.needs,
            ),
        ),
        (
            "Arriving",
            [coming_row(x, found.materials, found.day, width) for x in found.arrivals],
        ),
        ("To look at", [notice_row(x, width) for x in found.notices]),
        ("Off or nearly off", [_off_row(x, found.day, width) for x in found.going_off]),
    )
    nothing = note(say("Nothing wants doing today.", "strong"), *_next_steps(width))
    return sections(*groups) or [nothing]


def empty_rows(width: int) -> list[Row]:
    """Return what to do next where the books hold nothing."""
    return [
        note(say("The books are empty.", "strong"), BLANK),
        note(*wrapped("Begin with what stands in your studio:", width)),
        note(
            *wrapped(
                "stockroom place add and stockroom material add, at the console, say where "
                "things stand and what they are; a stock list you already have is taken in "
                "whole with: stockroom stock take-in LIST.",
                width,
            ),
            BLANK,
        ),
        note(*wrapped("Then R takes in a delivery, and B books a print.", width)),
    ]


def _next_steps(width: int) -> list[Line]:
    return wrapped("B books a print, U shows the units, ctrl+p shows every action.", width)


def _print_row(line: "PrintLine", today: date, width: int, side: int) -> Row:
    job, best = line.job, line.answers.best
    if best is None:
        second: Line = (
            ("○ no", "bad"),
            (f"  There is no roll of {safe(line.material.name)}.", ""),
        )
    else:
        lead = f"{MARKS[best.verdict.answer]} {ANSWERS[best.verdict.answer]}"
        gap = " " * max(2, 8 - len(lead))
        roll = f"{gap}roll {best.roll.unit.code}"
        fill = " " * max(2, WHEN + 2 - len(lead) - len(roll))
        room = width - len(lead) - len(roll) - len(fill)
        why = short_why(best.verdict, today, room)
        second = (
            (lead, ANSWER_ROLES[best.verdict.answer]),
            (roll, ""),
            (fill, ""),
            (why, "dim"),
        )
    return Row(
        (print_line(job, today, width), cut_line(second, width)),
        key=f"print {job.code}",
        target=Target("print", job.code),
        detail=tuple(print_detail(line, today, side)),
        unit=best.roll.unit.code if best else "",
        job=job.code,
        material=line.material.code,
    )


def print_detail(line: "PrintLine", today: date, width: int) -> list[Line]:
    """Return a booked print's answer with all reasons, then the other rolls in short."""
    job = line.job
    series = "; a series, all from one emulsion" if job.series else ""
    lines = [
        say(safe(job.name), "strong"),
        *wrapped(f"{_print_text(line, today)}{series}", width),
        BLANK,
    ]
    for index, item in enumerate(line.answers.rolls):
        lines += _roll_lines(item, today, width, full=index == 0)
    if line.order_rolls:
        lines += [BLANK, *wrapped(lacking_text(line, today), width, "ask")]
    return lines


def _print_text(line: "PrintLine", today: date) -> str:
    job = line.job
    return (
        f"{count_of(job.to_print, 'print')} of {size_text(job.width_dmm, job.height_dmm)} "
        f"on {safe(line.material.name)}, {when(job.print_on, today)}"
    )


def _roll_lines(item: "Answered", today: date, width: int, *, full: bool) -> list[Line]:
    top: Line = (
        *answer_spans(item.verdict),
        (f"  roll {item.roll.unit.code}, {unit_size_text(item.roll.unit)}", "strong"),
    )
    where = f"{safe(item.roll.place.name)}, emulsion no. {safe(item.roll.lot.number)}"
    lines = [cut_line(top, width), say(f"  {where}", "dim")]
    if full:
        return [*lines, *reasons(item.verdict, today, width), BLANK]
    why = shorten(safe(sentence(item.verdict.first, today), length=400), width - 2)
    return [*lines, say(f"  {why}", "dim")]


def lacking_text(line: "PrintLine", today: date) -> str:
    """Return what must be ordered for a print, and by when."""
    rolls = count_of(line.order_rolls, "roll")
    if line.order_by is None:
        by = "; its lead time is not known"
    elif line.order_by < today:
        by = f" at once; to come in time it was due by {when(line.order_by, today)}"
    else:
        by = f" by {when(line.order_by, today)}"
    return f"{rolls} more {lacking_why(line)}: order{by}."


def lacking_why(line: "PrintLine") -> str:
    """Return what the paper to order is for: the print itself, or only its likely remakes."""
    best = line.answers.best
    printable = best is not None and best.verdict.answer != "no"
    return "for the likely remakes" if printable else "for the print itself"


def to_order_rows(
    lacking: "Sequence[PrintLine]",
    reorder: "Sequence[Reorder]",
    today: date,
    width: int,
    side: int = 60,
    needs: "Sequence[MaterialNeed]" = (),
    planned: "Sequence[PlannedOrder]" = (),
) -> list[Row]:
    """Return what is to be ordered, soonest first: for booked work, by the number told, by plan.

    Where the plan is told too, each material stands once: with its earliest day, and beside it all
    that is said of it.
    """
    dated = [(line.order_on(today), _lacking_row(line, today, width, side)) for line in lacking]
    dated += [(today, reorder_row(line, today, width, side)) for line in reorder]
    dated += [(x.order_by or today, need_row(x, today, width, side)) for x in needs]
    if planned:
        dated += planned_soon(planned, today, width, side)
    rows = [row for _, row in sorted(dated, key=lambda item: item[0])]
    if not planned:
        return rows
    first: dict[str, Row] = {}
    for row in rows:
        kept = first.setdefault(row.material, row)
        if kept is not row:
            first[row.material] = replace(kept, detail=(*kept.detail, BLANK, *row.detail))
    return list(first.values())


def _lacking_row(line: "PrintLine", today: date, width: int, side: int) -> Row:
    day = "lead time unknown"
    if line.order_by is not None:
        late = line.order_by < today
        day = "at once" if late else when(line.order_by, today)
    what = f"{count_of(line.order_rolls, 'roll')} of {safe(line.material.name)}"
    return Row(
        two_lines(day, what, f"{safe(line.job.name)}: {lacking_why(line)}", width),
        key=f"lacking {line.job.code}",
        target=Target("order-new", line.material.code, (str(line.order_rolls),)),
        detail=tuple(print_detail(line, today, side)),
        material=line.material.code,
    )


def outing_row(item: "Outing", today: date, width: int, side: int = 60, zone: str = "UTC") -> Row:
    """Return a roll to take out: when and for what; when it may be opened and printed."""
    what = f"roll {item.unit.code} from {safe(item.place.name)}, for {safe(item.job.name)}"
    day, distance = _moment(item.out_s, today, zone, at_once=item.at_once)
    ready = safe(ready_text(item, zone))
    warned = [safe(text, length=400) for text in cautions(item, zone)]
    room = width - WHEN - 2
    short = ready if cell_len(ready) <= room else ready.replace("safe to open", "opens")
    lines = [columns([(day, WHEN, ""), (what, room, "")])]
    if distance or ready:
        lines.append(columns([(distance, WHEN, ""), (short, room, "dim")]))
    for text in warned[:1]:
        lines += below(text, width, "ask")
    return Row(
        tuple(lines),
        key=f"out {item.unit.code} {item.job.code}",
        target=Target("move", item.unit.code),
        detail=(
            say(f"Roll {item.unit.code}", "strong"),
            say(unit_size_text(item.unit)),
            *wrapped(
                f"It stands in {safe(item.place.name)}; take it out shut in its bag, and open it "
                "no sooner than it is safe.",
                side,
            ),
            *(wrapped(f"{ready[:1].upper()}{ready[1:]}.", side, "strong") if ready else ()),
            *(line for text in warned for line in wrapped(text, side, "ask")),
        ),
        unit=item.unit.code,
        job=item.job.code,
    )


def out_now_row(
    item: "OutNow", today: date, now_s: int, width: int, side: int = 60, zone: str = "UTC"
) -> Row:
    """Return a roll that is out to warm: when it is ready, where, until when it stays shut."""
    job = f", for {safe(item.job.name)}" if item.job else ""
    what = f"{unit_word(item.unit)} {item.unit.code} in {safe(item.place.name)}{job}"
    day, distance = _moment(item.ready_s, today, zone)
    text = out_now_text(item, now_s, zone)
    role = "ask" if item.unit.is_open or item.safe_s is None else "dim"
    room = width - WHEN - 2
    return Row(
        (
            columns([(day, WHEN, ""), (what, room, "")]),
            columns([(distance, WHEN, ""), (text, room, role)]),
        ),
        key=f"warming {item.unit.code}",
        target=Target("unit", item.unit.code),
        detail=(
            say(f"{unit_word(item.unit).capitalize()} {item.unit.code}", "strong"),
            say(unit_size_text(item.unit)),
            say(f"It came out of {safe(item.warming.cold.name)}."),
            *wrapped(f"{text[:1].upper()}{text[1:]}.", side),
        ),
        unit=item.unit.code,
        job=item.job.code if item.job else "",
    )


def _moment(at_s: int, today: date, zone: str, *, at_once: bool = False) -> tuple[str, str]:
    """A day with its time, and how far off it is; or now."""
    if at_once:
        return "now", ""
    day, _, distance = at_text(at_s, zone, today).partition(", ")
    return day, distance


def return_row(item: "Return", today: date, width: int, zone: str = "UTC") -> Row:
    """Return a roll to put back into the cold: by when, and what a day out costs."""
    day, _ = _moment(item.by_s, today, zone)
    what = (
        f"roll {item.unit.code} to {safe(item.back_to.name)}; "
        f"a day out costs {days_text(item.life_a_day)}"
    )
    return Row(
        (columns([(day, WHEN, ""), (what, width - WHEN - 2, "")]),),
        key=f"back {item.unit.code}",
        target=Target("move", item.unit.code, (item.back_to.code,)),
        detail=(
            say(f"Roll {item.unit.code}", "strong"),
            say(unit_size_text(item.unit)),
            say(f"It stands in {safe(item.place.name)}, where each day costs"),
            say(f"{days_text(item.life_a_day)} of its life."),
            say("No print is booked on it in the next two days."),
        ),
        unit=item.unit.code,
    )


def spell_texts(item: "AtRisk") -> tuple[str, str]:
    """Return a warm spell in two lines: where and how warm; what it cost and which jobs."""
    spell = item.spell
    lasted = lasting_text(spell.to_s - spell.from_s)
    still = ", still going on" if spell.ongoing else ""
    names = ", ".join(safe(job.name) for job in item.jobs)
    risk = f"look at {names}" if item.jobs else "no job at risk"
    return (
        f"{safe(spell.place.name)}, up to {spell.peak_c:.1f} °C for {lasted}{still}",
        f"cost {days_text(spell.worst_days)} of life at worst; {risk}",
    )


def spell_row(item: "AtRisk", today: date, width: int, side: int = 60, zone: str = "UTC") -> Row:
    """Return a warm spell as a line; Enter gives it a word."""
    spell = item.spell
    day = local_date(spell.from_s, zone)
    about = Target("cause", spell.place.code, (str(spell.from_s), str(spell.to_s)))
    return Row(
        two_lines(when(day, today), *spell_texts(item), width),
        key=f"spell {spell.place.code} {spell.from_s}",
        target=about,
        detail=tuple(spell_detail(item, side)),
    )


def spell_detail(item: "AtRisk", width: int) -> list[Line]:
    """Return what a warm spell cost each unit, worst first."""
    spell = item.spell
    seen = "A logger saw it." if spell.source == "logger" else "Logged by hand; the worst assumed."
    lines = [say(f"Warm spell, {safe(spell.place.name)}", "strong"), say(seen, "dim")]
    if spell.cause:
        lines.append(say(f"Cause: {safe(spell.cause)}"))
    lines.append(BLANK)
    for loss in spell.losses:
        amount = unit_size_text(loss.unit)
        lines.append(
            columns([(loss.unit.code, 8, ""), (days_text(loss.days), -10, ""), (amount, 30, "dim")])
        )
    if item.jobs:
        names = ", ".join(f"{safe(job.name)} ({job.code})" for job in item.jobs)
        lines += [BLANK, *wrapped(f"Look at {names}: run a strip, or take another roll.", width)]
    else:
        lines += [BLANK, say("No job at risk.")]
    return lines


def reorder_row(line: "Reorder", today: date, width: int, side: int = 60) -> Row:
    """Return a material to be ordered as one line."""
    material = line.material
    coming = f"{line.coming} coming" if line.coming else "none coming"
    kept_back = kept_back_text(line.held, line.past)
    what = f"{material_word(material, line.quantity)} of {safe(material.name)}"
    why = f"{line.have} here, {coming}; you wanted to be told below {material.tell_below}"
    detail = [
        say(safe(material.name), "strong"),
        *wrapped(
            f"{line.have} here that can be used, {f'{kept_back}, ' if kept_back else ''}{coming}. "
            f"You wanted to be told below {material.tell_below}; it is ordered in multiples of "
            f"{material.order_multiple}.",
            side,
        ),
        say(f"From {safe(material.supplier) or 'a supplier not written down'}."),
    ]
    if line.arrives_on:
        detail.append(say(f"Ordered today it comes {when(line.arrives_on, today)}."))
    return Row(
        two_lines(when(today, today), what, why, width),
        key=f"reorder {material.code}",
        target=Target("order-new", material.code, (str(line.quantity),)),
        detail=tuple(detail),
        material=material.code,
    )


def coming_row(order: "Order", materials: "dict[str, Material]", today: date, width: int) -> Row:
    """Return an order on its way as one line; Enter takes it in."""
    material = materials[order.material]
    day = when(order.expected_on, today) if order.expected_on else "day not known"
    sender = f" from {safe(order.supplier)}" if order.supplier else ""
    size = cut_text(order)
    many = f"{material_word(material, order.to_come)}{f' {size}' if size else ''}"
    plain = f"{many} of {safe(material.name)}"
    what = f"{plain}{sender}"
    shown = what if cell_len(what) <= width - WHEN - 2 else plain
    return Row(
        (columns([(day, WHEN, ""), (shown, width - WHEN - 2, "")]),),
        key=f"coming {order.code}",
        target=Target("order", order.code),
        detail=(
            say(f"Order {order.code}", "strong"),
            say(what),
            say(f"Ordered {when(order.ordered_on, today)}."),
            say("Enter takes it in as it was ordered.", "dim"),
        ),
        order=order.code,
        material=material.code,
    )


def _off_row(item: "GoingOff", today: date, width: int) -> Row:
    """Return stock that is off or nearly off; a roll's width is in its paper's name."""
    word = "off since that day" if item.off else "usable until likely that day"
    unit = item.unit
    size = m_text(unit.remaining_dmm) if unit.shape.wound else unit_size_text(unit)
    what = f"{unit_word(unit)} {unit.code} of {safe(item.material.name)}"
    first = columns([(when(item.ends, today), WHEN, ""), (what, width - WHEN - 2, "")])
    return Row(
        (first, *below(f"{word}; {size}, {safe(item.place.name)}", width)),
        key=f"off {unit.code}",
        target=Target("unit", unit.code),
        unit=unit.code,
    )


# --- one print -------------------------------------------------------------------------------


def print_rows(line: "PrintLine", today: date, width: int) -> list[Row]:
    """Return one booked print: every roll of its paper with its answer and all reasons."""
    job = line.job
    facts = wrapped(_print_text(line, today), width, "strong")
    if job.series:
        facts.append(say("A series: all of it from one emulsion.", "dim"))
    if job.good or job.lost:
        facts.append(say(f"{job.good} good so far, {job.lost} lost.", "dim"))
    rows = [note(*facts)]
    if line.order_rolls:
        rows.append(
            Row(
                tuple(wrapped(lacking_text(line, today), width, "ask")),
                key="order",
                target=Target("order-new", line.material.code, (str(line.order_rolls),)),
                material=line.material.code,
            )
        )
    if not line.answers.rolls:
        rows.append(note(say("○ no  There is no roll of this paper. R takes one in.", "bad")))
    for index, item in enumerate(line.answers.rolls):
        unit = item.roll.unit
        title: Line = (
            *answer_spans(item.verdict),
            (f"  roll {unit.code}, {unit_size_text(unit)}, {safe(item.roll.place.name)}", "strong"),
        )
        rows.append(note(BLANK))
        if index < 2:
            rows.append(head("Take this one" if index == 0 else "Or one of these"))
        rows.append(
            Row(
                (cut_line(title, width), *reasons(item.verdict, today, width)),
                key=f"unit {unit.code}",
                target=Target("unit", unit.code),
                unit=unit.code,
                job=job.code,
                detail=tuple(reasons(item.verdict, today, 58)),
            )
        )
    return rows


def closed_rows(job: "Job", today: date, width: int) -> list[Row]:
    """Return what is known of a job that is done or cancelled."""
    text = (
        f"{safe(job.name)} is {job.state}: {job.good} good of {job.count}, {job.lost} lost; "
        f"its day was {when(job.print_on, today)}."
    )
    return [note(*wrapped(text, width))]
