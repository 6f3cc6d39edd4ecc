"""Commands on logger files: look, take in, list, withdraw."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from stockroom.cli.base import KEY, answer, app, at_desk, read_file, told

if TYPE_CHECKING:
    from stockroom.intake.loggers import LogFile

readings = typer.Typer(rich_markup_mode=None, no_args_is_help=True)
app.add_typer(readings, name="readings", help="Logger files: look, take-in, list, withdraw.")

DAY_FIRST = typer.Option(None, "--day-first/--month-first", help="Order in dates.")


@readings.command("look", short_help="Look at a logger file; store nothing.")
def look(
    file: Path, zone: str = typer.Option(None, "--log-zone"), day_first: bool = DAY_FIRST
) -> None:
    """Example:  stockroom readings look cold-store.csv"""
    from stockroom.intake.loggers import read_log
    from stockroom.settings import in_force

    data = read_file(file)
    log = read_log(
        data, zone=zone or in_force({})["zone"].value, day_first=day_first, name=file.name
    )
    answer("stockroom.log/1", _value(log), lambda: _lines(log))


@readings.command("take-in", short_help="Take in a logger file for a place.")
def take_in(
    file: Path,
    place: str = typer.Option(..., help="The place that was logged."),
    zone: str = typer.Option(None, "--log-zone", help="Zone of the file; the workshop's if not."),
    day_first: bool = DAY_FIRST,
) -> None:
    """Example:  stockroom readings take-in cold-store.csv --place 'Cold store'

    The same file twice is harmless. To look first: stockroom readings look FILE.
    """
    from stockroom import clock
    from stockroom.desk import readings

    data = read_file(file)
    with at_desk() as desk:
        taken = readings.take_in_readings(
            desk, place, data, file.name, day_first=day_first, zone=zone
        )
        local = desk.zone

    def lines() -> Iterator[str]:
        if taken.done.repeated:
            yield f"{file.name} was taken in before (act {taken.done.seq}); nothing was changed."
        else:
            yield (
                f"Act {taken.done.seq}: {taken.readings} readings, "
                f"{clock.local_text(taken.from_s, local)} to {clock.local_text(taken.to_s, local)}."
            )

    value = {
        "act": taken.done.seq,
        "repeated": taken.done.repeated,
        "place": taken.place,
        "readings": taken.readings,
        "from_s": taken.from_s,
        "to_s": taken.to_s,
    }
    answer("stockroom.taken-in/1", value, lines)


@readings.command("list", short_help="List the logger files.")
def list_() -> None:
    """Example:  stockroom readings list"""
    from stockroom import clock
    from stockroom.core.model import Import, Place
    from stockroom.desk.lookup import everything

    with at_desk() as desk, desk.reading() as view:
        found = everything(view, Import)
        names = {place.code: place.name for place in everything(view, Place)}
        zone = desk.zone

    def lines() -> Iterator[str]:
        for item in found:
            gone = ", withdrawn" if item.withdrawn else ""
            first, last = (clock.local_text(at, zone) for at in (item.from_s, item.to_s))
            yield (
                f"{item.code}  {item.name}, {names[item.place]}: {item.readings} readings, "
                f"{first} to {last}{gone}"
            )
        if not found:
            yield "No logger file yet. Begin with: stockroom readings look FILE."

    answer("stockroom.imports/1", {"imports": [item.plain() for item in found]}, lines)


@readings.command("withdraw", short_help="Take a logger file out of the reckoning.")
def withdraw(code: str, reason: str = typer.Option("", help="Why."), key: str = KEY) -> None:
    """Example:  stockroom readings withdraw 10312 --reason 'wrong logger'"""
    from stockroom.desk import readings

    with at_desk() as desk:
        told(readings.withdraw_readings(desk, code, reason=reason, key=key))


def _value(log: "LogFile") -> dict[str, object]:
    return {
        "name": log.name,
        "sha256": log.sha256,
        "time_columns": list(log.time_columns),
        "temp_column": log.temp_column,
        "rh_column": log.rh_column,
        "unit": log.unit,
        "zone": log.zone,
        "date_order": log.date_order,
        "readings": len(log.readings),
        "first_s": int(log.readings.t_s[0]),
        "last_s": int(log.readings.t_s[-1]),
        "median_step_s": log.median_step_s,
        "gaps": log.gap_count,
        "longest_gap_s": log.longest_gap_s,
        "problems": [str(problem) for problem in log.problems],
    }


def _lines(log: "LogFile") -> Iterator[str]:
    from stockroom import clock
    from stockroom.core.climate.readings import FLAG_WORDS

    yield f"{log.name}: {len(log.readings)} readings from {log.rows_read} rows"
    yield f"Time: {', '.join(log.time_columns)}; {log.date_order} ({log.order_known_by})"
    yield f"Zone: {log.zone} ({log.zone_known_by})"
    humidity = log.rh_column or "none"
    yield f"Temperature: {log.temp_column}, {log.unit} ({log.unit_known_by}); humidity: {humidity}"
    yield (
        f"First {clock.local_text(int(log.readings.t_s[0]), 'UTC')}, "
        f"last {clock.local_text(int(log.readings.t_s[-1]), 'UTC')} UTC; "
        f"step {log.median_step_s / 60:g} min"
    )
    if log.gap_count:
        yield f"Gaps: {log.gap_count}, the longest {log.longest_gap_s / 3600:.1f} h"
    for flag, count in log.flag_counts.items():
        yield f"{count} readings: {FLAG_WORDS[flag]}"
    for problem in log.problems:
        yield f"  {problem}"
    yield "Nothing was stored. To store it: stockroom readings take-in FILE --place PLACE."
