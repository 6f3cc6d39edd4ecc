"""The studio's eight months, told through the desk: what came, moved, was used and lost."""

import itertools
from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from seeds_demo import DEMO_NOW_S, story
from seeds_demo.condition import tell as tell_condition
from seeds_demo.logger import logger_file
from seeds_demo.work import tell as tell_work
from stockroom.desk.condition import checking
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk.cutting import one_cut
from stockroom.desk.work import booking
from stockroom.desk.orders import ordering
from stockroom.desk.climate import readings, spells
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.keeping import demo_of
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Desk, Done
from stockroom.errors import RefusedError
from stockroom.plain_files import store_files
from stockroom.text import safe
from stockroom.writing import take_name

ZONE = "Europe/Berlin"
SATIN, GLOSS = "Satin colour paper 127", "Gloss colour paper 183"
FILM = "Clear mounting film 155"
ACRYLIC, THICK = "Cast acrylic 3 mm", "Cast acrylic 6 mm"
BOARD, PROFILE = "Aluminium composite 3 mm", "Frame profile 30"
STORE, MAGAZINE, ROOM = "Cold store", "Printer magazine", "Mounting room"
RACK_A, RACK_B = "Rack A", "Rack B"


def at(text: str) -> int:
    """Return an instant of the story, given in UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


def open_demo(path: Path, *, fresh: bool = False, now_s: Callable[[], int] | None = None) -> Desk:
    """Open the demo's store, telling its story first where there is none, or another one.

    Parameters
    ----------
    path : pathlib.Path
        Where the store is, or will be.
    fresh : bool
        Whether the story is told anew.
    now_s : callable, optional
        Another clock than the demo's own, which stands still.

    Raises
    ------
    RefusedError
        Where the file there does not say that it is the demo's: it is left alone.
    StoreError
        Where it could not be read.
    """
    if path.exists() or path.is_symlink():
        told = demo_of(path)
        if told is None:
            raise RefusedError(
                f"{safe(path)} is not the demo's; it is left alone.",
                "The demo touches only a file that says it is the demo's.",
                "Move it away, and try again.",
            )
        if fresh or told != story():
            for file in store_files(path):
                file.unlink(missing_ok=True)
    if not path.exists():
        _tell_into(path)
    return Desk.at(str(path), actor="Ines", now_s=now_s or (lambda: DEMO_NOW_S))


def _tell_into(path: Path) -> None:
    """Tell the story whole into a file of its own, which then takes the name if nobody has."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory(prefix=".telling-", dir=path.parent) as folder:
        new = Path(folder) / path.name
        clock = [at("2025-06-30T08:00")]
        numbers = itertools.count(1)
        desk = Desk.at(
            str(new),
            actor="Ines",
            begin=True,
            zone=ZONE,
            now_s=lambda: clock[0],
            new_key=lambda: f"demo-{next(numbers)}",
            demo=story(),
        )
        try:
            _Story(desk, clock).tell()
        finally:
            desk.close()
        with suppress(RefusedError):  # somebody else was quicker
            take_name(new, path)


class _Story:
    """Each act at the time it happened; the desk's clock is moved along."""

    def __init__(self, desk: Desk, clock: list[int]) -> None:
        self.desk = desk
        self.clock = clock

    def on(self, text: str) -> Desk:
        """Move the clock, and return the desk."""
        self.clock[0] = at(text)
        return self.desk

    def tell(self) -> None:
        """Tell it all."""
        self._places_and_materials()
        satin, gloss = self._papers()
        self._sheets_and_goods()
        self._autumn(satin, gloss)
        self._this_week(satin, gloss)

    def _places_and_materials(self) -> None:
        desk = self.on("2025-06-30T08:00")
        defining.define_place(
            desk, STORE, "cold store", set_point_centi_c=400, low_centi_c=100, high_centi_c=800
        )
        defining.define_place(desk, MAGAZINE, "magazine", set_point_centi_c=2200)
        defining.define_place(desk, ROOM, "room", set_point_centi_c=2100)
        for rack in (RACK_A, RACK_B):
            defining.define_place(desk, rack, "rack", set_point_centi_c=2000)
        for name, width, length in ((SATIN, 12_700, 500_000), (GLOSS, 18_300, 300_000)):
            defining.define_material(
                desk, name, "paper", "roll", width_dmm=width, length_dmm=length, thickness_um=240,
                label_life_days=730, label_temp_centi_c=1000, supplier="Lindgate Papers",
                lead_days=21, price_cents=64_000, tell_below=1,
            )  # fmt: skip
        defining.define_material(
            desk, FILM, "film", "roll", width_dmm=15_500, length_dmm=500_000, thickness_um=60,
            supplier="Ostrava Row Films", lead_days=14, price_cents=38_000, tell_below=1,
        )  # fmt: skip
        for name, um, cents, below in ((ACRYLIC, 3000, 11_800, 4), (THICK, 6000, 22_400, None)):
            defining.define_material(
                desk, name, "sheet", "sheet", width_dmm=30_500, length_dmm=20_300,
                thickness_um=um, supplier="Weir Lane Sheet", lead_days=12, price_cents=cents,
                tell_below=below, order_multiple=2,
            )  # fmt: skip
        defining.define_material(
            desk, BOARD, "board", "sheet", width_dmm=30_500, length_dmm=15_000, thickness_um=3000,
            supplier="Weir Lane Sheet", lead_days=12, price_cents=8_600, tell_below=3,
        )  # fmt: skip
        defining.define_material(
            desk, PROFILE, "profile", "length", length_dmm=60_000, supplier="Weir Lane Sheet",
            lead_days=12, price_cents=2_400, tell_below=6,
        )  # fmt: skip

    def _papers(self) -> tuple[list[str], list[str]]:
        desk = self.on("2025-07-01T09:30")
        satin = _units(
            receiving.receive(
                desk,
                Delivery(material=SATIN, place=STORE, units=2, number="S-4418",
                         made_on=date(2025, 5, 12), label_date=date(2027, 5, 12),
                         price_cents=64_000),
            )
        )  # fmt: skip
        gloss = _units(
            receiving.receive(
                desk,
                Delivery(material=GLOSS, place=STORE, units=2, number="G-0962",
                         made_on=date(2025, 4, 3), label_date=date(2027, 4, 3),
                         price_cents=71_500),
            )
        )  # fmt: skip
        satin += _units(
            receiving.receive(
                desk,
                Delivery(material=SATIN, place=STORE, length_dmm=120_000, plus_minus_dmm=10_000,
                         price_cents=0),
            )
        )  # fmt: skip
        gloss += _units(
            receiving.receive(
                desk,
                Delivery(material=GLOSS, place=STORE, number="G-0711", length_dmm=140_000,
                         label_date=date(2026, 3, 24), price_cents=20_000),
            )
        )  # fmt: skip
        return satin, gloss

    def _sheets_and_goods(self) -> None:
        desk = self.on("2025-07-02T10:00")
        for material, place, count, number, cents in (
            (ACRYLIC, RACK_A, 8, "C-3107", 11_800),
            (THICK, RACK_A, 3, "C-6020", 22_400),
            (BOARD, RACK_B, 6, "D-1188", 8_600),
        ):
            receiving.receive(
                desk,
                Delivery(material=material, place=place, count=count, number=number,
                         price_cents=cents),
            )  # fmt: skip
        receiving.receive(
            desk,
            Delivery(material=FILM, place=ROOM, number="F-2210", label_date=date(2026, 9, 30),
                     price_cents=38_000),
        )  # fmt: skip
        receiving.receive(
            desk,
            Delivery(material=PROFILE, place=RACK_B, units=9, number="P-7", price_cents=2_400),
        )

    def _autumn(self, satin: list[str], gloss: list[str]) -> None:
        sheets = self._units_of(ACRYLIC)[0]
        boards = self._units_of(BOARD)[0]
        job = self._booked("Winter orchard", 18_000, 12_000, "2025-09-16", SATIN)
        handling.move(self.on("2025-09-15T16:00"), [satin[0]], ROOM)
        handling.open_unit(self.on("2025-09-16T08:40"), satin[0])
        handling.move(self.on("2025-09-16T08:45"), [satin[0]], MAGAZINE)
        handling.lose(self.on("2025-09-16T10:00"), satin[0], 21_500, "bad print", job=job, prints=1)
        handling.use(self.on("2025-09-16T11:00"), satin[0], 18_500, job=job, good=1)
        handling.rebag(self.on("2025-09-16T16:00"), satin[0])
        handling.move(self.on("2025-09-16T16:10"), [satin[0]], STORE)
        one_cut.cut(
            self.on("2025-09-18T09:00"), sheets, job=job, pieces=[Part(18_200, 12_200)],
            offcuts=[Part(12_200, 20_300), Part(18_200, 8_000)], place=RACK_A,
        )  # fmt: skip
        one_cut.cut(
            self.on("2025-09-18T10:00"), boards, job=job, pieces=[Part(18_200, 12_200)],
            offcuts=[Part(12_100, 15_000)], place=RACK_B,
        )  # fmt: skip
        booking.close_job(self.on("2025-09-22T17:00"), job, "done")
        long = self._booked("Long shore", 25_000, 12_500, "2025-12-02", SATIN)
        handling.move(self.on("2025-12-01T16:00"), [satin[0]], MAGAZINE)
        handling.open_unit(self.on("2025-12-02T08:00"), satin[0])
        for hour in ("09:00", "11:30", "14:00"):
            handling.use(self.on(f"2025-12-02T{hour}"), satin[0], 122_000)
        handling.use(self.on("2025-12-02T15:30"), satin[0], 25_500, job=long, good=1)
        one_cut.cut(
            self.on("2025-12-04T09:00"), sheets, job=long, pieces=[Part(25_200, 12_700)],
            offcuts=[Part(30_500, 7_400)], place=RACK_A,
        )  # fmt: skip
        handling.lose(self.on("2025-12-05T11:00"), sheets, 1, "bad mount")
        booking.close_job(self.on("2025-12-10T17:00"), long, "done")
        handling.use(self.on("2026-01-12T10:00"), sheets, 1)
        handling.rebag(self.on("2026-01-30T15:50"), satin[0])
        handling.move(self.on("2026-01-30T16:00"), [satin[0]], STORE)
        counting.count(
            self.on("2026-01-30T16:05"), satin[0], 94_000, reason="measured when it was put back"
        )
        for day in ("2026-02-04T10:00", "2026-02-11T10:00"):
            handling.use(self.on(day), sheets, 1)
        handling.use(self.on("2026-02-12T09:00"), boards, 2)

    def _this_week(self, satin: list[str], gloss: list[str]) -> None:
        handling.move(self.on("2026-02-16T08:00"), [gloss[0]], MAGAZINE)
        handling.open_unit(self.on("2026-02-16T08:30"), gloss[0])
        handling.use(self.on("2026-02-16T10:00"), gloss[0], 84_000)
        ordering.order(
            self.on("2026-02-20T11:00"), FILM, 1, expected_on=date(2026, 3, 4), price_cents=38_000
        )
        ordering.order(self.on("2026-02-20T11:05"), BOARD, 4, expected_on=date(2026, 3, 9))
        checking.judge_strip(self.on("2026-02-24T15:00"), gloss[2], "unsure")
        self._booked("Salt flats", 25_000, 12_500, "2026-03-05", SATIN)
        self._booked("Tidal series", 12_000, 9_000, "2026-03-06", GLOSS, count=3, series=True)
        self._booked("Night ferry", 18_000, 12_000, "2026-03-10", SATIN)
        self._booked("Quarry wall", 34_000, 17_500, "2026-04-14", GLOSS, count=6)
        desk = self.on("2026-03-03T07:55")
        readings.take_in_readings(desk, STORE, logger_file(), "cold-store.csv")
        spells.name_cause(desk, STORE, at("2025-11-08T06:00"), at("2025-11-10T08:00"), "power cut")
        tell_condition(desk, self._units_of, FILM, ACRYLIC, SATIN, ROOM)
        tell_work(
            desk, gloss=GLOSS, satin=SATIN, film=FILM, acrylic=ACRYLIC, thick=THICK, board=BOARD,
            profile=PROFILE,
        )  # fmt: skip

    def _booked(
        self,
        name: str,
        width_dmm: int,
        height_dmm: int,
        day: str,
        paper: str,
        *,
        count: int = 1,
        series: bool = False,
    ) -> str:
        done = booking.book(
            self.desk, name, width_dmm, height_dmm, date.fromisoformat(day), paper,
            count=count, series=series,
        )  # fmt: skip
        return next(t.key for t in done.changes.touches if t.kind == "job")

    def _units_of(self, material: str) -> list[str]:
        from stockroom.desk.lookup import in_stock
        from stockroom.desk.reckoning import Reckoning

        with self.desk.reading() as view:
            reckoning = Reckoning(view, self.clock[0], ZONE)
            return [
                unit.code
                for unit in in_stock(view)
                if reckoning.material_of(unit).name == material and not unit.is_offcut
            ]


def _units(done: Done) -> list[str]:
    return [touch.key for touch in done.changes.touches if touch.kind == "unit"]
