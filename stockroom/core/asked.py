"""What a person fills in of a record: how each field is asked for, limited, told and shown."""

from collections.abc import Collection, Mapping
from dataclasses import KW_ONLY, dataclass, replace
from functools import cache
from typing import Any, get_type_hints

from stockroom.core.facts import Fact
from stockroom.core.record import About, about
from stockroom.core.traits import FAMILIES
from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.units import UNITS, Unit


@dataclass(frozen=True, slots=True)
class Asked(About):
    """What is known of a field that a person fills in.

    Attributes
    ----------
    label : str
        What it is called.
    by : tuple of str
        Commands that ask for it.
    least, most : int, optional
        As stored, where its unit alone does not limit it.
    below : str
        Field whose value must be higher.
    words : collection of str
        The only ones that can be said; empty for any.
    unit : str, optional
        One of `UNITS`, where the end of its name does not tell it; None for a text.
    of : str
        Trait of the families of which it can be told; "" for all.
    option, help : str
        How they ask, where that is not told by its name and label.
    both : bool
        Whether they ask for the field it must be below with it.
    fact : Fact, optional
        What we propose where nothing is told.
    fact_of : str
        Trait of the families to which it is proposed, where it can be told of others too.
    """

    label: str
    by: tuple[str, ...] = ()
    _: KW_ONLY
    least: int | None = None
    most: int | None = None
    below: str = ""
    words: Collection[str] = ()
    unit: str | None = None
    of: str = ""
    option: str = ""
    help: str = ""
    both: bool = False
    fact: Fact | None = None
    fact_of: str = ""

    @property
    def measure(self) -> Unit:
        """The unit in which it is typed and shown; that of a bare number for a text."""
        return UNITS[self.unit or ""]


@cache
def asked(record: Any) -> dict[str, Asked]:
    """Return what a person fills in of a kind of record, in its order.

    >>> from stockroom.core.model import Material
    >>> core = asked(Material)["core_dmm"]
    >>> core.option, core.measure.text(895)
    ('--core', '89.5 mm')
    """
    hints = get_type_hints(record)
    return {
        name: _spelled_out(name, one, number="int" in str(hints[name]))
        for name, one in about(record).items()
        if isinstance(one, Asked)
    }


def _spelled_out(name: str, one: Asked, *, number: bool) -> Asked:
    """What is known of a field, with what its name, label and words tell of it."""
    ending = next((unit for unit in UNITS if unit and name.endswith(f"_{unit}")), "")
    bare = name if ending == "days" else name.removesuffix(f"_{ending}")
    unit = one.unit or (ending if number else None)
    told = f"{one.label}, {UNITS[unit].sign}".rstrip(", ") if unit else one.label
    return replace(
        one,
        unit=unit,
        option=one.option or f"--{bare.replace('_', '-')}",
        help=one.help or (f"One of: {', '.join(one.words)}." if one.words else f"{told}."),
    )


def check_fields(record: Any, given: Mapping[str, Any]) -> None:
    """See that the fields of a record can be.

    Parameters
    ----------
    record : Record
    given : mapping
        The fields told now: what was told before is not held against a material's family.

    Raises
    ------
    BadValueError
        Where one is no word of ours, beyond its limits, not below the field it must be below, or
        told of a family that has no such thing.
    """
    kind: Any = type(record)
    for name, one in asked(kind).items():
        value = getattr(record, name)
        if value is None:
            continue
        if one.words and value not in one.words:
            raise BadValueError(
                f"{one.label} {safe(value, length=30)!r} cannot be.",
                f"It is one of: {', '.join(one.words)}.",
            )
        if one.unit is not None:
            one.measure.check(value, one.label, least=one.least, most=one.most)
            if one.below and (limit := getattr(record, one.below)) is not None and value >= limit:
                raise BadValueError(
                    f"{one.label} {one.measure.text(value)}: that is not below "
                    f"{one.measure.text(limit)}.",
                    "The first of the two must be the lower one.",
                    "Look at both numbers.",
                )
        if one.of and given.get(name) is not None:
            _see_family(one, record)


def _see_family(one: Asked, material: Any) -> None:
    if not getattr(material.traits, one.of):
        families = [name for name, traits in FAMILIES.items() if getattr(traits, one.of)]
        raise BadValueError(
            f"{one.label}: that cannot be told of {material.name}, of the family "
            f"{material.family}.",
            f"It is told of {' and '.join(families)} only.",
            "Look at the material's name; or leave it out.",
        )
