"""Records of condition: white patches, warm-up times, windings, faults, what a surface is like."""

from dataclasses import dataclass
from typing import ClassVar, Literal

from stockroom.core.record import Record

Measuring = Literal["M0", "M1", "M2", "M3", "unknown"]
Backing = Literal["white", "black", "own"]
Masking = Literal["on", "lifted", "off", "none"]
"""On all over; lifted at an edge; taken off; came without."""
Grade = Literal["face", "back", "jig"]
Matte = Literal["none", "front", "back", "both"]

MEASURING: tuple[Measuring, ...] = ("M0", "M1", "M2", "M3", "unknown")
"""Measuring conditions of ISO 13655; one is never compared with another."""
BACKINGS: tuple[Backing, ...] = ("white", "black", "own")
MASKINGS: tuple[Masking, ...] = ("on", "lifted", "off", "none")
GRADES: tuple[Grade, ...] = ("face", "back", "jig")
"""What a sheet is still good for: a face; a back or a sample; a jig."""
MATTES: tuple[Matte, ...] = ("none", "front", "back", "both")
CORNERS = ("top left", "top right", "bottom left", "bottom right")


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch(Record):
    """A processed, unexposed patch of a roll, measured, with the control of the same run.

    L*, a*, b* and density in thousandths; None where it was not measured. `spots` are the places
    that were averaged.
    """

    kind: ClassVar[str] = "patch"
    code: str
    unit: str
    at_s: int
    act: int
    l_milli: int | None = None
    a_milli: int | None = None
    b_milli: int | None = None
    density_milli: int | None = None
    instrument: str
    measuring: Measuring = "unknown"
    backing: Backing = "white"
    spots: int = 1
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
    code: str
    unit: str
    at_s: int
    act: int
    most_days: int
    why: str
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class WarmTime(Record):
    """One row of a maker's warm-up table: a roll of so much, from so cold, needs so long.

    Of a table that another one replaced the rows are kept, no longer standing.
    """

    kind: ClassVar[str] = "warm_time"
    code: str
    material: str
    width_dmm: int
    length_dmm: int
    from_centi_c: int
    minutes: int
    source: str
    standing: bool = True
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class ProbeRun(Record):
    """What a probe inside a warming roll showed: its surface coefficient, mW/(m2 K)."""

    kind: ClassVar[str] = "probe_run"
    code: str
    unit: str
    at_s: int
    act: int
    h_milli: int
    low_milli: int
    high_milli: int
    rms_milli_k: int
    file: str
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Winding(Record):
    """A roll of known length measured across: it tells the caliper as wound, air and all."""

    kind: ClassVar[str] = "winding"
    code: str
    material: str
    unit: str | None = None
    at_s: int
    act: int
    length_dmm: int
    length_plus_minus_dmm: int
    outer_dmm: int
    outer_plus_minus_dmm: int
    core_dmm: int
    core_plus_minus_dmm: int
    last_act: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault(Record):
    """A fault in a roll, by its distance from the start of the roll as it was delivered."""

    kind: ClassVar[str] = "fault"
    code: str
    unit: str
    from_dmm: int
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
    key_field: ClassVar[str] = "unit"
    unit: str
    seen_s: int
    act: int
    mask_front: Masking = "on"
    mask_back: Masking = "on"
    grade: Grade = "face"
    chipped: str = ""
    matte: Matte = "none"
    last_act: int = 0
