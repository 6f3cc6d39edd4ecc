"""What every command shares: global options, output, errors, exit codes."""

import inspect
import io
import os
import sys
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, fields, is_dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import typer

from stockroom import clock
from stockroom.errors import ImportProblem, StockroomError
from stockroom.picking import picked
from stockroom.text import printable, printable_json, safe, without_secrets

if TYPE_CHECKING:
    from stockroom.desk.reckoning import Reckoning
    from stockroom.desk.session import Desk, Done
    from stockroom.settings import Setting

HELP = """Example:  stockroom ok --unit 10143 --size 2500x1250 --day thu

Perishable paper, film and sheets for fine-art print finishing: what is fresh, what fits, what to
order by when.

Global options may stand anywhere: --store PATH-OR-URL, --json, --on DATE (only reasons as of that
day), --actor NAME, --zone ZONE, --clock-is-right. On acts: --happened TIME, --key KEY.

Exit codes: 0 done, 1 refused by a rule or answered no, 2 wrong usage or input, 3 trouble with the
store.
"""

A = TypeVar("A", bound=Callable[..., "Done"])


class Commands(typer.Typer):
    """Commands under one name; what does an act at the desk says so (`act`)."""

    def group(self, name: str, tells: str) -> "Commands":
        """Return a group of commands under a name of its own."""
        made = Commands(rich_markup_mode=None, no_args_is_help=True)
        self.add_typer(made, name=name, help=tells)
        return made

    def act(self, name: str, *, begin: bool = False, **shown: Any) -> Callable[[A], A]:
        """Make a command of what does one act at a desk, and tell what it booked.

        Parameters
        ----------
        name : str
        begin : bool
            Make the store where there is none.
        **shown
            As for any command.

        Returns
        -------
        callable
            A decorator. What it is put on takes the desk first; where it takes `**when`, that is
            `happened_s` and `key`, told by `--happened` and `--key`.
        """

        def made(work: A) -> A:
            asked = [*inspect.signature(work).parameters.values()][1:]
            timed = bool(asked) and asked[-1].name == "when"

            def command(**typed: Any) -> None:
                with at_desk(begin=begin) as desk:
                    if timed:
                        typed["happened_s"] = happened(desk, typed.pop("happened_"))
                    told(work(desk, **typed))

            command.__doc__ = work.__doc__
            command.__signature__ = inspect.Signature(  # type: ignore[attr-defined]
                [*asked[:-1], *_WHEN] if timed else asked
            )
            self.command(name, **shown)(command)
            return work

        return made


app = Commands(
    help=HELP,
    no_args_is_help=True,
    rich_markup_mode=None,
    add_completion=False,
    pretty_exceptions_enable=False,
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)


USAGE_ERROR: type[Exception] = next(
    kind for kind in typer.BadParameter.__mro__ if kind.__name__ == "ClickException"
)
"""What the command line raises for wrong usage; its module differs between versions."""


@dataclass(slots=True)
class Given:
    """The global options as they were given."""

    store: str | None = None
    zone: str | None = None
    actor: str | None = None
    on: str | None = None
    as_json: bool = False
    clock_is_right: bool = False
    now_s: Callable[[], int] = clock.now_s


given = Given()
"""The global options of this run; set once, before the command."""

TAKES_VALUE = {"--store": "store", "--zone": "zone", "--actor": "actor", "--on": "on"}
FLAGS = {"--json": "as_json", "--clock-is-right": "clock_is_right", "--no-color": None}


@app.callback()
def _globals(
    store: str = typer.Option(
        None,
        help="Path or URL of the store. A server's password belongs into PGPASSWORD, ~/.pgpass or "
        "the settings file: others on the machine see a command line (ps).",
        metavar="PATH-OR-URL",
    ),
    json_: bool = typer.Option(False, "--json", help="Machine-readable output."),
    on: str = typer.Option(None, help="Reason as of this day.", metavar="DATE"),
    actor: str = typer.Option(None, help="Who acts.", metavar="NAME"),
    zone: str = typer.Option(None, help="Time zone of a new store.", metavar="ZONE"),
    clock_is_right: bool = typer.Option(
        False, "--clock-is-right", help="Act though the clock looks wrong."
    ),
) -> None:
    """Take nothing: the options were taken out of the words before (see `take_globals`)."""


_globals.__doc__ = HELP


def take_globals(words: Sequence[str]) -> list[str]:
    """Take the global options out of the words, wherever they stand, and return the rest.

    >>> take_globals(["ok", "--json", "--store", "x", "--", "--json"]), given.store, given.as_json
    (['ok', '--', '--json'], 'x', True)
    """
    given.store = given.zone = given.actor = given.on = None
    given.as_json = given.clock_is_right = False
    given.now_s = clock.now_s
    rest: list[str] = []
    pending = iter(words)
    for word in pending:
        if word == "--":
            return [*rest, word, *pending]
        name, equals, value = word.partition("=")
        if name in TAKES_VALUE:
            taken = value if equals else next(pending, None)
            if taken is None:
                return [*rest, word]
            setattr(given, TAKES_VALUE[name], taken)
        elif word in FLAGS:
            if field := FLAGS[word]:
                setattr(given, field, True)
        else:
            rest.append(word)
    return rest


def run(words: Sequence[str] | None = None, command: typer.Typer = app) -> int:
    """Run a command and return its exit code; no traceback ever reaches a person.

    Parameters
    ----------
    words : sequence of str, optional
        The command line; the process's own if left out.
    command : typer.Typer
        The commands to choose from.
    """
    try:
        return run_words(take_globals(sys.argv[1:] if words is None else words), command)
    except typer.Exit as left:
        return int(left.exit_code)
    except typer.Abort:
        return leave(130, "Stopped; nothing was changed.")
    except USAGE_ERROR as error:
        told = io.StringIO()
        error.show(file=told)  # type: ignore[attr-defined]
        return leave(2, *told.getvalue().splitlines())
    except StockroomError as error:
        show_error(error)
        return error.exit_code
    except KeyboardInterrupt:
        return leave(130, "Stopped.")
    except MemoryError:
        kept = "What was acknowledged is kept. Close other programs, and do it again."
        return leave(3, "There is not enough memory for that.", kept)
    except OSError as error:
        if not isinstance(error, BrokenPipeError):
            return leave(3, f"The answer cannot be written: {safe(error.strerror or error)}.")
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        if os.environ.get("STOCKROOM_DEBUG"):
            raise
        what = f"{type(error).__name__}: {safe(without_secrets(error))}."
        kept = "What was acknowledged is kept. Run: stockroom check."
        return leave(3, "Something went wrong that we did not foresee.", what, kept)


def leave(code: int, *lines: str) -> int:
    """Say why it ends here, on the error stream, and return the exit code."""
    for line in lines:
        say_aside(line)
    return code


def run_words(words: Sequence[str], command: typer.Typer = app) -> int:
    """Run a command whose global options were taken already, and return its exit code."""
    code = typer.main.get_command(command).main(
        list(words), prog_name="stockroom", standalone_mode=False
    )
    return int(code or 0)


def show_error(error: StockroomError) -> None:
    """Say what happened, why, and what to try, on the error stream."""
    say_aside(f"{error.title}: {error.what}")
    if error.why:
        say_aside(error.why)
    if isinstance(error, ImportProblem):
        for problem in error.problems[:20]:
            say_aside(f"  {problem}")
        if len(error.problems) > 20:
            say_aside(f"  and {len(error.problems) - 20} more.")
    if error.try_:
        say_aside(error.try_)


# Nothing is written but here, and nothing without being cleaned: text of a restored backup or of a
# person's file may hold what a terminal obeys.


def say(line: str = "") -> None:
    """Write a line of data."""
    typer.echo(printable(line))


def say_text(text: str) -> None:
    """Write a whole text, such as a list or a calendar, as UTF-8; its lines end as they did."""
    end = "\r\n" if "\r\n" in text else "\n"
    lines = [printable(line) for line in text.removesuffix(end).split(end)]
    typer.echo("".join(line + end for line in lines).encode(), nl=False)


def say_json(value: Any, *, indent: int | None = None) -> None:
    """Write a value as JSON."""
    typer.echo(printable_json(value, indent=indent))


def say_aside(line: str) -> None:
    """Write a line that is no data, to the error stream; where that is full, nobody hears it."""
    with suppress(OSError):
        typer.echo(printable(line), err=True)


def answer(shape: str, value: Any, lines: Iterable[str]) -> None:
    """Write an answer: as JSON of a named shape, or as lines.

    Parameters
    ----------
    shape : str
        Name and version, such as ``stockroom.today/1``.
    value : dict or dataclass
        What the JSON holds.
    lines : iterable of str
        What a person reads.
    """
    if given.as_json:
        held = plain(value)
        body = held if isinstance(held, dict) else {"items": held}
        say_json({"format": shape, **body}, indent=2)
    else:
        for line in lines:
            for part in folded(printable(line)).split("\n"):
                say(part)


def folded(line: str, width: int = 96) -> str:
    """Return a long line folded under its own indent.

    >>> print(folded("  " + "word " * 3, 12))
      word word
        word
    """
    if len(line) <= width:
        return line
    indent = " " * (len(line) - len(line.lstrip()))
    return textwrap.fill(
        line.strip(), width, initial_indent=indent, subsequent_indent=f"{indent}  "
    )


def plain(value: Any) -> Any:
    """Return dataclasses, dates and tuples as what JSON knows; figures keep their unit's name."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, dict):
        return {str(name): plain(item) for name, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(item) for item in value]
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, float):
        return round(value, 6)
    return value


def settings() -> Mapping[str, "Setting"]:
    """Return the settings in force, those that were given before all others."""
    from stockroom.settings import in_force

    return in_force({"store": given.store, "zone": given.zone, "actor": given.actor})


def open_desk(force: Mapping[str, "Setting"], *, begin: bool, whole: bool = True) -> "Desk":
    """Open the desk that settings lead to, as `at_desk` says."""
    from stockroom.desk.session import Desk

    return Desk.at(
        force["store"].value,
        actor=force["actor"].value,
        begin=begin,
        zone=force["zone"].value,
        currency=force["currency"].value,
        now_s=given.now_s,
        clock_is_right=given.clock_is_right,
        whole=whole,
    )


@contextmanager
def at_desk(*, begin: bool = False, whole: bool = True) -> Iterator["Desk"]:
    """Open the desk that the settings lead to; say so where the clock looks wrong.

    Parameters
    ----------
    begin : bool
        Make the store where there is none.
    whole : bool
        See that its rows add up, and that days can be reckoned by the clock; what mends or keeps a
        store takes both as they are.
    """
    from stockroom.desk.clock_check import clock_warning

    desk = open_desk(settings(), begin=begin, whole=whole)
    try:
        warning = clock_warning(desk.engine, desk.now_s(), desk.zone, reckons=whole)
        yield desk
        if warning and not given.clock_is_right:
            say_aside(warning)
    finally:
        desk.close()


@contextmanager
def at_reckoning() -> Iterator[tuple["Desk", "Reckoning"]]:
    """Open the desk, and its books reckoned as of the day that was given."""
    from stockroom.desk.reckoning import reckoned

    with at_desk() as desk, reckoned(desk, on_day(desk)) as reckoning:
        yield desk, reckoning


def on_day(desk: "Desk") -> date | None:
    """Return the day to reason as of, if one was given."""
    from stockroom.times import day_of

    return day_of(given.on, desk.today()) if given.on else None


def happened(desk: "Desk", text: str | None) -> int | None:
    """Return the instant of `--happened`, if it was given."""
    from stockroom.times import instant_of

    return instant_of(text, desk.now_s(), desk.zone) if text else None


def said_of(done: "Iterable[Done]") -> list[str]:
    """Return what the acts of one command booked, in lines; what stood already is said."""
    return [
        line
        for one in done
        for line in (
            [f"Act {one.seq} stands already; nothing was changed."] if one.repeated else one.said
        )
    ]


def told(done: "Done") -> None:
    """Say what an act booked."""
    units = [t.key for t in done.changes.touches if t.kind == "unit" and t.before is None]
    value = {
        **picked(done, "act=seq kind repeated codes=born"),
        "units": units,
        "said": done.said,
    }

    answer("stockroom.done/1", value, said_of([done]))


def confirm(yes: bool) -> None:
    """Ask only a person at a terminal; never wait otherwise."""
    if yes or not sys.stdin.isatty():
        return
    if not typer.confirm("Take it in?", default=True, err=True):
        raise typer.Exit(1)


HAPPENED = typer.Option(None, "--happened", help="When it happened, like 16:30.", metavar="TIME")
KEY = typer.Option(None, "--key", help="Against doubling, for scripts.", metavar="KEY")
_WHEN = [
    inspect.Parameter(name, inspect.Parameter.POSITIONAL_OR_KEYWORD, default=option, annotation=str)
    for name, option in (("happened_", HAPPENED), ("key", KEY))
]
