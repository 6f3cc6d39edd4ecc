"""Cut plans, bench cards and the offcut shelf laid out; pure, nothing is read here."""

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import zip_longest
from typing import TYPE_CHECKING

from rich.cells import cell_len

from stockroom.desk.cutting.card_text import (
    blank_text,
    cautions_of,
    cut_text,
    part_text,
    summary,
    trims_text,
)
from stockroom.desk.cutting.cards import CardPart, layout_of
from stockroom.desk.cutting.offcuts import faces_text, use_text
from stockroom.desk.cutting.sheets import card_title
from stockroom.text import safe
from stockroom.units import count_of, size_text
from tui.cutting.picture import cut_picture
from tui.words import (
    BLANK,
    WHEN,
    Line,
    Row,
    Target,
    below,
    columns,
    note,
    say,
    sections,
    two_lines,
    when,
    wrap,
    wrapped,
)

if TYPE_CHECKING:
    from stockroom.desk.cutting.board import CutBoard
    from stockroom.desk.cutting.cards import CardView, Layout
    from stockroom.desk.cutting.offcuts import ShelfOffcut
    from stockroom.desk.cutting.sheets import CutWork, PlannedCard

SIDE_ROWS = 16
"""Lines that a picture beside a list takes at most."""


def today_cut_rows(
    works: "Sequence[CutWork]", cards: "Sequence[CardView]", today: date, width: int, side: int
) -> list[Row]:
    """Return what is to be cut, as the morning tells it: plans to accept, then cards to cut."""
    return [
        *(today_work_row(work, today, width, side) for work in works),
        *(card_row(view, width, side) for view in cards),
    ]


def today_work_row(work: "CutWork", today: date, width: int, side: int) -> Row:
    """Return a plan in a line or two: for the earliest print, from what its pieces come."""
    day = min(item.job.print_on for item in work.wanted)
    first = [(when(day, today), WHEN, ""), (safe(work.material.name), width - WHEN - 2, "strong")]
    return Row(
        (columns(first), *below(summary(work), width, "")),
        key=f"cuts {work.material.code}",
        target=Target("cuts", work.material.code),
        detail=tuple(work_detail(work, today, side)),
        material=work.material.code,
    )


def work_detail(work: "CutWork", today: date, width: int) -> list[Line]:
    """Return for whom a plan's pieces are, and what must be bought."""
    lines = [say(safe(work.material.name), "strong"), *wrapped(summary(work), width), BLANK]
    for item in work.wanted:
        size = size_text(item.width_dmm, item.height_dmm)
        text = f"{item.count} x {size} for {safe(item.job.name)}, {item.part}"
        lines += wrapped(f"{text}, {when(item.job.print_on, today)}", width, rest="  ")
    if work.to_buy:
        lines += [BLANK, *wrapped(buy_text(work, today), width, "ask")]
    return lines


def buy_text(work: "CutWork", today: date) -> str:
    """Return what must be bought for a plan, and by when."""
    by = f" by {when(work.order_by, today)}" if work.order_by else "; its lead time is not known"
    return f"Order {count_of(work.to_buy, 'sheet')}{by}"


# --- the board -------------------------------------------------------------------------------


def board_rows(board: "CutBoard", today: date, width: int, side: int) -> list[Row]:
    """Return plans to accept, cards to cut, the offcut shelf, and what to let go of it."""
    rows = sections(
        *((safe(work.material.name), work_rows(work, today, width, side)) for work in board.works),
        ("Cards to cut", [card_row(view, width, side) for view in board.cards]),
    )
    if not rows:
        text = (
            "Nothing is to be cut: all sure work of the next three weeks has its sheets, or no "
            "job of it has a build. B books a piece with its build."
        )
        rows.append(note(*wrapped(text, width)))
    going = [let_go_row(item, today, width, side) for item in board.shelf if item.let_go]
    shelf = sections(
        ("Offcut shelf", [offcut_row(item, today, width, side) for item in board.shelf]),
        ("To let go: kept, they are worth less than their space", going),
    )
    return [*rows, note(BLANK), *shelf] if shelf else rows


def work_rows(work: "CutWork", today: date, width: int, side: int) -> list[Row]:
    """Return a plan: what accepting it does, each sheet and offcut, and what has no place."""
    rows: list[Row] = []
    ready = sum(card.unit is not None for card in work.cards)
    text = safe(summary(work), length=400)
    lines = wrapped(f"{text[:1].upper()}{text[1:]}", width, "strong")
    if ready:
        told = f"Enter accepts it: {count_of(ready, 'bench card')}, and what they cut put by"
        rows.append(
            Row(
                (*lines, *wrapped(told, width, "dim")),
                key=accept_key(work),
                detail=tuple(work_detail(work, today, side)),
                material=work.material.code,
            )
        )
    else:
        rows.append(note(*lines))
    for index, planned in enumerate(work.cards):
        if planned.unit is not None:
            rows.append(planned_row(work, planned, index, width, side))
    if work.to_buy:
        rows.append(_buy_row(work, today, width, side))
    for item, count in work.left_out:
        size = size_text(item.width_dmm, item.height_dmm)
        text = f"No room for {count} x {size} for {safe(item.job.name)}, {item.part}"
        rows.append(note(*wrapped(text, width, "bad", rest="  ")))
    for unit, why in work.passed_over:
        size = size_text(unit.width_dmm, unit.length_dmm)
        shown = wrapped(f"Not used: {unit.code}, {size}: {safe(why)}", width, "dim")
        rows.append(
            Row(
                tuple(shown),
                key=f"passed {work.material.code} {unit.code}",
                target=Target("unit", unit.code),
                unit=unit.code,
            )
        )
    return rows


def accept_key(work: "CutWork") -> str:
    """Return the key of the row that accepts a plan."""
    return f"accept {work.material.code}"


def planned_key(work: "CutWork", index: int) -> str:
    """Return the key of the row of a sheet in a plan."""
    return f"planned {work.material.code} {index}"


def planned_row(
    work: "CutWork", planned: "PlannedCard", index: int, width: int, side: int
) -> Row:  # fmt: skip
    """Return a sheet or offcut of a plan and what comes off it."""
    layout = layout_of(planned, work.saw.kerf_dmm)
    names = names_of(work)
    title = card_title(planned)
    return Row(
        (
            say(f"{title[:1].upper()}{title[1:]}"),
            say(f"  {parts_text(layout.parts, names)}", "dim"),
        ),
        key=planned_key(work, index),
        detail=tuple(layout_lines(layout, names, side, SIDE_ROWS)),
        unit=planned.unit.code if planned.unit else "",
        material=work.material.code,
    )


def _buy_row(work: "CutWork", today: date, width: int, side: int) -> Row:
    names = names_of(work)
    bought = [layout_of(card, work.saw.kerf_dmm) for card in work.cards if card.unit is None]
    parts = [part for layout in bought for part in layout.parts]
    return Row(
        (
            say(buy_text(work, today), "ask"),
            say(f"  {parts_text(parts, names)}", "dim"),
        ),
        key=f"buy {work.material.code}",
        target=Target("order-new", work.material.code, (str(work.to_buy),)),
        detail=tuple(layout_lines(bought[0], names, side, SIDE_ROWS)),
        material=work.material.code,
    )


def names_of(work: "CutWork") -> dict[str, str]:
    """Return the names of a plan's jobs by code."""
    return {item.job.code: item.job.name for item in work.wanted}


def parts_text(parts: Sequence[CardPart], names: dict[str, str]) -> str:
    """Return what comes off a sheet in a line: how many for which job, how many offcuts.

    >>> part = CardPart(1, "piece", "7", "board", 0, 0, 10, 10)
    >>> parts_text([part, part, CardPart(2, "offcut", "", "", 0, 0, 9, 9)], {"7": "Reed bed"})
    '2 for Reed bed; 1 offcut to keep'
    """
    jobs = [names.get(part.job, part.job) for part in parts if part.what == "piece"]
    told = [f"{jobs.count(job)} for {safe(job)}" for job in dict.fromkeys(jobs)]
    kept = sum(part.what == "offcut" for part in parts)
    return ", ".join(told) + (f"; {count_of(kept, 'offcut')} to keep" if kept else "")


def card_row(view: "CardView", width: int, side: int) -> Row:
    """Return a card to cut."""
    first = f"card {view.card.code}"
    what = f"{safe(view.material.name)}, {blank_text(view)}"
    told = f"{safe(view.place)}: {parts_text(view.layout.parts, dict(view.jobs))}"
    told = f"cannot be cut: {view.gone}" if view.gone else told
    roles = ("strong", "bad" if view.gone else "dim")
    return Row(
        two_lines(first, what, told, width, roles=roles),
        key=f"card {view.card.code}",
        target=Target("card", view.card.code),
        detail=tuple(layout_lines(view.layout, dict(view.jobs), side, SIDE_ROWS)),
        unit=view.unit.code,
    )


def offcut_row(item: "ShelfOffcut", today: date, width: int, side: int) -> Row:
    """Return an offcut on the shelf."""
    size = size_text(*item.size_dmm)
    where = f"{safe(item.material.name)}, {size}, {safe(item.place)}{faces_text(item)}"
    use = f"{use_text(item)}; last seen {when(item.seen_on, today)}"
    return Row(
        two_lines(item.unit.code, where, use, width, 6),
        key=f"offcut {item.unit.code}",
        target=Target("unit", item.unit.code),
        detail=tuple(offcut_detail(item, today, side)),
        unit=item.unit.code,
    )


def offcut_detail(item: "ShelfOffcut", today: date, width: int) -> list[Line]:
    """Return all that is known of an offcut's use."""
    lines = [say(f"Offcut {item.unit.code}, {size_text(*item.size_dmm)}", "strong")]
    for wanted in item.suits:
        size = size_text(wanted.width_dmm, wanted.height_dmm)
        text = f"takes {size} for {safe(wanted.job.name)}, {wanted.part}"
        lines += wrapped(f"{text}, {when(wanted.job.print_on, today)}", width, rest="  ")
    fits = f"{count_of(item.fits, 'piece')} of last year's and booked work fit in it"
    lines += [BLANK, *wrapped(fits, width)]
    if item.wait_years is not None:
        ahead = f"{count_of(item.ahead, 'other offcut')} would be cut first"
        days = round(item.wait_years * 365)
        lines += wrapped(f"{ahead}; at that pace its turn comes in {days} days", width)
    if item.worth_cents is not None and item.space_cents is not None:
        saves, space = item.worth_cents / 100, item.space_cents / 100
        lines += wrapped(f"It saves {saves:.2f}; its space costs {space:.2f} till then", width)
    if item.let_go:
        lines += [BLANK, *wrapped(f"Let it go: {safe(item.let_go, length=400)}", width, "ask")]
    return lines


def let_go_row(item: "ShelfOffcut", today: date, width: int, side: int) -> Row:
    """Return an offcut that is not worth its space, and why."""
    text = f"{size_text(*item.size_dmm)}, {safe(item.place)}: {safe(item.let_go, length=400)}"
    first, *rest = wrap(text, width - 8)
    return Row(
        (
            columns([(item.unit.code, 6, ""), (first, width - 8, "")]),
            *(columns([("", 6, ""), (line, width - 8, "")]) for line in rest),
        ),
        key=f"go {item.unit.code}",
        target=Target("discard", item.unit.code),
        detail=tuple(offcut_detail(item, today, side)),
        unit=item.unit.code,
    )


# --- one card --------------------------------------------------------------------------------


def layout_lines(
    layout: "Layout", names: dict[str, str], width: int, rows: int
) -> list[Line]:  # fmt: skip
    """Return a picture to scale, then what comes off it and the cuts in order."""
    return [
        *cut_picture(layout, width, rows),
        BLANK,
        *_parts_lines(layout, names, width),
        BLANK,
        *_cuts_lines(layout, width),
    ]


def page_lines(
    layout: "Layout", names: dict[str, str], width: int, rows: int
) -> list[Line]:  # fmt: skip
    """Return a picture with what comes off it and the cuts beside it."""
    picture = cut_picture(layout, width * 2 // 5, rows)
    wide = max(sum(cell_len(text) for text, _ in line) for line in picture)
    room = width - wide - 2
    text = [*_parts_lines(layout, names, room), BLANK, *_cuts_lines(layout, room)]
    return list(_beside(picture, text, wide))


def _beside(left: list[Line], right: list[Line], wide: int) -> Iterator[Line]:
    for here, there in zip_longest(left, right, fillvalue=()):
        used = sum(cell_len(text) for text, _ in here)
        yield (*here, (" " * (wide - used + 2), ""), *there)


def _parts_lines(layout: "Layout", names: dict[str, str], width: int) -> list[Line]:
    lines = [say("What comes off it", "head")]
    for part in layout.parts:
        name = "offcut to keep"
        if part.what == "piece":
            name = f"{safe(names.get(part.job, part.job))}, {part.part}"
        lines += wrapped(part_text(part, name), width, rest="   ")
    return lines


def _cuts_lines(layout: "Layout", width: int) -> list[Line]:
    lines = [say("Cuts, in this order", "head")]
    trims = trims_text(layout)
    if trims:
        lines += wrapped(trims, width, rest="  ")
    for number, cut in enumerate(layout.cuts, 1):
        lines += wrapped(f"{number}. {cut_text(cut)}", width, rest="   ")
    if not layout.cuts and not trims:
        lines.append(say("None: it has that very size."))
    return lines


CUT, DIFFERS, DROP = "cut", "differs", "drop"
"""What can be done with a card."""
CLOSED = {"cut": "This card is cut.", "dropped": "This card was dropped."}
"""What a page says of a card with which nothing is left to do."""


def card_rows(view: "CardView", width: int, rows: int) -> list[Row]:
    """Return a card on a page: what can be done, the picture, the cautions."""
    made: list[Row] = []
    if view.card.state != "open":
        made.append(note(say(CLOSED[view.card.state], "dim")))
    elif view.gone:
        made.append(note(*wrapped(f"This card cannot be cut: {safe(view.gone)}.", width, "bad")))
        made.append(_do_row(DROP, "Drop this card", "then plan again", width))
    else:
        made += [
            _do_row(CUT, "Cut as planned", "pieces put by for their jobs, offcuts kept", width),
            _do_row(DIFFERS, "Something differed", "a break, a true size, another place", width),
            _do_row(DROP, "Drop this card", "nothing is cut; what it held is free", width),
        ]
    where = f"{safe(view.material.name)}, {blank_text(view)}, {safe(view.place)}"
    first, *others = cautions_of(view.material, view.layout)
    below = [line for text in others for line in wrapped(text, width, "dim")]
    return [
        *made,
        note(BLANK, *wrapped(where, width, "strong"), *wrapped(first, width, "ask")),
        note(*page_lines(view.layout, dict(view.jobs), width, rows)),
        note(BLANK, *below),
    ]


def _do_row(key: str, what: str, told: str, width: int) -> Row:
    return Row((columns([(what, 20, "strong"), (told, width - 22, "dim")]),), key=key)


def planned_rows(work: "CutWork", planned: "PlannedCard", width: int, rows: int) -> list[Row]:
    """Return a sheet of a plan that is not accepted yet, on a page."""
    layout = layout_of(planned, work.saw.kerf_dmm)
    told = "Planned, not accepted yet: Enter on the plan's first line accepts it."
    title = f"{safe(work.material.name)}, {card_title(planned)}"
    return [
        note(*wrapped(told, width, "dim"), BLANK, *wrapped(title, width, "strong")),
        note(*page_lines(layout, names_of(work), width, rows)),
    ]
