"""What every record of the books is: frozen, keyed, and plain enough to hash, store and undo."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields, replace
from datetime import date
from functools import cache
from types import NoneType, UnionType
from typing import (
    Annotated,
    Any,
    ClassVar,
    Literal,
    Self,
    TypeVar,
    Union,
    cast,
    get_args,
    get_origin,
    get_type_hints,
)

from stockroom.errors import BadValueError

F = TypeVar("F", bound=Callable[[Any], Any])


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What is known of a field: tables, links and checks are derived from it.

    Attributes
    ----------
    points_to : str
        Kind of the record whose key the field holds.
    indexed : bool
        Whether records are looked up by it; by a field that points to another they always are.
    least : int or None
        The least that a figure can be.
    holds, optional, words : type, bool, tuple of str
        Told by the type: str, int, bool or date; whether None will do; its only words, where they
        are a table's, told beside it.
    """

    points_to: str = ""
    indexed: bool = False
    least: int | None = None
    holds: type = str
    optional: bool = False
    words: tuple[str, ...] = ()

    def fits(self, value: object) -> bool:
        """Whether the books may hold a value: one of the field's words, and nothing below zero.

        Where the least is above zero, nor zero. How large it must be then is seen where it is
        asked: such limits are ours and may change, while the acts that were written stand.
        """
        if value is None:
            return self.optional
        if self.words:
            return value in self.words
        return self.least is None or (isinstance(value, int) and value >= min(self.least, 1))


MaterialCode = Annotated[str, About(points_to="material")]
LotCode = Annotated[str, About(points_to="lot")]
PlaceCode = Annotated[str, About(points_to="place")]
UnitCode = Annotated[str, About(points_to="unit")]
BuildCode = Annotated[str, About(points_to="build")]
JobCode = Annotated[str, About(points_to="job")]
PieceCode = Annotated[str, About(points_to="piece")]
TryCode = Annotated[str, About(points_to="try")]
Indexed = Annotated[str, About(indexed=True)]
AtLeastZero = Annotated[int, About(least=0)]
AtLeastOne = Annotated[int, About(least=1)]


class Record:
    """A frozen record of the books with a key, made plain for hashing, storing and undoing.

    Attributes
    ----------
    kind, key_field : str
        Its word in the books, and which field is its key.
    unique : tuple of str
        The fields in which, together, no two records may be the same.
    table : str
        The table it stands in, where that is not named as its kind.
    told : str
        How a person is told of one, with its article; where that is not its kind.
    noun : str
        The same without the article.
    last_act : int
        The last act that stands on it.
    """

    kind: ClassVar[str]
    key_field: ClassVar[str] = "code"
    unique: ClassVar[tuple[str, ...]] = ()
    table: ClassVar[str]
    told: ClassVar[str]
    noun: ClassVar[str]
    last_act: int

    def __init_subclass__(cls) -> None:
        spoken = cls.kind.replace("_", " ")
        article = "an" if spoken[0] in "aeiou" else "a"
        cls.table = vars(cls).get("table", cls.kind)
        cls.told = vars(cls).get("told", f"{article} {spoken}")
        cls.noun = cls.told.removeprefix("a ").removeprefix("an ")

    @property
    def key(self) -> str:
        """The record's own key, as text."""
        return str(getattr(self, self.key_field))

    def plain(self) -> dict[str, Any]:
        """Return the fields as integers, text, booleans and None; dates as ISO text."""
        return plain_of(self)

    @classmethod
    def from_plain(cls, plain: Mapping[str, Any]) -> Self:
        """Return the record of which `plain` was made."""
        dates = _date_fields(cls)
        return cls(
            **{
                name: date.fromisoformat(value) if value is not None and name in dates else value
                for name, value in plain.items()
            }
        )

    def see_that_it_fits(self) -> None:
        """See that each word is one of its field's, and no figure is below its least.

        Raises
        ------
        BadValueError
            Where one is not.
        """
        for name, known in _bounded(type(self)):
            if not known.fits(value := getattr(self, name)):
                rule = f"It is one of: {', '.join(known.words)}."
                raise BadValueError(
                    f"{value!r:.40} cannot be the {name.replace('_', ' ')} of {self.told}.",
                    rule if known.words else f"The least it can be is {min(known.least or 0, 1)}.",
                    "Nothing was changed.",
                )


def once(tell: F) -> F:
    """Work out what is told of a kind of record once."""
    return cast("F", cache(tell))


def plain_of(said: object) -> dict[str, Any]:
    """Return the fields of a frozen class as they are; dates as ISO text."""
    return {
        name: value.isoformat() if isinstance(value := getattr(said, name), date) else value
        for name in field_names(type(said))
    }


@once
def field_names(record: type) -> tuple[str, ...]:
    """Return the names of a record's fields in their order."""
    return tuple(field.name for field in fields(record))


@once
def about(record: type[Record]) -> dict[str, About]:
    """Return what is known of each field of a record, in their order.

    >>> from stockroom.core.records import Lot
    >>> about(Lot)["material"].points_to, about(Lot)["owner"].words
    ('material', ('mine', 'customer', 'consignment'))
    """
    hints = get_type_hints(record, include_extras=True)
    return {name: _about_of(hints[name]) for name in field_names(record)}


@once
def pointers(record: type[Record]) -> dict[str, str]:
    """Return the fields of a record that hold another's key, and of which kind that is."""
    return {name: known.points_to for name, known in about(record).items() if known.points_to}


def _about_of(hint: Any) -> About:
    parts = list(_parts(hint))
    words = next((get_args(part) for part in parts if get_origin(part) is Literal), ())
    known = next((part for part in parts if isinstance(part, About)), About())
    return replace(
        known,
        holds=str if words else parts[0],
        optional=NoneType in parts,
        words=words or known.words,
    )


def _parts(hint: Any) -> Iterator[Any]:
    """The types and the `About` that an annotation is put together from."""
    if get_origin(hint) in (Annotated, Union, UnionType):
        for part in get_args(hint):
            yield from _parts(part)
    else:
        yield hint


@once
def _date_fields(record: type[Record]) -> frozenset[str]:
    return frozenset(name for name, known in about(record).items() if known.holds is date)


@once
def _bounded(record: type[Record]) -> tuple[tuple[str, About], ...]:
    """The fields of a record that hold certain words, or figures from a least one on."""
    known = about(record).items()
    return tuple((name, one) for name, one in known if one.words or one.least is not None)
