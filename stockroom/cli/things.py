"""Commands on what there is: materials, places, units, and the list of opening day."""

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from stockroom.cli.base import (
    KEY,
    answer,
    app,
    at_desk,
    at_reckoning,
    confirm,
    given,
    on_day,
    say_aside,
    told,
)
from stockroom.cli.options import asks, stored
from stockroom.core.records import Material, Place
from stockroom.core.records.traits import FORMS
from stockroom.picking import picked
from stockroom.plain_files import MAX_LIST_BYTES, read_plain

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done

material = app.group("material", "Papers, films, sheets: add, change, list.")
place = app.group("place", "Places and their climate: add, change, list, show.")
unit = app.group("unit", "Rolls, sheets, packs, offcuts: list, show.")
stock = app.group("stock", "Opening day: take in the list of what is there.")


@material.command("add", short_help="Define a material.")
@asks(Material, "add")
def material_add(name: str, key: str = KEY, **typed: Any) -> None:
    """Example:  stockroom material add 'Satin colour paper 127' --family paper --form roll
    --width 1270 --length 50 --life-days 730 --label-temp 10
    """
    from stockroom.desk.stock.defining import define_material

    form = FORMS.get(typed["form"])
    label = stored(Material, typed, **({"length_dmm": form.length_unit} if form else {}))
    with at_desk(begin=True) as desk:
        told(define_material(desk, name, key=key, **label))


@material.act("change", short_help="Change what is known of a material.")
@asks(Material, "change")
def material_change(
    desk: "Desk",
    name: str,
    new_name: str = typer.Option(None, help="Another name."),
    key: str = KEY,
    **typed: Any,
) -> "Done":
    """Example:  stockroom material change 'Cast acrylic 3 mm' --tell-below 4"""
    from stockroom.desk.stock.defining import change_material

    renamed = {} if new_name is None else {"name": new_name}
    return change_material(desk, name, key=key, **renamed, **stored(Material, typed))


@material.act("terms", short_help="On which terms it is sold: least order, price breaks.")
@asks(Material, "terms")
def material_terms(
    desk: "Desk",
    name: str,
    price_break: list[str] = typer.Option(
        None, "--break", help="From so many on this price for each, like 12=98.00; may be repeated."
    ),
    closed: list[str] = typer.Option(
        None, help="FIRST..LAST day without orders, like 2026-12-21..2027-01-06; may be repeated."
    ),
    key: str = KEY,
    **typed: Any,
) -> "Done":
    """Example:  stockroom material terms 'Cast acrylic 3 mm' --minimum 6 --order-cost 90

    Breaks and closed days replace those told before; --break '' and --closed '' take them away.
    """
    from stockroom.desk.stock.defining import change_terms
    from stockroom.times import days_of

    breaks = [text for text in price_break if text] if price_break else None
    days = [days_of(text, desk.today()) for text in closed if text] if closed else None
    return change_terms(desk, name, breaks=breaks, closed=days, key=key, **stored(Material, typed))


@material.command("list", short_help="List the materials.")
def material_list() -> None:
    """Example:  stockroom material list --json"""
    from stockroom.desk.lookup import everything
    from stockroom.units import m_text, mm_text

    with at_desk() as desk, desk.reading() as view:
        found = everything(view, Material)

    def lines() -> Iterator[str]:
        for item in found:
            size = ""
            if item.width_dmm and item.length_dmm:
                long = mm_text if item.shape.flat else m_text
                size = f", {mm_text(item.width_dmm)} x {long(item.length_dmm)}"
            below = f", tell below {item.tell_below}" if item.tell_below else ""
            yield f"{item.code}  {item.name} ({item.family}, {item.form}{size}{below})"
        if not found:
            yield "No material yet. Begin with: stockroom material add --help."

    answer("stockroom.materials/1", {"materials": found}, lines())


@material.command("care", short_help="How a material is kept, and when it goes off.")
@asks(Material, "care")
def material_care(name: str, key: str = KEY, **typed: Any) -> None:
    """Example:  stockroom material care 'Clear film 127' --band 10 25 --opened-life-days 365
    --use-least 15 --liners 2 --trim-after 24 --full-bond 72 --bond-source 'sheet of May 2025'

    Without options: what is known. White limits are yours; where you give none, ours are proposed.
    """
    from stockroom.core.care import care_lines
    from stockroom.desk.lookup import find
    from stockroom.desk.stock.defining import change_material

    changed = stored(Material, typed)
    with at_desk() as desk:
        if changed:
            told(change_material(desk, name, key=key, **changed))
            return
        with desk.reading() as view:
            found = find(view, Material, name)
    answer("stockroom.care/1", {"material": found}, care_lines(found))


@place.act("add", short_help="Define a place.", begin=True)
@asks(Place, "add")
def place_add(desk: "Desk", name: str, key: str = KEY, **typed: Any) -> "Done":
    """Example:  stockroom place add 'Cold store' --kind 'cold store' --set-point 4 --high 8"""
    from stockroom.desk.stock.defining import define_place

    return define_place(desk, name, key=key, **stored(Place, typed))


@place.act("change", short_help="Change a place's climate.")
@asks(Place, "change")
def place_change(desk: "Desk", name: str, key: str = KEY, **typed: Any) -> "Done":
    """Example:  stockroom place change 'Cold store' --high 7"""
    from stockroom.desk.stock.defining import change_place

    return change_place(desk, name, key=key, **stored(Place, typed))


@place.command("list", short_help="List the places.")
def place_list() -> None:
    """Example:  stockroom place list"""
    from stockroom.desk.lookup import everything

    with at_desk() as desk, desk.reading() as view:
        found = everything(view, Place)

    def lines() -> Iterator[str]:
        for item in found:
            set_to = item.set_point_centi_c
            shown = "" if set_to is None else f", set to {set_to / 100:g} °C"
            yield f"{item.code}  {item.name} ({item.place_kind}{shown})"
        if not found:
            yield "No place yet. Begin with: stockroom place add --help."

    answer("stockroom.places/1", {"places": found}, lines())


@place.command("show", short_help="One place: what stands there, its warm spells.")
def place_show(name: str) -> None:
    """Example:  stockroom place show 'Cold store'"""
    from stockroom.desk.climate.spells import warm_spells
    from stockroom.desk.lookup import find

    with at_reckoning() as (desk, reckoning):
        found = find(reckoning.view, Place, name)
        spells = warm_spells(reckoning, place=found.code)
        units = [item for item in reckoning.units.values() if item.place == found.code]
        names = {item.code: reckoning.material_of(item).name for item in units}
        readings = len(reckoning.airs.readings(found.code))
        zone = desk.zone
    from stockroom.cli.shapes import SPELL, spell_lines
    from stockroom.core.wording import unit_size_text

    def lines() -> Iterator[str]:
        set_to = found.set_point_centi_c
        shown = "no set-point" if set_to is None else f"set to {set_to / 100:g} °C"
        yield f"{found.code}  {found.name} ({found.place_kind}, {shown}), {readings} readings"
        for item in units:
            yield f"  {item.code}  {names[item.code]}: {unit_size_text(item)}"
        for spell in spells:
            yield from spell_lines(spell, zone)

    value = {
        "place": found,
        "readings": readings,
        "units": units,
        "spells": [picked(spell, SPELL) for spell in spells],
    }
    answer("stockroom.place/1", value, lines())


@place.command("mkt", short_help="A place's mean kinetic temperature over windows.")
def place_mkt(
    name: str,
    from_: str = typer.Option(None, "--from", help="First day of one window.", metavar="DAY"),
    to: str = typer.Option(None, help="Last day of it.", metavar="DAY"),
) -> None:
    """Example:  stockroom place mkt 'Cold store' --from 2026-02-01 --to 2026-02-28

    Without days: the last 24 h, 7, 30, 90 and 365 days, and all. Each with the worst 24 h and the
    worst 30 days in it, since a long window hides a warm spell. Gaps of the log are left out.
    """
    from stockroom.cli.shapes import means_lines
    from stockroom.desk.climate.views import MKT_ENERGIES_J_MOL, place_means
    from stockroom.times import day_of

    with at_desk() as desk:
        on = on_day(desk)
        first, last = (day_of(text, on or desk.today()) if text else None for text in (from_, to))
        found = place_means(desk, name, on, from_day=first, to_day=last)
    value = {
        **picked(found, "place=place.code name=place.name now_s"),
        "energies_j_mol": MKT_ENERGIES_J_MOL,
        "windows": found.windows,
    }
    answer("stockroom.mkt/1", value, means_lines(found))


@unit.command("list", short_help="List what is in stock.")
def unit_list(
    of: str = typer.Option(None, "--material", help="Only of this material."),
) -> None:
    """Example:  stockroom unit list --material 'Satin colour paper 127'"""
    from stockroom.core.wording import unit_size_text
    from stockroom.desk.lookup import find

    with at_reckoning() as (_, reckoning):
        wanted = find(reckoning.view, Material, of).code if of else None
        found = [
            item
            for item in reckoning.units.values()
            if wanted is None or reckoning.material_of(item).code == wanted
        ]

    def lines() -> Iterator[str]:
        for item in found:
            why = item.held or reckoning.lot_of(item).held
            held = f", on hold: {why}" if why else ""
            yield (
                f"{item.code}  {reckoning.material_of(item).name}: {unit_size_text(item)}, "
                f"{reckoning.places[item.place].name}, batch {reckoning.lot_of(item).number}{held}"
            )
        if not found:
            yield "Nothing in stock. Begin with: stockroom receive --help."

    answer("stockroom.units/1", {"units": found}, lines())


@unit.command("show", short_help="One unit: how fresh, where it stood, what happened.")
def unit_show(
    code: str,
    inputs: bool = typer.Option(False, "--inputs", help="How each figure is made, and from what."),
) -> None:
    """Example:  stockroom unit show 10143 --inputs"""
    from stockroom.cli.shapes import unit_lines, unit_value
    from stockroom.core.records import Unit
    from stockroom.desk.figures import figures_of
    from stockroom.desk.lookup import find
    from stockroom.desk.stock import counting

    with at_reckoning() as (desk, reckoning):
        found = find(reckoning.view, Unit, code)
        ages = reckoning.material_of(found).traits.ages and found.state == "in stock"
        usable = reckoning.usable_by(found) if ages else None
        trail = counting.trail(desk, 100, of=found.code)
        day = on_day(desk) or desk.today()
        figures = figures_of(reckoning, found, day)
        answer(
            "stockroom.unit/1",
            unit_value(reckoning, found, usable, trail, figures),
            unit_lines(reckoning, found, trail, figures, inputs=inputs),
        )


@stock.command("take-in", short_help="Take in a list of stock from CSV or Excel.")
def stock_take_in(
    file: Path,
    look: bool = typer.Option(False, "--look", help="Only look; store nothing."),
    yes: bool = typer.Option(False, "--yes", help="Store it without asking."),
    day_first: bool = typer.Option(None, "--day-first/--month-first", help="Order in dates."),
) -> None:
    """Example:  stockroom stock take-in stock.xlsx --look

    CSV or Excel with columns such as material, family, form, width_mm, length_m, height_mm, count,
    batch, label_date, place, owner. All of it is taken in or none; the same file twice is harmless.
    """
    from stockroom.desk.stock.opening_day import look_at_stock_list, take_in_stock_list

    data = read_plain(file, most_bytes=MAX_LIST_BYTES)
    with at_desk(begin=not look) as desk:
        seen = look_at_stock_list(desk, data, file.name, day_first=day_first)

        def lines() -> Iterator[str]:
            yield f"{seen.name}: {seen.rows} rows, {seen.units} units."
            for what, names in (
                ("New materials", seen.new_materials),
                ("New places", seen.new_places),
                ("Other sheets left aside", seen.other_sheets),
                ("Columns left aside", seen.ignored),
            ):
                if names:
                    yield f"{what}: {', '.join(names)}."
            for problem in seen.problems:
                yield f"  {problem}"
            if seen.taken_before:
                yield "This list was taken in before; doing it again changes nothing."

        if look:
            answer("stockroom.stock-list/1", seen, lines())
            raise typer.Exit(1 if seen.problems else 0)
        if not seen.problems:
            if not given.as_json:
                for line in lines():
                    say_aside(line)
            confirm(yes)
        told(take_in_stock_list(desk, data, file.name, day_first=day_first))
