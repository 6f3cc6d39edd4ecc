"""Cutting open work by plan: what is still to be cut, from which sheet or offcut, what to buy."""

import json
from collections import Counter
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import lru_cache

from stockroom.core.cutting.plan import CutBlank, CutPlan, best_plan
from stockroom.core.cutting.request import Blank, CutPiece, Request, Saw
from stockroom.core.cutting.tree import from_plain, lying
from stockroom.core.cutting.worth import LeftoverRule, Worth
from stockroom.core.making.sizes import KERF_DMM, TRIM_DMM, layer_size
from stockroom.core.records import FINISHED, Card, Grade, Job, Layer, Material, Part, PutBy, Unit
from stockroom.desk.cutting.one_cut import face_reasons
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.desk.work.attempts import pieces_of, recipe_for
from stockroom.desk.work.drawing import in_hand
from stockroom.errors import BadValueError, RefusedError
from stockroom.text import safe
from stockroom.units import SECONDS_PER_DAY, size_text

AHEAD_DAYS = 21
"""How many days of prints ahead are planned for where nobody says (our choice: three weeks)."""
CUT_EFFORT = 600
"""Steps of the search for each material (our choice: a second or two for a day's work)."""
QUICK_EFFORT = 60
"""Steps where a plan is only looked at in passing, as in the morning (our choice)."""
RECENT_DAYS = 365
"""Work of so many days tells what a leftover may serve (our choice)."""
BUY_PER_MILLE = 50
"""How much dearer a sheet to buy is to a plan than one that is there (our choice: freight, and the
wait for it); it is in no sum of money."""
NEW_SHEET = "new sheet"
"""What a blank is called that must be bought first."""
CUT_OVER_DMM = 100
"""How much larger than wanted, each way, a piece put by for a job still counts as cut for it (our
choice: 10 mm, what is trimmed off a bonded edge anyway; a larger one is an offcut to cut from)."""
OLDEST_DAYS = 3_650
"""Age beyond which an offcut is not preferred further (our choice; at equal cost only)."""


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """Pieces of one size that a job still needs cut.

    Attributes
    ----------
    job, part, layer : Job, str, Layer
        For whom, and which layer of its build.
    width_dmm, height_dmm : int
        With the layer's allowance; across and along the sheet where the layer must lie so.
    use : str
        What the surface must be good for: a face or a back.
    """

    job: Job
    part: Part
    layer: Layer
    width_dmm: int
    height_dmm: int
    count: int
    may_turn: bool
    use: Grade

    @property
    def code(self) -> str:
        """What it is called in a plan and on a card."""
        return f"{self.job.code}/{self.part}"


@dataclass(frozen=True, slots=True, eq=False)
class PlannedCard:
    """One sheet or offcut of a plan; no unit where it must be bought first."""

    unit: Unit | None
    place: str
    cut: CutBlank


@dataclass(frozen=True, slots=True, eq=False)
class CutWork:
    """What is to be cut of one material, and how.

    Attributes
    ----------
    wanted : tuple of Wanted
    plan : CutPlan or None
        None where there is nothing at all to cut from.
    cards : tuple of PlannedCard
        Offcuts first, then sheets, then what must be bought.
    left_out : tuple of (Wanted, int)
        What has no place, and how many.
    passed_over : tuple of (Unit, str)
        Sheets and offcuts that may not be cut for it, and why.
    sheets_alone : int or None
        How many sheets it would take without any offcut.
    replaces : tuple of PutBy
        What is put by for these jobs now and comes free with the plan.
    carded : frozenset of str
        Codes of the cards of this material that were open when it was planned.
    order_by : date or None
        The last day to order what must be bought; None where nothing must, or where the lead time
        is not known.
    """

    material: Material
    wanted: tuple[Wanted, ...]
    plan: CutPlan | None
    cards: tuple[PlannedCard, ...]
    left_out: tuple[tuple[Wanted, int], ...]
    passed_over: tuple[tuple[Unit, str], ...]
    sheets_alone: int | None
    replaces: tuple[PutBy, ...]
    saw: Saw
    carded: frozenset[str]
    order_by: date | None = None

    @property
    def pieces(self) -> int:
        """How many pieces are wanted."""
        return sum(item.count for item in self.wanted)

    @property
    def offcuts(self) -> int:
        """How many offcuts are cut."""
        return sum(card.unit is not None and card.unit.is_offcut for card in self.cards)

    @property
    def sheets(self) -> int:
        """How many full sheets from stock are cut."""
        return sum(card.unit is not None and not card.unit.is_offcut for card in self.cards)

    @property
    def to_buy(self) -> int:
        """How many sheets must be bought."""
        return sum(card.unit is None for card in self.cards)

    @property
    def sheets_saved(self) -> int:
        """How many sheets the offcuts save, against sheets alone; 0 where not all has a place."""
        if self.sheets_alone is None or self.left_out:
            return 0
        return max(0, self.sheets_alone - self.sheets - self.to_buy)


@dataclass(frozen=True, slots=True)
class CutsSaid:
    """How open work is planned.

    Attributes
    ----------
    jobs : tuple of str
        These jobs only, by code or name; all sure work that is due for it, if empty.
    material : str or None
        One material only.
    upto : date or None
        Prints up to this day; three weeks ahead if None.
    without : tuple of str
        Codes of units that are not cut.
    pins : mapping of str to str
        By job, the unit that all its pieces of that material come from.
    together : tuple of str
        Names of works whose pieces come from one sheet each, such as a polyptych.
    longest_dmm, narrowest_dmm : int
        The saw's longest cut (None without limit), and the narrowest piece it holds.
    """

    jobs: tuple[str, ...] = ()
    material: str | None = None
    upto: date | None = None
    without: tuple[str, ...] = ()
    pins: Mapping[str, str] | None = None
    together: tuple[str, ...] = ()
    longest_dmm: int | None = None
    narrowest_dmm: int = 0
    effort: int = CUT_EFFORT
    seed: int = 0


def plan_cuts(
    desk: Desk,
    said: CutsSaid | None = None,
    *,
    on: date | None = None,
    spent: Callable[[], float] | None = None,
) -> list[CutWork]:
    """Return how open work is cut, a plan for each material of which something is wanted.

    Parameters
    ----------
    on : date, optional
        Reason as if it were this day.
    spent : callable, optional
        Part of the time allowed that is gone, 0 to 1.

    Raises
    ------
    UnknownCodeError
        Where a job, material or unit is not in the books.
    """
    said = said or CutsSaid()
    with reckoned(desk, on) as reckoning:
        asked = _all_asked(reckoning, said, on or desk.today())
    return [_planned(one, said, spent) for one in asked]


def quick_cuts(reckoning: Reckoning, today: date) -> list[CutWork]:
    """Return how open work is cut, as far as a short search finds; the same work at once again."""
    said = CutsSaid(effort=QUICK_EFFORT)
    return [_planned(one, said, None) for one in _all_asked(reckoning, said, today)]


def _all_asked(reckoning: Reckoning, said: CutsSaid, today: date) -> "list[_Asked]":
    return [
        _asked(reckoning, material, wanted, said, today)
        for material, wanted in _by_material(reckoning, said, today)
    ]


def cuts_wanted(reckoning: Reckoning, jobs: Iterable[Job]) -> list[Wanted]:
    """Return what some jobs still need cut from sheets and boards.

    A layer counts for each piece that lacks it, begun or not, less what is cut to its size and put
    by for the job already, and less what is on a bench card.
    """
    found = []
    for job in jobs:
        recipe = recipe_for(reckoning, job)
        ready = cut_pieces(reckoning, job)
        for layer in recipe.layers:
            material = reckoning.materials.get(layer.material or "")
            if material is None or not material.shape.flat:
                continue
            size = layer_size(layer, job.width_dmm, job.height_dmm)
            count = (
                lacking(reckoning, job, layer.part)
                - ready[layer.part]
                - on_cards(reckoning)[f"{job.code}/{layer.part}"]
            )
            if count > 0:
                use: Grade = "face" if layer.part == "sheet" else "back"
                lies = _lies(layer, size)
                turn = layer.turn == "any"
                found.append(Wanted(job, layer.part, layer, *lies, count, turn, use))
    return found


def on_cards(reckoning: Reckoning) -> Counter[str]:
    """Return how many pieces, by job and part, are on bench cards and not cut yet."""
    every, _ = _on_cards(reckoning)
    return every


def _on_cards(reckoning: Reckoning) -> tuple[Counter[str], Counter[str]]:
    """Pieces by job and part on all open cards, and on those of offcuts alone."""
    key = ("on cards",)
    if key not in reckoning.asked:
        every: Counter[str] = Counter()
        of_offcuts: Counter[str] = Counter()
        for card in open_cards(reckoning):
            tree = from_plain(json.loads(card.cuts)["tree"])
            codes = [part.part.code for part in lying(tree, 0) if part.part.what == "piece"]
            every.update(codes)
            if reckoning.units[card.unit].is_offcut:
                of_offcuts.update(codes)
        reckoning.asked[key] = every, of_offcuts
    counted = reckoning.asked[key]
    assert isinstance(counted, tuple)
    return counted


def want_no_sheet(reckoning: Reckoning, job: Job) -> Counter[str]:
    """Return how many pieces of each layer of a job take no full sheet any more, by part.

    They are cut and put by for the job, or on the bench card of an offcut.
    """
    _, of_offcuts = _on_cards(reckoning)
    ready = cut_pieces(reckoning, job)
    for layer in recipe_for(reckoning, job).layers:
        ready[layer.part] += of_offcuts[f"{job.code}/{layer.part}"]
    return ready


def cut_pieces(reckoning: Reckoning, job: Job) -> Counter[str]:
    """Return how many pieces of each layer of a job are cut and put by for it, by part.

    Where two layers are of one material and size, each piece counts for one of them.
    """
    left: dict[tuple[str, tuple[int, ...]], int] = {}
    found: Counter[str] = Counter()
    for layer in recipe_for(reckoning, job).layers:
        material = reckoning.materials.get(layer.material or "")
        if material is None or not material.shape.flat:
            continue
        size = layer_size(layer, job.width_dmm, job.height_dmm)
        key = material.code, tuple(sorted(size))
        if key not in left:
            left[key] = _cut_already(reckoning, job, material, size)
        found[layer.part] = min(left[key], lacking(reckoning, job, layer.part))
        left[key] -= found[layer.part]
    return found


def open_cards(reckoning: Reckoning) -> list[Card]:
    """Return the bench cards that are not cut yet and whose sheet is still there, by code."""
    return [
        card
        for card in reckoning.records.all(Card)
        if card.state == "open" and card.unit in reckoning.units
    ]


def lacking(reckoning: Reckoning, job: Job, part: str) -> int:
    """Return how many pieces of a job have still to get a part."""
    recipe = recipe_for(reckoning, job)
    pieces = pieces_of(reckoning, job)
    begun = sum(
        piece.stage != FINISHED and part not in in_hand(reckoning, recipe, piece)
        for piece in pieces
    )
    return begun + max(0, job.count - len(pieces))


def _cut_already(
    reckoning: Reckoning, job: Job, material: Material, size: tuple[int, int]
) -> int:  # fmt: skip
    return sum(
        put.qty // unit.measure
        for put in reckoning.put_bys
        if put.job == job.code
        and (unit := reckoning.units.get(put.unit)) is not None
        and reckoning.lot_of(unit).material == material.code
        and _is_cut_to(unit, size)
    )


def _is_cut_to(unit: Unit, size: tuple[int, int]) -> bool:
    over = (
        have - want
        for have, want in zip(
            sorted((unit.width_dmm, unit.length_dmm)), sorted(size), strict=True
        )
    )  # fmt: skip
    return unit.shape.flat and all(0 <= dmm <= CUT_OVER_DMM for dmm in over)


def _lies(layer: Layer, size: tuple[int, int]) -> tuple[int, int]:
    """Width and height of a layer as it lies on a sheet whose length runs upwards."""
    long_side, short_side = max(size), min(size)
    if layer.turn == "long edge":
        return short_side, long_side
    return (long_side, short_side) if layer.turn == "short edge" else size


def jobs_meant(reckoning: Reckoning, said: CutsSaid, today: date) -> list[Job]:
    """Return the jobs that are named, or all sure work that is due for it, soonest first."""
    jobs = [find(reckoning.view, Job, name) for name in said.jobs]
    for job in jobs:
        if job.state == "cancelled":
            raise RefusedError(f"{job.name} is cancelled.", try_="Leave it out, or undo that.")
    if not said.jobs:
        last = said.upto or today + timedelta(days=AHEAD_DAYS)
        jobs = [
            job
            for job in reckoning.jobs.values()
            if job.state == "booked" and job.sure and job.print_on <= last
        ]
    return sorted(jobs, key=lambda job: (job.print_on, job.code))


def _by_material(
    reckoning: Reckoning, said: CutsSaid, today: date
) -> list[tuple[Material, list[Wanted]]]:
    jobs = jobs_meant(reckoning, said, today)
    only = find(reckoning.view, Material, said.material).code if said.material else None
    by: dict[str, list[Wanted]] = {}
    for item in cuts_wanted(reckoning, jobs):
        code = item.layer.material or ""
        if only in (None, code):
            by.setdefault(code, []).append(item)
    found = [(reckoning.materials[code], wanted) for code, wanted in by.items()]
    return sorted(found, key=lambda item: (item[0].traits.use != "face", item[0].name))


@dataclass(frozen=True, slots=True, eq=False)
class _Asked:
    """A material's question to the planner, with all that is told beside the plan."""

    request: Request | None
    alone: Request | None
    work: tuple[CutPiece, ...]
    blank: CutWork
    units: Mapping[str, Unit]
    places: Mapping[str, str]
    today: date


def _asked(
    reckoning: Reckoning, material: Material, wanted: list[Wanted], said: CutsSaid, today: date
) -> _Asked:
    replaced = _replaced(reckoning, material, wanted)
    free, passed_over = _free(reckoning, material, wanted, replaced, said, today)
    saw = Saw(KERF_DMM, TRIM_DMM, said.longest_dmm, said.narrowest_dmm)
    pins = _pins(reckoning, said, material)
    bars = _barred(reckoning, list(free), wanted, today)
    size = full_size(material)
    new: tuple[Blank, ...] = ()
    if size is not None:
        dearer = size[0] * size[1] * (1_000 + BUY_PER_MILLE) // 1_000
        new = (Blank(NEW_SHEET, *size, None, dearer),)
    pieces = []
    for item in wanted:
        pinned = pins.get(item.job.code)
        allowed = (
            (pinned,)
            if pinned is not None
            else tuple(code for code in free if (code, item.use) not in bars)
            + tuple(blank.code for blank in new)
        )
        everywhere = pinned is None and len(allowed) == len(free) + len(new)
        pieces.append(
            CutPiece(
                item.code, item.width_dmm, item.height_dmm, item.count, item.may_turn,
                group=_group(item, said), blanks=() if everywhere else allowed or ("none",),
            )
        )  # fmt: skip
    work = known_work(reckoning, material, today)
    worth = Worth(LeftoverRule(), work, new or _as_blanks(free.values()))
    blanks = tuple(
        _blank(unit, count, worth, reckoning.now_s) for unit, count in free.values()
    )  # fmt: skip
    carded = frozenset(
        card.code for card in open_cards(reckoning) if card.material == material.code
    )
    bare = CutWork(
        material, tuple(wanted), None, (), tuple((item, item.count) for item in wanted),
        tuple(passed_over), None, replaced, saw,
        carded,
    )  # fmt: skip
    alone = tuple(replace(piece, blanks=()) for piece in pieces)
    return _Asked(
        Request(tuple(pieces), (*blanks, *new), saw) if blanks or new else None,
        Request(alone, new, saw) if new else None,
        work,
        bare,
        {code: unit for code, (unit, _) in free.items()},
        {code: reckoning.places[unit.place].name for code, (unit, _) in free.items()},
        today,
    )


def _group(item: Wanted, said: CutsSaid) -> str:
    """The work whose pieces of this layer come from one sheet; "" where they need not."""
    named = {name.casefold() for name in said.together}
    work = item.job.work or item.job.name
    return f"{work}/{item.part}" if work.casefold() in named else ""


def _free(
    reckoning: Reckoning,
    material: Material,
    wanted: Sequence[Wanted],
    replaced: Collection[PutBy],
    said: CutsSaid,
    today: date,
) -> tuple[dict[str, tuple[Unit, int]], list[tuple[Unit, str]]]:
    """The units that may be cut and how many sheets of each; and the others, with why not.

    Put by is all but what the plan itself lets go, so that what is free is free to accept too.
    """
    without = {find(reckoning.view, Unit, name).code for name in said.without}
    carded = Counter(card.unit for card in open_cards(reckoning))
    promised: dict[str, int] = {}
    for put in reckoning.put_bys:
        if put not in replaced:
            promised[put.unit] = promised.get(put.unit, 0) + put.qty
    free: dict[str, tuple[Unit, int]] = {}
    passed_over: list[tuple[Unit, str]] = []
    for unit in reckoning.units_of(material.code):
        if not unit.shape.flat or is_cut_piece(reckoning, unit):
            continue
        count = unit.count - carded[unit.code]
        count = min(count, (unit.qty - promised.get(unit.code, 0)) // max(1, unit.measure))
        lot = reckoning.lot_of(unit)
        why = ""
        if unit.held or lot.held:
            why = f"on hold: {unit.held or lot.held}"
        elif lot.owner == "customer":
            why = "it belongs to a customer"
        elif unit.code in without:
            why = "left out, as you said"
        elif carded[unit.code] >= unit.count:
            why = "it is on a bench card already"
        elif count < 1:
            why = "put by for other work"
        elif not reckoning.good_on(unit, today):
            why = "past its day"
        if why:
            passed_over.append((unit, why))
        else:
            free[unit.code] = (unit, count)
    return free, passed_over


def is_cut_piece(reckoning: Reckoning, unit: Unit) -> bool:
    """Return whether a sheet is cut to the very size of a layer of a job it is put by for."""
    material = reckoning.lot_of(unit).material
    for put in reckoning.put_bys:
        job = reckoning.jobs.get(put.job) if put.unit == unit.code else None
        if job is None:
            continue
        for layer in recipe_for(reckoning, job).layers:
            size = layer_size(layer, job.width_dmm, job.height_dmm)
            if layer.material == material and _is_cut_to(unit, size):
                return True
    return False


def _pins(reckoning: Reckoning, said: CutsSaid, material: Material) -> dict[str, str]:
    """The pins of a material: by job, the sheet or offcut of it that its pieces come from."""
    pins = {}
    for job, name in (said.pins or {}).items():
        unit = find(reckoning.view, Unit, name)
        if not unit.shape.flat:
            raise RefusedError(
                f"{unit.code} is {reckoning.material_of(unit).name}: no piece is sawn from it.",
                "A pin names the sheet or offcut that a job's pieces come from.",
                "Pin a sheet; how prints lie on rolls is told by stockroom cuts rolls.",
            )
        if reckoning.material_of(unit).code == material.code:
            pins[find(reckoning.view, Job, job).code] = unit.code
    return pins


def _barred(
    reckoning: Reckoning, units: Sequence[str], wanted: Sequence[Wanted], today: date
) -> set[tuple[str, str]]:
    """Which units are no good for which use, judged whole: a chipped corner bars all of it."""
    found = set()
    for use in {item.use for item in wanted}:
        for code in units:
            unit = reckoning.units[code]
            reasons = face_reasons(
                reckoning, unit, (unit.width_dmm, unit.length_dmm), use, today
            )  # fmt: skip
            if any(reason.weight == "bars" for reason in reasons):
                found.add((code, str(use)))
    return found


def full_size(material: Material) -> tuple[int, int] | None:
    """Return a full sheet (dmm), its length upwards; None where its size is not known."""
    if not (material.width_dmm and material.length_dmm):
        return None
    return min(material.width_dmm, material.length_dmm), max(
        material.width_dmm, material.length_dmm
    )


def laid(unit: Unit) -> tuple[int, int]:
    """Return a unit as it lies: a sheet with its length upwards, an offcut as it came off."""
    if unit.is_offcut:
        return unit.width_dmm, unit.length_dmm
    return min(unit.width_dmm, unit.length_dmm), max(unit.width_dmm, unit.length_dmm)


def _as_blanks(free: Iterable[tuple[Unit, int]]) -> list[Blank]:
    return [Blank(unit.code, *laid(unit), count) for unit, count in free] or [Blank("none", 1, 1)]


def _blank(unit: Unit, count: int, worth: Worth, now_s: int) -> Blank:
    """A unit as a blank: a sheet costs its area, an offcut what keeping it is worth.

    Of two that cost the same the older goes first.
    """
    wide, high = laid(unit)
    if not unit.is_offcut:
        return Blank(unit.code, wide, high, count, wide * high, trimmed=unit.factory_edges > 0)
    days = min(OLDEST_DAYS, max(0, now_s - unit.received_s) // SECONDS_PER_DAY)
    cost = max(0, worth.of(wide, high) - days)
    return Blank(unit.code, wide, high, count, cost, trimmed=False)


def known_work(reckoning: Reckoning, material: Material, today: date) -> tuple[CutPiece, ...]:
    """Return booked work and that of the last year, as pieces that a leftover may serve."""
    since = today - timedelta(days=RECENT_DAYS)
    found = []
    for job in sorted(reckoning.jobs.values(), key=lambda item: item.code):
        if job.state == "cancelled" or (job.state == "done" and job.print_on < since):
            continue
        for layer in recipe_for(reckoning, job).layers:
            if layer.material == material.code:
                size = _lies(layer, layer_size(layer, job.width_dmm, job.height_dmm))
                turn = layer.turn == "any"
                found.append(CutPiece(f"{job.code}/{layer.part}", *size, job.count, turn))
    return tuple(found)


def _replaced(
    reckoning: Reckoning, material: Material, wanted: Sequence[Wanted]
) -> tuple[PutBy, ...]:
    """What is put by for these jobs of this material, what is cut to size for them left out."""
    jobs = {item.job.code for item in wanted}
    return tuple(
        put
        for put in reckoning.put_bys
        if put.job in jobs
        and (unit := reckoning.units.get(put.unit)) is not None
        and unit.shape.flat
        and reckoning.lot_of(unit).material == material.code
        and not is_cut_piece(reckoning, unit)
        and not _on_card(reckoning, put)
    )


def _on_card(reckoning: Reckoning, put: PutBy) -> bool:
    """Whether it was put by with a bench card that is still open."""
    return any(card.unit == put.unit for card in open_cards(reckoning))


def _planned(asked: _Asked, said: CutsSaid, spent: Callable[[], float] | None) -> CutWork:
    bare = asked.blank
    if asked.request is None:
        return bare
    plan = _best(asked.request, asked.work, said.effort, said.seed, spent)
    alone = None
    if asked.alone is not None:
        found = _best(asked.alone, asked.work, max(1, said.effort // 4), said.seed, spent)
        alone = len(found.blanks) if found.complete else None
    cards = [
        PlannedCard(
            asked.units.get(cut.blank.code), asked.places.get(cut.blank.code, ""), cut
        )
        for cut in plan.blanks
    ]  # fmt: skip
    cards.sort(key=_offcuts_first)
    out = dict(plan.left_out)
    return replace(
        bare,
        plan=plan,
        cards=tuple(cards),
        left_out=tuple((item, out[item.code]) for item in bare.wanted if item.code in out),
        sheets_alone=alone,
        order_by=_order_by(bare, cards, asked.today),
    )


def _best(
    request: Request,
    work: tuple[CutPiece, ...],
    effort: int,
    seed: int,
    spent: Callable[[], float] | None,
) -> CutPlan:
    if spent is None:
        return _known_best(request, work, effort, seed)
    return best_plan(
        request, rule=LeftoverRule(), work=work, effort=effort, seed=seed, spent=spent
    )  # fmt: skip


@lru_cache(maxsize=128)
def _known_best(request: Request, work: tuple[CutPiece, ...], effort: int, seed: int) -> CutPlan:
    """The best plan of an effort; the same question is the same answer, and is asked often."""
    return best_plan(request, rule=LeftoverRule(), work=work, effort=effort, seed=seed)


def _order_by(work: CutWork, cards: Sequence[PlannedCard], today: date) -> date | None:
    """The last day to order for the earliest piece that waits for a sheet to be bought."""
    lead = work.material.lead_days
    days = {item.code: item.job.print_on for item in work.wanted}
    waiting = [
        days[part.part.code]
        for card in cards
        if card.unit is None
        for part in card.cut.parts(work.saw.kerf_dmm)
        if part.part.what == "piece"
    ]
    if lead is None or not waiting:
        return None
    return max(today, min(waiting) - timedelta(days=lead))


def _offcuts_first(card: PlannedCard) -> tuple[int, int, str]:
    unit = card.unit
    rank = 2 if unit is None else 0 if unit.is_offcut else 1
    return rank, card.cut.blank.area_dmm2, card.cut.blank.code


def pins_of(said: Iterable[str]) -> dict[str, str]:
    """Read pins as they are typed: JOB=UNIT.

    >>> pins_of(["11121=11405"])
    {'11121': '11405'}
    """
    found = {}
    for text in said:
        job, equals, unit = text.partition("=")
        if not (job.strip() and equals and unit.strip()):
            raise BadValueError(
                f"{safe(text, length=40)!r} pins nothing.",
                "A pin names a job and the unit that its pieces come from.",
                "Type it like 11121=11405.",
            )
        found[job.strip()] = unit.strip()
    return found


def card_title(card: PlannedCard) -> str:
    """Return what a planned card is cut from, and where that stands."""
    blank = card.cut.blank
    size = size_text(blank.width_dmm, blank.height_dmm)
    if card.unit is None:
        return f"a new sheet, {size}, to be bought"
    kind = "offcut" if card.unit.is_offcut else "sheet"
    return f"{kind} {card.unit.code}, {size}, {card.place}"
