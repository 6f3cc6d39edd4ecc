"""Commands on what to order by when: for the store, for one material, on a state from a file."""

import sys
from pathlib import Path

import typer

from stockroom.cli.asking import orders
from stockroom.cli.base import KEY, answer, app, at_desk, on_day, said_of, say_json, say_text
from stockroom.picking import picked
from stockroom.plain_files import bounded_lines, read_plain
from stockroom.writing import see_free, write_whole


@orders.command(
    "try", short_help="What to order by when, on a state from a file, without any store."
)
def try_(
    state: Path = typer.Option(None, help="A state: JSON of the format stockroom.supply/1."),
    seed: int = typer.Option(0, min=0, help="Another seed draws other scenarios."),
    serve: bool = typer.Option(
        False, "--serve", help="Read one state a line from standard input, answer one line each."
    ),
) -> None:
    """Example:  stockroom orders try --state state.json --seed 7 --json

    The same state and seed give the same answer. With --serve a line that cannot be read is
    answered with its error, and the next is read.
    """
    from stockroom.desk.orders.trial import MOST_BYTES, answer_line, try_orders
    from stockroom.intake.supply_state import FORMAT

    if serve == (state is not None):
        raise typer.BadParameter("Give either --state FILE or --serve.")
    if serve:
        for line in bounded_lines(sys.stdin.buffer, MOST_BYTES):
            if line.strip():
                say_json(answer_line(line, seed))
                sys.stdout.flush()
        return
    tried = try_orders(read_plain(state, most_bytes=MOST_BYTES), state.name, seed)
    answer(FORMAT, tried.value(), tried.texts())


@orders.command("plan", short_help="What to order by when, how much, and why.")
def plan_(
    material: str = typer.Option(None, "--material", help="Of this material only."),
    seed: int = typer.Option(0, min=0, help="Another seed draws other scenarios."),
    csv: bool = typer.Option(False, "--csv", help="What is due as CSV, for a spreadsheet."),
    text: bool = typer.Option(False, "--text", help="What is due as plain text, for a letter."),
    pdf: Path = typer.Option(None, "--pdf", help="Write what is due to this PDF."),
    ics: Path = typer.Option(None, "--ics", help="Write the days to order by to this calendar."),
) -> None:
    """Example:  stockroom orders plan --text

    A draft for each supplier of whom something is due within a week, with what could go along;
    then one sentence for each material that work takes. Its rows: stockroom supply MATERIAL.
    """
    from stockroom.desk.orders.papers import (
        plan_calendar,
        plan_paper,
        plan_pdf,
        plan_texts,
        plan_value,
    )
    from stockroom.desk.orders.plan import plan_orders

    if (csv or text) and (pdf is not None or ics is not None):
        raise typer.BadParameter("Give --csv or --text alone, or --pdf and --ics.")
    for path in filter(None, (pdf, ics)):
        see_free(path)
    with at_desk() as desk:
        plan = plan_orders(desk, material=material, on=on_day(desk), seed=seed)
        now_s = desk.now_s()
    if csv or text:
        say_text(plan_paper(plan, csv=csv))
        return
    written = []
    if pdf is not None:
        write_whole(pdf, plan_pdf(plan))
        written.append(pdf)
    if ics is not None:
        write_whole(ics, plan_calendar(plan, now_s))
        written.append(ics)
    if written:
        told = [f"Orders in {path}" for path in written]
        answer("stockroom.written/1", {"paths": written}, told)
        return
    answer("stockroom.order-plan/1", plan_value(plan), plan_texts(plan))


@orders.command("send", short_help="Write down all that is due of a supplier as ordered.")
def send(
    supplier: str,
    along: bool = typer.Option(False, "--along", help="What could go along too."),
    again: bool = typer.Option(False, "--again", help="Also what was ordered today already."),
    seed: int = typer.Option(0, min=0, help="As for the plan."),
    key: str = KEY,
) -> None:
    """Example:  stockroom orders send 'Lindgate Papers' --along

    An order for each material of the plan's draft, at the price that its quantity has; all of
    them stand or none, and one undo takes them back together. What was ordered today is left out.
    """
    from stockroom.desk.orders.plan import place_draft

    with at_desk() as desk:
        done = place_draft(
            desk, supplier, along=along, again=again, on=on_day(desk), seed=seed, key=key
        )
    repeated = any(one.repeated for one in done)
    value = {"orders": [code for one in done for code in one.born], "repeated": repeated}
    answer("stockroom.orders-sent/1", value, said_of(done))


@app.command("supply", short_help="One material by day: there, coming, wanted, order-by day.")
def supply(
    material: str,
    days: int = typer.Option(60, min=1, max=366, help="How many days ahead."),
    seed: int = typer.Option(0, min=0, help="Another seed draws other scenarios."),
) -> None:
    """Example:  stockroom supply 'Cast acrylic 3 mm' --days 90

    What is there less what goes off and what known and likely work takes, nothing more ordered;
    then the rows behind each figure.
    """
    from stockroom.desk.orders.papers import supply_texts, supply_value
    from stockroom.desk.orders.plan import material_supply

    with at_desk() as desk:
        found = material_supply(desk, material, days=days, on=on_day(desk), seed=seed)
    answer("stockroom.material-supply/1", supply_value(found), supply_texts(found))


@orders.command("last-buy", short_help="How much to buy of what is no longer made.")
def last_buy(
    material: str,
    years: float = typer.Option(..., help="How long it is wanted, years."),
    freezer: float = typer.Option(None, "--freezer", help="Kept at this temperature, °C."),
    seed: int = typer.Option(0, min=0, help="Another seed draws other scenarios."),
) -> None:
    """Example:  stockroom orders last-buy 'Gloss colour paper 183' --years 3 --freezer -18"""
    from stockroom.desk.orders.what_if import LAST_BUY, last_buy_texts
    from stockroom.desk.orders.what_if import last_buy as ask

    with at_desk() as desk:
        found = ask(desk, material, years=years, freezer_c=freezer, on=on_day(desk), seed=seed)
    answer("stockroom.last-buy/1", picked(found, LAST_BUY), last_buy_texts(found))


@app.command("whatif", short_help="The coming months run many times: what would change.")
def whatif(
    lead: float = typer.Option(1.0, help="Lead times times this."),
    minimum: float = typer.Option(1.0, help="Least orders times this."),
    volume: float = typer.Option(1.0, help="Jobs that come times this."),
    losses: float = typer.Option(1.0, help="What is lost times this."),
    care: float = typer.Option(1.0, help="How much a late job counts when ordering, times this."),
    warmer: float = typer.Option(0.0, help="Cold store so many °C warmer; below 0, colder."),
    lost_supplier: str = typer.Option("", "--lost-supplier", help="Who no longer delivers."),
    days: int = typer.Option(90, help="Days that count."),
    courses: int = typer.Option(12, help="How often they are run."),
    seed: int = typer.Option(0, min=0, help="Another seed draws other chances."),
) -> None:
    """Example:  stockroom whatif --lead 2 --days 120

    Late jobs, what goes off, money: as things are and with the change, on the same chances. More
    courses narrow the range.
    """
    from stockroom.desk.orders.what_if import ChangeSaid, what_if, what_if_texts, what_if_value

    said = ChangeSaid(lead, minimum, volume, losses, care, warmer, lost_supplier)
    with at_desk() as desk:
        found = what_if(desk, said, days=days, courses=courses, on=on_day(desk), seed=seed)
    answer("stockroom.what-if/1", what_if_value(found), what_if_texts(found))
