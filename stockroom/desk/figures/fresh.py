"""Figures of freshness: usable until when, life it came with, life used."""

from collections.abc import Iterator
from datetime import date

from stockroom import clock
from stockroom.core.climate.readings import window
from stockroom.core.constants import (
    ACTIVATION_ENERGY,
    ACTIVATION_ENERGY_HIGH,
    ACTIVATION_ENERGY_LOW,
    FLOOR_RATE,
    SENSOR_SPREAD,
    SHOP_RULE_LIFE,
)
from stockroom.core.figures import Figure, Input, of_constant, of_label
from stockroom.core.freshness.label import LabelLife
from stockroom.core.freshness.usable_by import UsableBy
from stockroom.core.records import Lot, Material, Stay, Unit
from stockroom.core.wording import dated, percent, range_text, usable_by_text
from stockroom.desk.figures.lasting import last_day
from stockroom.desk.reckoning import Reckoning
from stockroom.text import capital
from stockroom.units import days_text

GROUP = "Freshness"
_READ = {
    "label": "the temperature its label's life was stated for",
    "storage limit": "read as the storage limit on its label",
    "room": "read as a usual room, since the label does not say",
    "shop rule": "by the shop's own rule",
}


def figures(reckoning: Reckoning, unit: Unit, today: date) -> Iterator[Figure]:
    """Yield how long what is printed on is good: by its stay, or by its dates if it never ages."""
    material = reckoning.material_of(unit)
    if not material.traits.ages:
        if material.traits.printed_on:
            yield last_day(reckoning, unit, today, GROUP)
        return
    usable = reckoning.usable_by(unit)
    lot = reckoning.lot_of(unit)
    place = reckoning.places[unit.place].name
    yield Figure(
        GROUP,
        "Usable until",
        _until(usable, today),
        "The day on which the life it came with, less what it used, runs out where it stands; each "
        "cause of doubt is moved alone, and the range is the root of the sum of their squares.",
        (
            *_range(usable, place),
            Input(
                "Life left",
                f"{days_text(usable.left_days)} at the label's condition",
                "life it came with, less life used",
            ),
            of_constant("A logger may be off by", SENSOR_SPREAD),
        ),
        "" if usable.likely >= today else "bad",
    )
    yield Figure(
        GROUP,
        "Life used",
        f"{days_text(usable.used_days)} of {days_text(usable.life_days)}",
        "Over each stay the integral of exp(-Ea/R (1/T - 1/T label)), by the trapezoid between "
        "readings, on the temperature inside the roll, never slower than the floor.",
        (
            *_life_inputs(usable),
            _energy(material),
            of_constant("Floor", FLOOR_RATE),
            Input(
                "From filled gaps or set-points",
                f"{percent(usable.filled_share)} of the time",
                "where nothing was logged",
            ),
            *(
                Input("Stood", reckoning.places[stay.place].name, _stay(reckoning, stay))
                for stay in reckoning.stays_of(unit)[-6:]
            ),
        ),
    )
    yield Figure(
        GROUP,
        "Came with",
        f"{days_text(usable.label.days)} of life{_proof(usable.label)}{_by_white(usable)}",
        "The label's date, less the day it came; else the date of making and the label's life; "
        "else the shop's own rule, marked estimated. Before it came, storage by the label is "
        "taken for granted.",
        tuple(_label_inputs(usable.label, lot, material)),
    )


def _until(usable: UsableBy, today: date) -> str:
    if not usable.runs_out:
        return "more than 20 years at this rate"
    text = f"likely {usable_by_text(usable.likely, usable.earliest, usable.latest, today)}"
    return f"{text}; unproven past its printed date" if usable.unproven else text


def _range(usable: UsableBy, place: str) -> Iterator[Input]:
    first, *rest = range_text(usable, place)
    yield Input("Ahead of it", first)
    for line in rest:
        name, _, value = line.partition(": ")
        if value:
            yield Input(capital(name), value, "moved alone")


def _energy(material: Material) -> Input:
    if material.energy_j_mol:
        return Input("Activation energy", f"{material.energy_j_mol / 1000:g} kJ/mol", "your own")
    low, high = ACTIVATION_ENERGY_LOW.value / 1000, ACTIVATION_ENERGY_HIGH.value / 1000
    return Input(
        "Activation energy",
        f"{ACTIVATION_ENERGY.value / 1000:g} kJ/mol ({low:g} to {high:g})",
        f"{ACTIVATION_ENERGY.source} ({ACTIVATION_ENERGY.sure})",
    )


def _life_inputs(usable: UsableBy) -> Iterator[Input]:
    """What life it counts as having come with, where that is not its label's."""
    if usable.white is None:
        return
    word = "by your word on its white" if usable.white.word else "by its measured white"
    yield Input("By its label", days_text(usable.label.days), "left of its life when it came")
    yield Input("Counts as", days_text(usable.life_days), f"left when it came, {word}")


def _proof(label: LabelLife) -> str:
    return ", estimated" if label.estimated else ""


def _by_white(usable: UsableBy) -> str:
    if usable.white is None:
        return ""
    return f" by its label; counts as {days_text(usable.life_days)} by its white"


def _label_inputs(label: LabelLife, lot: Lot, material: Material) -> Iterator[Input]:
    if lot.label_date is not None:
        yield Input("Printed date", dated(lot.label_date), "on its label")
    if lot.made_on is not None:
        yield Input("Made on", dated(lot.made_on), "on its label")
    if material.label_life_days is not None:
        yield of_label("Life by the label", days_text(material.label_life_days))
    if label.anchor == "shop rule":
        if material.shop_life_days is not None:
            yield Input("Shop's own rule", days_text(material.shop_life_days), "your own")
        else:
            yield of_constant("Shop's own rule", SHOP_RULE_LIFE)
    for reading in label.readings:
        yield Input("Counts at", f"{reading.temp_c:g} °C", _READ[reading.why])


def _stay(reckoning: Reckoning, stay: Stay) -> str:
    start = clock.moment_text(stay.from_s, reckoning.zone)
    end = clock.moment_text(stay.to_s, reckoning.zone) if stay.to_s else "now"
    to_s = max(stay.from_s, reckoning.now_s if stay.to_s is None else stay.to_s)
    logged = len(window(reckoning.airs.readings(stay.place), stay.from_s, to_s))
    return (
        f"{start} to {end}; {'one reading' if logged == 1 else f'{logged} readings'} in that time"
    )
