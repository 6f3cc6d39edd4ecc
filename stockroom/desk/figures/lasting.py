"""Figures of what goes by its date: the last day, and how long it has been open."""

from collections.abc import Iterator
from datetime import date

from stockroom import clock
from stockroom.core.care import care_input
from stockroom.core.figures import Figure, Input, Notice, of_label
from stockroom.core.freshness.dated import opened_clock
from stockroom.core.records import Material, Unit
from stockroom.core.wording import dated
from stockroom.desk.reckoning import Reckoning
from stockroom.units import day_text, days_text

_HOW = (
    "The date on its label; else the day it was made and the label's life; else the day it came "
    "and the shop's own rule, marked estimated. Once opened, with a life once opened written down, "
    "whichever comes first. Temperature does not enter."
)


def last_day(reckoning: Reckoning, unit: Unit, today: date, group: str) -> Figure:
    """Return the last day on which a unit is good by its dates."""
    told = reckoning.last_day(unit)
    inputs = tuple(_dates(reckoning, unit))
    if told.ends is None:
        return Figure(group, "Last day", "no date known, none is guessed", _HOW, inputs)
    past = told.ends < today
    text = f"{'was' if past else 'good to'} {day_text(told.ends, today)}"
    if told.why == "opened":
        text += ", for it has been opened"
    if told.estimated:
        text += ", estimated"
    return Figure(group, "Last day", text, _HOW, inputs, "bad" if past else "")


def opened(reckoning: Reckoning, unit: Unit, today: date, group: str) -> Iterator[Figure]:
    """Yield how long a unit has been open; nothing of what has no such clock."""
    material = reckoning.material_of(unit)
    limit = material.opened_life_days
    how = (
        "Days since it was first opened; re-bagging does not set it back. A clock of its own: it "
        "multiplies no ageing."
    )
    given = () if limit is None else (of_label("Life once opened", days_text(limit)),)
    if unit.opened_s is None:
        if limit is not None:
            text = f"not opened yet; {days_text(limit)} once it is"
            yield Figure(group, "Opened", text, how, given)
        return
    on = clock.local_date(unit.opened_s, reckoning.zone)
    open_for = opened_clock(on, limit, today)
    text = f"{days_text(open_for.days_open)} ago"
    if limit is not None:
        text += f" of {days_text(limit)}"
    if open_for.over:
        text += ", over"
    came = Input("Opened on", dated(on), "as booked")
    yield Figure(group, "Opened", text, how, (came, *given), "bad" if open_for.over else "")


def opened_too_long(reckoning: Reckoning, material: Material, today: date) -> Iterator[Notice]:
    """Yield the opened units of a material whose life once opened is over."""
    limit = material.opened_life_days
    if limit is None:
        return
    for unit in reckoning.units_of(material.code):
        if unit.opened_s is None:
            continue
        on = clock.local_date(unit.opened_s, reckoning.zone)
        open_for = opened_clock(on, limit, today)
        if open_for.over:
            yield Notice(
                unit.code,
                f"{unit.code}, {material.name}: open for {days_text(open_for.days_open)}",
                f"Its label gives it {days_text(limit)} once opened; opened on {dated(on)}.",
                "bad",
            )


def _dates(reckoning: Reckoning, unit: Unit) -> Iterator[Input]:
    material, lot = reckoning.material_of(unit), reckoning.lot_of(unit)
    if lot.label_date is not None:
        yield Input("Label date", dated(lot.label_date), "on its label")
    if lot.made_on is not None:
        yield Input("Made on", dated(lot.made_on), "on its label")
    if material.label_life_days is not None:
        yield of_label("Life by the label", days_text(material.label_life_days))
    came = clock.local_date(reckoning.received_s(unit), reckoning.zone)
    yield Input("Came on", dated(came), "as booked")
    if material.shop_life_days is not None:
        yield Input("Shop's own rule", days_text(material.shop_life_days), "your own")
    if unit.opened_s is not None:
        yield Input(
            "Opened on", dated(clock.local_date(unit.opened_s, reckoning.zone)), "as booked"
        )
    if material.opened_life_days is not None:
        yield care_input(material, "opened_life_days")
