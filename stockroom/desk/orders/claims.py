"""What becomes of an order: confirmed, came damaged, told to the supplier, credited."""

from datetime import date, timedelta
from typing import Any

from stockroom.core.constants import DAMAGE_NOTICE
from stockroom.core.records import Order
from stockroom.core.records.asked import check_fields
from stockroom.desk.lookup import find
from stockroom.desk.orders.ordering import see_to_come
from stockroom.desk.session import Decision, Desk, Done
from stockroom.errors import BadValueError, RefusedError


def confirm_order(
    desk: Desk,
    said: str,
    *,
    confirmed_on: date | None = None,
    expected_on: date | None = None,
    key: str | None = None,
) -> Done:
    """Write down that the supplier confirmed an order, and when it should come.

    Raises
    ------
    RefusedError
        Where it has come, or was cancelled.
    """
    see_to_come(desk, expected_on)

    def build(decision: Decision) -> dict[str, Any]:
        order = _order(decision, said, "sent")
        day = confirmed_on or decision.today
        _not_before(day, order.ordered_on, "confirmed before it was ordered")
        fields: dict[str, Any] = {"confirmed_on": day.isoformat()}
        if expected_on is not None:
            fields["expected_on"] = expected_on.isoformat()
        return {"order": order.code, "fields": fields}

    request = {"of": said, "on": _iso(confirmed_on), "expected_on": _iso(expected_on)}
    return desk.act("confirm order", request, build, key=key)


def claim_damage(
    desk: Desk, said: str, damaged: int, *, notice_by: date | None = None, key: str | None = None
) -> Done:
    """Write down that so many of an order came damaged, and by when the supplier must be told.

    Without a day it is so many days after today as carriers' law gives for damage that does not
    show (`DAMAGE_NOTICE`); the contract decides.

    Raises
    ------
    RefusedError
        Where nothing of it has come, or less.
    """

    def build(decision: Decision) -> dict[str, Any]:
        order = _order(decision, said)
        came = order.count if order.came is None and order.state == "arrived" else order.came or 0
        if not 1 <= damaged <= came:
            raise RefusedError(
                f"{damaged} of order {order.code} cannot have come damaged: {came} have come.",
                "What came is booked with the arrival.",
                "Take the order in first, or look at the number.",
            )
        by = notice_by or decision.today + timedelta(days=round(DAMAGE_NOTICE.value))
        return {
            "order": order.code,
            "fields": {"damaged": damaged, "notice_by": by.isoformat(), "noticed_on": None},
        }

    request = {"of": said, "damaged": damaged, "by": _iso(notice_by)}
    return desk.act("claim order", request, build, key=key)


def notice_sent(desk: Desk, said: str, *, on: date | None = None, key: str | None = None) -> Done:
    """Write down that the supplier was told of the damage.

    Raises
    ------
    RefusedError
        Where no damage is written down.
    """

    def build(decision: Decision) -> dict[str, Any]:
        order = _order(decision, said)
        if not order.damaged:
            raise RefusedError(
                f"Nothing of order {order.code} is written down as damaged.",
                try_=f"First: stockroom order damaged {order.code} NUMBER.",
            )
        day = on or decision.today
        _not_before(day, order.ordered_on, "told before it was ordered")
        return {"order": order.code, "fields": {"noticed_on": day.isoformat()}}

    return desk.act("claim order", {"of": said, "noticed_on": _iso(on)}, build, key=key)


def credit(desk: Desk, said: str, cents: int, *, key: str | None = None) -> Done:
    """Write down what the supplier credited for an order, cents in all."""
    check_fields(Order, {"credit_cents": cents})

    def build(decision: Decision) -> dict[str, Any]:
        return {"order": _order(decision, said).code, "fields": {"credit_cents": cents}}

    return desk.act("credit order", {"of": said, "cents": cents}, build, key=key)


def _order(decision: Decision, said: str, state: str | None = None) -> Order:
    found = find(decision.view, Order, said)
    if found.state == "cancelled" or (state is not None and found.state != state):
        raise RefusedError(
            f"Order {found.code} is {found.state} already.",
            try_="If that was wrong, take that act back: stockroom undo --list.",
        )
    return found


def _not_before(day: date, first: date, what: str) -> None:
    if day < first:
        raise BadValueError(f"It cannot have been {what}.", try_="Look at the date.")


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
