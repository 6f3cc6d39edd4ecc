"""The command on how a material is kept: bands, opened life, limits, bond times."""

from typing import Any

import typer

from stockroom.cli.base import KEY, answer, at_desk, told
from stockroom.cli.things import material
from stockroom.core.model import GOODS_KINDS, SHEET_PROCESSES


@material.command("care", short_help="How a material is kept, and when it goes off.")
def material_care(
    name: str,
    opened_life_days: int = typer.Option(None, help="Life once opened, days."),
    humidity_limit: int = typer.Option(None, help="Opened, not above so much, % RH."),
    core: str = typer.Option(None, help="Core tube across, outside, mm."),
    white_watch: str = typer.Option(None, help="Watch from such a drift of b*."),
    white_act: str = typer.Option(None, help="Its life is over at such a drift of b*."),
    density_watch: str = typer.Option(None, help="Watch from such a drift of blue density."),
    density_act: str = typer.Option(None, help="Its life is over at such a drift of density."),
    band: tuple[str, str] = typer.Option(None, help="Kept between, °C.", metavar="LOW HIGH"),
    use_least: str = typer.Option(None, help="Not used below, °C."),
    liners: int = typer.Option(None, help="Liners of a film: 0, 1 or 2."),
    trim_after: int = typer.Option(None, help="By its own sheet: trimmed after so many hours."),
    full_bond: int = typer.Option(None, help="By its own sheet: full bond after so many hours."),
    bond_source: str = typer.Option(None, help="Which sheet the bond times are from."),
    process: str = typer.Option(None, help=f"How a sheet is made: {', '.join(SHEET_PROCESSES)}."),
    settle_days: int = typer.Option(None, help="Days to settle after a move between climates."),
    goods_kind: str = typer.Option(None, help=f"One of: {', '.join(GOODS_KINDS)}."),
    key: str = KEY,
) -> None:
    """Example:  stockroom material care 'Clear film 127' --band 10 25 --opened-life-days 365
    --use-least 15 --liners 2 --trim-after 24 --full-bond 72 --bond-source 'sheet of May 2025'

    Without options: what is known. White limits are yours; where you give none, ours are proposed.
    """
    from stockroom.desk.defining import change_material
    from stockroom.times import centi_c
    from stockroom.units import length_dmm, number

    def scaled(text: str | None, what: str, by: int) -> int | None:
        return round(number(text, what) * by) if text else None

    care: dict[str, Any] = {
        "opened_life_days": opened_life_days,
        "humidity_limit_pct": humidity_limit,
        "core_dmm": length_dmm(core, "mm") if core else None,
        "white_watch_centi": scaled(white_watch, "a drift of b*", 100),
        "white_act_centi": scaled(white_act, "a drift of b*", 100),
        "density_watch_milli": scaled(density_watch, "a drift of density", 1_000),
        "density_act_milli": scaled(density_act, "a drift of density", 1_000),
        "band_low_centi_c": centi_c(band[0]) if band else None,
        "band_high_centi_c": centi_c(band[1]) if band else None,
        "use_least_centi_c": centi_c(use_least) if use_least else None,
        "liners": liners,
        "trim_after_h": trim_after,
        "full_bond_h": full_bond,
        "bond_source": bond_source,
        "sheet_process": process,
        "settle_days": settle_days,
        "goods_kind": goods_kind,
    }
    changed = {field: value for field, value in care.items() if value is not None}
    with at_desk() as desk:
        if changed:
            told(change_material(desk, name, key=key, **changed))
            return
        from stockroom.core.model import Material
        from stockroom.desk.lookup import find

        with desk.reading() as view:
            found = find(view, Material, name)
    from stockroom.core.care import care_lines

    answer("stockroom.care/1", {"material": found}, care_lines(found))
