"""A small studio to test in, and a clock that stands still."""

from dataclasses import dataclass
from datetime import UTC, date, datetime

from stockroom.desk.stock import defining, receiving
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Desk

MONDAY_S = int(datetime(2026, 3, 2, 9, 0, tzinfo=UTC).timestamp())
DAY_S = 86_400


class Clock:
    """A clock that stands until it is moved."""

    def __init__(self, now_s: int) -> None:
        self.now_s = now_s

    def __call__(self) -> int:
        return self.now_s

    def on(self, days: float = 0, *, seconds: int = 0) -> int:
        """Move on, and return the new time."""
        self.now_s += int(days * DAY_S) + seconds
        return self.now_s


@dataclass(frozen=True)
class Studio:
    """The desk and the codes of what stands in the studio."""

    desk: Desk
    paper: str
    sheet: str
    store: str
    room: str
    magazine: str
    roll: str
    second_roll: str
    pack: str


def code_of(done: object, kind: str) -> str:
    """Return the code of the first record of a kind that an act made."""
    touches = done.changes.touches  # type: ignore[attr-defined]
    return str(next(t.key for t in touches if t.kind == kind and t.before is None))


def furnish(desk: Desk) -> Studio:
    """Fill an empty store with a small studio."""
    store = defining.define_place(
        desk, "Cold store", "cold store",
        set_point_centi_c=400, low_centi_c=100, high_centi_c=800,
    )  # fmt: skip
    room = defining.define_place(desk, "Mounting room", "room", set_point_centi_c=2100)
    magazine = defining.define_place(desk, "Printer magazine", "magazine", set_point_centi_c=2200)
    paper = defining.define_material(
        desk, "Satin colour paper 127", "paper", "roll",
        width_dmm=12_700, length_dmm=500_000, thickness_um=240,
        label_life_days=730, label_temp_centi_c=1000, supplier="Northlight Papers", lead_days=21,
    )  # fmt: skip
    sheet = defining.define_material(
        desk, "Cast acrylic 3 mm", "sheet", "sheet",
        width_dmm=30_500, length_dmm=20_300, thickness_um=3000,
        supplier="Brightwater Sheet", lead_days=14, tell_below=3,
    )  # fmt: skip
    rolls = receiving.receive(
        desk,
        Delivery(
            material="Satin colour paper 127", place="Cold store", units=2, number="E-7731",
            label_date=date(2027, 12, 1), price_cents=61_000,
        ),
    )  # fmt: skip
    pack = receiving.receive(
        desk,
        Delivery(
            material="Cast acrylic 3 mm", place="Mounting room", count=6, number="B-204",
            price_cents=20_000,
        ),
    )  # fmt: skip
    units = [t.key for t in rolls.changes.touches if t.kind == "unit"]
    return Studio(
        desk=desk,
        paper=code_of(paper, "material"),
        sheet=code_of(sheet, "material"),
        store=code_of(store, "place"),
        room=code_of(room, "place"),
        magazine=code_of(magazine, "place"),
        roll=units[0],
        second_roll=units[1],
        pack=code_of(pack, "unit"),
    )
