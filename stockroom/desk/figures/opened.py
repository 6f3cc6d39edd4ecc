"""Figures of an opened roll: how long, in how damp an air, and what air is in its bag."""

from collections.abc import Iterator
from datetime import date

from stockroom import clock
from stockroom.core.care import care_input
from stockroom.core.constants import DAMP_WORTH_A_WORD, HUMIDITY_EXPONENTS
from stockroom.core.figures import Figure, Input, Notice, of_constant
from stockroom.core.freshness.opened import Opened, borrowed_days
from stockroom.core.records import Material, Unit
from stockroom.core.wording import percent
from stockroom.desk.condition.opened import air_in_bag, opened_of
from stockroom.desk.figures.lasting import opened as opened_figures
from stockroom.desk.reckoning import Reckoning
from stockroom.units import days_text

GROUP = "Opened"
_BAG = (
    "The room's air at re-bagging lies in the bag; below its dew or frost point it gives up "
    "water. Press the air out, and add a desiccant by its own sheet. As a caution, not a "
    "permission; follow local rules and trained practice."
)


def figures(reckoning: Reckoning, unit: Unit, today: date) -> Iterator[Figure]:
    """Yield the opened clock, the damp hours, and the air in the bag of a roll."""
    material = reckoning.material_of(unit)
    if not unit.shape.wound or unit.state != "in stock":
        return
    if material.traits.printed_on:
        yield from opened_figures(reckoning, unit, today, GROUP)
    found = opened_of(reckoning, unit)
    if found is not None and (found.logged_s or material.traits.printed_on):
        yield _damp(found, material)
    bag = air_in_bag(reckoning, unit)
    if bag is not None:
        room, air, place_c = bag
        text = f"{air.dew.kind} {air.dew.temp_c:.1f} °C, where it stands {place_c:.1f} °C: "
        if not air.condenses:
            text += "nothing condenses"
        elif air.small:
            text += f"{air.water_g_per_l:.3f} g of water from a litre, little"
        else:
            text += f"{air.water_g_per_l:.3f} g of water from a litre, not little"
        yield Figure(
            GROUP,
            "Air in its bag",
            text,
            _BAG,
            (
                Input(f"Air of {room.name}", f"{room.temp_c:.1f} °C", room.temp_source),
                Input("Its humidity", f"{room.humidity_pct:.0f} % RH", room.humidity_source),
                Input(
                    "Re-bagged",
                    clock.moment_text(unit.bagged_s or 0, reckoning.zone),
                    "as booked",
                ),
            ),
            "ask" if air.condenses and not air.small else "",
        )


def notices(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    """Yield re-bagged rolls in a cold that takes water out of the air in their bags."""
    for unit in reckoning.units.values():
        if unit.bagged_s is None or not unit.shape.wound:
            continue
        bag = air_in_bag(reckoning, unit)
        if bag is not None and bag[1].condenses and not bag[1].small:
            yield Notice(
                unit.code,
                f"Roll {unit.code}: damp room air was shut into its bag",
                f"{bag[1].dew.kind.capitalize()} {bag[1].dew.temp_c:.1f} °C, it stands at "
                f"{bag[2]:.1f} °C. Let it warm up shut, then press the air out and bag it again.",
            )


def _damp(found: Opened, material: Material) -> Figure:
    hours = found.damp_s / 3600
    known = f"known for {percent(found.logged_share)} of the time it was open"
    highest = "" if found.highest_pct is None else f", highest {found.highest_pct:.0f} %"
    text = f"{hours:.0f} h above {found.limit_pct:g} % RH{highest}; {known}"
    if not found.logged_s:
        text = f"not known: no humidity was logged in {days_text(found.open_s / 86_400)} open"
    borrowed = (
        Input(
            f"If an exponent of {exponent.value:g} held",
            f"{days:.1f} days of life at most, not counted",
            f"borrowed: {exponent.source}",
        )
        for exponent, days in zip(HUMIDITY_EXPONENTS, borrowed_days(found), strict=True)
    )
    return Figure(
        GROUP,
        "Damp air",
        text,
        "Time the logged humidity lay above the limit while its bag was open. A term of its own: "
        "no figure is published by which humidity would age this paper, so none enters its age.",
        (
            care_input(material, "humidity_limit_pct"),
            Input("Bag open for", days_text(found.open_s / 86_400), "from the acts"),
            Input("Re-bagged in between", "counts as open", "taken for granted, the safe way"),
            of_constant("Worth a word from", DAMP_WORTH_A_WORD),
            *borrowed,
        ),
        "ask" if hours >= DAMP_WORTH_A_WORD.value else "",
    )
