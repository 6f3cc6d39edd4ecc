"""The notebook on condition: whites, films, sheets and small goods, entered in one morning."""

from collections.abc import Callable
from datetime import UTC, date, datetime

from stockroom.desk.climate import warm_tables
from stockroom.desk.condition import diameter, surfaces, whites
from stockroom.desk.session import Desk, Done
from stockroom.desk.stock import defining, handling, receiving
from stockroom.desk.stock.receiving import Delivery

PEARL = "Pearl colour paper 111"
SILICONE, TAPE = "Neutral silicone", "Edge tape 25"
INSTRUMENT, CONTROL = "Bench spectro", "strip A"

Units = Callable[[str], list[str]]


def at(text: str) -> int:
    """Return an instant of the story, given in UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


def tell(desk: Desk, units_of: Units, film: str, acrylic: str, satin: str, room: str) -> None:
    """Enter the notebook: what was measured and looked at, each at the time it happened.

    Parameters
    ----------
    units_of : callable
        Returns the codes in stock of a material.
    film, acrylic, satin, room : str
        Names of what is there already.
    """
    _pearl_rolls(desk, room)
    defining.change_material(
        desk, film, band_low_centi_c=1_000, band_high_centi_c=2_500, use_least_centi_c=1_500,
        opened_life_days=365, liners=2, trim_after_h=24, full_bond_h=72,
        bond_source="the film's own data sheet, June 2025",
    )  # fmt: skip
    defining.change_material(desk, acrylic, sheet_process="cast")
    roll = units_of(film)[0]
    handling.open_unit(desk, roll, happened_s=at("2025-09-17T08:00"))
    surfaces.note_fault(desk, roll, 124_000, 124_600, "gel", happened_s=at("2025-09-17T08:30"))
    diameter.note_winding(
        desk, satin, length_dmm=500_000, outer_dmm=1_526, happened_s=at("2025-07-01T10:00")
    )
    warm_tables.set_warm_table(
        desk,
        satin,
        [(12_700, 500_000, -1_800, 960), (12_700, 500_000, 400, 720)],
        "the paper's own data sheet",
    )
    _goods(desk, room)


def _pearl_rolls(desk: Desk, room: str) -> None:
    """Three rolls: one yellow before its day, one white after it, one beside bad chemistry."""
    defining.define_material(
        desk, PEARL, "paper", "roll", width_dmm=11_180, length_dmm=300_000, thickness_um=250,
        label_life_days=730, label_temp_centi_c=1_000, supplier="Lindgate Papers", lead_days=21,
        price_cents=49_000,
    )  # fmt: skip

    def came(number: str, made_on: date) -> str:
        delivery = Delivery(
            material=PEARL, place="Cold store", number=number, made_on=made_on,
            label_date=made_on.replace(year=made_on.year + 2), price_cents=49_000,
        )  # fmt: skip
        done = receiving.receive(desk, delivery, happened_s=at("2025-07-03T09:00"))
        return next(touch.key for touch in done.changes.touches if touch.kind == "unit")

    yellow, white, beside = (
        came("P-2207", date(2025, 5, 20)),
        came("P-1803", date(2025, 5, 20)),
        came("P-2215", date(2025, 5, 20)),
    )
    for roll in (yellow, white, beside):
        handling.open_unit(desk, roll, happened_s=at("2025-07-10T14:00"))
    handling.move(desk, [white], room, happened_s=at("2025-07-20T09:00"))
    handling.move(desk, [white], "Cold store", happened_s=at("2026-02-26T17:00"))
    for roll, day, drift, process in (
        (yellow, "2025-07-10T15:00", 0.00, 0.0),
        (white, "2025-07-10T15:05", 0.00, 0.0),
        (beside, "2025-07-10T15:10", 0.00, 0.0),
        (yellow, "2025-09-12T15:00", 0.42, 0.05),
        (white, "2025-09-12T15:05", 0.02, 0.05),
        (yellow, "2025-11-14T15:00", 0.86, 0.02),
        (white, "2025-11-14T15:05", 0.06, 0.02),
        (beside, "2025-11-14T15:10", 0.04, 0.02),
        (yellow, "2026-01-16T15:00", 1.37, 0.08),
        (white, "2026-01-16T15:05", 0.14, 0.08),
        (yellow, "2026-02-13T15:00", 1.74, 0.06),
        (white, "2026-02-26T15:00", 0.22, 0.05),
        (beside, "2026-03-02T15:00", 0.07, 1.24),
    ):
        _patch(desk, roll, day, -2.40 + drift + process, -2.15 + process)


def _patch(desk: Desk, roll: str, day: str, b: float, control_b: float) -> Done:
    return whites.note_patch(
        desk, roll, b=b, instrument=INSTRUMENT, measuring="M1", backing="white", spots=4,
        control=CONTROL, control_b=control_b, happened_s=at(day),
    )  # fmt: skip


def _goods(desk: Desk, room: str) -> None:
    for name, kind, life, opened in (
        (SILICONE, "silicone", 365, 120),
        (TAPE, "tape", 730, None),
    ):
        defining.define_material(
            desk, name, "goods", "counted", label_life_days=life, supplier="Weir Lane Sheet",
            lead_days=7, tell_below=2, goods_kind=kind, opened_life_days=opened,
        )  # fmt: skip
    for name, count, number, made in (
        (SILICONE, 3, "N-310", date(2025, 6, 2)),
        (TAPE, 6, "T-88", date(2025, 5, 5)),
    ):
        receiving.receive(
            desk,
            Delivery(material=name, place=room, count=count, number=number, made_on=made),
            happened_s=at("2025-07-04T10:00"),
        )
