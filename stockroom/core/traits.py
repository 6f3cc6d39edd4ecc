"""What families and forms of material have in common: one table for each, a row for each.

A new family, or a new form, is a new row; what the rest of the program does with it follows from
its traits. Rows stand in the order in which screens list them.
"""

from dataclasses import dataclass
from typing import Literal

from stockroom.core.condition import Grade
from stockroom.core.craft import Part
from stockroom.core.constants import OUT_BEFORE, PAPER_CALIPER
from stockroom.units import DMM_PER_M


@dataclass(frozen=True, slots=True, kw_only=True)
class Traits:
    """What all materials of a family have in common."""

    serves: tuple[Part, ...] = ()
    """Parts of a piece that it can be, the usual one first."""
    printed_on: bool = False
    """Jobs are booked on it; its rolls lose a leader, a tail and margins in the printer."""
    ages: bool = False
    """Its life is used up by temperature, all the time; else it is good to its dates."""
    white_judged: bool = False
    """Its white yellows: test strips are run of it and patches measured."""
    kept_cold: bool = False
    """It stands in a cold store; all else on a rack or in a room."""
    out_days: int = 0
    """Days before its print on which it comes out of the cold."""
    warming_known: bool = False
    """Its heat is known well enough to reckon how fast a roll or pack of it warms."""
    usual_um: int | None = None
    """Thickness where none is told, µm; None where nothing is assumed."""
    on_core: bool = False
    """Its rolls have a core to measure across, and faults along them are written down."""
    adhesive: bool = False
    """It has liners and a bond that takes hours, and is kept within a band of temperature."""
    rigid: bool = False
    """It comes in sheets whose faces are looked over, that settle, and are cut to size to order."""
    stuff: Literal["acrylic", "composite"] | None = None
    """What it weighs and moves as; None where that is not known."""
    use: Grade = "back"
    """What a sheet of it is cut for where nobody says."""
    small_good: bool = False
    """It is of some kind of small good, counted and dated, and no part of a piece."""
    lot_word: str = "batch"
    """What its maker's number is called."""


FAMILIES: dict[str, Traits] = {
    "paper": Traits(
        serves=("paper",),
        printed_on=True,
        ages=True,
        white_judged=True,
        kept_cold=True,
        out_days=round(OUT_BEFORE.value),
        warming_known=True,
        usual_um=round(PAPER_CALIPER.value * 1_000),
        on_core=True,
        lot_word="emulsion no.",
    ),
    "canvas": Traits(serves=("paper",), printed_on=True, on_core=True),
    "film": Traits(
        serves=("face film", "back film"), warming_known=True, on_core=True, adhesive=True
    ),
    "sheet": Traits(serves=("sheet", "board"), rigid=True, stuff="acrylic", use="face"),
    "board": Traits(serves=("board",), rigid=True, stuff="composite"),
    "profile": Traits(serves=("profile",)),
    "stretcher bar": Traits(serves=("profile",)),
    "goods": Traits(small_good=True),
}
"""The families, by name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """What all units of a form have in common."""

    one: str
    """What one of them is called."""
    by_length: bool = False
    """What is left of one is a length; else there are so many alike, in packs."""
    wide: bool = False
    """It has a width, and its amounts are areas in the books."""
    wound: bool = False
    """It is wound up: drawn off its outer end, opened and bagged, measured across."""
    flat: bool = False
    """It lies flat: cut both ways, with offcuts that are sheets again."""
    bar: bool = False
    """It is cut across only, its offcuts shorter lengths."""
    length_unit: Literal["mm", "m"] = "m"
    """In what its length is told."""
    longest_dmm: int = 10 * DMM_PER_M
    """Longest that is believed, dmm: a bare number in the wrong unit is beyond it (our choice)."""

    @property
    def counted(self) -> bool:
        """Whether it has no size that counts, but a number alone."""
        return not (self.by_length or self.wide)

    @property
    def sizes(self) -> tuple[str, ...]:
        """The fields of its size, without which none can be taken in."""
        if self.counted:
            return ()
        return ("width_dmm", "length_dmm") if self.wide else ("length_dmm",)

    def measure(self, width_dmm: int, length_dmm: int) -> int:
        """Return what one dmm of length, or one of the count, weighs in the books (dmm2 or 1)."""
        return (width_dmm if self.wide else 1) * (length_dmm if self.flat else 1)


FORMS: dict[str, Shape] = {
    "roll": Shape(one="roll", by_length=True, wide=True, wound=True, longest_dmm=1_000 * DMM_PER_M),
    "sheet": Shape(one="sheet", wide=True, flat=True, length_unit="mm"),
    "length": Shape(one="length", by_length=True, bar=True, longest_dmm=20 * DMM_PER_M),
    "counted": Shape(one="piece"),
}
"""The forms, by name."""


def made_of(part: Part) -> tuple[str, ...]:
    """Return the families that a part of a piece can be of, the usual one first.

    >>> made_of("board")
    ('board', 'sheet')
    """
    fit = [name for name, family in FAMILIES.items() if part in family.serves]
    return tuple(sorted(fit, key=lambda name: FAMILIES[name].serves.index(part)))
