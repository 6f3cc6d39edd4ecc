"""Commands on cut plans."""

import time
from collections.abc import Callable
from pathlib import Path

import typer

from stockroom.cli.base import answer, app, read_file
from stockroom.errors import BadValueError

cuts = typer.Typer(no_args_is_help=True, help="Pieces from sheets and offcuts.")
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
    from stockroom.desk.cut_plans import FORMAT, TrySaid, plan_lines, plan_value, try_cuts

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
    lists = ((read_file(pieces), pieces.name), (read_file(blanks), blanks.name))
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
    answer(
        FORMAT, value, lambda: (line for of, plan in last.items() for line in plan_lines(of, plan))
    )
    if not most and not all(plan.complete for plan in last.values()):
        raise typer.Exit(1)


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
