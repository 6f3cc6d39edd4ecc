"""Folding acts on condition: patches, warm-up times, windings, faults, sheets looked over."""

from collections.abc import Callable
from typing import Any

from stockroom.core.books.draft import Draft
from stockroom.core.records import (
    Fault,
    Patch,
    ProbeRun,
    Surface,
    Unit,
    WarmTime,
    WhiteWord,
    Winding,
)


def noted(
    record: type[Patch | WhiteWord | ProbeRun | Winding | Fault],
) -> Callable[[Draft, dict[str, Any]], None]:
    """Return the fold that writes down what was found of a roll, as the payload tells it."""

    def note(draft: Draft, payload: dict[str, Any]) -> None:
        if payload.get("unit"):
            draft.need(Unit, payload["unit"])
        draft.put(record(**payload, at_s=draft.act.occurred_s, act=draft.act.seq))

    return note


def warm_table(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down a maker's whole warm-up table; the one before it no longer stands."""
    for row in draft.view.having(WarmTime, "material", payload["material"]):
        if row.standing:
            draft.change(row, standing=False)
    for row in payload["rows"]:
        draft.put(WarmTime(**row, material=payload["material"], source=payload["source"]))


def surface(draft: Draft, payload: dict[str, Any]) -> None:
    """Write down what a sheet or board is like now."""
    draft.put(Surface(**payload, seen_s=draft.act.occurred_s, act=draft.act.seq))
