"""Folding acts on orders: sent, cancelled, and what became of them."""

from typing import Any

from stockroom.core.books.draft import Draft
from stockroom.core.records import Order


def order(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down what was ordered, from whom, and when it should come."""
    draft.put(Order.from_plain(payload))


def close_order(draft: Draft, payload: dict[str, Any]) -> None:
    """Call an order cancelled."""
    draft.change(draft.need(Order, payload["order"]), state="cancelled")


def order_fact(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down what became of an order: confirmed, damaged, told to the supplier, credited."""
    order = draft.need(Order, payload["order"])
    draft.put(Order.from_plain({**order.plain(), **payload["fields"]}))
