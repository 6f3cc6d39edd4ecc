"""Commands on cut plans."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from stockroom.cli.base import KEY, Commands, answer, app, at_desk, on_day
from stockroom.cli.options import shares
from stockroom.errors import BadValueError, StockroomError
from stockroom.picking import picked
from stockroom.plain_files import MAX_LIST_BYTES, read_plain
from stockroom.units import count_of
from stockroom.writing import see_free, write_whole

if TYPE_CHECKING:
    from stockroom.desk.cutting.sheets import CutsSaid
    from stockroom.desk.session import Desk, Done

cuts = Commands(no_args_is_help=True, help="Pieces from sheets and offcuts.")
MATERIAL = typer.Option(None, "--material", help="Of this material only.")
NO_SAW: dict[str, Any] = dict.fromkeys(("material", "longest", "narrowest"))
NO_SAW |= {"pin": (), "together": ()}
"""What is not told where nothing is cut by the saw."""
CARDS = typer.Argument(..., help="Codes of bench cards.")
app.add_typer(cuts, name="cuts", short_help="Cut plans: pieces from sheets and offcuts.")


@cuts.command("try", short_help="Plan two lists, without any store.")
def try_(
    pieces: Path = typer.Option(..., help="Pieces: code, width_mm, height_mm, count, turn, value."),
    blanks: Path = typer.Option(..., help="Blanks: code, width_mm, height_mm, count, cost, trim."),
    kerf: str = typer.Option("0", help="Width of a cut, mm."),
    trim: str = typer.Option("0", help="Taken off each edge of a blank that is trimmed, mm."),
    longest: str = typer.Option(None, "--longest-cut", help="Longest cut of the saw, mm."),
    narrowest: str = typer.Option("0", help="Narrowest piece that the saw holds, mm."),
    turn: bool = typer.Option(True, "--turn/--no-turn", help="Pieces may turn by a quarter."),
    ignore_leftovers: bool = typer.Option(
        False, "--ignore-leftovers", help="Plan for the cost of the blanks alone."
    ),
    most: bool = typer.Option(False, "--most", help="The most valuable pieces from one blank."),
    effort: int = typer.Option(None, min=1, help="Steps of the search."),
    seconds: float = typer.Option(None, min=0.01, help="Stop after so long."),
    seed: int = typer.Option(0, help="Another seed may find another plan."),
    unit: str = typer.Option(None, help="Unit of sizes that name none: mm, cm, m or in."),
) -> None:
    """Example:  stockroom cuts try --pieces pieces.csv --blanks blanks.csv --kerf 4 --trim 10

    An empty count of blanks is without limit; an empty cost is the area. Every plan is checked
    before it is shown. Without --seconds the same lists, effort and seed give the same plan. Exit
    code 1 where not all pieces fit.
    """
    from stockroom.core.cutting.plan import EFFORT
    from stockroom.core.cutting.request import Saw
    from stockroom.desk.cutting.from_lists import FORMAT, TrySaid, plan_lines, plan_value, try_cuts

    saw = Saw(
        _width("kerf", kerf), _width("trim", trim),
        None if longest is None else _width("longest cut", longest),
        _width("narrowest piece", narrowest),
    )  # fmt: skip
    steps = effort or (EFFORT if seconds is None else NO_END)
    said = TrySaid(
        saw, turn, ignore_leftovers, most, steps,
        None if seconds is None else _clock(seconds), seed, unit,
    )  # fmt: skip
    lists = (
        (read_plain(pieces, most_bytes=MAX_LIST_BYTES), pieces.name),
        (read_plain(blanks, most_bytes=MAX_LIST_BYTES), blanks.name),
    )
    last = dict(try_cuts(*lists, said))
    values = {material: plan_value(plan) for material, plan in last.items()}
    value = (
        next(iter(values.values()))
        if len(values) == 1
        else {
            "complete": all(plan.complete for plan in last.values()),
            "materials": [{"material": name, **one} for name, one in values.items()],
        }
    )
    answer(FORMAT, value, (line for of, plan in last.items() for line in plan_lines(of, plan)))
    if not most and not all(plan.complete for plan in last.values()):
        raise typer.Exit(1)


def _said(
    desk: "Desk",
    jobs: list[str] = typer.Argument(
        None, help="Jobs by code or name; all sure work that is due, if left out."
    ),
    material: str = MATERIAL,
    upto: str = typer.Option(
        None, "--upto", help="Prints up to this day; three weeks ahead if left out."
    ),
    without: list[str] = typer.Option([], help="A sheet or offcut not to cut; may be repeated."),
    pin: list[str] = typer.Option(
        [], help="JOB=UNIT: its pieces come from that one; may be repeated."
    ),
    together: list[str] = typer.Option([], help="A work or job whose pieces come from one sheet."),
    longest: str = typer.Option(None, "--longest-cut", help="Longest cut of the saw, mm."),
    narrowest: str = typer.Option(None, help="Narrowest piece that the saw holds, mm."),
    seed: int = typer.Option(0, help="Another seed may find another plan."),
) -> "CutsSaid":
    """How work is planned, as it was said, or as the settings file says of the saw."""
    from stockroom.desk.cutting.sheets import CutsSaid, pins_of
    from stockroom.settings import saw_limits
    from stockroom.times import day_of

    limits = saw_limits()
    if longest is not None:
        limits["longest_dmm"] = _width("longest cut", longest)
    if narrowest is not None:
        limits["narrowest_dmm"] = _width("narrowest piece", narrowest)
    return CutsSaid(
        jobs=tuple(jobs or ()),
        material=material,
        upto=day_of(upto, desk.today()) if upto else None,
        without=tuple(without),
        pins=pins_of(pin),
        together=tuple(together),
        seed=seed,
        **limits,
    )


@cuts.command("plan", short_help="How open work is cut: offcuts first, then sheets.")
@shares(_said)
def plan(**typed: Any) -> None:
    """Example:  stockroom cuts plan Estuary 'Reed bed' --without 10405

    A plan for each material. Nothing is put by until it is accepted. Exit code 1 where something
    has no place.
    """
    from stockroom.desk.cutting.card_text import work_lines, work_value
    from stockroom.desk.cutting.cards import NOTHING_TO_CUT, cards
    from stockroom.desk.cutting.sheets import plan_cuts

    with at_desk() as desk:
        said = _said(desk, **typed)
        found = plan_cuts(desk, said, on=on_day(desk))
        today = on_day(desk) or desk.today()
        on_open = 0 if found else len(cards(desk))

    def lines() -> Iterator[str]:
        for work in found:
            yield from work_lines(work, today)
        if not found:
            yield NOTHING_TO_CUT
            if on_open:
                these = "1 card is" if on_open == 1 else f"{on_open} cards are"
                yield f"{these} open and still to be cut: stockroom cuts list."
        elif any(card.unit is not None for work in found for card in work.cards):
            yield "To take it: stockroom cuts accept, with the same words."

    answer("stockroom.cut-work/1", {"materials": [work_value(work) for work in found]}, lines())
    if any(work.left_out for work in found):
        raise typer.Exit(1)


@cuts.command("bars", short_help="How frames are cut from lengths of profile.")
@shares(_said, "jobs", "upto", "without", "seed")
def bars(**typed: Any) -> None:
    """Example:  stockroom cuts bars 'Harbour steps'

    Outside lengths of the sides, saw cuts between them; begun lengths first, leftovers kept long.
    Nothing is put by: what a frame takes is booked when it is framed. Exit code 1 where a side has
    no length.
    """
    from stockroom.desk.cutting.bars import bar_lines, bar_value, plan_bars

    with at_desk() as desk:
        said = _said(desk, **NO_SAW | typed)
        found = plan_bars(desk, said, on=on_day(desk))
        today = on_day(desk) or desk.today()

    lines = [line for work in found for line in bar_lines(work, today)]
    answer(
        "stockroom.bar-work/1",
        {"materials": [bar_value(work) for work in found]},
        lines or ["No frame of this work waits for its profile."],
    )
    if any(work.plan is None or work.plan.left_out for work in found):
        raise typer.Exit(1)


@cuts.command("rolls", short_help="How prints lie side by side on rolls.")
@shares(_said, "jobs", "material", "upto", "without", "seed")
def rolls(**typed: Any) -> None:
    """Example:  stockroom cuts rolls 'Tidal series' 'Harbour steps'

    Prints of several jobs share a roll's width; straight cuts across come first, a job stays on
    one roll, short rolls are finished. Nothing is put by: a print books what it takes when it is
    recorded (`stockroom print JOB --good --amount paper=0.9`). Exit code 1 where not all fit.
    """
    from stockroom.desk.cutting.rolls import plan_rolls, roll_lines, roll_value

    with at_desk() as desk:
        said = _said(desk, **NO_SAW | typed)
        found = plan_rolls(desk, said, on=on_day(desk))

    answer(
        "stockroom.roll-work/1",
        {"materials": [roll_value(work) for work in found]},
        [line for work in found for line in roll_lines(work)]
        or ["No print of this work waits for paper."],
    )
    if any(work.plans is None or work.unfit for work in found):
        raise typer.Exit(1)


@cuts.command("accept", short_help="Accept a plan: bench cards, and what they cut put by.")
@shares(_said)
def accept(
    pdf: Path = typer.Option(None, help="Write the cards to this PDF."),
    key: str = KEY,
    **typed: Any,
) -> None:
    """Example:  stockroom cuts accept Estuary --pdf cards.pdf

    Plans as `cuts plan` does with the same words, and takes what can be cut from stock: an act
    for each material, all of them or none. What must be bought first is on no card.
    """
    from stockroom.desk.cutting.card_text import card_line, card_value, cards_pdf, waiting_text
    from stockroom.desk.cutting.cards import accept_planned

    unwritten: StockroomError | None = None
    if pdf is not None:
        see_free(pdf)
    with at_desk() as desk:
        said = _said(desk, **typed)
        accepted = accept_planned(desk, said, key=key)
        views = accepted.cards
        today = desk.today()
    if pdf is not None:
        try:
            write_whole(pdf, cards_pdf(views))
        except StockroomError as error:
            unwritten = error  # the cards stand, and are told first

    def lines() -> Iterator[str]:
        yield from (card_line(view) for view in views)
        yield from filter(None, (waiting_text(work, today) for work in accepted.works))
        if pdf is not None and unwritten is None:
            yield f"{count_of(len(views), 'card')} in {pdf}"

    answer("stockroom.cards/1", {"cards": [card_value(view) for view in views]}, lines())
    if unwritten is not None:
        raise unwritten


@cuts.command("list", short_help="Bench cards still to be cut.")
def list_(
    every: bool = typer.Option(False, "--all", help="Those cut and dropped too."),
) -> None:
    """Example:  stockroom cuts list"""
    from stockroom.desk.cutting.card_text import card_line, card_value
    from stockroom.desk.cutting.cards import cards

    with at_desk() as desk:
        views = cards(desk, every=every)

    lines = [card_line(view) for view in views]
    none = ["No card is open. Plan cuts: stockroom cuts plan."]
    answer("stockroom.cards/1", {"cards": [card_value(view) for view in views]}, lines or none)


@cuts.command("show", short_help="A bench card: cuts in order, what comes off.")
def show(card: str = typer.Argument(..., help="The card's code.")) -> None:
    """Example:  stockroom cuts show 11893"""
    from stockroom.desk.cutting.card_text import card_lines, card_value, cautions_of
    from stockroom.desk.cutting.cards import one_card

    with at_desk() as desk:
        view = one_card(desk, card)

    lines = [*card_lines(view), *cautions_of(view.material, view.layout)]
    answer("stockroom.cards/1", {"cards": [card_value(view)]}, lines)


@cuts.command("print", short_help="Write bench cards to a PDF.")
def print_(
    to: Path = typer.Argument(..., help="The PDF to write."),
    card: list[str] = typer.Option([], "--card", help="This card; all open ones if left out."),
) -> None:
    """Example:  stockroom cuts print cards.pdf --card 11893"""
    from stockroom.desk.cutting.card_text import cards_pdf
    from stockroom.desk.cutting.cards import cards, one_card

    with at_desk() as desk:
        views = [one_card(desk, code) for code in card] or cards(desk)
    if not views:
        raise BadValueError("No card is open.", try_="Plan cuts first: stockroom cuts plan.")
    write_whole(to, cards_pdf(views))
    value = {"path": to, "cards": len(views)}
    answer("stockroom.written/1", value, [f"{count_of(len(views), 'card')} in {to}"])


@cuts.act("done", short_help="Record a card as cut: as planned, or what differed.")
def done(
    desk: "Desk",
    card: str = typer.Argument(..., help="The card's code."),
    broken: list[int] = typer.Option([], help="Number of a part that broke; may be repeated."),
    true: list[str] = typer.Option([], help="NUMBER=SIZE, like 2=620x415; may be repeated."),
    place: str = typer.Option(None, help="Where what was cut stands."),
    **when: Any,
) -> "Done":
    """Example:  stockroom cuts done 11893 --broken 2 --place 'Rack A'

    Each piece becomes a unit of its own, put by for its job; each offcut one with its parent and
    batch. Taken back whole: stockroom undo.
    """
    from stockroom.desk.cutting.cards import cut_card, part_sizes

    sizes = part_sizes(true)
    return (
        cut_card(
            desk, card, broken=broken, sizes=sizes, place=place, **when
        )
    )  # fmt: skip


@cuts.act("drop", short_help="Drop bench cards: nothing is cut by them.")
def drop(desk: "Desk", cards: list[str] = CARDS, key: str = KEY) -> "Done":
    """Example:  stockroom cuts drop 11893

    What they cut is free again, and the work is to be planned anew.
    """
    from stockroom.desk.cutting.cards import drop_cards

    return drop_cards(desk, cards, key=key)


@app.command("offcuts", short_help="The offcut shelf: what each suits, what to let go.")
def offcuts(
    material: str = MATERIAL,
    space: str = typer.Option(
        None, "--space", help="What keeping 1 m2 of sheet costs a year; 3.00 if left out."
    ),
) -> None:
    """Example:  stockroom offcuts --material 'Cast acrylic 6 mm'"""
    from stockroom.desk.cutting.offcuts import SHELF, SPACE_CENTS, shelf, shelf_lines
    from stockroom.units import cents as cents_of

    with at_desk() as desk:
        today = on_day(desk) or desk.today()
        cents = SPACE_CENTS if space is None else cents_of(space)
        found = shelf(desk, material=material, space_cents=cents, on=on_day(desk))
    value = {"space_cents": cents, "offcuts": [picked(item, SHELF) for item in found]}
    answer("stockroom.offcuts/1", value, shelf_lines(found, today))


NO_END = 10**9
"""Steps that no search reaches in its time."""


def _width(what: str, text: str) -> int:
    """A width in mm as dmm, zero or more."""
    from stockroom.units import number

    value = number(text.strip().removesuffix("mm"), f"a width for the {what}") * 10
    if value < 0 or value != value.to_integral_value():
        raise BadValueError(
            f"{text[:20]!r} is not a width for the {what}.",
            "Zero or more millimetres, to a tenth, are wanted.",
            "Type it like 3.2.",
        )
    return int(value)


def _clock(seconds: float) -> Callable[[], float]:
    """The part of the time allowed that is gone."""
    begun = time.monotonic()
    return lambda: (time.monotonic() - begun) / seconds
