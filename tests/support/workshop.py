"""A studio that mounts: film, board, profile, and a build of all six layers."""

from dataclasses import dataclass
from datetime import date

from stockroom.core.card import Card
from stockroom.core.craft import Piece, Try, Used
from stockroom.core.model import Job, Unit
from stockroom.desk.work import builds, jobs
from stockroom.desk.stock import defining, receiving
from stockroom.desk.work.builds import LayerSaid
from stockroom.desk.work.jobs import JobSaid
from stockroom.desk.lookup import everything
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Desk, Done
from support.studio import Studio, code_of

DUE = date(2026, 4, 10)


@dataclass(frozen=True)
class Workshop:
    """A studio with the codes of what is mounted with."""

    studio: Studio
    film: str
    board: str
    profile: str
    build: str

    @property
    def desk(self) -> Desk:
        return self.studio.desk

    def unit(self, code: str) -> Unit:
        with self.desk.reading() as view:
            found = view.get(Unit, code)
        assert found is not None
        return found

    def job(self, code: str) -> Job:
        with self.desk.reading() as view:
            found = view.get(Job, code)
        assert found is not None
        return found

    def pieces(self, job: str) -> list[Piece]:
        with self.desk.reading() as view:
            found = view.having(Piece, "job", job)
        return sorted(found, key=lambda piece: piece.number)

    def tries(self) -> list[Try]:
        with self.desk.reading() as view:
            return everything(view, Try)

    def used(self) -> list[Used]:
        with self.desk.reading() as view:
            return everything(view, Used)

    def book(self, name: str = "Salt flats", **more: object) -> str:
        """Book three pieces of 1200 x 800 mm on the build."""
        fields: dict[str, object] = {
            "name": name,
            "width_dmm": 12_000,
            "height_dmm": 8_000,
            "count": 3,
            "print_on": date(2026, 3, 9),
            "due_on": DUE,
            "material": self.studio.paper,
            "build": self.build,
            **more,
        }
        return code_of(jobs.book(self.desk, JobSaid(**fields)), "job")  # type: ignore[arg-type]


def fit_out(studio: Studio) -> Workshop:
    """Add film, board, profile and a build to a studio."""
    desk = studio.desk
    film = code_of(
        defining.define_material(
            desk, "Clear film 130", "film", "roll",
            width_dmm=13_000, length_dmm=500_000, supplier="Tarn Films", lead_days=10,
        ),
        "material",
    )  # fmt: skip
    board = code_of(
        defining.define_material(
            desk, "Composite board 3 mm", "board", "sheet",
            width_dmm=15_000, length_dmm=30_500, thickness_um=3_000,
        ),
        "material",
    )  # fmt: skip
    profile = code_of(
        defining.define_material(desk, "Frame profile", "profile", "length", length_dmm=60_000),
        "material",
    )
    for material, units, count, price in ((film, 1, 1, 40_000), (board, 1, 4, 6_000)):
        receiving.receive(
            desk,
            Delivery(
                material=material, place="Mounting room", units=units, count=count,
                number=f"N-{material}", price_cents=price,
            ),
        )  # fmt: skip
    receiving.receive(
        desk, Delivery(material=profile, place="Mounting room", units=4, price_cents=2_400)
    )
    made = builds.define_build(
        desk,
        "Face mount",
        [
            LayerSaid("sheet", studio.sheet, allowance_dmm=100),
            LayerSaid("face film", film, allowance_dmm=100),
            LayerSaid("back film", film),
            LayerSaid("board", board),
            LayerSaid("profile", profile),
        ],
    )
    return Workshop(studio, film, board, profile, code_of(made, "build"))


def new_cards(done: Done) -> list[str]:
    """Return the codes of the cards that an act brought forth."""
    return [
        touch.key
        for touch in done.changes.touches
        if touch.kind == Card.kind and touch.before is None
    ]
