"""A draft of what one act changes: records before and after, and what moved."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any, Literal, Protocol, TypeVar

from stockroom.core.books.chain import Act
from stockroom.core.records import RECORD_OF_KIND, PutBy, Stay, Unit
from stockroom.core.records.base import Record, pointers
from stockroom.errors import UnknownCodeError

R = TypeVar("R", bound=Record)

MovementKind = Literal[
    "received",
    "found",
    "used",
    "cut waste",
    "lost",
    "discarded",
    "missing",
    "returned",
    "moved",
    "split off",
    "split to",
]
MOVEMENT_SIGN: dict[MovementKind, int] = {
    "received": 1,
    "found": 1,
    "used": -1,
    "cut waste": -1,
    "lost": -1,
    "discarded": -1,
    "missing": -1,
    "returned": -1,
    "moved": 0,
    "split off": -1,
    "split to": 1,
}
"""What a movement does to its unit's amount on hand."""


@dataclass(frozen=True, slots=True)
class Movement:
    """So much of a unit came, went or changed place (dmm2, dmm or a count; never a float)."""

    unit: str
    lot: str
    kind: MovementKind
    qty: int
    place_from: str | None = None
    place_to: str | None = None
    cost_cents: int = 0


@dataclass(frozen=True, slots=True)
class Touch:
    """A record as it was before an act and as it is after; None where it was not there."""

    kind: str
    key: str
    before: Record | None
    after: Record | None


@dataclass(frozen=True, slots=True)
class Changes:
    """All that one act changes."""

    touches: tuple[Touch, ...]
    movements: tuple[Movement, ...]


class View(Protocol):
    """The books as an act sees them, whether in memory or in a store."""

    def get(self, record: type[R], key: str) -> R | None:
        """Return the record with this key."""

    def stays(self, unit: str) -> Iterable[Stay]:
        """Return the unit's stays, in any order."""

    def put_bys(self, unit: str) -> Iterable[PutBy]:
        """Return what of the unit is put by and still open."""

    def having(self, record: type[R], field: str, value: str) -> Iterable[R]:
        """Return the records of a kind that hold a value in a field."""

    def act(self, seq: int) -> Act | None:
        """Return an act."""

    def touches(self, seq: int) -> Iterable[Touch]:
        """Return what an act touched, in its order (`after` may be left out)."""

    def movements(self, seq: int) -> Iterable[Movement]:
        """Return what an act moved, in its order."""

    def last_touch(self, kind: str, key: str) -> int:
        """Return the last act that touched a record, undone ones and undoings included."""

    def undone_by(self, seq: int) -> int | None:
        """Return the act that takes this one back, if that one still stands."""

    def undoing(self, seq: int) -> int | None:
        """Return the act that took this one back, whether or not it still stands."""


class Draft:
    """Changes in the making: reads fall through to the view, writes stay here."""

    def __init__(self, act: Act, view: View) -> None:
        self.act = act
        self.view = view
        self._before: dict[tuple[str, str], Record | None] = {}
        self._after: dict[tuple[str, str], Record | None] = {}
        self._movements: list[Movement] = []

    def get(self, record: type[R], key: str) -> R | None:
        """Return a record as this act has left it so far."""
        at = (record.kind, key)
        if at in self._after:
            return self._after[at]  # type: ignore[return-value]
        return self.view.get(record, key)

    def need(self, record: type[R], key: str) -> R:
        """Return a record that must be there, or raise `UnknownCodeError`."""
        found = self.get(record, key)
        if found is None:
            raise UnknownCodeError(
                f"There is no {record.noun} {key}.",
                try_="Look at the code on the label, or search by name.",
            )
        return found

    def put(self, record: Record) -> None:
        """Write a record, stamped with this act."""
        self.restore(record.kind, record.key, replace(record, last_act=self.act.seq))  # type: ignore[type-var]

    def change(self, record: R, **fields: Any) -> R:
        """Write a record with some fields changed, and return it."""
        changed = replace(record, **fields, last_act=self.act.seq)  # type: ignore[type-var]
        self.restore(record.kind, record.key, changed)
        return changed

    def restore(self, kind: str, key: str, record: Record | None) -> None:
        """Write a record exactly as given; None takes it away."""
        at = (kind, key)
        if at not in self._before:
            self._before[at] = self.view.get(RECORD_OF_KIND[kind], key)
        self._after[at] = record

    def move(
        self,
        unit: Unit,
        kind: MovementKind,
        qty: int,
        *,
        place_from: str | None = None,
        place_to: str | None = None,
        cost_cents: int = 0,
    ) -> None:
        """Write a movement; one of nothing is not written."""
        if qty:
            self._movements.append(
                Movement(unit.code, unit.lot, kind, qty, place_from, place_to, cost_cents)
            )

    def movement(self, movement: Movement) -> None:
        """Write a movement exactly as given."""
        self._movements.append(movement)

    def stays(self, unit: str) -> list[Stay]:
        """Return a unit's stays as this act has left them, first to last."""
        found = {stay.key: stay for stay in self.view.stays(unit)}
        for (kind, key), record in self._after.items():
            if kind == Stay.kind:
                found.pop(key, None)
                if isinstance(record, Stay) and record.unit == unit:
                    found[key] = record
        return sorted(found.values(), key=lambda stay: (stay.from_s, stay.act))

    def put_bys(self, unit: str) -> list[PutBy]:
        """Return what of a unit is put by and open, as this act has left it."""
        found = {put.key: put for put in self.view.put_bys(unit)}
        for (kind, key), record in self._after.items():
            if kind == PutBy.kind:
                found.pop(key, None)
                if isinstance(record, PutBy) and record.unit == unit and record.open:
                    found[key] = record
        return [found[key] for key in sorted(found)]

    def changes(self) -> Changes:
        """Return all that was written.

        Raises
        ------
        BadValueError
            Where a record holds a word or a figure that none of its kind may hold.
        UnknownCodeError
            Where one points to another that is not there.
        """
        for record in filter(None, self._after.values()):
            record.see_that_it_fits()
        for kind, key in self._pointed_to():
            self.need(RECORD_OF_KIND[kind], key)
        touches = tuple(
            Touch(kind, key, self._before[kind, key], after)
            for (kind, key), after in self._after.items()
        )
        return Changes(touches, tuple(self._movements))

    def _pointed_to(self) -> dict[tuple[str, str], None]:
        """What the records that were written point to, and did not point to before."""
        return {
            (kind, key): None
            for at, record in self._after.items()
            for field, kind in pointers(RECORD_OF_KIND[at[0]]).items()
            if (key := getattr(record, field, None)) is not None
            and key != getattr(self._before[at], field, None)
        }
