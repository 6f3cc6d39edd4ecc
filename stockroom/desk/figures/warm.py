"""Figures of warming up: when a cold roll may be opened, when it is ready, and from what."""

import math
from collections.abc import Iterator
from datetime import date

from stockroom.core.climate.warm_table import TableRow, by_table
from stockroom.core.climate.warmup import Package
from stockroom.core.constants import (
    DEW_MARGIN,
    OUT_BEFORE,
    READY_WITHIN,
    ROLL_CONDUCTIVITY,
    ROLL_HEAT_CAPACITY,
    STACKED_TIME,
    WORK_ENDS,
)
from stockroom.core.figures import Figure, Input, Tone, of_constant
from stockroom.core.geometry import roll_outer_mm
from stockroom.core.records import Unit
from stockroom.core.wording import CAUTION
from stockroom.desk.climate.pull_out import rounded_up_s
from stockroom.desk.climate.warming import Warming, warming_of
from stockroom.desk.climate.warming_text import damp_text, day_and_time
from stockroom.desk.reckoning import Reckoning
from stockroom.units import SECONDS_PER_DAY, m_text, mm_text

GROUP = "Warm-up"
NEVER_OPEN = "never open a cold roll in a warm room: water settles on its outer wraps"
COLD_ROOM = "dress for it, let someone know, see that the door opens from inside"
_SAFE = (
    "When its coldest part, by conduction through its side and its ends, is 2.8 K above the dew "
    "point of the room's air; never before the maker's hours are over. It stays shut until then."
)
_READY = (
    "When its core, by conduction from the length that is left, is within 2 K of the room, or by "
    "the maker's own table where one is written down; beyond that table never less than either. "
    "Rolls go out the day before all the same."
)


def figures(reckoning: Reckoning, unit: Unit, today: date) -> Iterator[Figure]:
    """Yield when a unit in the cold, or one that is out to warm, may be opened and printed."""
    if not reckoning.material_of(unit).traits.warming_known:
        return
    warming = warming_of(reckoning, unit)
    if warming is not None and not warming.over(reckoning.now_s - SECONDS_PER_DAY):
        yield from both_times(reckoning, warming)


def both_times(reckoning: Reckoning, warming: Warming) -> Iterator[Figure]:
    """Yield when a package may be opened, and when it is ready, each with its inputs."""
    shared = tuple(basis(warming))
    wait = warming.wait
    yield Figure(
        GROUP,
        "Safe to open",
        safe_text(warming, reckoning),
        _SAFE,
        (*shared, *_of_table(warming, wait.safe_s), *_of_dew(warming), *_cautions()),
        "bad" if wait.safe_s is None else _tone(reckoning, warming.safe_s),
    )
    yield Figure(
        GROUP,
        "Ready to print",
        ready_text(warming, reckoning),
        _READY,
        (
            *shared,
            *_of_table(warming, wait.ready_s),
            of_constant("As warm as the room within", READY_WITHIN),
            of_constant("Paper conducts", ROLL_CONDUCTIVITY),
            of_constant("Paper holds", ROLL_HEAT_CAPACITY),
            Input(
                "Stacked",
                f"{hours_text(warming.stacked_ready_s)}: stand rolls apart, or count so long",
                f"{STACKED_TIME.source} ({STACKED_TIME.sure})",
            ),
            Input(
                "Out the day before",
                f"{OUT_BEFORE.value:g} day before the print, by {WORK_ENDS.value:g}:00; earlier "
                "where it takes longer, never later",
                f"{OUT_BEFORE.source} ({OUT_BEFORE.sure})",
            ),
            *_cautions(),
        ),
        _tone(reckoning, warming.ready_s),
    )


def hours_text(seconds: float) -> str:
    """Return a wait in hours, rounded up to a tenth.

    >>> hours_text(16_515), hours_text(0)
    ('4.6 h', '0 h')
    """
    return f"{math.ceil(seconds / 360) / 10:g} h"


def safe_text(warming: Warming, reckoning: Reckoning) -> str:
    """Return when a unit may be opened: hours if taken out now, or an instant if it is out."""
    if warming.wait.safe_s is None:
        return damp_text(warming)
    return _when(warming, reckoning, warming.wait.safe_s)


def ready_text(warming: Warming, reckoning: Reckoning) -> str:
    """Return when a unit may be printed: hours if taken out now, or an instant if it is out."""
    beyond = "; beyond the maker's table" if warming.wait.beyond_table else ""
    return _when(warming, reckoning, warming.wait.ready_s) + beyond


def _when(warming: Warming, reckoning: Reckoning, wait_s: float) -> str:
    close = ", stacked" if warming.wait.stacked else ""
    if warming.left_s is None:
        if not wait_s:
            return f"at once in {warming.room.name}: there is nothing to wait for"
        return f"{hours_text(wait_s)} after it comes out, in {warming.room.name}{close}"
    at_s = rounded_up_s(warming.left_s + wait_s)
    when = day_and_time(at_s, reckoning.zone)
    return (f"since {when}" if at_s <= reckoning.now_s else f"from {when} on") + close


def _tone(reckoning: Reckoning, at_s: float | None) -> Tone:
    """Doubtful while it is out and not yet so far; plain otherwise."""
    return "ask" if at_s is not None and reckoning.now_s < at_s else ""


def basis(warming: Warming) -> Iterator[Input]:
    """Yield what both times are made from."""
    body, room, wait = warming.body, warming.room, warming.wait
    if isinstance(body, Package):
        outer_mm = roll_outer_mm(body.length_dmm / 10, body.core_mm, body.caliper_mm)
        size = (
            f"{m_text(round(body.length_dmm))} left, {outer_mm:.0f} mm across, "
            f"{mm_text(round(body.width_dmm))} wide"
        )
        source = f"in the books; {body.caliper_mm:g} mm thick on a core of {body.core_mm:g} mm"
    else:
        size = f"{body.width_mm:g} x {body.height_mm:g} mm, {body.thickness_mm:.1f} mm high"
        source = "sheets left, in the books, by their thickness"
    yield Input("Size", size, source)
    yield Input("Comes from", f"{wait.from_c:.1f} °C, {warming.cold.name}", warming.from_source)
    yield Input("Warms up in", f"{room.temp_c:.1f} °C, {room.name}", room.temp_source)
    told = warming.coefficient
    spread = ""
    if told.run is not None:
        low, high = told.run.low_milli / 1e3, told.run.high_milli / 1e3
        spread = f" of {low:.1f} to {high:.1f}" if told.held else f", the low end to {high:.1f}"
    yield Input("Surface coefficient", f"{told.h:.1f}{spread} W/(m² K)", told.source)


def _of_dew(warming: Warming) -> Iterator[Input]:
    room, dew = warming.room, warming.wait.dew
    yield Input("Humidity there", f"{room.humidity_pct:.0f} % RH", room.humidity_source)
    yield Input(
        dew.kind.capitalize(),
        f"{dew.temp_c:.1f} °C: it opens at {dew.temp_c + DEW_MARGIN.value:.1f} °C",
        "of the room's air, by the vapour pressure of Sonntag (1990)",
    )
    yield of_constant("Margin", DEW_MARGIN)


def _of_table(warming: Warming, wait_s: float | None) -> Iterator[Input]:
    """The row of the maker's table for it, and whether that row or conduction decides a wait, s."""
    if not warming.rows:
        yield Input("Maker's table", "none is written down", "stockroom warm-table, at the console")
        return
    row, beyond = row_used(warming.rows, *warming.body.sides_dmm, warming.wait.from_c)
    kind = "larger or colder than any row" if beyond else "the row for it"
    decides = wait_s is not None and row.hours * 3_600 >= wait_s
    by = "it decides" if decides else "conduction takes longer and decides"
    yield Input(
        "Maker's table",
        f"{row_text(row)}: {kind}; {by if wait_s is not None else 'the damp decides'}",
        warming.table_source,
    )


def row_used(
    rows: tuple[TableRow, ...], width_dmm: float, length_dmm: float, from_c: float
) -> tuple[TableRow, bool]:
    """Return the row of a maker's table that tells the hours, and whether all rows fall short.

    >>> rows = (TableRow(10_160, 304_800, -18, 9), TableRow(10_160, 304_800, 2, 7))
    >>> row_used(rows, 9_000, 200_000, 4)
    (TableRow(width_dmm=10160, length_dmm=304800, from_c=2, hours=7), False)
    """
    told = by_table(rows, width_dmm, length_dmm, from_c)
    same = [row for row in rows if row.hours == told.hours]
    fits = [row for row in same if row.covers(width_dmm, length_dmm, from_c)]
    return min(fits or same, key=lambda row: (row.width_dmm, row.length_dmm)), told.beyond


def row_text(row: TableRow) -> str:
    """Return a row of a maker's table.

    >>> row_text(TableRow(10_160, 304_800, -18, 9))
    '1016 mm, 30.48 m from -18 °C: 9 h'
    """
    size = f"{mm_text(round(row.width_dmm))}, {m_text(round(row.length_dmm))}"
    return f"{size} from {row.from_c:g} °C: {row.hours:g} h"


def _cautions() -> Iterator[Input]:
    yield Input("Caution", NEVER_OPEN, "common practice")
    yield Input("Cold rooms", COLD_ROOM, CAUTION)
