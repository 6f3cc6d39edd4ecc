"""The console: every act and question as a command, for people and for scripts."""

from stockroom.cli import asking, care, keeping, readings, spells, stock, things
from stockroom.cli.base import app, run

__all__ = ["app", "asking", "care", "keeping", "readings", "run", "spells", "stock", "things"]
