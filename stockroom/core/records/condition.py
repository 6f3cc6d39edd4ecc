"""Records of condition: white patches, warm-up times, windings, faults, what a surface is like."""

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal, get_args

from stockroom.core.records.asked import Asked
from stockroom.core.records.base import AtLeastOne, AtLeastZero, MaterialCode, Record, UnitCode

Measuring = Literal["M0", "M1", "M2", "M3", "unknown"]
Backing = Literal["white", "black", "own"]
Masking = Literal["on", "lifted", "off", "none"]
"""On all over; lifted at an edge; taken off; came without."""
Grade = Literal["face", "back", "jig"]
Matte = Literal["none", "front", "back", "both"]

MEASURING: tuple[Measuring, ...] = get_args(Measuring)
"""Measuring conditions of ISO 13655; one is never compared with another."""
BACKINGS: tuple[Backing, ...] = get_args(Backing)
MASKINGS: tuple[Masking, ...] = get_args(Masking)
GRADES: tuple[Grade, ...] = get_args(Grade)
"""What a sheet is still good for: a face; a back or a sample; a jig."""
MATTES: tuple[Matte, ...] = get_args(Matte)
CORNERS = ("top left", "top right", "bottom left", "bottom right")
StripResult = Literal["clean", "yellow", "unsure"]
STRIP_RESULTS: tuple[StripResult, ...] = get_args(StripResult)


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch(Record):
    """A processed, unexposed patch of a roll, measured, with the control of the same run.

    L*, a*, b* and density in thousandths; None where it was not measured. `spots` are the places
    that were averaged.
    """

    kind: ClassVar[str] = "patch"
    told: ClassVar[str] = "a white patch"
    code: str
    unit: UnitCode
    at_s: int
    act: int
    l_milli: int | None = None
    a_milli: int | None = None
    b_milli: int | None = None
    density_milli: int | None = None
    instrument: str
    measuring: Annotated[Measuring, Asked("Measuring condition")] = "unknown"
    backing: Annotated[Backing, Asked("Backing")] = "white"
    spots: AtLeastOne = 1
    control: str | None = None
    control_l_milli: int | None = None
    control_a_milli: int | None = None
    control_b_milli: int | None = None
    control_density_milli: int | None = None
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class WhiteWord(Record):
    """A person's word that a roll may count on its measured white beyond its label.

    `most_days` is the whole life, days at the label's condition, that the white showed then.
    """

    kind: ClassVar[str] = "white_word"
    told: ClassVar[str] = "a word on a white"
    code: str
    unit: UnitCode
    at_s: int
    act: int
    most_days: AtLeastZero
    why: str
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmTime(Record):
    """One row of a maker's warm-up table: a roll of so much, from so cold, needs so long.

    Of a table that another one replaced the rows are kept, no longer standing.
    """

    kind: ClassVar[str] = "warm_time"
    told: ClassVar[str] = "a warm-up time"
    code: str
    material: MaterialCode
    width_dmm: AtLeastZero
    length_dmm: AtLeastZero
    from_centi_c: int
    minutes: AtLeastZero
    source: str
    standing: bool = True
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeRun(Record):
    """What a probe inside a warming roll showed: its surface coefficient, mW/(m2 K)."""

    kind: ClassVar[str] = "probe_run"
    code: str
    unit: UnitCode
    at_s: int
    act: int
    h_milli: AtLeastZero
    low_milli: int
    high_milli: int
    rms_milli_k: int
    file: str
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Winding(Record):
    """A roll of known length measured across: it tells the caliper as wound, air and all."""

    kind: ClassVar[str] = "winding"
    told: ClassVar[str] = "a measured roll"
    code: str
    material: MaterialCode
    unit: str | None = None
    at_s: int
    act: int
    length_dmm: AtLeastZero
    length_plus_minus_dmm: int
    outer_dmm: AtLeastZero
    outer_plus_minus_dmm: int
    core_dmm: AtLeastZero
    core_plus_minus_dmm: int
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault(Record):
    """A fault in a roll, by its distance from the start of the roll as it was delivered."""

    kind: ClassVar[str] = "fault"
    code: str
    unit: UnitCode
    from_dmm: AtLeastZero
    to_dmm: int
    what: str
    at_s: int
    act: int
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Surface(Record):
    """What a sheet or board was like when it was last looked over.

    `chipped` names corners, separated by commas. Front is the side the viewer sees.
    """

    kind: ClassVar[str] = "surface"
    told: ClassVar[str] = "a look at a sheet"
    key_field: ClassVar[str] = "unit"
    unit: UnitCode
    seen_s: int
    act: int
    mask_front: Annotated[Masking, Asked("Front mask")] = "on"
    mask_back: Annotated[Masking, Asked("Back mask")] = "on"
    grade: Annotated[Grade, Asked("Grade")] = "face"
    chipped: str = ""
    matte: Annotated[Matte, Asked("Matte side")] = "none"
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip(Record):
    """A test strip of a roll, judged by eye."""

    kind: ClassVar[str] = "strip"
    code: str
    unit: UnitCode
    result: StripResult
    at_s: int
    act: int
    last_act: int = 0
