"""Folding acts on materials, places, jobs, orders, warm spells and logger files."""

from typing import Any

from stockroom.core.books.draft import Draft
from stockroom.core.records import (
    Import,
    Job,
    Material,
    Order,
    Place,
    PutBy,
    Spell,
    SpellWord,
)


def material(draft: Draft, payload: dict[str, Any]) -> None:
    """Define a material, or change what is known of it."""
    draft.put(Material.from_plain(payload))


def place(draft: Draft, payload: dict[str, Any]) -> None:
    """Define a place, or change its set-point and limits."""
    draft.put(Place.from_plain(payload))


def book(draft: Draft, payload: dict[str, Any]) -> None:
    """Book prints of one size on one material for a day, or change the booking."""
    old = draft.get(Job, payload["code"])
    kept = {"good": old.good, "lost": old.lost} if old else {}
    draft.put(Job.from_plain({**payload, **kept}))


def close_job(draft: Draft, payload: dict[str, Any]) -> None:
    """Call a job done or cancelled; what was put by for it is free again."""
    job = draft.need(Job, payload["job"])
    draft.change(job, state=payload["state"])
    for code in payload["put_bys"]:
        draft.change(draft.need(PutBy, code), open=False)


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


def spell(draft: Draft, payload: dict[str, Any]) -> None:
    """Log a warm spell by hand, with a word for its cause where one is known already."""
    told = {name: value for name, value in payload.items() if name != "word"}
    draft.put(Spell(**told, act=draft.act.seq))
    if payload.get("word"):
        draft.put(SpellWord(**payload["word"]))


def spell_word(draft: Draft, payload: dict[str, Any]) -> None:
    """Say in a word what a warm spell came from."""
    draft.put(SpellWord(**payload))


def readings(draft: Draft, payload: dict[str, Any]) -> None:
    """Take in a logger file for a place."""
    draft.put(Import(**payload["import"]))


def withdraw(draft: Draft, payload: dict[str, Any]) -> None:
    """Take a logger file out of the reckoning; the file itself is kept."""
    draft.change(draft.need(Import, payload["import"]), withdrawn=True)
