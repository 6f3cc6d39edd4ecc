"""Records of climate: warm spells, their causes, logger files."""

from dataclasses import dataclass
from typing import ClassVar

from stockroom.core.records.base import Indexed, PlaceCode, Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Spell(Record):
    """A warm spell logged by hand: when last seen right, when found, how warm."""

    kind: ClassVar[str] = "spell"
    told: ClassVar[str] = "a warm spell"
    code: str
    place: PlaceCode
    last_right_s: int
    last_right_centi_c: int
    found_s: int
    highest_centi_c: int
    now_centi_c: int
    act: int
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class SpellWord(Record):
    """One word for the cause of a warm spell between two instants at a place."""

    kind: ClassVar[str] = "spell_word"
    told: ClassVar[str] = "a word on a warm spell"
    code: str
    place: PlaceCode
    from_s: int
    to_s: int
    cause: str
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Import(Record):
    """A logger file that was taken in for a place."""

    kind: ClassVar[str] = "import"
    told: ClassVar[str] = "a logger file"
    code: str
    place: PlaceCode
    name: str
    sha256: Indexed
    readings: int
    from_s: int
    to_s: int
    withdrawn: bool = False
    last_act: int = 0
