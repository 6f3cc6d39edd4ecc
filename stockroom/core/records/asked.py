"""What a person fills in of a record: how each field is asked for, limited, told and shown."""

from collections.abc import Collection, Mapping
from dataclasses import KW_ONLY, dataclass, replace
from functools import cache
from typing import Any

from stockroom.core.constants import Constant
from stockroom.core.records.base import About, about
from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.units import UNITS, UnitOfMeasure, measured_in

ADD, KNOWN, CARE, TERMS = ("add",), ("add", "change"), ("care",), ("terms",)
"""Commands that ask for fields of a material."""


@dataclass(frozen=True, slots=True)
class Asked(About):
    """What is known of a field that a person fills in.

    Attributes
    ----------
    label : str
        What it is called.
    by : tuple of str
        Commands that ask for it.
    most : int, optional
        As stored; it and the least where its unit alone does not limit it.
    below : str
        Field whose value must be higher.
    unit : str, optional
        One of `UNITS` or another sign, where the end of its name does not tell it; None for a text.
    of : str
        Trait of the families of which it can be told; "" for all.
    option, help : str
        How they ask, where that is not told by its name and label.
    both : bool
        Whether they ask for the field it must be below with it.
    ours : Constant, optional
        What we propose where nothing is told.
    source_in : str
        Field that tells from what it is, where it counts with that alone.
    ours_of : str
        Trait of the families to which it is proposed, where it can be told of others too.
    """

    label: str
    by: tuple[str, ...] = ()
    _: KW_ONLY
    most: int | None = None
    below: str = ""
    unit: str | None = None
    of: str = ""
    option: str = ""
    help: str = ""
    both: bool = False
    source_in: str = ""
    ours: Constant | None = None
    ours_of: str = ""

    @property
    def measure(self) -> UnitOfMeasure:
        """The unit in which it is typed and shown; that of a bare number for a text."""
        return measured_in(self.unit or "")


@cache
def asked(record: Any) -> dict[str, Asked]:
    """Return what a person fills in of a kind of record, in its order.

    >>> from stockroom.core.records import Material
    >>> core = asked(Material)["core_dmm"]
    >>> core.option, core.measure.text(895)
    ('--core', '89.5 mm')
    """
    return {
        name: _spelled_out(name, one)
        for name, one in about(record).items()
        if isinstance(one, Asked)
    }


def _spelled_out(name: str, one: Asked) -> Asked:
    """What is known of a field, with what its name, label and words tell of it."""
    ending = next((unit for unit in UNITS if unit and name.endswith(f"_{unit}")), "")
    bare = name if ending == "days" else name.removesuffix(f"_{ending}")
    unit = one.unit or (ending if one.holds is int else None)
    told = f"{one.label}, {measured_in(unit).sign}".rstrip(", ") if unit else one.label
    return replace(
        one,
        unit=unit,
        option=one.option or f"--{bare.replace('_', '-')}",
        help=one.help or (f"One of: {', '.join(one.words)}." if one.words else f"{told}."),
    )


def check_fields(kind: Any, told: Mapping[str, Any]) -> None:
    """See that what is told of a kind of record can be; what is left out or None is passed over.

    Raises
    ------
    BadValueError
        Where one is no word of ours, beyond its limits, or not below the field it must be below.
    """
    for name, one in asked(kind).items():
        value, limit = told.get(name), told.get(one.below)
        if value is None:
            continue
        if one.words:
            check_word(one.label, value, one.words)
        if one.unit is not None:
            one.measure.check(value, one.label, least=one.least, most=one.most)
        if limit is not None and value >= limit:
            raise BadValueError(
                f"{one.label}: {one.measure.text(value)} is not below {one.measure.text(limit)}.",
                "The first of the two must be the lower one.",
                "Look at both numbers, also the one that stands already.",
            )


def check_word(what: str, word: str, words: Collection[str]) -> None:
    """See that a word is one of ours.

    >>> check_word("Grade", "fine", ("face", "back"))
    Traceback (most recent call last):
    stockroom.errors.BadValueError: Grade: 'fine' is not known. It is one of: face, back.
    """
    if word not in words:
        raise BadValueError(
            f"{what}: {safe(word, length=30)!r} is not known.",
            f"It is one of: {', '.join(words)}.",
        )
