"""Cut plans and bench cards in words, as plain data, and as cards to print."""

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from stockroom.core.cutting.tree import Cut, lying
from stockroom.core.records import Material
from stockroom.core.sheets import lift_of
from stockroom.core.wording import CAUTION, lift_text
from stockroom.desk.cutting.cards import CardPart, CardView, Layout, layout_of
from stockroom.desk.cutting.from_lists import SIZE, plan_value
from stockroom.desk.cutting.sheets import CutWork, card_title
from stockroom.documents.bench_card import BenchCard, DrawnPart, bench_cards
from stockroom.picking import picked
from stockroom.text import capital, listed
from stockroom.units import count_of, day_text, mm_text, size_text

SAW_CAUTION = "Saws and sheet edges cut: guard, push stick, gloves off at the blade, eyes covered."
"""Said on each card (common practice of workshops; local rules come first)."""

CUT_WORK = f"""
    material=material.code name=material.name
    pieces=wanted[](code job=job.code part {SIZE} count turn=may_turn)
    offcuts sheets to_buy order_by sheets_alone not_used=passed_over[](unit=0.code why=1)
"""


def cut_text(cut: Cut) -> str:
    """Return one cut in words: what is in hand, along which way, and where to set the stop.

    The stop is measured from the left or the lower edge of the part in hand; the blade takes its
    kerf beyond it.

    >>> from stockroom.core.cutting.tree import Part
    >>> low = Part("piece", "a", 3_000, 5_000)
    >>> cut_text(Cut("x", 3_000, 8_000, 5_000, low, None))
    '800 x 500 mm: upright, 300 mm from the left edge, 500 mm long'
    """
    way, side = ("upright", "left") if cut.axis == "x" else ("level", "lower")
    return (
        f"{size_text(cut.width_dmm, cut.height_dmm)}: {way}, {mm_text(cut.at_dmm)} from the "
        f"{side} edge, {mm_text(cut.length_dmm)} long"
    )


def trims_text(layout: Layout) -> str:
    """Return which edges are trimmed first, and by how much; "" for none.

    >>> from stockroom.core.cutting.edges import Trims
    >>> from stockroom.core.cutting.tree import Part
    >>> trims_text(Layout(900, 900, Trims(100, 100, 0, 0), Part("waste", "", 800, 800), 40))
    'Trim 10 mm off, blade and all: left, lower edge'
    """
    trims = layout.trims
    edges = {
        "left": trims.left_dmm, "lower": trims.bottom_dmm, "right": trims.right_dmm,
        "upper": trims.top_dmm,
    }  # fmt: skip
    taken = [name for name, dmm in edges.items() if dmm]
    if not taken:
        return ""
    word = "edge" if len(taken) < 3 else "edges"
    return f"Trim {mm_text(max(edges.values()))} off, blade and all: {', '.join(taken)} {word}"


def cautions_of(material: Material, layout: Layout) -> tuple[str, ...]:
    """Return what to mind: the mass of sheet and heaviest part at their thickest; the saw."""
    sizes = {(layout.width_dmm, layout.height_dmm): "The whole"}
    parts = sorted(layout.parts, key=lambda part: -part.width_dmm * part.height_dmm)
    for part in parts[:1]:
        sizes.setdefault((part.width_dmm, part.height_dmm), f"Part {part.number}")
    found = []
    for size, what in sizes.items():
        lift = lift_of(material, *size)
        if lift is not None:
            text = lift_text(lift).removesuffix(CAUTION).strip()
            found.append(f"{what}, {size_text(*size)}: {text}")
    return (*found, f"{SAW_CAUTION} {CAUTION}")


def part_text(part: CardPart, name: str) -> str:
    """Return a part with its number and size."""
    turned = ", turned" if part.turned else ""
    return f"{part.number}  {size_text(part.width_dmm, part.height_dmm)}  {name}{turned}"


def work_lines(work: CutWork, today: date) -> Iterator[str]:
    """Yield a plan in words, a sheet at a time."""
    yield f"{work.material.name}: {summary(work)}"
    if work.to_buy:
        yield f"  {order_text(work, today)}"
    names = {item.code: f"{item.job.name}, {item.part}" for item in work.wanted}
    for planned in work.cards:
        yield f"  {capital(card_title(planned))}"
        for part in layout_of(planned, work.saw.kerf_dmm).parts:
            named = names.get(f"{part.job}/{part.part}", "offcut to keep")
            yield f"    {part_text(part, named)}"
    for item, count in work.left_out:
        size = size_text(item.width_dmm, item.height_dmm)
        yield f"  No room for {count} of {item.job.name}, {item.part}, {size}."
    for unit, why in work.passed_over:
        size = size_text(unit.width_dmm, unit.length_dmm)
        yield f"  Not used: {unit.code}, {size}: {why}."


def order_text(work: CutWork, today: date) -> str:
    """Return how many sheets must be ordered for the rest of a plan, and by which day."""
    sheets = "a sheet" if work.to_buy == 1 else f"{work.to_buy} sheets"
    by = f", by {day_text(work.order_by, today)}" if work.order_by else ""
    return f"Order {sheets} first{by}."


def waiting_text(work: CutWork, today: date) -> str:
    """Return which pieces of a plan are on no card since their sheet is not there; "" for none."""
    kerf = work.saw.kerf_dmm
    pieces = sum(
        part.what == "piece"
        for planned in work.cards
        if planned.unit is None
        for part in layout_of(planned, kerf).parts
    )
    if not pieces:
        return ""
    verb = "is" if pieces == 1 else "are"
    return (
        f"{work.material.name}: {count_of(pieces, 'piece')} {verb} on no card. "
        f"{order_text(work, today)}"
    )


def summary(work: CutWork) -> str:
    """Return a plan in one sentence: what it takes, and what the offcuts save."""
    pieces = count_of(work.pieces - sum(count for _, count in work.left_out), "piece")
    if not work.cards:
        return f"nothing in stock for {count_of(work.pieces, 'piece')}."
    taken = [
        text
        for number, text in (
            (work.offcuts, count_of(work.offcuts, "offcut")),
            (work.sheets, count_of(work.sheets, "sheet")),
            (work.to_buy, count_of(work.to_buy, "sheet") + " to buy"),
        )
        if number
    ]
    verb = "comes" if pieces.startswith("1 ") else "come"
    said = f"{pieces} {verb} from {listed(taken)}"
    if not (work.sheets or work.to_buy):
        said += ", no sheet"
    if work.sheets_saved:
        price = work.material.price_cents
        money = f", {price * work.sheets_saved / 100:.2f}" if price else ""
        said += f"; offcuts save {count_of(work.sheets_saved, 'sheet')}{money}"
    return said + "."


def work_value(work: CutWork) -> dict[str, Any]:
    """Return a plan as plain data; blanks as in `stockroom.cuts/1`."""
    return picked(work, CUT_WORK) | {"plan": work.plan and plan_value(work.plan)}


def card_lines(view: CardView) -> Iterator[str]:
    """Yield a card in words: what is cut, the cuts in order, what comes off."""
    yield f"Card {view.card.code}: {blank_text(view)}, {view.place}{_state(view)}"
    trims = trims_text(view.layout)
    if trims:
        yield f"  {trims}"
    for number, cut in enumerate(view.layout.cuts, 1):
        yield f"  {number}. {cut_text(cut)}"
    yield "  What comes off it:"
    for part in view.layout.parts:
        yield f"    {part_text(part, view.name_of(part))}"


def card_line(view: CardView) -> str:
    """Return a card in one line."""
    pieces = sum(part.what == "piece" for part in view.layout.parts)
    kept = sum(part.what == "offcut" for part in view.layout.parts)
    keeps = f", keeps {count_of(kept, 'offcut')}" if kept else ""
    return (
        f"{view.card.code}  {view.material.name}, {blank_text(view)}, {view.place}: "
        f"{count_of(pieces, 'piece')}{keeps}{_state(view)}"
    )


def blank_text(view: CardView) -> str:
    """Return what a card is cut from."""
    kind = "offcut" if view.unit.is_offcut else "sheet"
    return f"{kind} {view.unit.code}, {size_text(view.layout.width_dmm, view.layout.height_dmm)}"


def _state(view: CardView) -> str:
    return f"; {view.gone}" if view.gone else ""


def card_value(view: CardView) -> dict[str, Any]:
    """Return a card as plain data."""
    return {
        **picked(view, "card material=material.name unit=unit.code place gone"),
        "trims": trims_text(view.layout),
        "cuts": [cut_text(cut) for cut in view.layout.cuts],
        "parts": [
            {
                **picked(part, "number what"),
                "name": view.name_of(part),
                **picked(part, f"job? x_mm=x_dmm/10 y_mm=y_dmm/10 {SIZE} turned"),
            }
            for part in view.layout.parts
        ],
    }


def bench_card(view: CardView) -> BenchCard:
    """Return a card as it is printed."""
    layout = view.layout
    return BenchCard(
        code=view.card.code,
        title=view.material.name,
        blank=blank_text(view),
        stands=f"Stands in {view.place}",
        width_dmm=layout.width_dmm,
        height_dmm=layout.height_dmm,
        parts=drawn(layout),
        listed=tuple(
            (
                str(part.number),
                size_text(part.width_dmm, part.height_dmm),
                f"{view.name_of(part)}{', turned' if part.turned else ''}",
            )
            for part in layout.parts
        ),
        cuts=tuple(cut_text(cut) for cut in layout.cuts),
        trims=trims_text(layout),
        cautions=cautions_of(view.material, layout),
    )


def drawn(layout: Layout) -> tuple[DrawnPart, ...]:
    """Return the rectangles of a layout's drawing, waste among them."""
    numbers = {(part.x_dmm, part.y_dmm): part.number for part in layout.parts}
    begin = (layout.trims.left_dmm, layout.trims.bottom_dmm)
    return tuple(
        DrawnPart(
            lain.part.what,
            0 if lain.part.what == "waste" else numbers[lain.x_dmm, lain.y_dmm],
            lain.x_dmm,
            lain.y_dmm,
            lain.part.width_dmm,
            lain.part.height_dmm,
        )
        for lain in lying(layout.tree, layout.kerf_dmm, *begin)
    )


def cards_pdf(views: Sequence[CardView]) -> bytes:
    """Return cards to cut by as a PDF, a page each."""
    return bench_cards([bench_card(view) for view in views])
