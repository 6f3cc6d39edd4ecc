"""The work as one looks at it: all jobs with how far they are, one job with all that it holds."""

from collections import Counter
from dataclasses import dataclass
from datetime import date

from stockroom.core.making.learning import Count
from stockroom.core.making.recipe import Recipe
from stockroom.core.records import FINISHED, STAGES, Job, Material, Piece, PutBy, Try, Unit
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.desk.work.attempts import pieces_of, recipe_for
from stockroom.desk.work.cost import JobCost, job_cost
from stockroom.desk.work.drawing import tries_of
from stockroom.desk.work.jobs import clients
from stockroom.desk.work.needs import MaterialNeed, PartNeed, job_needs, material_needs
from stockroom.desk.work.spoilage import DMM2_PER_M2, learned_of


@dataclass(frozen=True, slots=True, eq=False)
class BoardLine:
    """A job with how far it is.

    Attributes
    ----------
    job, recipe, material : Job, Recipe, Material
    at : tuple of (str, int)
        How many pieces stand at which stage, in the order of the stages; "finished" last. Those
        without a good print stand at "print".
    client : str
        Whose it is, where that is known.
    begun : bool
        Whether something of it was tried.
    """

    job: Job
    recipe: Recipe
    material: Material
    at: tuple[tuple[str, int], ...]
    client: str = ""
    begun: bool = False

    @property
    def pieces_at(self) -> dict[str, int]:
        """How many pieces stand at which stage."""
        return dict(self.at)

    @property
    def printed_by(self) -> str:
        """Who prints it: here, an outside lab or the customer."""
        return self.job.printed_by or "here"

    @property
    def in_work(self) -> bool:
        """Whether it was begun, and is not done."""
        return self.job.state == "booked" and self.begun

    @property
    def waiting(self) -> bool:
        """Whether a piece waits for something after its print."""
        return any(stage not in ("print", FINISHED) for stage, _ in self.at)

    @property
    def state_text(self) -> str:
        """How it is called: maybe, likely, sure, in work, done or cancelled."""
        if self.job.state != "booked":
            return self.job.state
        return "in work" if self.in_work else self.job.certainty or "sure"


def board_line(reckoning: Reckoning, job: Job, client: str = "") -> BoardLine:
    """Return one job with how far it is."""
    recipe = recipe_for(reckoning, job)
    pieces = pieces_of(reckoning, job)
    counts = Counter(piece.stage for piece in pieces)
    if recipe.build is None:
        counts[FINISHED] = max(counts[FINISHED], job.good)
    counts["print"] += max(0, job.count - sum(counts.values()))
    begun = bool(pieces) or job.good + job.lost > 0
    order = (*STAGES, FINISHED)
    at = tuple((stage, counts[stage]) for stage in order if counts[stage])
    return BoardLine(job, recipe, reckoning.materials[job.material], at, client, begun)


def board(desk: Desk, *, every: bool = False, on: date | None = None) -> list[BoardLine]:
    """Return the jobs, soonest due first; with `every`, done and cancelled ones after them."""
    with reckoned(desk, on) as reckoning:
        whose = clients(reckoning.view)
        lines = [
            board_line(reckoning, job, whose.get(job.code, ""))
            for job in reckoning.jobs.values()
            if every or job.state == "booked"
        ]
    return sorted(lines, key=soonest)


def soonest(line: BoardLine) -> tuple[bool, date, date, str]:
    """Return what lines are sorted by: open jobs first, then by due day, or day of the print."""
    job = line.job
    return job.state != "booked", job.due_on or job.print_on, job.print_on, job.code


@dataclass(frozen=True, slots=True, eq=False)
class AllWork:
    """All booked work, and what sure work runs short of."""

    lines: tuple[BoardLine, ...]
    short: tuple[MaterialNeed, ...]


def all_work(desk: Desk, on: date | None = None) -> AllWork:
    """Return all booked work, soonest due first, and what sure work runs short of."""
    with reckoned(desk, on) as reckoning:
        whose = clients(reckoning.view)
        lines = [
            board_line(reckoning, job, whose.get(job.code, ""))
            for job in reckoning.jobs.values()
            if job.state == "booked"
        ]
        needs = material_needs(reckoning, on or desk.today())
    short = tuple(item for item in needs if item.quantity)
    return AllWork(tuple(sorted(lines, key=soonest)), short)


@dataclass(frozen=True, slots=True, eq=False)
class JobView:
    """One job with all that it holds.

    Attributes
    ----------
    pieces, tries : sequence
        What is made of it, and each try in order of time.
    needs : tuple of PartNeed
        What it still needs.
    put_bys : tuple of (PutBy, Unit)
        What is put by for it.
    mounts_counted, prints_counted : Count
        The tries behind its chances, of its class of size and of all prints.
    mount_chance, print_chance : float
        Chance that the next mount, or print, comes out good.
    """

    line: BoardLine
    pieces: tuple[Piece, ...]
    tries: tuple[Try, ...]
    needs: tuple[PartNeed, ...]
    cost: JobCost
    put_bys: tuple[tuple[PutBy, Unit], ...]
    mounts_counted: Count
    prints_counted: Count
    mount_chance: float
    print_chance: float


def job_view(desk: Desk, said: str, on: date | None = None) -> JobView:
    """Return one job with all that it holds; a piece's code leads to its job."""
    with reckoned(desk, on) as reckoning:
        piece = reckoning.records.by_key(Piece).get(said.strip())
        job = reckoning.jobs[piece.job] if piece else find(reckoning.view, Job, said)
        return view_of(reckoning, job)


def view_of(reckoning: Reckoning, job: Job) -> JobView:
    """Return one job with all that it holds, from what is read once."""
    area_m2 = job.area_dmm2 / DMM2_PER_M2
    known = learned_of(reckoning)
    yields = known.yields_for(area_m2)
    put = [
        (item, unit)
        for item in reckoning.put_bys
        if item.job == job.code and (unit := reckoning.units.get(item.unit)) is not None
    ]
    return JobView(
        board_line(reckoning, job, clients(reckoning.view).get(job.code, "")),
        tuple(pieces_of(reckoning, job)),
        tuple(tries_of(reckoning, job.code)),
        tuple(job_needs(reckoning, job)),
        job_cost(reckoning, job),
        tuple(put),
        known.count("mount", area_m2),
        known.count("print"),
        yields.mounts.mean,
        yields.prints.pass_probability(area_m2),
    )
