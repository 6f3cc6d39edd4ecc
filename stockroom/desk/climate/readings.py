"""Logger files: a look first, then taken in as one act, and withdrawn as one act."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from stockroom import clock
from stockroom.core.climate.overlap import Overlap, overlap
from stockroom.core.climate.readings import Readings, merge, too_coarse
from stockroom.core.constants import LOG_STEP_ENOUGH
from stockroom.core.records import Import, Place
from stockroom.desk.lookup import everything, find
from stockroom.desk.session import Decision, Desk, Done, standing_key
from stockroom.errors import ImportProblem, RefusedError
from stockroom.store import blocks
from stockroom.store.view import StoreView, find_by_key
from stockroom.text import safe
from stockroom.units import SECONDS_PER_DAY, count_of

if TYPE_CHECKING:
    from stockroom.intake.log_columns import Unit
    from stockroom.intake.loggers import LogFile


def look_at_readings(
    desk: Desk,
    data: bytes,
    name: str,
    *,
    day_first: bool | None = None,
    zone: str | None = None,
    unit: "Unit | None" = None,
) -> "LogFile":
    """Return what a logger file says and how it was understood, storing nothing.

    Raises
    ------
    ImportProblem
        Where it cannot be read, with the line.
    """
    from stockroom.intake.loggers import read_log

    return read_log(data, zone=zone or desk.zone, day_first=day_first, unit=unit, name=name)


def coarse_text(usual_step_s: float) -> str:
    """Return what is to be said of a log's usual step, s; "" where it is short enough.

    >>> coarse_text(3600).partition(":")[0], coarse_text(900)
    ('Logging every 60 min is too coarse to tell what a door opening costs', '')
    """
    if not too_coarse(usual_step_s):
        return ""
    return (
        f"Logging every {usual_step_s / 60:g} min is too coarse to tell what a door opening costs: "
        f"{LOG_STEP_ENOUGH.value / 60:g} minutes or less is enough."
    )


def file_moment(log: "LogFile", instant_s: int, zone: str) -> str:
    """Return an instant by the clock of a logger file, with its weekday and that clock's zone.

    Parameters
    ----------
    instant_s : int
        s UTC.
    zone : str
        The zone to use where the file's own offsets change from row to row.
    """
    within: tzinfo
    if offset := _OFFSET.fullmatch(log.zone):
        ahead = timedelta(hours=int(offset[2]), minutes=int(offset[3]))
        shown, within = log.zone, timezone(-ahead if offset[1] == "-" else ahead)
    else:
        shown = log.zone if log.zone_known_by == "given" else zone
        within = ZoneInfo(shown)
    at = datetime.fromtimestamp(instant_s, UTC).astimezone(within)
    return f"{at:%a} {at.day} {at:%b %Y %H:%M} {safe(shown)}"


def zone_text(log: "LogFile", told: bool) -> str:
    """Return a file's zone and whence it is known; `told` whether a person gave it."""
    known_by = log.zone_known_by
    if known_by == "given" and not told:
        known_by = "the workshop's"
    return f"{safe(log.zone)} ({known_by})"


_OFFSET = re.compile(r"UTC([+-])(\d\d):(\d\d)")
"""How a file's own offset is named."""


def compare_readings(desk: Desk, place: str, readings: Readings) -> Overlap:
    """Return what readings have in common with those that stand for a place; stores nothing.

    Raises
    ------
    UnknownCodeError
        Where there is no such place.
    """
    with desk.reading() as view:
        return _compared(view, find(view, Place, place).code, readings)


def _compared(view: StoreView, place: str, readings: Readings) -> Overlap:
    """As `compare_readings`, on what would be kept: the books round to 0.001 °C and 0.1 %."""
    from_s = int(readings.t_s[0]) - SECONDS_PER_DAY
    to_s = int(readings.t_s[-1]) + SECONDS_PER_DAY
    runs: dict[str, list[Readings]] = {
        item.code: []
        for item in everything(view, Import)
        if item.place == place
        and not item.withdrawn
        and item.from_s <= to_s
        and item.to_s >= from_s
    }
    near = (
        blocks.BLOCK.c.import_code.in_(list(runs)),
        blocks.BLOCK.c.from_s <= to_s,
        blocks.BLOCK.c.to_s >= from_s,
    )
    for row in blocks.verified_blocks(view.connection, *near):
        runs[row.import_code].append(blocks.unpack(row.data, row.n))
    kept = blocks.unpack(blocks.pack(readings), len(readings))
    return overlap([merge(parts)[0] for parts in runs.values()], kept)


def overlap_text(found: Overlap) -> str:
    """Return what a file has in common with those that stand, "" where that is nothing.

    >>> overlap_text(Overlap(96, 96, 0, 0.0))
    'Nothing new in it: all 96 readings were known already.'
    >>> overlap_text(Overlap(96, 48, 3, 2.25))  # doctest: +NORMALIZE_WHITESPACE
    '48 of its 96 readings were known already. At 3 times it differs from what stands, by 2.25 °C
    at most: there the warmer counts.'
    """
    if found.nothing_new:
        return f"Nothing new in it: all {found.readings} readings were known already."
    said = []
    if found.known:
        said.append(f"{found.known} of its {found.readings} readings were known already.")
    if found.differing:
        said.append(
            f"At {count_of(found.differing, 'time')} it differs from what stands, by "
            f"{round(found.largest_difference_k, 2):g} °C at most: there the warmer counts."
        )
    return " ".join(said)


@dataclass(frozen=True, slots=True)
class TakenIn:
    """A logger file that stands in the books, and what it had in common with those before it."""

    done: Done
    place: str
    readings: int
    from_s: int
    to_s: int
    overlap: Overlap
    usual_step_s: float
    elsewhere: tuple[str, ...]
    """Names of other places for which the same file stands."""


def take_in_readings(
    desk: Desk,
    place: str,
    data: bytes,
    name: str,
    *,
    day_first: bool | None = None,
    zone: str | None = None,
    unit: "Unit | None" = None,
    anew: bool = True,
) -> TakenIn:
    """Take in a logger file for a place as one act; the same file again changes nothing.

    Parameters
    ----------
    place : str
        Code or name.
    data : bytes
        The whole file.
    name : str
        Its name.
    day_first : bool or None
        Whether the day stands before the month, where the file does not prove it.
    zone : str or None
        Zone of the logger's clock; None for the workshop's.
    unit : str or None
        °C or °F, where the file does not say it.
    anew : bool
        Whether a file that was withdrawn or undone may be taken in again, as a person may do.

    Raises
    ------
    ImportProblem
        Where it cannot be read, or its unit is in doubt: then nothing is stored.
    """
    from stockroom.intake.loggers import LIKELY_F_FROM_C

    log = look_at_readings(desk, data, name, day_first=day_first, zone=zone, unit=unit)
    readings = log.readings
    if log.unit_in_doubt:
        raise ImportProblem(
            f"Nothing in {safe(name)} says whether it is in °C or °F, and it looks like °F.",
            f"Half of its readings are above {LIKELY_F_FROM_C:g} degrees.",
            "Say which it is: --celsius or --fahrenheit, or “Degrees are” on the screen.",
        )
    if int(readings.t_s[-1]) > desk.now_s() + SECONDS_PER_DAY:
        raise ImportProblem(
            f"{safe(name)} holds readings that are still to come, up to "
            f"{clock.moment_text(int(readings.t_s[-1]), desk.zone)}.",
            "The logger's clock is wrong, or day and month were read in the wrong order.",
            "Look at its dates; give --day-first or --month-first, or export it again.",
        )

    with desk.reading() as view:
        stands = find(view, Place, place).code

    def build(decision: Decision) -> dict[str, Any]:
        code = decision.head.born()
        rows = blocks.blocks_of(readings, stands, code)
        blocks.write_source(decision.head, log.sha256, safe(name), data)
        blocks.write_blocks(decision.head, rows)
        return {
            "import": {
                "code": code,
                "place": stands,
                "name": safe(name),
                "sha256": log.sha256,
                "readings": len(readings),
                "from_s": int(readings.t_s[0]),
                "to_s": int(readings.t_s[-1]),
            },
            "understood": {
                "zone": log.zone,
                "date_order": log.date_order,
                "unit": log.unit,
                "temp_column": log.temp_column,
            },
            "blocks": {row["month"]: row["sha256"] for row in rows},
        }

    request = {"place": stands, "sha256": log.sha256}
    with desk.deciding() as decision:
        common = _compared(decision.view, stands, readings)
        elsewhere = _elsewhere(decision.view, stands, log.sha256)
        key = first_key(stands, log.sha256)
        if anew:
            key = _readings_key(decision.view, stands, log.sha256)
        done = desk.act("readings", request, build, key=key, reason=safe(name))
    first_s, last_s = int(readings.t_s[0]), int(readings.t_s[-1])
    return TakenIn(
        done, stands, len(readings), first_s, last_s, common, log.median_step_s, elsewhere
    )


def _elsewhere(view: StoreView, place: str, sha256: str) -> tuple[str, ...]:
    codes = {
        item.place
        for item in everything(view, Import)
        if item.sha256 == sha256 and item.place != place and not item.withdrawn
    }
    found = (view.get(Place, code) for code in sorted(codes))
    return tuple(item.name for item in found if item is not None)


def taken_text(taken: TakenIn) -> list[str]:
    """Return what is to be said of a file that was taken in: overlaps, doubts, a step too long."""
    said = (
        overlap_text(taken.overlap),
        elsewhere_text(taken.elsewhere),
        coarse_text(taken.usual_step_s),
    )
    return [text for text in said if text]


def elsewhere_text(names: tuple[str, ...]) -> str:
    """Return a word of doubt about a file that stands for other places too; "" where it does not.

    >>> elsewhere_text(("Cold store",))
    'The same file stands for Cold store, too: was it logged here?'
    """
    if not names:
        return ""
    return f"The same file stands for {safe(', '.join(names))}, too: was it logged here?"


def first_key(place: str, sha256: str) -> str:
    """Return the key under which a file is taken in for a place (its code) the first time."""
    return f"readings {place} {sha256} 0"


def was_taken_in(view: StoreView, place: str, sha256: str) -> str:
    """Return what became of a file for a place (its code), "" where it never was taken in.

    Returns
    -------
    str
        "taken in before" where it stands; "withdrawn", or "taken back" by an undo, where a person
        wanted it out.
    """
    of_file = [
        item.withdrawn
        for item in everything(view, Import)
        if item.place == place and item.sha256 == sha256
    ]
    if of_file:
        return "withdrawn" if all(of_file) else "taken in before"
    return "taken back" if find_by_key(view.connection, first_key(place, sha256)) else ""


def _readings_key(view: StoreView, place: str, sha256: str) -> str:
    """A file's key; once withdrawn it may be taken in again under a new one."""
    withdrawn = sum(
        item.withdrawn
        for item in everything(view, Import)
        if item.place == place and item.sha256 == sha256
    )
    if not withdrawn:
        return standing_key(view, first_key(place, sha256))
    return standing_key(view, f"readings {place} {sha256} {withdrawn}")


def withdraw_readings(desk: Desk, said: str, *, reason: str = "", key: str | None = None) -> Done:
    """Take a logger file out of the reckoning; the file is kept."""

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Import, said)
        if found.withdrawn:
            raise RefusedError(f"Import {found.code} was withdrawn already.")
        return {"import": found.code}

    return desk.act("withdraw", {"import": said}, build, reason=reason, key=key)
