"""Commands on logger files: look, take in, list, withdraw."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from stockroom.cli.base import KEY, answer, app, at_desk, say_aside
from stockroom.picking import picked
from stockroom.plain_files import read_plain
from stockroom.units import count_of

if TYPE_CHECKING:
    from stockroom.core.records import Import
    from stockroom.desk.climate.folder import FolderRun
    from stockroom.desk.climate.readings import TakenIn
    from stockroom.desk.session import Desk, Done
    from stockroom.intake.log_columns import Unit
    from stockroom.intake.loggers import LogFile

readings = app.group("readings", "Logger files: look, take-in, list, withdraw.")

CELSIUS = typer.Option(None, "--celsius/--fahrenheit", help="Where the file does not say it.")
DAY_FIRST = typer.Option(None, "--day-first/--month-first", help="Order in dates.")

TAKEN = """
    place readings from_s to_s known=overlap.known differing=overlap.differing
    largest_difference_c=overlap.largest_difference_k elsewhere median_step_s=usual_step_s
"""


@readings.command("look", short_help="Look at a logger file; store nothing.")
def look(
    file: Path,
    zone: str = typer.Option(None, "--log-zone", help="Zone of the file; the workshop's if not."),
    day_first: bool = DAY_FIRST,
    celsius: bool = CELSIUS,
) -> None:
    """Example:  stockroom readings look cold-store.csv"""
    from stockroom.errors import StoreError
    from stockroom.intake.loggers import read_log
    from stockroom.settings import in_force

    data = read_plain(file)
    try:
        with at_desk() as desk:
            here = zone or desk.zone
    except StoreError:  # a look needs no store
        here = zone or in_force({})["zone"].value
    log = read_log(data, zone=here, day_first=day_first, unit=_unit(celsius), name=file.name)
    answer("stockroom.log/1", _value(log, here), _lines(log, here, bool(zone)))


@readings.command("take-in", short_help="Take in a logger file, or what is new in a folder.")
def take_in(
    file: Path = typer.Argument(..., metavar="FILE-OR-FOLDER", show_default=False),
    place: str = typer.Option(None, help="The place that was logged."),
    zone: str = typer.Option(None, "--log-zone", help="Zone of the file; the workshop's if not."),
    day_first: bool = DAY_FIRST,
    celsius: bool = CELSIUS,
) -> None:
    """Example:  stockroom readings take-in cold-store.csv --place 'Cold store'

    The same file twice is harmless. To look first: stockroom readings look FILE.

    A folder, for a scheduler:  stockroom readings take-in loggers

    Each folder within it is named as a place (its code or whole name) and holds that place's files;
    with --place all files in the folder are of that one. What is new is taken in, in order of name;
    files withdrawn or undone, hidden or unfinished ones are left alone. Nothing is said where
    nothing is new. Exit code 2 where a file was refused; the others are taken in all the same.
    """
    if file.is_dir():
        _take_in_folder(file, place, zone, day_first, _unit(celsius))
        return
    from stockroom.core.records import Place
    from stockroom.desk.climate import readings
    from stockroom.errors import InputError
    from stockroom.text import safe

    data = read_plain(file)
    if place is None:
        raise InputError(
            "Which place was logged?",
            "A single file does not say it.",
            "Give it with --place, by code or name.",
        )
    with at_desk() as desk:
        taken = readings.take_in_readings(
            desk, place, data, file.name, day_first=day_first, zone=zone, unit=_unit(celsius)
        )
        local = desk.zone
        with desk.reading() as view:
            stands = view.get(Place, taken.place)

    def lines() -> Iterator[str]:
        if taken.done.repeated:
            yield f"{file.name} was taken in before (act {taken.done.seq}); nothing was changed."
        else:
            where = stands.name if stands else taken.place
            yield f"Act {taken.done.seq}: {safe(file.name)}, {safe(where)}: {_span(taken, local)}."
            yield from readings.taken_text(taken)

    value = picked(taken, f"act=done.seq repeated=done.repeated {TAKEN}")
    answer("stockroom.taken-in/1", value, lines())


def _take_in_folder(
    folder: Path,
    place: str | None,
    zone: str | None,
    day_first: bool | None,
    unit: "Unit | None",
) -> None:
    from stockroom.desk.climate.folder import take_in_folder

    with at_desk() as desk:
        run = take_in_folder(desk, folder, place=place, day_first=day_first, zone=zone, unit=unit)
        local = desk.zone
    value = {
        "taken": [
            {**picked(item, "path act=taken.done.seq"), **picked(item.taken, TAKEN)}
            for item in run.taken
        ],
        "skipped": run.skipped,
        "refused": [
            {
                **picked(item, "path what=error.what why=error.why try=error.try_"),
                "problems": [str(problem) for problem in getattr(item.error, "problems", ())],
            }
            for item in run.refused
        ],
    }
    answer("stockroom.taken-in-folder/1", value, _run_lines(run, local))
    for item in run.refused:
        say_aside(f"{item.path}: {item.error.what}")
        problems = [str(problem) for problem in getattr(item.error, "problems", ())[:5]]
        for more in (item.error.why, *problems, item.error.try_):
            if more:
                say_aside(f"  {more}")
    if run.refused:
        raise typer.Exit(2)


def _run_lines(run: "FolderRun", zone: str) -> Iterator[str]:
    from stockroom.desk.climate.readings import taken_text

    for item in run.taken:
        span = _span(item.taken, zone)
        yield f"Act {item.taken.done.seq}: {item.path}, {item.place_name}: {span}."
        yield from (f"  {text}" for text in taken_text(item.taken))


def _unit(celsius: bool | None) -> "Unit | None":
    return None if celsius is None else "°C" if celsius else "°F"


def _span(taken: "TakenIn | Import", zone: str) -> str:
    from stockroom import clock

    first, last = (clock.moment_text(at, zone) for at in (taken.from_s, taken.to_s))
    return f"{taken.readings} readings, {first} to {last}"


@readings.command("list", short_help="List the logger files.")
def list_() -> None:
    """Example:  stockroom readings list"""
    from stockroom.core.records import Import, Place
    from stockroom.desk.lookup import everything

    with at_desk() as desk, desk.reading() as view:
        found = everything(view, Import)
        names = {place.code: place.name for place in everything(view, Place)}
        zone = desk.zone

    def lines() -> Iterator[str]:
        for item in found:
            gone = ", withdrawn" if item.withdrawn else ""
            yield f"{item.code}  {item.name}, {names[item.place]}: {_span(item, zone)}{gone}"
        if not found:
            yield "No logger file yet. Begin with: stockroom readings look FILE."

    answer("stockroom.imports/1", {"imports": found}, lines())


@readings.act("withdraw", short_help="Take a logger file out of the reckoning.")
def withdraw(
    desk: "Desk", code: str, reason: str = typer.Option("", help="Why."), key: str = KEY
) -> "Done":
    """Example:  stockroom readings withdraw 10312 --reason 'wrong logger'"""
    from stockroom.desk.climate import readings

    return readings.withdraw_readings(desk, code, reason=reason, key=key)


def _value(log: "LogFile", zone: str) -> dict[str, object]:
    from stockroom.core.climate.readings import too_coarse
    from stockroom.desk.climate.readings import file_moment

    return {
        **picked(log, "name sha256 time_columns temp_column rh_column unit zone zone_known_by"),
        **picked(log, "date_order order_known_by"),
        "readings": len(log.readings),
        **picked(log, "first_s last_s"),
        "first": file_moment(log, log.first_s, zone),
        "last": file_moment(log, log.last_s, zone),
        "median_step_s": log.median_step_s,
        "too_coarse": too_coarse(log.median_step_s),
        **picked(log, "gaps=gap_count longest_gap_s flags=flag_words"),
        "problems": [str(problem) for problem in log.problems],
    }


def _lines(log: "LogFile", zone: str, told: bool) -> Iterator[str]:
    from stockroom.desk.climate.readings import coarse_text, file_moment, zone_text

    yield f"{log.name}: {len(log.readings)} readings from {log.rows_read} rows"
    yield f"Time: {', '.join(log.time_columns)}; {log.date_order} ({log.order_known_by})"
    yield f"Zone: {zone_text(log, told)}"
    humidity = log.rh_column or "none"
    yield f"Temperature: {log.temp_column}, {log.unit} ({log.unit_known_by}); humidity: {humidity}"
    first, last = (file_moment(log, at, zone) for at in (log.first_s, log.last_s))
    yield f"First {first}, last {last}; step {log.median_step_s / 60:g} min"
    if log.gap_count:
        yield f"Gaps: {log.gap_count}, the longest {log.longest_gap_s / 3600:.1f} h"
    else:
        yield "Gaps: none"
    for words, count in log.flag_words.items():
        yield f"{count_of(count, 'reading')}: {words}"
    if not log.flag_words:
        yield "Flags: none"
    if hint := coarse_text(log.median_step_s):
        yield hint
    for problem in log.problems:
        yield f"  {problem}"
    which = " --celsius (or --fahrenheit)" if log.unit_in_doubt else ""
    yield f"Nothing was stored. To store it: stockroom readings take-in FILE --place PLACE{which}."
