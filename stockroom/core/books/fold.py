"""The fold: each act changes the books in one way, for any act and any books."""

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from stockroom.core.books import climate, condition, cutting, links, orders, stock, work
from stockroom.core.books.chain import Act
from stockroom.core.books.draft import MOVEMENT_SIGN, Changes, Draft, Movement, Touch, View
from stockroom.core.records import (
    RECORD_OF_KIND,
    ActTime,
    Fault,
    Patch,
    Piece,
    ProbeRun,
    PutBy,
    Spell,
    Stay,
    Surface,
    Unit,
    WhiteWord,
    Winding,
)
from stockroom.core.records.base import Record
from stockroom.errors import RefusedError, StoreDamagedError, UndoRefusedError, UnknownCodeError
from stockroom.text import capital

Fold = Callable[[Draft, dict[str, Any]], None]


def undo(draft: Draft, payload: dict[str, Any]) -> None:
    """Take an act back: every record it touched stands again as before it."""
    seq = payload["act"]
    target = draft.view.act(seq)
    if target is None or seq >= draft.act.seq:
        raise UnknownCodeError(f"There is no act {seq}.", try_="Look at the trail.")
    if (by := draft.view.undone_by(seq)) is not None:
        raise UndoRefusedError(
            f"Act {seq} ({target.kind}) was taken back already, by act {by}.",
            try_=f"To have it again, undo act {by}.",
        )
    if (by := draft.view.undoing(seq)) is not None:
        again = draft.view.undone_by(by)
        raise UndoRefusedError(
            f"Act {seq} ({target.kind}) was taken back and done again, by act {again}.",
            try_=f"To take it back, undo act {again}.",
        )
    left = _left_by(draft.view, target)
    for touch in reversed(list(draft.view.touches(seq))):
        later = _later_act(draft.view, left[touch.kind, touch.key], touch)
        if later:
            act = draft.view.act(later)
            named = f"act {later} ({act.kind})" if act else f"act {later}"
            raise UndoRefusedError(
                f"Act {seq} ({target.kind}) cannot be undone yet.",
                f"{capital(named)} came after it and touches the same "
                f"{RECORD_OF_KIND[touch.kind].noun}{_named(touch)}.",
                f"Undo {named} first.",
            )
        draft.restore(touch.kind, touch.key, touch.before)
    touched = [(touch.kind, touch.key) for touch in draft.view.touches(seq)]
    links.see_that_it_stands(draft, target, touched)
    for movement in draft.view.movements(seq):
        draft.movement(replace(movement, qty=-movement.qty, cost_cents=-movement.cost_cents))


def _named(touch: Touch) -> str:
    return "" if touch.kind in ("stay", "act_time") else f" {touch.key}"


def _left_by(view: View, target: Act) -> dict[tuple[str, str], int]:
    """Return the stamp of each record as an act left it; 0 for one that it took away.

    An act leaves its own number on what it touches; an undo leaves what was there before.
    """
    if target.kind != "undo":
        return {(touch.kind, touch.key): target.seq for touch in view.touches(target.seq)}
    return {
        (touch.kind, touch.key): touch.before.last_act if touch.before else 0
        for touch in view.touches(target.payload["act"])
    }


def _later_act(view: View, left: int, touch: Touch) -> int:
    """Return a later act that stands on a record, or 0 where it is as it was left."""
    now = view.get(RECORD_OF_KIND[touch.kind], touch.key)
    stamp = now.last_act if now else 0
    return 0 if stamp == left else stamp or view.last_touch(touch.kind, touch.key)


def retime(draft: Draft, payload: dict[str, Any]) -> None:
    """Correct when an act happened; stays, openings, strips and spells follow."""
    seq, occurred_s = payload["act"], payload["occurred_s"]
    target = draft.view.act(seq)
    if target is None or seq >= draft.act.seq:
        raise UnknownCodeError(f"There is no act {seq}.", try_="Look at the trail.")
    if draft.view.undone_by(seq) is not None:
        raise RefusedError(f"Act {seq} was taken back.", try_="There is nothing to correct.")
    if target.kind in ("undo", "retime"):
        raise RefusedError(f"Act {seq} is itself a correction.", try_="Correct the act it names.")
    corrected = draft.get(ActTime, str(seq))
    was_s = corrected.occurred_s if corrected else target.occurred_s
    draft.put(ActTime(act=seq, occurred_s=occurred_s))
    units = {}
    for touch in draft.view.touches(seq):
        record = draft.get(RECORD_OF_KIND[touch.kind], touch.key)
        if record is None:
            continue
        if isinstance(record, Stay) and record.act == seq and record.from_s == was_s:
            draft.change(record, from_s=occurred_s)
            units[record.unit] = True
        elif isinstance(record, Unit):
            units[record.code] = True
            _retime_unit(draft, record, seq, (was_s, occurred_s), touch)
        elif hasattr(record, "at_s") and hasattr(record, "act") and record.act == seq:
            draft.change(record, at_s=occurred_s)
        elif isinstance(record, Piece) and record.since_s == was_s:
            draft.change(record, since_s=occurred_s)
        elif isinstance(record, Surface) and record.act == seq:
            draft.change(record, seen_s=occurred_s)
        elif isinstance(record, Spell) and record.act == seq:
            shift = occurred_s - record.found_s
            draft.change(record, found_s=occurred_s, last_right_s=record.last_right_s + shift)
    for code in units:
        unit = draft.need(Unit, code)
        laid = stock.lay_stays(draft, code, draft.stays(code), unit.ended_s)
        if laid and seq == unit.received_act and laid[0].act != seq:
            raise RefusedError(
                f"{code} cannot have come after it was moved.",
                f"Act {laid[0].act} moved it before that time.",
                f"Correct the time of act {laid[0].act} first.",
            )
        if laid and laid[-1].place != unit.place:
            draft.change(unit, place=laid[-1].place)


def _retime_unit(
    draft: Draft, unit: Unit, seq: int, times_s: tuple[int, int], touch: Touch
) -> None:
    was_s, occurred_s = times_s
    changes: dict[str, int] = {}
    if unit.opened_act == seq:
        changes["opened_s"] = occurred_s
    act = draft.view.act(seq)
    if act is not None and act.kind == "rebag" and unit.bagged_s == was_s:
        changes["bagged_s"] = occurred_s
    if act is not None and act.kind in ("open", "use") and unit.reopened_s == was_s:
        changes["reopened_s"] = occurred_s
    if unit.received_act == seq and unit.received_s == was_s:
        changes["received_s"] = occurred_s
    was = touch.before
    ended_here = unit.ended_s is not None and isinstance(was, Unit) and was.ended_s is None
    if ended_here and unit.state != "in stock":
        changes["ended_s"] = occurred_s
    if changes:
        draft.change(unit, **changes)


FOLDS: dict[str, Fold] = {
    "material": stock.material,
    "place": stock.place,
    "receive": stock.receive,
    "take in": stock.receive,
    "move": stock.move,
    "open": stock.open_,
    "rebag": stock.rebag,
    "use": stock.use,
    "lose": stock.lose,
    "discard": stock.discard,
    "return": stock.return_,
    "count": stock.count,
    "hold": stock.hold,
    "release": stock.release,
    "batch": stock.amend_lot,
    "cut": cutting.cut,
    "put by": stock.put_by,
    "let go": stock.let_go,
    "plan cuts": cutting.plan_cuts,
    "drop cards": cutting.drop_cards,
    "strip": stock.strip,
    "book": work.book,
    "close job": work.close_job,
    "order": orders.order,
    "close order": orders.close_order,
    "spell": climate.spell,
    "spell word": climate.spell_word,
    "readings": climate.readings,
    "withdraw": climate.withdraw,
    "patch": condition.noted(Patch),
    "white word": condition.noted(WhiteWord),
    "warm table": condition.warm_table,
    "probe run": condition.noted(ProbeRun),
    "winding": condition.noted(Winding),
    "fault": condition.noted(Fault),
    "surface": condition.surface,
    "build": work.build,
    "retire build": work.retire_build,
    "take in jobs": work.take_in_jobs,
    "change job": work.change_job,
    "try": work.try_,
    "confirm order": orders.order_fact,
    "claim order": orders.order_fact,
    "credit order": orders.order_fact,
    "retime": retime,
    "undo": undo,
}
"""Every kind of act and what it does."""


def fold(act: Act, view: View) -> Changes:
    """Return what an act changes in the books it is seen against.

    Raises
    ------
    RefusedError
        Where a rule of the books says no.
    UnknownCodeError
        Where the act names what is not there.
    StoreDamagedError
        Where the act's kind is none of ours.
    """
    if act.kind not in FOLDS:
        raise StoreDamagedError(
            f"Act {act.seq} is of an unknown kind: {act.kind[:40]}.",
            "The store may come from a newer version, or be damaged.",
            "Use the newest version, or restore a backup.",
        )
    draft = Draft(act, view)
    FOLDS[act.kind](draft, act.payload)
    return draft.changes()


class Books:
    """The books in memory: a view that changes can be laid into."""

    def __init__(self) -> None:
        self.records: dict[str, dict[str, Record]] = {kind: {} for kind in RECORD_OF_KIND}
        self.acts: dict[int, Act] = {}
        self._touches: dict[int, tuple[Touch, ...]] = {}
        self._movements: dict[int, tuple[Movement, ...]] = {}
        self._last_touch: dict[tuple[str, str], int] = {}
        self._undone: dict[int, int] = {}
        self._of_unit: dict[tuple[str, str], dict[str, None]] = {}

    def get(self, record: type[Any], key: str) -> Any:
        """Return the record with this key, or None."""
        return self.records[record.kind].get(key)

    def stays(self, unit: str) -> list[Stay]:
        """Return the unit's stays."""
        found = self._of_unit.get((Stay.kind, unit), {})
        return [self.records[Stay.kind][key] for key in found]  # type: ignore[misc]

    def put_bys(self, unit: str) -> list[PutBy]:
        """Return what of the unit is put by and still open."""
        found = self._of_unit.get((PutBy.kind, unit), {})
        puts: list[PutBy] = [self.records[PutBy.kind][key] for key in found]  # type: ignore[misc]
        return [put for put in puts if put.open]

    def having(self, record: type[Any], field: str, value: str) -> list[Any]:
        """Return the records of a kind that hold a value in a field."""
        held = self.records[record.kind].values()
        return [item for item in held if getattr(item, field) == value]

    def act(self, seq: int) -> Act | None:
        """Return an act, or None."""
        return self.acts.get(seq)

    def touches(self, seq: int) -> tuple[Touch, ...]:
        """Return what an act touched."""
        return self._touches.get(seq, ())

    def movements(self, seq: int) -> tuple[Movement, ...]:
        """Return what an act moved."""
        return self._movements.get(seq, ())

    def last_touch(self, kind: str, key: str) -> int:
        """Return the last act that touched a record, or 0."""
        return self._last_touch.get((kind, key), 0)

    def undone_by(self, seq: int) -> int | None:
        """Return the act that takes this one back, if it still stands."""
        by = self._undone.get(seq)
        return None if by is None or self.undone_by(by) is not None else by

    def undoing(self, seq: int) -> int | None:
        """Return the act that took this one back, whether or not it still stands."""
        return self._undone.get(seq)

    def lay(self, act: Act, changes: Changes) -> None:
        """Take the changes of an act into the books."""
        self.acts[act.seq] = act
        self._touches[act.seq] = changes.touches
        self._movements[act.seq] = changes.movements
        if act.undoes is not None:
            self._undone[act.undoes] = act.seq
        for touch in changes.touches:
            self._last_touch[touch.kind, touch.key] = act.seq
            if touch.after is None:
                self.records[touch.kind].pop(touch.key, None)
            else:
                self.records[touch.kind][touch.key] = touch.after
            record = touch.after or touch.before
            if isinstance(record, Stay | PutBy):
                index = self._of_unit.setdefault((touch.kind, record.unit), {})
                if touch.after is None:
                    index.pop(touch.key, None)
                else:
                    index[touch.key] = None

    def do(self, act: Act) -> Changes:
        """Fold an act into the books and return what it changed."""
        changes = fold(act, self)
        self.lay(act, changes)
        return changes


def refold(acts: Iterable[Act]) -> Books:
    """Return the books that a run of acts makes, from nothing."""
    books = Books()
    for act in acts:
        books.do(act)
    return books


def unbalanced_lots(units: Iterable[Unit], movements: Iterable[Movement]) -> dict[str, int]:
    """Return each lot whose movements do not sum to what is on hand, with the difference.

    Rule: received + found = on hand + used + cut waste + lost + discarded + missing + returned,
    in whole dmm2, dmm or counts.
    """
    gap: dict[str, int] = {}
    for movement in movements:
        sign = MOVEMENT_SIGN[movement.kind]
        gap[movement.lot] = gap.get(movement.lot, 0) + sign * movement.qty
    for unit in units:
        gap[unit.lot] = gap.get(unit.lot, 0) - unit.qty
    return {lot: difference for lot, difference in gap.items() if difference}
