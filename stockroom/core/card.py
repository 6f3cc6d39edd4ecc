"""Bench cards: one sheet or offcut that is to be cut by a plan, as the books hold it."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from stockroom.core.record import Record

CardState = Literal["open", "cut", "dropped"]
CARD_STATES: tuple[CardState, ...] = ("open", "cut", "dropped")


@dataclass(frozen=True, slots=True, kw_only=True)
class Card(Record):
    """One blank of an accepted cut plan; `cuts` is its tree of cuts as `core/cutting` writes it.

    Cards that were accepted together share the code of the first of them as their `plan`.
    """

    kind: ClassVar[str] = "card"
    code: str
    plan: str
    material: str
    unit: str
    cuts: str
    state: CardState = "open"
    act: int
    last_act: int = 0
