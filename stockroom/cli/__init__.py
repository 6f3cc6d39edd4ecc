"""The console: every act and question as a command, for people and for scripts."""

from stockroom.cli import (
    asking,
    condition,
    cuts,
    keeping,
    measure,
    readings,
    spells,
    stock,
    supply,
    things,
    warming,
    white,
    work,
    worth,
)
from stockroom.cli.base import app, run

__all__ = [
    "app",
    "asking",
    "condition",
    "cuts",
    "keeping",
    "measure",
    "readings",
    "run",
    "spells",
    "stock",
    "supply",
    "things",
    "warming",
    "white",
    "work",
    "worth",
]
