"""Records of materials: what a paper, film, sheet, board, profile or small good is like."""

from dataclasses import dataclass
from typing import Annotated, ClassVar

from stockroom.core.constants import (
    CORE_OUTER_DIAMETER,
    FILM_TRIM_AFTER,
    HUMIDITY_LIMIT,
    SETTLE_DAYS,
    WHITE_ACT_B,
    WHITE_ACT_DENSITY,
    WHITE_WATCH_B,
    WHITE_WATCH_DENSITY,
)
from stockroom.core.records.asked import ADD, CARE, KNOWN, TERMS, Asked
from stockroom.core.records.base import Record
from stockroom.core.records.traits import FAMILIES, FORMS, Shape, Traits
from stockroom.units import LONGEST_LEAD_DAYS

GOODS_KINDS = (
    "tape",
    "adhesive",
    "silicone",
    "corner keys",
    "hangers",
    "corners",
    "foam",
    "crates",
    "chemistry",
    "other",
)
"""What a small good may be."""
SHEET_PROCESSES = ("cast", "extruded")
MOST_ORDERED = 100_000
"""Most rolls, sheets or goods in one order (our choice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material(Record):
    """A paper, canvas, film, sheet, board, profile or small good, with what its label says.

    White limits are drifts from the emulsion's first patch: b* in hundredths, blue density in
    thousandths. The band is where a film is kept; bond times count only with their source. Price
    breaks and closed days are kept as `stockroom.core.terms` writes them.
    """

    kind: ClassVar[str] = "material"
    unique: ClassVar[tuple[str, ...]] = ("name",)
    code: str
    name: str
    family: Annotated[str, Asked("Family", ADD, words=tuple(FAMILIES))]
    form: Annotated[str, Asked("Form", ADD, words=tuple(FORMS))]
    width_dmm: Annotated[int | None, Asked("Width", ADD, least=1)] = None
    length_dmm: Annotated[int | None, Asked(
        "Length", ADD, unit="m", least=1, help="Length of a roll (m) or height of a sheet (mm)."
    )] = None  # fmt: skip
    thickness_um: Annotated[int | None, Asked("Thickness", ADD, least=1)] = None
    label_life_days: Annotated[int | None, Asked(
        "Life by the label", KNOWN, least=1, option="--life-days"
    )] = None  # fmt: skip
    label_temp_centi_c: Annotated[
        int | None, Asked("Temperature that life was stated for", KNOWN)
    ] = None
    storage_limit_centi_c: Annotated[int | None, Asked("'Store at or below'", KNOWN)] = None
    shop_life_days: Annotated[int | None, Asked("Own rule for undated stock", KNOWN, least=1)] = (
        None
    )
    energy_j_mol: Annotated[int | None, Asked(
        "Own activation energy", KNOWN, least=20_000, most=250_000
    )] = None  # fmt: skip
    longest_print_dmm: Annotated[
        int | None, Asked("The printer's longest print", KNOWN, unit="m")
    ] = None
    leader_dmm: Annotated[int | None, Asked("Leader at each loading", ADD, unit="m")] = None
    tail_dmm: Annotated[int | None, Asked("Tail left on the core", ADD, unit="m")] = None
    margin_dmm: Annotated[int | None, Asked("Margin")] = None
    supplier: Annotated[str, Asked("Who sells it", KNOWN)] = ""
    lead_days: Annotated[int | None, Asked(
        "Lead time", KNOWN, most=LONGEST_LEAD_DAYS, help="Days from order to arrival."
    )] = None  # fmt: skip
    price_cents: Annotated[int | None, Asked("Price of one roll or sheet", KNOWN)] = None
    tell_below: Annotated[int | None, Asked(
        "Tell me below", KNOWN, most=MOST_ORDERED,
        help="Tell me below so many rolls or sheets; 0 for never.",
    )] = None  # fmt: skip
    order_minimum: Annotated[int | None, Asked(
        "Fewest rolls or sheets in an order", TERMS, least=1, option="--minimum"
    )] = None  # fmt: skip
    order_multiple: Annotated[int, Asked(
        "Sold in multiples of", (*KNOWN, *TERMS), least=1, option="--multiple"
    )] = 1  # fmt: skip
    order_cost_cents: Annotated[int | None, Asked(
        "Cost of an order", TERMS, help="What an order costs whatever its size: freight."
    )] = None  # fmt: skip
    price_breaks: str | None = None
    closed_days: str | None = None
    opened_life_days: Annotated[int | None, Asked("Life once opened", CARE, least=1)] = None
    humidity_limit_pct: Annotated[int | None, Asked(
        "Humidity limit once opened", CARE, least=1, most=99, ours=HUMIDITY_LIMIT,
        ours_of="on_core", help="Opened, not above so much, % RH.",
    )] = None  # fmt: skip
    core_dmm: Annotated[int | None, Asked(
        # 1 inch tubes to 6 inch ones with their wall (our choice). Where a roll is warmed, a core
        # read too large makes the wait too short.
        "Core across", CARE, least=250, most=2_000, of="on_core", ours=CORE_OUTER_DIAMETER,
        help="Core tube across, outside, mm.",
    )] = None  # fmt: skip
    white_watch_centi: Annotated[int | None, Asked(
        "Watch the white from", CARE, least=1, most=2_000, below="white_act_centi",
        of="white_judged", ours=WHITE_WATCH_B, help="Watch from such a drift of b*.",
    )] = None  # fmt: skip
    white_act_centi: Annotated[int | None, Asked(
        "Life over at", CARE, least=1, most=2_000, of="white_judged", ours=WHITE_ACT_B,
        help="Its life is over at such a drift of b*.",
    )] = None  # fmt: skip
    density_watch_milli: Annotated[int | None, Asked(
        "Watch the white from", CARE, least=1, most=2_000, below="density_act_milli",
        of="white_judged", ours=WHITE_WATCH_DENSITY,
        help="Watch from such a drift of blue density.",
    )] = None  # fmt: skip
    density_act_milli: Annotated[int | None, Asked(
        "Life over at", CARE, least=1, most=2_000, of="white_judged", ours=WHITE_ACT_DENSITY,
        help="Its life is over at such a drift of density.",
    )] = None  # fmt: skip
    band_low_centi_c: Annotated[int | None, Asked(
        "Kept between", CARE, below="band_high_centi_c", both=True, option="--band"
    )] = None  # fmt: skip
    band_high_centi_c: Annotated[int | None, Asked("Kept between")] = None
    use_least_centi_c: Annotated[int | None, Asked("Not used below", CARE)] = None
    liners: Annotated[int | None, Asked(
        "Liners", CARE, most=2, of="adhesive", help="Liners of a film: 0, 1 or 2."
    )] = None  # fmt: skip
    trim_after_h: Annotated[int | None, Asked(
        "Not trimmed before", CARE, most=2_000, of="adhesive", ours=FILM_TRIM_AFTER,
        source_in="bond_source",
        help="By its own sheet: trimmed after so many hours.",
    )] = None  # fmt: skip
    full_bond_h: Annotated[int | None, Asked(
        "Full bond after", CARE, most=2_000, of="adhesive", source_in="bond_source",
        help="By its own sheet: full bond after so many hours.",
    )] = None  # fmt: skip
    bond_source: Annotated[str | None, Asked(
        "Bond times by", CARE, of="adhesive", help="Which sheet the bond times are from."
    )] = None  # fmt: skip
    sheet_process: Annotated[str | None, Asked(
        "Made as", CARE, words=SHEET_PROCESSES, of="rigid", option="--process",
        help=f"How a sheet is made: {', '.join(SHEET_PROCESSES)}.",
    )] = None  # fmt: skip
    settle_days: Annotated[int | None, Asked(
        "Settles in", CARE, most=365, of="rigid", ours=SETTLE_DAYS,
        help="Days to settle after a move between climates.",
    )] = None  # fmt: skip
    goods_kind: Annotated[str | None, Asked(
        "Kind of small good", CARE, words=GOODS_KINDS, of="small_good"
    )] = None  # fmt: skip
    last_act: int = 0

    @property
    def traits(self) -> Traits:
        """What all of its family have in common."""
        return FAMILIES[self.family]

    @property
    def shape(self) -> Shape:
        """What all of its form have in common."""
        return FORMS[self.form]

    @property
    def whole_qty(self) -> int:
        """What a whole one weighs in the books; 0 where its size is not known."""
        length_dmm = self.length_dmm or 0
        one = self.shape.measure(self.width_dmm or 0, length_dmm)
        return one * length_dmm if self.shape.by_length else one
