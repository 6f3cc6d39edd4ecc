"""The console: every act and question as a command, for people and for scripts."""

from stockroom.cli import (  # noqa: F401 - each adds its commands to the app
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

__all__ = ["app", "run"]
