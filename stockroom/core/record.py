"""What every record of the books is: frozen, keyed, and plain enough to hash, store and undo."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date
from functools import cache
from typing import Annotated, Any, ClassVar, Self, get_args, get_origin, get_type_hints


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What is known of a field beyond its type: `name: Annotated[str, About(unique=True)]`.

    Tables, links and checks are derived from it.

    Attributes
    ----------
    points_to : str
        Kind of the record whose key the field holds.
    unique, indexed : bool
        Whether no two records may hold the same, and whether it is looked up by it.
    """

    points_to: str = ""
    unique: bool = False
    indexed: bool = False


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


@cache
def about(record: Any) -> dict[str, About]:
    """Return what is known of each field of a record, in their order.

    >>> from stockroom.core.model import Place
    >>> about(Place)["name"].unique
    True
    """
    hints = get_type_hints(record, include_extras=True)
    return {name: _about_of(hints[name]) for name in field_names(record)}


def _about_of(hint: Any) -> About:
    told = get_args(hint)[1:] if get_origin(hint) is Annotated else ()
    return next((one for one in told if isinstance(one, About)), About())
