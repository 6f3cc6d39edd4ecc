"""The console command: every console command, the screen, and the demo."""

import sys
from collections.abc import Callable
from contextlib import closing
from datetime import date
from functools import partial
from typing import TYPE_CHECKING

import typer

from stockroom.cli import app, run
from stockroom.cli.base import (
    answer,
    at_desk,
    given,
    on_day,
    open_desk,
    run_words,
    settings,
    take_globals,
)
from stockroom.errors import BadValueError

if TYPE_CHECKING:
    from stockroom.desk.glance import Glance
    from stockroom.desk.session import Desk


@app.command(
    "demo",
    short_help="An invented studio to try everything on.",
    context_settings={
        "allow_extra_args": True,
        "ignore_unknown_options": True,
        "allow_interspersed_args": False,  # what follows a command is its own, its help too
    },
)
def demo(
    words: typer.Context,
    fresh: bool = typer.Option(False, "--fresh", help="Tell its story anew."),
) -> None:
    """Example:  stockroom demo ok --job 'Salt flats'

    Opens an invented studio on the screen; where there is no terminal, prints its day. With
    further words, runs that command in the studio, whose clock stands at 3 March 2026, 9:00. It
    lives in a file of its own and touches no other.
    """
    from platformdirs import user_cache_path

    from seeds_demo import DEMO_NOW_S

    if given.store:
        raise BadValueError(
            "The demo takes no --store: it has a file of its own.",
            "What is tried in it never reaches anybody's books.",
            "For your own books, leave out the word demo.",
        )
    path = user_cache_path("stockroom") / "demo" / "studio.stockroom"

    def open_studio(*, fresh: bool = False) -> "Desk":
        from seeds_demo.studio import open_demo

        return open_demo(path, fresh=fresh)

    if fresh:
        open_studio(fresh=True).close()
    given.now_s = lambda: DEMO_NOW_S
    if words.args:
        open_studio().close()
        given.store = str(path)
        raise typer.Exit(run_words(words.args))
    if _at_terminal():
        raise typer.Exit(_screen(open_studio, None, str(path), demo=True))
    from stockroom.cli.shapes import today_lines, today_value
    from stockroom.desk import keeping
    from stockroom.desk.day import today

    with closing(open_studio()) as desk:
        found, head = today(desk), keeping.state(desk)

    def lines() -> "list[str]":
        told = list(today_lines(found, desk.zone))
        return [*told, f"({head.acts} acts, last hash {head.head[:16]}; store: {path})"]

    answer("stockroom.today/1", {**today_value(found), "head": head.head}, lines())


@app.command("screen", short_help="Open the screen.")
def screen() -> None:
    """Example:  stockroom screen

    Opens the screen; so does stockroom without any word.
    """
    force = settings()
    on = None
    if given.on:
        with at_desk() as desk:
            on = on_day(desk)
    raise typer.Exit(_screen(partial(open_desk, force, begin=True), on, force["store"].value))


def _screen(
    open_desk: "Callable[[], Desk]", on: date | None, store: str, *, demo: bool = False
) -> int:
    """Show the screen; what can be read at once is shown while the rest is reckoned."""
    from stockroom.settings import keys
    from tui.app import run as show

    def look() -> "Glance | None":
        from stockroom.desk.glance import glance

        return glance(store, now_s=given.now_s)

    return show(open_desk, on=on, demo=demo, glance=look, keymap=keys())


def _at_terminal() -> bool:
    return sys.stdin.isatty() and sys.stdout.isatty() and not given.as_json


def main() -> None:
    """Run the command line; without a word, open the screen at a terminal."""
    words = sys.argv[1:]
    bare = not take_globals(words)
    if bare and sys.stdin.isatty() and sys.stdout.isatty():
        words = [*words, "screen"]
    sys.exit(run(words))


if __name__ == "__main__":
    main()
