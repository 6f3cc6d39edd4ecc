"""Folding acts on condition: patches, warm-up times, windings, faults, sheets looked over."""

from typing import Any

from stockroom.core.books.draft import Draft
from stockroom.core.condition import (
    Fault,
    Patch,
    ProbeRun,
    Surface,
    WarmTime,
    WhiteWord,
    Winding,
)
from stockroom.core.model import Material, Unit


def patch(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down a measured patch of a roll."""
    draft.need(Unit, payload["unit"])
    draft.put(Patch(**payload, at_s=draft.act.occurred_s, act=draft.act.seq))


def white_word(draft: Draft, payload: dict[str, Any]) -> None:
    """Take a person's word that a roll may count on its white."""
    draft.need(Unit, payload["unit"])
    draft.put(WhiteWord(**payload, at_s=draft.act.occurred_s, act=draft.act.seq))


def warm_table(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down a maker's whole warm-up table; the one before it no longer stands."""
    material = draft.need(Material, payload["material"])
    for row in draft.view.having(WarmTime, "material", material.code):
        if row.standing:
            draft.change(row, standing=False)
    for row in payload["rows"]:
        draft.put(WarmTime(**row, material=material.code, source=payload["source"]))


def probe_run(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down what a probe inside a warming roll showed."""
    draft.need(Unit, payload["unit"])
    draft.put(ProbeRun(**payload, at_s=draft.act.occurred_s, act=draft.act.seq))


def winding(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down a roll of known length, measured across."""
    draft.need(Material, payload["material"])
    if payload.get("unit"):
        draft.need(Unit, payload["unit"])
    draft.put(Winding(**payload, at_s=draft.act.occurred_s, act=draft.act.seq))


def fault(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down a fault in a roll."""
    draft.need(Unit, payload["unit"])
    draft.put(Fault(**payload, at_s=draft.act.occurred_s, act=draft.act.seq))


def surface(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down what a sheet or board is like now."""
    draft.need(Unit, payload["unit"])
    draft.put(Surface(**payload, seen_s=draft.act.occurred_s, act=draft.act.seq))
