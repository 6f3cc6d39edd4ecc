"""Folding acts on climate: warm spells, their causes, logger files."""

from typing import Any

from stockroom.core.books.draft import Draft
from stockroom.core.records import Import, Spell, SpellWord


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
