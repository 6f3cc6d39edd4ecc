"""Commands on warming up: a maker's table, a probe run, and how long a roll stands shut."""

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from stockroom.cli.base import KEY, answer, app, at_desk, at_reckoning, told
from stockroom.cli.readings import CELSIUS, DAY_FIRST
from stockroom.picking import picked
from stockroom.plain_files import MAX_LIST_BYTES, read_plain
from stockroom.units import count_of

if TYPE_CHECKING:
    from stockroom.core.figures import Figure
    from stockroom.desk.climate.probe_runs import ProbeLook
    from stockroom.desk.climate.warming import Warming
    from stockroom.desk.reckoning import Reckoning

ROW = "width_mm=0/10 length_m=1/10000 from_c=2/100 hours=3/60"
PROBE = """
    unit file=log.name sha256=log.sha256 degrees=log.unit out_s out_known_by=out_source until_s
    readings from_c room room_known_by=room_source h_w_m2_k=fit.h low_w_m2_k=fit.low
    high_w_m2_k=fit.high rms_k=fit.rms_k poor
"""
WARMING = """
    unit=unit.code state=wait.state safe_after_s=wait.safe_s ready_after_s=wait.ready_s
    stacked=wait.stacked stacked_ready_after_s=stacked_ready_s left_s safe_s ready_s by=wait.by
    beyond_table=wait.beyond_table from_place=cold.name from_c=wait.from_c room=room.name
    room_c=room.temp_c room_humidity_pct=room.humidity_pct dew_c=wait.dew.temp_c
    dew_kind=wait.dew.kind surface_coefficient_w_m2_k=wait.surface_coefficient
"""


@app.command("warm-table", short_help="A maker's warm-up table: take in, look, show.")
def warm_table(
    material: str,
    file: Path = typer.Argument(None, help="CSV: width_mm, length_m, from_c, hours."),
    source: str = typer.Option("", help="Where it is from, such as the data sheet and its date."),
    look: bool = typer.Option(False, "--look", help="Only look; store nothing."),
    show: bool = typer.Option(False, "--show", help="Show the table that stands."),
    key: str = KEY,
) -> None:
    """Example:  stockroom warm-table 'Satin' hours.csv --source 'data sheet of May 2025'

    A roll no larger and no colder than a row waits its hours. The file replaces the whole table.
    """
    from stockroom.desk.climate import warm_tables
    from stockroom.errors import InputError

    if show or file is None:
        if not show:
            raise InputError("Which file?", "", "Name a CSV file, or see what stands with --show.")
        _show_table(material)
        return
    rows = warm_tables.look_at_warm_table(read_plain(file, most_bytes=MAX_LIST_BYTES), file.name)
    if look:
        value = {"rows": [picked(row, ROW) for row in rows]}

        def lines() -> Iterator[str]:
            yield f"{file.name}: {count_of(len(rows), 'row')}"
            yield from (f"  {_row_text(*row)}" for row in rows)
            yield "Nothing was stored."

        answer("stockroom.warm-table/1", value, lines())
        return
    with at_desk() as desk:
        told(warm_tables.set_warm_table(desk, material, rows, source, key=key))


def _show_table(said: str) -> None:
    from stockroom.desk.climate.warm_tables import warm_table as standing

    with at_desk() as desk:
        material, rows = standing(desk, said)
    plain = [(r.width_dmm, r.length_dmm, r.from_centi_c, r.minutes) for r in rows]
    source = rows[0].source if rows else None
    shown = [picked(row, ROW) for row in plain]
    value = {"material": material.code, "source": source, "rows": shown}

    def lines() -> Iterator[str]:
        if source is None:
            yield f"{material.name}: no warm-up table is written down; conduction is reckoned."
            return
        yield f"{material.name}, from {source}"
        yield from (f"  {_row_text(*row)}" for row in plain)

    answer("stockroom.warm-table/1", value, lines())


def _row_text(width_dmm: int, length_dmm: int, from_centi_c: int, minutes: int) -> str:
    return (
        f"{width_dmm / 10:g} mm, {length_dmm / 10_000:g} m from {from_centi_c / 100:g} °C: "
        f"{minutes / 60:.4g} h"
    )


@app.command("probe", short_help="A logger inside a warming roll: how fast rolls warm here.")
def probe(
    unit: str,
    file: Path,
    room: str = typer.Option(None, help="The room it warmed up in, whose own log is used."),
    room_c: str = typer.Option(None, "--room-c", help="The room's temperature, °C, if not logged."),
    from_c: str = typer.Option(None, "--from-c", help="Of the roll when taken out, °C."),
    out: str = typer.Option(None, help="When it was taken out, if not booked.", metavar="TIME"),
    zone: str = typer.Option(None, "--log-zone", help="Zone of the file; the workshop's if not."),
    day_first: bool = DAY_FIRST,
    celsius: bool = CELSIUS,
    look: bool = typer.Option(False, "--look", help="Only look; store nothing."),
    key: str = KEY,
) -> None:
    """Example:  stockroom probe 10143 roll-core.csv --room 'Print room' --look

    Put a small logger into the core of a cold roll, take the roll out, leave it shut overnight.
    """
    from stockroom.desk.climate.probe_runs import look_at_probe_run, note_probe_run
    from stockroom.times import instant_of
    from stockroom.units import centi_c

    data = read_plain(file, most_bytes=MAX_LIST_BYTES)
    with at_desk() as desk:
        options: dict[str, Any] = {
            "room": room,
            "room_c": centi_c(room_c) / 100 if room_c else None,
            "from_c": centi_c(from_c) / 100 if from_c else None,
            "out_s": instant_of(out, desk.now_s(), desk.zone) if out else None,
            "zone": zone,
            "day_first": day_first,
            "degrees": None if celsius is None else "°C" if celsius else "°F",
        }
        if not look:
            told(note_probe_run(desk, unit, data, file.name, key=key, **options))
            return
        seen = look_at_probe_run(desk, unit, data, file.name, **options)
        local = desk.zone
    answer("stockroom.probe/1", picked(seen, PROBE), _probe_lines(seen, local))


def _probe_lines(seen: "ProbeLook", zone: str) -> Iterator[str]:
    from stockroom.clock import moment_text
    from stockroom.desk.climate.probe_runs import fit_lines

    yield f"{seen.log.name}: {len(seen.log.readings)} readings, {seen.readings} of them count"
    yield (
        f"Taken out {moment_text(seen.out_s, zone)} ({seen.out_source}) at {seen.from_c:.1f} °C, "
        f"until {moment_text(seen.until_s, zone)}"
    )
    yield f"Room: {seen.room} ({seen.room_source})"
    yield f"Surface coefficient: {seen.fit.h:.2f} W/(m² K)"
    yield from fit_lines(seen)
    yield "Nothing was stored."


@app.command("warm-up", short_help="How long a cold roll or pack stands shut.")
def warm_up(
    unit: str,
    stacked: bool = typer.Option(False, "--stacked", help="Rolls stand close together."),
    room: str = typer.Option(None, help="The room it warms up in."),
) -> None:
    """Example:  stockroom warm-up 10143 --room 'Print room'

    When it may be opened, when it is ready to print, and from what both are reckoned. Exit code 1
    where no wait makes opening safe.
    """
    from stockroom.cli.shapes import FIGURE
    from stockroom.core.records import Place, Unit
    from stockroom.desk.climate.warming import warming_of
    from stockroom.desk.figures.warm import both_times
    from stockroom.desk.lookup import find
    from stockroom.errors import RefusedError

    with at_reckoning() as (_, reckoning):
        found = find(reckoning.view, Unit, unit)
        place = None if room is None else find(reckoning.view, Place, room).code
        warming = warming_of(reckoning, found, stacked=stacked, room=place)
        if warming is None:
            raise RefusedError(
                f"Nothing is to be reckoned for {found.code}.",
                "It has long been warm, or its size does not tell how it warms up: a roll or a "
                "pack of paper or film, with its thickness.",
                "Look at the code, and where it stands.",
            )
        figures = list(both_times(reckoning, warming))
        value = picked(warming, WARMING) | {"figures": [picked(item, FIGURE) for item in figures]}
        lines = list(_warm_lines(warming, reckoning, figures))
    answer("stockroom.warm-up/1", value, lines)
    if warming.wait.safe_s is None:
        raise typer.Exit(1)


def _warm_lines(
    warming: "Warming", reckoning: "Reckoning", figures: "Sequence[Figure]"
) -> Iterator[str]:
    from stockroom.core.wording import unit_size_text
    from stockroom.desk.climate.warming_text import day_and_time

    out = "still there" if warming.left_s is None else "out since "
    out += "" if warming.left_s is None else day_and_time(warming.left_s, reckoning.zone)
    yield (
        f"{warming.unit.code}  {reckoning.material_of(warming.unit).name}, "
        f"{unit_size_text(warming.unit)}, from {warming.cold.name}, {out}"
    )
    for figure in figures:
        yield f"{figure.name}: {figure.value}"
    for item in dict.fromkeys(item for figure in figures for item in figure.inputs):
        source = f" [{item.source}]" if item.source else ""
        yield f"  {item.name}: {item.value}{source}"
