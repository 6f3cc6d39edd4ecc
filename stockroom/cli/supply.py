"""Commands on what to order by when: planned on a state from a file."""

import json
import sys
from pathlib import Path

import typer

from stockroom.cli.asking import orders
from stockroom.cli.base import answer, read_file, say


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
    from stockroom.desk.supply_try import FORMAT, answer_line, try_orders

    if serve == (state is not None):
        raise typer.BadParameter("Give either --state FILE or --serve.")
    if serve:
        for line in sys.stdin:
            if line.strip():
                say(json.dumps(answer_line(line, seed), ensure_ascii=False))
                sys.stdout.flush()
        return
    tried = try_orders(read_file(state), state.name, seed)
    answer(FORMAT, tried.value(), tried.texts)
