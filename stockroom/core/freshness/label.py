"""The life that a label, or the shop's own rule, gave a unit when it came."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from stockroom.core.constants import ROOM_TEMP, SHOP_RULE_LIFE
from stockroom.core.model import Lot, Material

Anchor = Literal["label date", "made on", "shop rule"]


@dataclass(frozen=True, slots=True)
class LabelReading:
    """One way to read the temperature for which a label's life was stated."""

    temp_c: float
    why: Literal["label", "storage limit", "room", "shop rule"]


@dataclass(frozen=True, slots=True)
class LabelLife:
    """The life a unit had left when it came, in days at the label's own condition.

    Attributes
    ----------
    days : float
        Life left on arrival; below zero where it came expired.
    anchor : str
        What it was read from.
    estimated : bool
        Whether no label stands behind it.
    printed : date or None
        The date on the label, or made-on plus the label's life.
    readings : tuple of LabelReading
        The temperature it counts at: one where the label says it, else two.
    """

    days: float
    anchor: Anchor
    estimated: bool
    printed: date | None
    readings: tuple[LabelReading, ...]


def label_life(material: Material, lot: Lot, received_on: date) -> LabelLife:
    """Return the life left on arrival; before it, storage by the label is taken for granted.

    The label is the anchor: its date, or the made-on date and the label's life. Without either,
    the day it came and the shop's own rule, marked estimated.

    >>> paper = Material(code="1", name="Satin", family="paper", form="roll",
    ...                  label_temp_centi_c=1000)
    >>> life = label_life(paper, Lot(code="2", material="1", label_date=date(2027, 1, 1)),
    ...                   date(2026, 1, 1))
    >>> life.days, life.anchor, life.readings[0].temp_c
    (365.0, 'label date', 10.0)
    """
    readings = _readings(material)
    if lot.label_date is not None:
        days = float((lot.label_date - received_on).days)
        return LabelLife(days, "label date", False, lot.label_date, readings)
    if lot.made_on is not None and material.label_life_days is not None:
        ends = lot.made_on + timedelta(days=material.label_life_days)
        return LabelLife(float((ends - received_on).days), "made on", False, ends, readings)
    own = material.shop_life_days or round(SHOP_RULE_LIFE.value)
    return LabelLife(float(own), "shop rule", True, None, readings)


def _readings(material: Material) -> tuple[LabelReading, ...]:
    """A storage limit is not the temperature a life was stated for: without that, read both."""
    if material.label_temp_centi_c is not None:
        return (LabelReading(material.label_temp_centi_c / 100, "label"),)
    room = LabelReading(ROOM_TEMP.value, "room")
    if material.storage_limit_centi_c is not None:
        limit_c = material.storage_limit_centi_c / 100
        if limit_c < ROOM_TEMP.value:
            return (LabelReading(limit_c, "storage limit"), room)
    return (room,)
