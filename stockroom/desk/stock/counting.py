"""Counting and correcting: what is really there, when it happened, and taking an act back."""

from dataclasses import dataclass, replace
from datetime import date
from typing import Any

import sqlalchemy as sa

from stockroom import clock
from stockroom.core.act_wording import act_brief
from stockroom.core.books.chain import Act
from stockroom.core.records import ActTime, Lot, Order, Unit
from stockroom.core.wording import dated
from stockroom.desk.groups import acts_of_group, group_key
from stockroom.desk.lookup import everything, find
from stockroom.desk.session import Decision, Desk, Done, checked_time, joined, not_before_it_came
from stockroom.desk.stock.amounts import checked_plus_minus, could_be_on_it
from stockroom.errors import BadValueError, RefusedError, UnknownCodeError
from stockroom.store.mapping import ACT, TOUCH, act_of
from stockroom.store.view import StoreView
from stockroom.text import safe
from stockroom.units import LONGEST_DMM, UNITS


def count(
    desk: Desk,
    unit: str,
    amount: int,
    *,
    reason: str = "",
    plus_minus_dmm: int = 0,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Set what is really there: dmm of a roll or length, a number of sheets or goods.

    Raises
    ------
    RefusedError
        Where more is said to be there than can ever have been on it.
    BadValueError
        Where it is below zero, or may be off by more than it is.
    """
    UNITS[""].check(amount, "Count", most=LONGEST_DMM)
    UNITS["m"].check(plus_minus_dmm, "Plus or minus")

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Unit, unit)
        could_be_on_it(decision, found, amount)
        checked_plus_minus(found, amount, plus_minus_dmm)
        return {"unit": found.code, "amount": amount, "plus_minus_dmm": plus_minus_dmm}

    request = {"unit": unit, "amount": amount, "plus_minus_dmm": plus_minus_dmm}
    return desk.act("count", request, build, reason=reason, happened_s=happened_s, key=key)


def amend_batch(
    desk: Desk,
    said: str,
    *,
    number: str | None = None,
    made_on: date | None = None,
    label_date: date | None = None,
    reason: str = "",
    key: str | None = None,
) -> Done:
    """Write down a batch's number or dates, learned later; what is not given stays."""
    given: dict[str, Any] = {}
    if number is not None:
        given["number"] = safe(number)
    if made_on is not None:
        if made_on > desk.today():
            raise BadValueError(
                f"{dated(made_on)} is still to come; nothing in stock was made then.",
                try_="Look at the label: the date may be its last day, --label-date.",
            )
        given["made_on"] = made_on.isoformat()
    if label_date is not None:
        given["label_date"] = label_date.isoformat()
    if not given:
        raise BadValueError("Nothing to write down.", try_="Give a number or a date.")

    def build(decision: Decision) -> dict[str, Any]:
        return {"lot": find(decision.view, Lot, said).code, **given}

    return desk.act("batch", {"of": said, **given}, build, reason=reason, key=key)


def retime(
    desk: Desk, seq: int, happened_s: int, *, reason: str = "", key: str | None = None
) -> Done:
    """Correct when an act happened."""
    checked_time(happened_s, desk.now_s())
    payload = {"act": seq, "occurred_s": happened_s}

    def build(decision: Decision) -> dict[str, Any]:
        act = decision.view.act(seq)
        if act is not None and act.kind == "order":
            raise RefusedError(
                f"Act {seq} is an order; the day on which it was placed is written in it.",
                "Correcting the time of the act would leave that day as it is.",
                "Cancel it, and write it down anew with --happened.",
            )
        if act is not None and act.kind == "receive" and act.payload.get("order"):
            order = decision.view.get(Order, act.payload["order"])
            came_on = clock.local_date(happened_s, decision.zone)
            if order is not None and came_on < order.ordered_on:
                raise RefusedError(
                    f"Order {order.code} was placed on {dated(order.ordered_on)}; nothing of it "
                    f"can have come on {dated(came_on)}.",
                    try_="Look at the day.",
                )
        touched = [t.key for t in decision.view.touches(seq) if t.kind == Unit.kind]
        for code in touched:
            unit = decision.view.get(Unit, code)
            if unit is None or unit.received_act != seq:
                not_before_it_came(decision, [code], happened_s)
                continue
            later = [stay for stay in decision.view.stays(code) if stay.act != seq]
            first = min(later, key=lambda stay: stay.from_s, default=None)
            if first is not None and happened_s > first.from_s:
                raise RefusedError(
                    f"{code} was moved on {clock.moment_text(first.from_s, decision.zone)}; "
                    "it cannot have come after that.",
                    try_=f"Look at the time; or correct act {first.act} first.",
                )
        return payload

    return desk.act("retime", payload, build, reason=reason, key=key)


def undo(
    desk: Desk,
    seq: int | None = None,
    *,
    sure: bool = False,
    reason: str = "",
    key: str | None = None,
) -> Done:
    """Take an act back, with all that its command did: the one named, or this person's last.

    Parameters
    ----------
    seq : int, optional
        The act; this person's last that stands, where it is the last of all, if left out.
    sure : bool
        Whether this person's last is meant although somebody else acted since.
    reason : str
        Why.

    Raises
    ------
    RefusedError
        Where none is named and somebody else acted since.
    UndoRefusedError
        Where a later act stands on it; that act is named.
    UnknownCodeError
        Where there is no such act.
    """

    def do(decision: Decision) -> list[Done]:
        aim = seq
        if aim is None:
            meant = meant_by_undo(decision.view, desk.actor)
            aim = _last_word(decision.view, meant.act.seq if sure else meant.sure())
        act = decision.view.act(aim)
        if act is None:
            raise UnknownCodeError(f"There is no act {aim}.", try_="See: stockroom undo --list.")
        command = group_key(act.key)
        of_command = acts_of_group(decision.view, command) if command else [act]
        standing = [one for one in of_command if decision.view.undone_by(one.seq) is None]
        # where all was taken back already, the one named is refused as any is
        return [_undone(desk, one, reason) for one in reversed(standing or [act])]

    return joined(desk.as_one({"undo": seq, "reason": reason}, do, key=key))


def _last_word(view: StoreView, seq: int) -> int:
    """The act by which another one stands: it, or what did it again after it was taken back."""
    while (by := view.undoing(seq)) is not None and (again := view.undone_by(by)) is not None:
        seq = again
    return seq


def _undone(desk: Desk, target: Act, reason: str) -> Done:
    payload = {"act": target.seq}
    done = desk.act("undo", payload, lambda _decision: payload, reason=reason, undoes=target.seq)
    notes = [*done.notes, f"{_word(target)}."]
    if target.payload.get("client"):
        notes.append("Whose work it is stays as it is written now: that is in no act.")
    return replace(done, notes=tuple(notes))


@dataclass(frozen=True, slots=True)
class Meant:
    """The act that a person means who takes one back without a number.

    Attributes
    ----------
    act : Act
        The last of that person's that stands.
    above : Act or None
        The last of all that stands, where it is somebody else's.
    """

    act: Act
    above: Act | None

    @property
    def doubt(self) -> str:
        """Why it is not sure that this act is meant; "" where it is."""
        if self.above is None:
            return ""
        return f"{self.above.actor} acted since: {_word(self.above)}. {_word(self.act)}."

    def sure(self) -> int:
        """Return the act's number, or raise `RefusedError` where there is a doubt."""
        if self.doubt:
            raise RefusedError(
                self.doubt,
                "Without a number only the last act of the books is taken back, where it is yours.",
                f"To take yours back all the same: stockroom undo {self.act.seq}.",
            )
        return self.act.seq


def meant_by_undo(view: StoreView, actor: str) -> Meant:
    """Return the act that a person means who takes one back without a number.

    Raises
    ------
    RefusedError
        Where none of that person's acts stands.
    """
    last, own = _last_standing(view), _last_standing(view, ACT.c.actor == actor)
    if last is None:
        raise RefusedError("There is nothing to undo.", try_="See: stockroom undo --list.")
    if own is None:
        raise RefusedError(
            f"No act of {actor} stands in the books. {_word(last)}, by {last.actor}.",
            "Without a number only your own last act is taken back.",
            f"To take that one back: stockroom undo {last.seq}.",
        )
    return Meant(own, None if own.seq == last.seq else last)


def _last_standing(view: StoreView, *of: sa.ColumnElement[bool]) -> Act | None:
    """The last act of some that was not taken back; undoing is none itself."""
    query = sa.select(ACT).where(ACT.c.kind != "undo", *of).order_by(ACT.c.seq.desc())
    for row in view.connection.execute(query.limit(200)):
        if view.undone_by(row.seq) is None:
            return act_of(row)
    return None


def _word(act: Act) -> str:
    """An act's number and what it was, as on the trail."""
    return f"Act {act.seq} was: {act_brief(act)}"


@dataclass(frozen=True, slots=True)
class TrailLine:
    """One act on the trail.

    Attributes
    ----------
    occurred_s : int
        When it happened, corrected, s UTC.
    undone_by : int or None
        By which act it was taken back.
    together : tuple of int
        The other acts of the same command: an undo takes all of them back.
    """

    act: Act
    occurred_s: int
    undone_by: int | None
    together: tuple[int, ...] = ()


def trail(desk: Desk, count: int = 50, *, of: str | None = None) -> list[TrailLine]:
    """Return the last acts, newest first; with `of`, those that touched a unit, lot or job."""
    with desk.reading() as view:
        query = sa.select(ACT).order_by(ACT.c.seq.desc()).limit(count)
        if of is not None:
            touched = sa.select(TOUCH.c.act).where(TOUCH.c.record_key == of)
            about = ACT.c.payload.contains(f'"unit":"{of}"', autoescape=True)
            query = query.where(sa.or_(ACT.c.seq.in_(touched), about))
        acts = [act_of(row) for row in view.connection.execute(query)]
        times = {item.act: item.occurred_s for item in everything(view, ActTime)}
        return [
            TrailLine(
                act, times.get(act.seq, act.occurred_s), view.undone_by(act.seq),
                _together(view, act),
            )
            for act in acts
        ]  # fmt: skip


def _together(view: StoreView, act: Act) -> tuple[int, ...]:
    command = group_key(act.key)
    if command is None:
        return ()
    return tuple(one.seq for one in acts_of_group(view, command) if one.seq != act.seq)
