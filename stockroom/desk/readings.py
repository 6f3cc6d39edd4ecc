"""Logger files: a look first, then taken in as one act, and withdrawn as one act."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from stockroom import clock
from stockroom.core.model import Import, Place
from stockroom.desk.lookup import everything, find
from stockroom.desk.session import Bench, Desk, Done, standing_key
from stockroom.errors import ImportProblem, RefusedError
from stockroom.store import blocks
from stockroom.text import safe
from stockroom.units import SECONDS_PER_DAY

if TYPE_CHECKING:
    from stockroom.intake.loggers import LogFile


def look_at_readings(
    desk: Desk, data: bytes, name: str, *, day_first: bool | None = None, zone: str | None = None
) -> "LogFile":
    """Return what a logger file says and how it was understood, storing nothing.

    Raises
    ------
    ImportProblem
        Where it cannot be read, with the line.
    """
    from stockroom.intake.loggers import read_log

    return read_log(data, zone=zone or desk.zone, day_first=day_first, name=name)


@dataclass(frozen=True, slots=True)
class TakenIn:
    """A logger file that stands in the books."""

    done: Done
    place: str
    readings: int
    from_s: int
    to_s: int


def take_in_readings(
    desk: Desk,
    place: str,
    data: bytes,
    name: str,
    *,
    day_first: bool | None = None,
    zone: str | None = None,
) -> TakenIn:
    """Take in a logger file for a place as one act; the same file again changes nothing.

    Raises
    ------
    ImportProblem
        Where it cannot be read: then nothing is stored.
    """
    log = look_at_readings(desk, data, name, day_first=day_first, zone=zone)
    with desk.reading() as view:
        stands = find(view, Place, place).code
    readings = log.readings
    if int(readings.t_s[-1]) > desk.now_s() + SECONDS_PER_DAY:
        raise ImportProblem(
            f"{safe(name)} holds readings that are still to come, up to "
            f"{clock.local_text(int(readings.t_s[-1]), desk.zone)}.",
            "The logger's clock is wrong, or day and month were read in the wrong order.",
            "Look at its dates; give --day-first or --month-first, or export it again.",
        )

    def build(bench: Bench) -> dict[str, Any]:
        code = bench.head.born()
        rows = blocks.blocks_of(readings, stands, code)
        blocks.write_source(bench.connection, log.sha256, safe(name), data)
        blocks.write_blocks(bench.connection, rows)
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

    key = _readings_key(desk, stands, log.sha256)
    request = {"place": stands, "sha256": log.sha256}
    done = desk.act("readings", request, build, key=key, reason=safe(name))
    return TakenIn(done, stands, len(readings), int(readings.t_s[0]), int(readings.t_s[-1]))


def _readings_key(desk: Desk, place: str, sha256: str) -> str:
    """A file's key; once withdrawn it may be taken in again under a new one."""
    with desk.reading() as view:
        times = [
            item
            for item in everything(view, Import)
            if item.place == place and item.sha256 == sha256
        ]
        withdrawn = sum(item.withdrawn for item in times)
        return standing_key(view, f"readings {place} {sha256} {withdrawn}")


def withdraw_readings(desk: Desk, said: str, *, reason: str = "", key: str | None = None) -> Done:
    """Take a logger file out of the reckoning; the file is kept."""

    def build(bench: Bench) -> dict[str, Any]:
        found = find(bench.view, Import, said)
        if found.withdrawn:
            raise RefusedError(f"Import {found.code} was withdrawn already.")
        return {"import": found.code}

    return desk.act("withdraw", {"import": said}, build, reason=reason, key=key)
