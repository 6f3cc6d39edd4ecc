"""What a desk keeps in mind between one answer and the next, and when it no longer holds."""

import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from itertools import count
from typing import TypeVar, cast

import sqlalchemy as sa

from stockroom.core.books.draft import MOVEMENT_SIGN
from stockroom.core.climate.bodies import PlaceAir
from stockroom.core.climate.course import Floats
from stockroom.core.climate.excursions import Excursion
from stockroom.core.climate.readings import Readings, Steps
from stockroom.core.climate.visits import Aged, Visit
from stockroom.core.freshness.ahead import Ahead
from stockroom.core.freshness.label import LabelLife
from stockroom.core.freshness.opened import Opened
from stockroom.core.freshness.usable_by import Life, UsableBy
from stockroom.core.freshness.white import Kept, WhiteLife
from stockroom.core.records import RECORD_OF_KIND, RECORDS, ActTime, Stay, Unit
from stockroom.core.records.base import Record
from stockroom.core.verdict import Verdict
from stockroom.store.mapping import ACT, MOVEMENT, TOUCH, decoding, moved, select_records
from stockroom.store.view import StoreView, head_of

R = TypeVar("R", bound=Record)

AT_ONCE = 2_000
"""So many touched records are read again one by one; beyond that all are read (our choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class Records:
    """The records as they stood at one head of the chain.

    Attributes
    ----------
    seq, hash : int, str
        That head.
    kinds : mapping
        Records by kind and key, in the order of their keys.
    stays : mapping
        Stays by unit, in order of time.
    drawn : mapping
        By unit, what came to it and went from it: (s UTC, qty with its sign).
    """

    seq: int
    hash: str
    kinds: Mapping[str, Mapping[str, Record]]
    stays: Mapping[str, tuple[Stay, ...]]
    drawn: Mapping[str, tuple[tuple[int, int], ...]]

    def all(self, record: type[R]) -> list[R]:
        """Return all records of a kind, by key."""
        return cast("list[R]", list(self.kinds[record.kind].values()))

    def by_key(self, record: type[R]) -> dict[str, R]:
        """Return the records of a kind by their keys."""
        return cast("dict[str, R]", dict(self.kinds[record.kind]))


@dataclass(frozen=True, slots=True)
class RollLoss:
    """What one spell cost one unit that stood there."""

    unit: Unit
    days: float


@dataclass(frozen=True, slots=True, eq=False)
class Stood:
    """Who stood at a place, visit by visit, as arrays.

    Attributes
    ----------
    units : list of Unit
        In stock, and such that age; one for each visit.
    from_s, to_s : float64 arrays (n,)
        The visit, s UTC; infinite where it goes on.
    rules : float64 array (n, 3)
        Its lag (s), its label's temperature (°C), its activation energy (J/mol).
    """

    units: list[Unit]
    from_s: Floats
    to_s: Floats
    rules: Floats


@dataclass(slots=True, eq=False)
class Reckoned:
    """What was reckoned of one unit, and of what: it holds as long as all of that is the same."""

    visits_of: object = None
    visits: tuple[Visit, ...] = ()
    closed_of: object = None
    closed: Aged | None = None
    label: LabelLife | None = None
    ended_of: object = None
    ended_s: Floats | None = None
    verdicts_of: object = None
    verdicts: dict[object, Verdict] = field(default_factory=dict)
    life_of: object = None
    life: Life | None = None
    usable_of: Life | None = None
    usable: UsableBy | None = None


@dataclass(slots=True, eq=False)
class Logged:
    """A place's readings and air, and of what: they hold as long as that is the same."""

    revision: object
    number: int
    readings: Readings
    logged: Readings
    steps: Steps
    last_s: float
    season_of: object = None
    season: Ahead | None = None
    spells_of: object = None
    spells: list[Excursion] = field(default_factory=list)
    losses: dict[Excursion, tuple[Floats, list[Unit], tuple[RollLoss, ...]]] = field(
        default_factory=dict
    )
    air_of: object = None
    air: PlaceAir | None = None


@dataclass(slots=True, eq=False)
class Memory:
    """Records, readings and ages kept from one answer to the next.

    Nothing here is a truth of its own: each item is kept with what it was made from, and made
    anew when that has changed. A desk holds `lock` while it reads, so that
    one thread at a time uses it.
    """

    lock: threading.RLock = field(default_factory=threading.RLock)
    units: dict[str, Reckoned] = field(default_factory=dict)
    places: dict[str, Logged] = field(default_factory=dict)
    stood: dict[str, Stood] = field(default_factory=dict)
    stood_of: object = None
    whites: dict[str, tuple[object, dict[str, WhiteLife]]] = field(default_factory=dict)
    opened: dict[str, tuple[object, Opened]] = field(default_factory=dict)
    heard: Kept = field(default_factory=dict)
    """What the white of each roll says by itself."""
    patch_ages: dict[str, tuple[object, float]] = field(default_factory=dict)
    _records: Records | None = None
    _numbers: Iterator[int] = field(default_factory=lambda: count(1))

    def next_number(self) -> int:
        """Return a number that no place's readings had before."""
        return next(self._numbers)

    def records(self, view: StoreView) -> Records:
        """Return the records as a view shows them; only what acts touched since is read anew."""
        head = head_of(view.connection)
        kept = self._records
        if kept is None or (kept.seq, kept.hash) != (head.seq, head.hash):
            fresh = None if kept is None else _advanced(kept, view, head.seq, head.hash)
            self._records = fresh or _read(view, head.seq, head.hash)
        assert self._records is not None
        return self._records


def _read(view: StoreView, seq: int, hash_: str) -> Records:
    kinds = {
        record.kind: {item.key: item for item in select_records(view.connection, record)}
        for record in RECORDS
    }
    return Records(seq, hash_, kinds, _stays(kinds["stay"]), _drawn(view, kinds["act_time"], 0))


def _advanced(kept: Records, view: StoreView, seq: int, hash_: str) -> Records | None:
    """The records brought up to a later head; None where they are not of its past."""
    if kept.seq and _hash_at(view, kept.seq) != kept.hash:
        return None
    query = sa.select(TOUCH.c.kind, TOUCH.c.record_key).where(TOUCH.c.act > kept.seq).distinct()
    touched = view.connection.execute(query).all()
    if len(touched) > AT_ONCE:
        return None
    kinds = dict(kept.kinds)
    changed: dict[str, dict[str, Record]] = {}
    units = set()
    for row in touched:
        with decoding("What the acts touched"):
            record = RECORD_OF_KIND[row.kind]
        found = view.get(record, row.record_key)
        of_kind = changed.setdefault(row.kind, dict(kept.kinds[row.kind]))
        before = of_kind.pop(row.record_key, None)
        if found is not None:
            of_kind[row.record_key] = found
        units |= {item.unit for item in (before, found) if isinstance(item, Stay)}
    for name, of_kind in changed.items():
        kinds[name] = dict(sorted(of_kind.items(), key=lambda item: (len(item[0]), item[0])))
    stays = kept.stays
    if units:
        mine: dict[str, Record] = {
            key: stay
            for key, stay in kinds["stay"].items()
            if isinstance(stay, Stay) and stay.unit in units
        }
        stays = {**stays, **dict.fromkeys(units, ()), **_stays(mine)}
    drawn = kept.drawn
    if ActTime.kind in changed:
        drawn = _drawn(view, kinds["act_time"], 0)
    elif more := _drawn(view, kinds["act_time"], kept.seq):
        drawn = {**drawn, **{unit: (*drawn.get(unit, ()), *moves) for unit, moves in more.items()}}
    return Records(seq, hash_, kinds, stays, drawn)


def _hash_at(view: StoreView, seq: int) -> str | None:
    return view.connection.execute(sa.select(ACT.c.hash).where(ACT.c.seq == seq)).scalar()


def _stays(records: Mapping[str, Record]) -> dict[str, tuple[Stay, ...]]:
    found: dict[str, list[Stay]] = {}
    for stay in records.values():
        if isinstance(stay, Stay):
            found.setdefault(stay.unit, []).append(stay)
    return {
        unit: tuple(sorted(stays, key=lambda stay: (stay.from_s, stay.act)))
        for unit, stays in found.items()
    }


def _drawn(
    view: StoreView, act_times: Mapping[str, Record], after: int
) -> dict[str, tuple[tuple[int, int], ...]]:
    """What moved since an act, by unit; what only changed its place is left out.

    What an undoing moves counts at the time of the act it takes back, and a corrected time counts
    instead of the one first written.
    """
    corrected = {
        item.act: item.occurred_s for item in act_times.values() if isinstance(item, ActTime)
    }
    undoing = sa.select(ACT.c.seq, ACT.c.undoes).where(ACT.c.undoes.is_not(None))
    undoes = {row.seq: row.undoes for row in view.connection.execute(undoing)}
    drew = [kind for kind in MOVEMENT_SIGN if kind not in ("moved", "received")]
    moves = moved(view.connection, MOVEMENT.c.act > after, MOVEMENT.c.kind.in_(drew))
    found: dict[str, list[tuple[int, int]]] = {}
    acts = {_first(act, undoes) for act, _ in moves}
    times = _times(view, acts) | corrected
    for act, move in moves:
        at_s = times[_first(act, undoes)]
        found.setdefault(move.unit, []).append((at_s, MOVEMENT_SIGN[move.kind] * move.qty))
    return {unit: tuple(moves) for unit, moves in found.items()}


def _first(act: int, undoes: Mapping[int, int]) -> int:
    """The act that an undoing, or the undoing of one, is about."""
    while act in undoes:
        act = undoes[act]
    return act


def _times(view: StoreView, acts: set[int]) -> dict[int, int]:
    query = sa.select(ACT.c.seq, ACT.c.occurred_s)
    if len(acts) <= AT_ONCE:
        query = query.where(ACT.c.seq.in_(acts))
    return {row.seq: row.occurred_s for row in view.connection.execute(query)}
