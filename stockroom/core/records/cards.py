"""Bench cards: one sheet or offcut that is to be cut by a plan, as the books hold it."""

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from stockroom.core.records.base import About, Indexed, MaterialCode, Record, UnitCode

CardState = Literal["open", "cut", "dropped"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Card(Record):
    """One blank of an accepted cut plan; `cuts` is its tree of cuts as `core/cutting` writes it.

    Cards that were accepted together share the code of the first of them as their `plan`.
    """

    kind: ClassVar[str] = "card"
    told: ClassVar[str] = "a bench card"
    code: str
    plan: Indexed
    material: MaterialCode
    unit: UnitCode
    cuts: str
    state: Annotated[CardState, About(indexed=True)] = "open"
    act: int
    last_act: int = 0
