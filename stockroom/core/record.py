"""What every record of the books is: frozen, keyed, and plain enough to hash, store and undo."""

from collections.abc import Mapping
from dataclasses import fields
from datetime import date
from functools import cache
from typing import Any, ClassVar, Self, get_type_hints


class Record:
    """A frozen record of the books with a key, made plain for hashing, storing and undoing."""

    kind: ClassVar[str]
    key_field: ClassVar[str] = "code"

    @property
    def key(self) -> str:
        """The record's own key, as text."""
        return str(getattr(self, self.key_field))

    def plain(self) -> dict[str, Any]:
        """Return the fields as integers, text, booleans and None; dates as ISO text."""
        return {
            name: value.isoformat() if isinstance(value := getattr(self, name), date) else value
            for name in field_names(type(self))  # type: ignore[arg-type]
        }

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """Return the record of which `plain` was made."""
        dates = _date_fields(cls)  # type: ignore[arg-type]
        return cls(
            **{
                name: date.fromisoformat(value) if value is not None and name in dates else value
                for name, value in plain.items()
            }
        )


@cache
def field_names(record: Any) -> tuple[str, ...]:
    """Return the names of a record's fields in their order."""
    return tuple(field.name for field in fields(record))


@cache
def _date_fields(record: Any) -> frozenset[str]:
    hints = get_type_hints(record)
    return frozenset(name for name, hint in hints.items() if "date" in str(hint))
