"""Commands on stock: receive, move, open, use, lose, count, hold, undo."""

import sys
from typing import TYPE_CHECKING, Any

import typer

from stockroom.cli.base import HAPPENED, KEY, answer, app, at_desk, happened, say_aside, told
from stockroom.core.records import LOSS_CAUSES, OWNERS, UNKNOWN
from stockroom.core.records.traits import Shape
from stockroom.errors import InputError
from stockroom.picking import picked

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done


@app.act("receive", short_help="Take in a delivery.")
def receive(
    desk: "Desk",
    of: str = typer.Argument(..., metavar="MATERIAL", help="What came, by code or name."),
    to: str = typer.Option(..., "--place", help="Where it stands."),
    units: int = typer.Option(None, help="How many rolls or lengths alike; 1, or as ordered."),
    count: int = typer.Option(None, help="How many sheets or goods in the pack; 1, or as ordered."),
    width: str = typer.Option(None, help="Width, mm; the material's own if left out."),
    length: str = typer.Option(None, help="Roll: m. Sheet: height, mm."),
    about: str = typer.Option(None, help="The length may be off by so much, m."),
    batch: str = typer.Option(UNKNOWN, help="Emulsion or batch number."),
    made_on: str = typer.Option(None, help="Date of making."),
    label_date: str = typer.Option(None, help="Use-by date on the label."),
    price: str = typer.Option(None, help="Price of one roll or sheet."),
    owner: str = typer.Option("mine", help=f"One of: {', '.join(OWNERS)}."),
    warm: bool = typer.Option(False, "--arrived-warm", help="It came warm."),
    damaged: bool = typer.Option(False, "--damaged", help="It came damaged: taken in, on hold."),
    order: str = typer.Option(None, help="The order it belongs to."),
    **when: Any,
) -> "Done":
    """Example:  stockroom receive 'Satin colour paper 127' --place 'Cold store' --units 2
    --batch S-4418 --label-date 2027-05-12
    """
    from stockroom.desk.stock.receiving import Delivery, receive_order
    from stockroom.desk.stock.receiving import receive as take
    from stockroom.times import day_of
    from stockroom.units import cents, length_dmm

    today = desk.today()
    shape = _shape_of(desk, of)
    if shape.by_length and count not in (None, 1):
        raise InputError(
            f"{shape.one.capitalize()}s are not counted in a pack.",
            "--count says how many sheets or goods one pack holds.",
            f"Give --units {count}.",
        )
    typed: dict[str, Any] = {
        "width_dmm": length_dmm(width, "mm") if width else None,
        "length_dmm": length_dmm(length, shape.length_unit) if length else None,
        "price_cents": cents(price) if price else None,
    }
    said: dict[str, Any] = {
        "material": of,
        "plus_minus_dmm": length_dmm(about, "m") if about else 0,
        "number": batch,
        "made_on": day_of(made_on, today) if made_on else None,
        "label_date": day_of(label_date, today) if label_date else None,
        "owner": owner,
        "arrived_warm": warm,
        "damaged": damaged,
    }
    if order is None:
        whole = {"units": 1 if units is None else units, "count": 1 if count is None else count}
        return take(desk, Delivery(place=to, **whole, **typed, **said), **when)
    said |= {name: value for name, value in typed.items() if value is not None}
    came, packs = (units, None) if shape.by_length else (count, units)
    return receive_order(desk, order, to, came=came, packs=packs, **when, **said)


@app.act("move", short_help="Stand units at another place.")
def move(
    desk: "Desk",
    units: list[str] = typer.Argument(..., metavar="UNIT..."),
    to: str = typer.Option(..., "--to", help="The place."),
    **when: Any,
) -> "Done":
    """Example:  stockroom move 10143 --to 'Mounting room' --happened 16:30"""
    from stockroom.desk.stock import handling

    return handling.move(desk, units, to, **when)


@app.act("open", short_help="Open a unit's bag or box.")
def open_(
    desk: "Desk",
    code: str,
    **when: Any,
) -> "Done":
    """Example:  stockroom open 10143"""
    from stockroom.desk.stock import handling

    return handling.open_unit(desk, code, **when)


@app.act("rebag", short_help="Put a unit back into its bag.")
def rebag(
    desk: "Desk",
    code: str,
    **when: Any,
) -> "Done":
    """Example:  stockroom rebag 10143"""
    from stockroom.desk.stock import handling

    return handling.rebag(desk, code, **when)


@app.act("use", short_help="Use part of a unit.")
def use(
    desk: "Desk",
    code: str,
    amount: str = typer.Argument(..., help="Metres of a roll, or a number of sheets."),
    job: str = typer.Option(None, help="For which job."),
    good: int = typer.Option(0, help="Good prints of the job that came of it."),
    **when: Any,
) -> "Done":
    """Example:  stockroom use 10143 2.9 --job 'Salt flats' --good 1"""
    from stockroom.desk.stock import handling
    from stockroom.desk.stock.amounts import read_amount

    _, taken = read_amount(desk, code, amount)
    return handling.use(desk, code, taken, job=job, good=good, **when)


@app.act("lose", short_help="Lose part or all of a unit to a cause.")
def lose(
    desk: "Desk",
    code: str,
    amount: str = typer.Argument(None, help="How much; all that is left, if left out."),
    cause: str = typer.Option(..., help=f"Such as: {', '.join(LOSS_CAUSES)}."),
    job: str = typer.Option(None, help="For which job."),
    prints: int = typer.Option(0, help="Prints of the job that were lost."),
    **when: Any,
) -> "Done":
    """Example:  stockroom lose 10143 1.5 --cause 'fogged outer wraps'"""
    from stockroom.desk.stock import handling

    taken = _amount(desk, code, amount)
    return handling.lose(desk, code, taken, cause, job=job, prints=prints, **when)


@app.act("discard", short_help="Throw away part or all of a unit.")
def discard(
    desk: "Desk",
    code: str,
    amount: str = typer.Argument(None, help="How much; all, if left out."),
    reason: str = typer.Option("", help="Why."),
    **when: Any,
) -> "Done":
    """Example:  stockroom discard 10209 --reason 'yellow'"""
    from stockroom.desk.stock import handling

    return handling.discard(desk, code, _amount(desk, code, amount), reason=reason, **when)


@app.act("return", short_help="Send back part or all of a unit.")
def return_(
    desk: "Desk",
    code: str,
    amount: str = typer.Argument(None, help="How much; all, if left out."),
    reason: str = typer.Option("", help="Why."),
    **when: Any,
) -> "Done":
    """Example:  stockroom return 10151 --reason 'dented core'"""
    from stockroom.desk.stock import handling

    return handling.return_unit(desk, code, _amount(desk, code, amount), reason=reason, **when)


@app.command(
    "count",
    short_help="Set what is really there.",
    context_settings={"ignore_unknown_options": True},
)
def count_(
    code: str,
    amount: str = typer.Argument(None, help="What is really there: metres, or a number."),
    across: str = typer.Option(None, help="Instead of metres: across the roll, mm."),
    across_about: str = typer.Option(None, help="Across may be off by so much, mm; 0.5."),
    about: str = typer.Option(None, help="May be off by so much, m."),
    reason: str = typer.Option("", help="Why it differs."),
    happened_: str = HAPPENED,
    key: str = KEY,
) -> None:
    """Example:  stockroom count 10209 11.4 --reason 'measured'

    Or by the tape:  stockroom count 10209 --across 118.5
    """
    from stockroom.desk.stock import counting
    from stockroom.desk.stock.amounts import read_amount
    from stockroom.units import length_dmm

    if (amount is None) == (across is None):
        raise InputError(
            "Give either an amount, or --across.", try_="Metres or a number; or mm across a roll."
        )
    with at_desk() as desk:
        if across is not None:
            from stockroom.desk.condition.diameter import MEASURED_TO_DMM, measure, measured_text

            to_dmm = length_dmm(across_about, "mm") if across_about else MEASURED_TO_DMM
            measured = measure(desk, code, length_dmm(across, "mm"), to_dmm)
            found, off = measured.length_dmm, measured.plus_minus_dmm
            reason = reason or f"{measured_text(measured)}; {measured.source}"
            say_aside(f"{measured_text(measured)}; {measured.source}.")
        else:
            _, found = read_amount(desk, code, amount or "", zero=True)
            off = length_dmm(about, "m") if about else 0
        at = happened(desk, happened_)
        told(
            counting.count(
                desk, code, found, reason=reason, plus_minus_dmm=off, happened_s=at, key=key
            )
        )


@app.act("batch", short_help="Write down a batch's number or dates.")
def batch(
    desk: "Desk",
    said: str = typer.Argument(..., metavar="BATCH", help="Its number or code."),
    number: str = typer.Option(None, help="Its number, learned now."),
    made_on: str = typer.Option(None, help="Date of making."),
    label_date: str = typer.Option(None, help="Use-by date on the label."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom batch 10208 --number S-4420 --label-date 2027-06-01"""
    from stockroom.desk.stock import counting
    from stockroom.times import day_of

    today = desk.today()
    return counting.amend_batch(
        desk,
        said,
        number=number,
        made_on=day_of(made_on, today) if made_on else None,
        label_date=day_of(label_date, today) if label_date else None,
        key=key,
    )


@app.act("hold", short_help="Keep a unit or batch out of use.")
def hold(
    desk: "Desk",
    said: str = typer.Argument(..., metavar="UNIT-OR-BATCH"),
    reason: str = typer.Option(..., help="Why."),
    whole_batch: bool = typer.Option(False, "--batch", help="Hold the whole batch."),
    **when: Any,
) -> "Done":
    """Example:  stockroom hold S-4418 --batch --reason 'streaks'"""
    from stockroom.desk.stock import handling

    return handling.hold(desk, said, reason, batch=whole_batch, **when)


@app.act("release", short_help="Let a unit or batch be used again.")
def release(
    desk: "Desk",
    said: str = typer.Argument(..., metavar="UNIT-OR-BATCH"),
    reason: str = typer.Option("", help="Why."),
    whole_batch: bool = typer.Option(False, "--batch", help="Release the whole batch."),
    **when: Any,
) -> "Done":
    """Example:  stockroom release 10209"""
    from stockroom.desk.stock import handling

    return handling.release(desk, said, reason=reason, batch=whole_batch, **when)


@app.act("retime", short_help="Correct when an act happened.")
def retime(
    desk: "Desk",
    act: int,
    to: str = typer.Argument(..., help="When it really happened."),
    reason: str = typer.Option("", help="Why."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom retime 41 'yesterday 16:30'"""
    from stockroom.desk.stock import counting
    from stockroom.times import instant_of

    at = instant_of(to, desk.now_s(), desk.zone)
    return counting.retime(desk, act, at, reason=reason, key=key)


@app.command("undo", short_help="Take an act back, or show the trail.")
def undo(
    act: int = typer.Argument(None, help="Which act; your last, if left out."),
    show: bool = typer.Option(False, "--list", help="Show the trail instead."),
    reason: str = typer.Option("", help="Why."),
    key: str = KEY,
) -> None:
    """Example:  stockroom undo 41

    Without a number it takes back your own last act, and asks first where somebody acted since.
    """
    from stockroom.cli.shapes import ACT, trail_lines
    from stockroom.desk.stock import counting

    with at_desk() as desk:
        if not show:
            sure = act is None and key is None and sys.stdin.isatty()
            if sure:
                _see_meant(desk)
            told(counting.undo(desk, act, sure=sure, reason=reason, key=key))
            return
        trail = counting.trail(desk, 50)
        zone = desk.zone
    answer(
        "stockroom.trail/1",
        {"acts": [picked(line, ACT) for line in trail]},
        trail_lines(trail, zone),
    )


def _see_meant(desk: Any) -> None:
    """Where it is not sure which act undo without a number means, ask the person."""
    from stockroom.desk.stock import counting

    with desk.reading() as view:
        meant = counting.meant_by_undo(view, desk.actor)
    question = f"{meant.doubt} Take back act {meant.act.seq}, which is yours?"
    if meant.doubt and not typer.confirm(question, default=False, err=True):
        raise typer.Exit(1)


def _shape_of(desk: Any, said: str) -> Shape:
    from stockroom.core.records import Material
    from stockroom.desk.lookup import find

    with desk.reading() as view:
        return find(view, Material, said).shape


def _amount(desk: Any, code: str, text: str | None) -> int | None:
    from stockroom.desk.stock.amounts import read_amount

    return read_amount(desk, code, text)[1] if text is not None else None
