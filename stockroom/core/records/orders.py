"""Records of orders: what is on its way from whom."""

from dataclasses import dataclass
from datetime import date
from typing import Annotated, ClassVar, Literal

from stockroom.core.records.asked import Asked
from stockroom.core.records.base import About, MaterialCode, Record
from stockroom.core.records.materials import MOST_ORDERED
from stockroom.units import LARGEST_CENTS

OrderState = Literal["sent", "arrived", "cancelled"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Order(Record):
    """Something on its way from a supplier: so many rolls or sheets of a material.

    With a size of its own it is cut to size by the supplier. `came` counts what arrived so far,
    the damaged ones too; damage is to be told by `notice_by`.
    """

    kind: ClassVar[str] = "order"
    table: ClassVar[str] = "purchase"  # a bare "order" is a word of SQL
    code: str
    material: MaterialCode
    count: Annotated[int, Asked("Quantity", least=1, most=MOST_ORDERED)]
    supplier: str = ""
    ordered_on: date
    expected_on: date | None = None
    price_cents: Annotated[int | None, Asked("Price", most=LARGEST_CENTS)] = None
    state: Annotated[OrderState, About(indexed=True)] = "sent"
    width_dmm: int | None = None
    length_dmm: int | None = None
    confirmed_on: date | None = None
    came: int | None = None
    damaged: int | None = None
    notice_by: date | None = None
    noticed_on: date | None = None
    credit_cents: Annotated[int | None, Asked("Credit", most=LARGEST_CENTS)] = None
    last_act: int = 0

    @property
    def to_come(self) -> int:
        """How many are still to come."""
        return max(0, self.count - (self.came or 0)) if self.state == "sent" else 0
