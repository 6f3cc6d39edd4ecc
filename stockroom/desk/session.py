"""A desk: one store, one person, one clock; every act goes through it."""

import threading
import uuid
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date
from functools import wraps
from typing import Any, TypeVar, cast

import sqlalchemy as sa
from sqlalchemy.engine import Connection, Engine

from stockroom import clock
from stockroom.core.act_wording import act_text
from stockroom.core.books.chain import Act, as_kept, digest
from stockroom.core.books.draft import Changes
from stockroom.core.records import (
    Job,
    Material,
    Order,
    Place,
    PutBy,
    Spell,
    SpellWord,
    Try,
    Unit,
    Winding,
)
from stockroom.core.wording import amount_text
from stockroom.desk.clock_check import see_clock
from stockroom.desk.groups import Group, acts_of_group, group_key
from stockroom.desk.memory import Memory
from stockroom.errors import (
    BadValueError,
    CommitUnknownError,
    KeyReusedError,
    RefusedError,
    StoreMissingError,
)
from stockroom.store.engine import make_engine, reading, shown_url, url_of, writing
from stockroom.store.forward import ready
from stockroom.store.schema import create, workshop
from stockroom.store.settling import see_that_it_stands
from stockroom.store.view import Head, StoreView, find_by_key, see_sums
from stockroom.text import safe

EARLIEST_S = 315_532_800
"""1980-01-01 UTC, seconds: nothing in the books happened before (our choice)."""
AHEAD_S = 86_400
"""How far ahead of the clock an act may have happened, s: clocks differ a little (our choice)."""


@dataclass(frozen=True, slots=True)
class Done:
    """An act that stands in the books: its number, its codes, and what must be said about it."""

    seq: int
    kind: str
    changes: Changes
    born: tuple[str, ...] = ()
    repeated: bool = False
    occurred_s: int = 0
    undoes: int | None = None
    names: Mapping[str, str] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    before: tuple["Done", ...] = ()
    """Acts of the same command that were done before it."""

    @property
    def said(self) -> list[str]:
        """What it booked, in sentences."""
        lines = act_text(self.seq, self.kind, self.changes, self.undoes, self.names)
        return [*(line for one in self.before for line in one.said), *lines, *self.notes]


def joined(done: Sequence[Done]) -> Done:
    """Return the acts of one command as the last of them, which tells of those before it."""
    return replace(done[-1], before=tuple(done[:-1]))


@dataclass(slots=True)
class Decision:
    """What is at hand while something is decided, under the writers' lock.

    Attributes
    ----------
    view, head : StoreView, Head
        The books as they stand in this transaction, and the end of the chain, held by it alone.
    now_s, today, zone : int, date, str
        The moment at which it is decided, once the lock is held.
    group : Group or None
        What the acts of one command share.
    last : Act or None
        The last act that was done in it.
    """

    view: StoreView
    head: Head
    now_s: int
    today: date
    zone: str
    group: Group | None = None
    last: Act | None = None
    broken: bool = False

    @property
    def connection(self) -> Connection:
        """The open transaction."""
        return self.view.connection


class _Here(threading.local):
    """What one thread does at a desk: what it decides at, and how many readings it holds."""

    decision: Decision | None = None
    reads: int = 0


Build = Callable[[Decision], dict[str, Any]]
F = TypeVar("F", bound=Callable[..., Any])


def random_key() -> str:
    """Return a key that no other act has."""
    return uuid.uuid4().hex


class Desk:
    """One store, one person and one clock.

    Parameters
    ----------
    engine : sqlalchemy.engine.Engine
        A store.
    actor : str
        Who acts.
    now_s : callable
        Returns the present, seconds UTC.
    new_key : callable
        Returns a key against doubling that was never given before.
    clock_is_right : bool
        Whether a person said that the clock is right, however odd it looks.
    whole : bool
        Whether the rows are first seen to add up; what mends a store does without.

    Raises
    ------
    StoreDamagedError
        Where a row is missing, or an older one was put back.
    """

    def __init__(
        self,
        engine: Engine,
        *,
        actor: str = "someone",
        now_s: Callable[[], int] = clock.now_s,
        new_key: Callable[[], str] = random_key,
        clock_is_right: bool = False,
        whole: bool = True,
    ) -> None:
        self.engine = engine
        self.clock_is_right = clock_is_right
        self.actor = safe(actor, length=80) or "someone"
        self.now_s = now_s
        self.new_key = new_key
        self.memory = Memory()
        self._here = _Here()
        ready(engine)
        with reading(engine) as connection:
            if whole:
                see_sums(connection)
            self.zone, self.currency = workshop(connection)

    @classmethod
    def at(
        cls,
        store: str,
        *,
        actor: str = "someone",
        begin: bool = False,
        zone: str = "UTC",
        currency: str = "EUR",
        now_s: Callable[[], int] = clock.now_s,
        new_key: Callable[[], str] = random_key,
        clock_is_right: bool = False,
        whole: bool = True,
        demo: str = "",
    ) -> "Desk":
        """Open the store named by a path or URL; with `begin`, make it if it is not there.

        A new one says that it is a demo's, and which, where `demo` names a story.

        Raises
        ------
        StoreMissingError
            Where there is none and `begin` is false.
        """
        url = url_of(store)
        if url.get_backend_name() == "sqlite":
            _see_to_file(url, begin)
        engine = make_engine(url)
        try:
            if begin:
                create(engine, zone, currency, demo)
            return cls(
                engine,
                actor=actor,
                now_s=now_s,
                new_key=new_key,
                clock_is_right=clock_is_right,
                whole=whole,
            )
        except BaseException:
            engine.dispose()
            raise

    @property
    def where(self) -> str:
        """Where the store is, without a password."""
        return shown_url(self.engine.url)

    def today(self) -> date:
        """Return the calendar day in the workshop's zone."""
        return clock.local_date(self.now_s(), self.zone)

    def close(self) -> None:
        """Let the store go."""
        self.engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[StoreView]:
        """Open one state of the books to read from; one thread at a time, for the memory's sake.

        Inside `deciding` it is the state that the decision sees.
        """
        decision = self._decision
        with self.memory.lock:
            if decision is not None:
                yield decision.view
                return
            self._here.reads += 1
            try:
                with reading(self.engine) as connection:
                    yield StoreView(connection)
            finally:
                self._here.reads -= 1

    @property
    def _decision(self) -> Decision | None:
        """What this thread decides at, if it does."""
        return self._here.decision

    @contextmanager
    def deciding(self) -> Iterator[Decision]:
        """Take the head of the chain; what is read and what is done inside is one transaction.

        Nobody else's act comes between what was looked at and what is booked, and it all stands
        or none of it does. Inside another, it joins that one. A long search has no place in it.
        What the memory saw of acts that do not stand after all is not taken for true: it is kept
        by the hash of the head that it was seen at. Where the connection is lost at the commit,
        it is looked up once the store is back: that it stands, or an error that nothing was done.
        """
        decision = self._decision
        if decision is not None:
            try:
                yield decision
            except BaseException:
                decision.broken = True  # what it began must not stand by halves
                raise
            return
        if self._here.reads:
            raise RuntimeError("who decides must not hold a reading of before")
        lost: Act | None = None
        try:
            with writing(self.engine) as connection:
                head = Head(connection)
                now_s = self.now_s()
                today = clock.local_date(now_s, self.zone)
                decision = Decision(StoreView(connection), head, now_s, today, self.zone)
                self._here.decision = decision
                yield decision
                if decision.broken:
                    raise RuntimeError("a refusal was passed over by who decides")
        except CommitUnknownError:
            lost = decision.last if decision is not None else None
            if lost is None:
                raise
        finally:
            self._here.decision = None
        if lost is not None:
            see_that_it_stands(self.engine, lost, group_key(lost.key) or lost.key)

    def act(
        self,
        kind: str,
        request: dict[str, Any],
        build: Build,
        *,
        reason: str = "",
        happened_s: int | None = None,
        key: str | None = None,
        undoes: int | None = None,
    ) -> Done:
        """Put an act into the books: one transaction, whole or not at all.

        Parameters
        ----------
        kind : str
            A kind that the fold knows.
        request : dict
            What was asked, before codes are born: the same key with the same request is a repeat.
        build : callable
            Returns the payload; sees the books under the writers' lock.
        reason : str
            Why, where a person said so.
        happened_s : int or None
            When it happened, seconds UTC; None for now.
        key : str or None
            Against doubling; None for a new one, or for the next of the command it is part of.
        undoes : int or None
            The act taken back.

        Raises
        ------
        BadValueError
            Where the time or the key cannot be.
        KeyReusedError
            Where the key came before with another request.
        RefusedError, UnknownCodeError, StoreError
            As the fold and the store find.
        """
        if key is not None:
            _checked_key(key)
        ask = digest([kind, request, happened_s])
        with self.deciding() as decision:
            now_s, head, group = decision.now_s, decision.head, decision.group
            occurred_s = now_s if happened_s is None else checked_time(happened_s, now_s)
            if group is not None:
                key, ask = group.next_key(), group.ask
            elif key is None:
                key = self.new_key()
            elif of_command := acts_of_group(decision.view, key):
                raise _another(of_command[0])
            earlier = find_by_key(decision.connection, key)
            if earlier is not None:
                return _repeat(decision.view, earlier, kind, ask)
            see_clock(decision.connection, now_s, self.zone, is_right=self.clock_is_right)
            first = head.next_number
            act = Act(
                seq=head.seq + 1,
                key=key,
                kind=kind,
                occurred_s=occurred_s,
                recorded_s=now_s,
                actor=self.actor,
                reason=safe(reason),
                undoes=undoes,
                ask=ask,
                payload=as_kept(build(decision)),
            )
            if happened_s is not None and kind != "receive":
                not_before_it_came(decision, named_units(act.payload), happened_s)
            changes = head.append(act)
            decision.last = act
            born = tuple(_codes(first, head.next_number))
            names = _names(decision.view, changes)
            notes = _overpromised(decision.view, changes)
        return Done(
            act.seq,
            kind,
            changes,
            born,
            occurred_s=occurred_s,
            undoes=undoes,
            names=names,
            notes=notes,
        )

    def as_one(
        self,
        request: Mapping[str, Any],
        do: Callable[[Decision], Sequence[Done]],
        *,
        key: str | None = None,
    ) -> tuple[Done, ...]:
        """Do the acts of one command: decided together, all of them or none, undone together.

        Parameters
        ----------
        request : mapping
            What was asked, of the whole command: the same key with the same request is a repeat.
        do : callable
            Decides under the lock and does the acts; each takes the command's key with its number.
        key : str or None
            The command's, against doubling; None for a new one.

        Returns
        -------
        tuple of Done
            The acts done, or those that stand already from the same command before.

        Raises
        ------
        KeyReusedError
            Where the key came before with another request.
        """
        with self.deciding() as decision:
            if decision.group is not None:
                return tuple(do(decision))
            if (earlier := self.done_before(request, key)) is not None:
                return earlier
            decision.group = Group(key or self.new_key(), digest(dict(request)))
            try:
                return tuple(do(decision))
            finally:
                decision.group = None

    def done_before(self, request: Mapping[str, Any], key: str | None) -> tuple[Done, ...] | None:
        """Return the acts that stand already from the same command; None where there are none.

        What takes long to decide asks before it begins; `as_one` asks again under the lock.

        Raises
        ------
        KeyReusedError
            Where the key came before with another request.
        """
        if key is None:
            return None
        _checked_key(key)
        with self.reading() as view:
            if alone := find_by_key(view.connection, key):
                raise _another(alone)
            ask = digest(dict(request))
            earlier = acts_of_group(view, key)
            return tuple(_repeat(view, act, act.kind, ask) for act in earlier) or None


def decided(act: F) -> F:
    """Let a function of a desk look and act in one transaction, under the writers' lock."""

    @wraps(act)
    def under_the_lock(desk: Desk, *args: Any, **kwargs: Any) -> Any:
        with desk.deciding():
            return act(desk, *args, **kwargs)

    return cast("F", under_the_lock)


def _overpromised(view: StoreView, changes: Changes) -> tuple[str, ...]:
    """A fact may leave less of a unit than was put by: that is booked, and said."""
    notes = []
    for unit in (touch.after for touch in changes.touches):
        if not isinstance(unit, Unit) or unit.state != "in stock":
            continue
        puts = view.put_bys(unit.code)
        promised = sum(put.qty for put in puts)
        if promised > unit.qty:
            jobs = {job.name for put in puts if (job := view.get(Job, put.job))}
            notes.append(
                f"{unit.code}: {amount_text(unit, promised)} is put by for "
                f"{', '.join(sorted(jobs))}, but only {amount_text(unit, unit.qty)} is left."
            )
    return tuple(notes)


def _names(view: StoreView, changes: Changes) -> dict[str, str]:
    """The names of places, materials and jobs that the changes mention, by code."""
    mentioned: set[tuple[type[Place | Material | Job], str]] = {
        (Place, item.place_to) for item in changes.movements if item.place_to
    }
    for touch in changes.touches:
        match touch.after:
            case Unit(place=place):
                mentioned.add((Place, place))
            case SpellWord(place=place) | Spell(place=place):
                mentioned.add((Place, place))
            case Order(material=material) | Winding(material=material):
                mentioned.add((Material, material))
            case PutBy(job=job) | Try(job=job):
                mentioned.add((Job, job))
    found = (view.get(kind, code) for kind, code in mentioned)
    return {record.code: record.name for record in found if record is not None}


def _codes(first: int, upto: int) -> list[str]:
    from stockroom.core.books.codes import code_of

    return [code_of(number) for number in range(first, upto)]


def standing_key(view: StoreView, key: str) -> str:
    """Return a file's key, or a further one where the act that came with it was taken back."""
    further, times = key, 1
    while (act := find_by_key(view.connection, further)) and view.undone_by(act.seq):
        times += 1
        further = f"{key} again {times}"
    return further


def _repeat(view: StoreView, earlier: Act, kind: str, ask: str) -> Done:
    if earlier.kind == kind and earlier.ask == ask:
        if (by := view.undone_by(earlier.seq)) is not None:
            raise KeyReusedError(
                f"Act {earlier.seq} came with that key, and was taken back by act {by}.",
                "A repeat does not do again what a person took back.",
                f"To have it again, undo act {by}, or give another key.",
            )
        return Done(
            earlier.seq, kind, Changes((), ()), repeated=True, occurred_s=earlier.occurred_s
        )
    raise _another(earlier)


def _another(earlier: Act) -> KeyReusedError:
    return KeyReusedError(
        f"The key {safe(earlier.key, length=40)!r} belongs to act {earlier.seq} ({earlier.kind}).",
        "The same key cannot stand for something else.",
        "Leave --key out, or give a new one.",
    )


def _checked_key(key: str) -> None:
    if not key or safe(key) != key or group_key(key) is not None:
        raise BadValueError(
            "That key cannot be used.",
            "A key is one line of plain characters, 200 at most, that does not end in a slash and "
            "a number.",
            "Leave --key out, or give another.",
        )


def checked_time(happened_s: int, now_s: int) -> int:
    """Return a time at which something can have happened, or raise `BadValueError`."""
    if not EARLIEST_S <= happened_s <= now_s + AHEAD_S:
        raise BadValueError(
            "That time cannot be when it happened.",
            "It is before 1980, or still to come.",
            "Give --happened like 2026-03-07T16:30.",
        )
    return happened_s


def named_units(payload: dict[str, Any]) -> list[str]:
    """Return the codes of the units that a payload acts on."""
    codes = [payload["unit"]] if isinstance(payload.get("unit"), str) else []
    codes += [code for code in payload.get("units", ()) if isinstance(code, str)]
    return codes + [item["unit"] for item in payload.get("draws", ())]


def not_before_it_came(decision: Decision, units: Sequence[str], happened_s: int) -> None:
    """Refuse a time before a unit came, which would move its arrival and so its whole life."""
    for code in units:
        unit = decision.view.get(Unit, code)
        if unit is not None and happened_s < unit.received_s:
            raise RefusedError(
                f"{code} came on {clock.moment_text(unit.received_s, decision.zone)}; nothing can "
                "have happened to it before.",
                "Its life is reckoned from the day it came.",
                f"Look at the time; or correct when it came: stockroom retime {unit.received_act} "
                "TIME.",
            )


def _see_to_file(url: sa.URL, begin: bool) -> None:
    from pathlib import Path

    from stockroom.store.engine import store_trouble

    path = Path(url.database or "")
    with store_trouble():
        if begin:
            path.parent.mkdir(parents=True, exist_ok=True)
        elif not path.exists():
            raise StoreMissingError(
                f"There is no store at {safe(path)}.",
                "Nothing was entered there yet.",
                "Try the demo (stockroom demo), or begin with: "
                "stockroom place add 'Cold store' --kind 'cold store' --set-point 4 --high 8.",
            )
