"""Commands that ask: today, OK to print, booking, strips, offcuts, orders."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import typer

from stockroom.cli.base import (
    HAPPENED,
    KEY,
    answer,
    app,
    at_desk,
    at_reckoning,
    happened,
    on_day,
    say_aside,
    say_text,
    told,
)
from stockroom.core.records import STRIP_RESULTS
from stockroom.errors import InputError
from stockroom.picking import picked

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done

offcut = app.group("offcut", "Which offcut takes a piece.")
orders = app.group("order", "The order list, and what becomes of orders.")
app.add_typer(orders, name="orders", hidden=True)


@app.command("today", short_help="What wants doing today, and each booked print with its answer.")
def today() -> None:
    """Example:  stockroom today --on 2026-03-05"""
    from stockroom.cli.shapes import today_lines, today_value
    from stockroom.desk import keeping
    from stockroom.desk.day import today as look

    with at_desk() as desk:
        keeping.check_daily(desk)
        found, zone = look(desk, on_day(desk)), desk.zone
    answer("stockroom.today/1", today_value(found), today_lines(found, zone))


@app.command("ok", short_help="OK to print? One roll, or the best ones, with reasons.")
def ok(
    unit: str = typer.Option(None, help="One roll; all rolls of the paper, if left out."),
    job: str = typer.Option(None, help="A booked job."),
    paper: str = typer.Option(None, "--material", help="The paper, where no roll or job is named."),
    size: str = typer.Option(None, help="Size of the print, like 2500x1250 (mm)."),
    count: int = typer.Option(1, help="How many prints."),
    series: bool = typer.Option(False, "--series", help="All from one emulsion."),
    day: str = typer.Option(None, help="Day of the print, like thu or 2026-03-05."),
) -> None:
    """Example:  stockroom ok --unit 10143 --size 2500x1250 --day thu

    Exit code 0 for yes, 1 for no or for a strip to be run first.
    """
    from stockroom.cli.shapes import answers_lines, answers_value
    from stockroom.desk.condition import checking
    from stockroom.times import day_of
    from stockroom.units import size_dmm

    with at_desk() as desk:
        on = on_day(desk)
        now = on or desk.today()
        width, height = size_dmm(size) if size else (None, None)
        found = checking.ok(
            desk,
            unit=unit,
            job=job,
            material=paper,
            width_dmm=width,
            height_dmm=height,
            count=count,
            series=series,
            day=day_of(day, now) if day else None,
            today=on,
        )
    answer("stockroom.ok/1", answers_value(found, now), answers_lines(found, now))
    if found.best is None or found.best.verdict.answer != "yes":
        raise typer.Exit(1)


@app.act("book", short_help="Book prints of one size for a day.")
def book(
    desk: "Desk",
    name: str,
    size: str = typer.Option(..., help="Size of the print, like 2500x1250 (mm)."),
    day: str = typer.Option(..., help="Day on which it is exposed."),
    paper: str = typer.Option(..., "--material", help="The paper."),
    count: int = typer.Option(1, help="How many."),
    series: bool = typer.Option(False, "--series", help="All from one emulsion."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom book 'Salt flats' --size 2500x1250 --day thu --material Satin"""
    from stockroom.core.records import Material
    from stockroom.desk.condition.checking import must_be_printed_on
    from stockroom.desk.lookup import find
    from stockroom.desk.work import booking
    from stockroom.times import day_of
    from stockroom.units import size_dmm

    width, height = size_dmm(size)
    on = day_of(day, desk.today())
    if on < desk.today():
        raise InputError(
            f"{on:%a} {on.day} {on:%b %Y} is past; a print is booked for a day to come.",
            try_="Give today or a later day.",
        )
    with desk.reading() as view:
        must_be_printed_on(find(view, Material, paper))
    return booking.book(desk, name, width, height, on, paper, count=count, series=series, key=key)


@app.act("close", short_help="Call a job done, or cancelled.")
def close(
    desk: "Desk",
    job: str,
    cancelled: bool = typer.Option(False, "--cancelled", help="It will not be made."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom close 'Salt flats'"""
    from stockroom.desk.work import booking

    return booking.close_job(desk, job, "cancelled" if cancelled else "done", key=key)


@app.act("put-by", short_help="Set stock aside for a job.")
def put_by(
    desk: "Desk",
    unit: str,
    job: str = typer.Option(..., help="For which job."),
    amount: str = typer.Option(None, help="How much; all that is free, if left out."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom put-by 10151 --job 'Salt flats' --amount 5.8"""
    from stockroom.desk.stock.amounts import read_amount
    from stockroom.desk.work import booking

    taken = read_amount(desk, unit, amount)[1] if amount is not None else None
    return booking.put_by(desk, unit, job, taken, key=key)


@app.act("let-go", short_help="Free what was put by.")
def let_go(
    desk: "Desk", put: str = typer.Argument(..., metavar="PUT-BY"), key: str = KEY
) -> "Done":
    """Example:  stockroom let-go 10304"""
    from stockroom.desk.work import booking

    return booking.let_go(desk, put, key=key)


@app.act("strip", short_help="Write down a test strip judged by eye.")
def strip(
    desk: "Desk",
    unit: str,
    result: str = typer.Argument(..., help=f"One of: {', '.join(STRIP_RESULTS)}."),
    **when: Any,
) -> "Done":
    """Example:  stockroom strip 10143 clean"""
    from stockroom.desk.condition import checking

    return checking.judge_strip(desk, unit, result, **when)  # type: ignore[arg-type]


@offcut.command("find", short_help="Which offcut takes a piece.")
def offcut_find(
    size: str = typer.Argument(..., help="Size of the piece, like 620x420 (mm)."),
    of: str = typer.Option(None, "--material", help="Of which sheet or board."),
    turn: bool = typer.Option(True, "--turn/--no-turn", help="The piece may lie either way."),
    for_: str = typer.Option(
        None, "--for", help="Cut for: face, back, jig. A face from acrylic, a back from board."
    ),
) -> None:
    """Example:  stockroom offcut find 620x420 --material 'Cast acrylic 3 mm' --for face"""
    from stockroom.desk.cutting.one_cut import OffcutAnswer, find_offcut
    from stockroom.units import mm_text, size_dmm, size_text

    with at_desk() as desk:
        width, height = size_dmm(size)
        today = on_day(desk) or desk.today()
        taken, left = find_offcut(
            desk,
            width,
            height,
            material=of,
            may_turn=turn,
            use=for_,  # type: ignore[arg-type]
            today=today,
        )

    def text(item: OffcutAnswer) -> str:
        unit = item.unit
        size = size_text(unit.width_dmm, unit.length_dmm)
        return f"{unit.code}  {item.kind}, {item.material.name}, {size}, {item.place.name}"

    def lines() -> Iterator[str]:
        if not taken:
            yield f"No offcut and no sheet takes {size_text(width, height)}."
        for item in taken:
            remains = "nothing remains"
            if item.fit and item.fit.remainders:
                parts = (size_text(*part) for part in item.fit.remainders)
                remains = "what remains: " + " and ".join(parts)
            turned = ", turned" if item.fit and item.fit.turned else ""
            yield f"{text(item)}: takes it{turned}; {remains}"
            yield from (f"  {caution}" for caution in item.cautions(today))
        for item in left:
            lacking = f" by {mm_text(item.missing_dmm)}" if item.missing_dmm else ""
            yield f"{text(item)}: no, {item.why_not}{lacking}"
        for item in taken[:1]:
            lift = lift_of(item.material, item.unit.width_dmm, item.unit.length_dmm)
            yield f"{item.unit.code}: {lift_text(lift)}" if lift else CAUTION

    from stockroom.core.sheets import lift_of
    from stockroom.core.wording import CAUTION, lift_text

    value = {
        "width_dmm": width,
        "height_dmm": height,
        "takes": [
            {
                **picked(item, "unit kind place=place.name turned=fit.turned"),
                **picked(item, "remains_dmm=fit.remainders use"),
                "cautions": item.cautions(today),
            }
            for item in taken
        ],
        "does_not": [picked(item, "unit=unit.code kind why=why_not") for item in left],
    }
    answer("stockroom.offcut/1", value, lines())
    if not taken:
        raise typer.Exit(1)


@app.command("cut", short_help="Record a cut: pieces, offcuts, the rest is waste.")
def cut(
    unit: str,
    piece: list[str] = typer.Option([], help="A size used, like 620x420; may be repeated."),
    keep: list[str] = typer.Option([], help="An offcut kept; may be repeated."),
    length: str = typer.Option(None, help="Length cut off a roll or profile, m."),
    job: str = typer.Option(None, help="For which job."),
    place: str = typer.Option(None, help="Where the offcuts stand."),
    happened_: str = HAPPENED,
    key: str = KEY,
) -> None:
    """Example:  stockroom cut 10238 --piece 2520x1270 --keep 3050x740 --place 'Rack A'"""
    from stockroom.core.wording import CAUTION
    from stockroom.desk.cutting.one_cut import Part
    from stockroom.desk.cutting.one_cut import cut as do
    from stockroom.units import length_dmm, size_dmm

    with at_desk() as desk:
        told(
            do(
                desk,
                unit,
                pieces=[Part(*size_dmm(text)) for text in piece],
                offcuts=[Part(*size_dmm(text)) for text in keep],
                take_dmm=length_dmm(length, "m") if length else None,
                job=job,
                place=place,
                happened_s=happened(desk, happened_),
                key=key,
            )
        )
    say_aside(f"Saws and sheet edges cut. {CAUTION}")


@orders.command("list", short_help="What to order, and what is on its way.")
def order_list(
    csv: bool = typer.Option(False, "--csv", help="As CSV, for a spreadsheet."),
    text: bool = typer.Option(False, "--text", help="As plain text, for a letter."),
) -> None:
    """Example:  stockroom order list --text"""
    from stockroom.cli.shapes import LACKING, REORDER, coming_text, lacking_text, reorder_text
    from stockroom.desk.day import rolls_to_order
    from stockroom.desk.orders.ordering import order_list as below
    from stockroom.desk.orders.ordering import orders_coming

    with at_reckoning() as (desk, reckoning):
        day = on_day(desk) or desk.today()
        wanted, coming = below(reckoning, day), orders_coming(reckoning)
        lacking = rolls_to_order(reckoning, day)

    if csv or text:
        from stockroom.desk.papers.printed import order_paper

        say_text(order_paper(wanted, lacking, csv=csv))
        return

    def lines() -> Iterator[str]:
        supplier = None
        for line in wanted:
            if line.material.supplier != supplier:
                supplier = line.material.supplier
                yield supplier or "No supplier told"
            yield f"  {reorder_text(line, day)}"
        if not wanted:
            yield "Nothing is below its number."
        if lacking:
            yield "For booked prints"
        yield from (f"  {lacking_text(line, day, named=True)}" for line in lacking)
        for order in coming:
            yield f"On the way: {coming_text(order, reckoning.materials, day)}"
        yield "By risk, with repeats and what may still be booked: stockroom orders plan"

    value = {
        "order": [picked(line, REORDER) for line in wanted],
        "for_prints": [picked(line, LACKING) for line in lacking],
        "on_the_way": coming,
    }
    answer("stockroom.order-list/1", value, lines())


@orders.act("place", short_help="Write down an order.")
def order_place(
    desk: "Desk",
    of: str = typer.Argument(..., metavar="MATERIAL"),
    count: int = typer.Argument(..., help="How many rolls, sheets or goods."),
    expected: str = typer.Option(None, help="When it should come."),
    price: str = typer.Option(None, help="Price of one."),
    supplier: str = typer.Option(None, help="From whom."),
    size: str = typer.Option(None, help="Cut to size by the supplier, like 1210x810 (mm)."),
    **when: Any,
) -> "Done":
    """Example:  stockroom order place 'Cast acrylic 3 mm' 4 --size 1210x810

    What comes cut to size never counts as full sheets.
    """
    from stockroom.desk.orders import ordering
    from stockroom.times import day_of
    from stockroom.units import cents, size_dmm

    width, length = size_dmm(size) if size else (None, None)
    return ordering.order(
        desk,
        of,
        count,
        expected_on=day_of(expected, desk.today()) if expected else None,
        price_cents=cents(price) if price else None,
        supplier=supplier,
        width_dmm=width,
        length_dmm=length,
        **when,
    )


@orders.act("arrive", hidden=True)
@orders.act("arrived", short_help="Take in an order as it was ordered.")
def order_arrived(
    desk: "Desk",
    code: str,
    place: str = typer.Option(..., help="Where it stands."),
    batch: str = typer.Option(None, help="Emulsion or batch number."),
    label_date: str = typer.Option(None, help="Use-by date on the label."),
    warm: bool = typer.Option(False, "--arrived-warm", help="It came warm."),
    damaged: bool = typer.Option(False, "--damaged", help="It came damaged: taken in, on hold."),
    count: int = typer.Option(None, help="How many came, where not all did."),
    rest: bool = typer.Option(False, "--rest-to-come", help="The rest is still expected."),
    **when: Any,
) -> "Done":
    """Example:  stockroom order arrived 10485 --place 'Rack B' --batch D-1190"""
    from stockroom.desk.stock import receiving
    from stockroom.times import day_of

    differing = {
        "number": batch,
        "label_date": day_of(label_date, desk.today()) if label_date else None,
        "arrived_warm": warm or None,
        "damaged": damaged or None,
    }
    said: dict[str, Any] = {name: value for name, value in differing.items() if value is not None}
    return receiving.receive_order(desk, code, place, came=count, rest_to_come=rest, **when, **said)


@orders.act("confirm", short_help="The supplier confirmed an order.")
def order_confirm(
    desk: "Desk",
    code: str,
    on: str = typer.Option(None, "--confirmed", help="When; today, if left out."),
    expected: str = typer.Option(None, help="When it should come."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom order confirm 10485 --expected 2026-03-20"""
    from stockroom.desk.orders import claims
    from stockroom.times import day_of

    today = desk.today()
    return claims.confirm_order(
        desk,
        code,
        confirmed_on=day_of(on, today) if on else None,
        expected_on=day_of(expected, today) if expected else None,
        key=key,
    )


@orders.act("damaged", short_help="So many of an order came damaged.")
def order_damaged(
    desk: "Desk",
    code: str,
    count: int = typer.Argument(..., help="How many."),
    by: str = typer.Option(None, "--notice-by", help="Day by which the supplier must be told."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom order damaged 10485 2

    Without a day it is a week, as carriers' law has it for damage that does not show; your contract
    decides. Take what is damaged in on hold: stockroom hold CODE.
    """
    from stockroom.desk.orders import claims
    from stockroom.times import day_of

    day = day_of(by, desk.today()) if by else None
    return claims.claim_damage(desk, code, count, notice_by=day, key=key)


@orders.act("notice", short_help="The supplier was told of the damage.")
def order_notice(
    desk: "Desk",
    code: str,
    on: str = typer.Option(None, "--told", help="When; today, if left out."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom order notice 10485"""
    from stockroom.desk.orders import claims
    from stockroom.times import day_of

    return claims.notice_sent(desk, code, on=day_of(on, desk.today()) if on else None, key=key)


@orders.act("credit", short_help="The supplier credited something.")
def order_credit(
    desk: "Desk",
    code: str,
    amount: str = typer.Argument(..., help="How much in all."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom order credit 10485 120.00"""
    from stockroom.desk.orders import claims
    from stockroom.units import cents

    return claims.credit(desk, code, cents(amount), key=key)


@orders.act("cancel", short_help="Call an order cancelled.")
def order_cancel(desk: "Desk", code: str, key: str = KEY) -> "Done":
    """Example:  stockroom order cancel 10320"""
    from stockroom.desk.orders import ordering

    return ordering.cancel_order(desk, code, key=key)


@app.act("tell-below", short_help="Tell me below so many sheets or rolls.")
def tell_below(
    desk: "Desk",
    of: str = typer.Argument(..., metavar="MATERIAL"),
    count: int = typer.Option(..., help="So many sheets, rolls or goods; 0 for never."),
) -> "Done":
    """Example:  stockroom tell-below 'Cast acrylic 3 mm' --count 4"""
    from stockroom.desk.orders import ordering

    return ordering.tell_below(desk, of, count or None)
