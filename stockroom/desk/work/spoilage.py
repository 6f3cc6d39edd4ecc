"""What is lost and what it teaches: the shop's own yields, bad spells, a month's spoilage."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import cast

import sqlalchemy as sa

from stockroom import clock
from stockroom.core.making.learning import BadSpell, Learned, Outcome, TryKind, bad_spell, learned
from stockroom.core.making.recipe import counted_losses
from stockroom.core.records import Material, Try, Used
from stockroom.desk.reckoning import Reckoning
from stockroom.store.mapping import ACT, act_of
from stockroom.units import SECONDS_PER_DAY

DMM2_PER_M2 = 1e8
_KIND: dict[str, TryKind] = {"print": "print", "mount": "mount", "back": "back"}
LOOKS = ("look", "sign", "look again")
SPELL_DAYS = 14
"""A spell of losses alike that is older no longer asks for a stop, days (our choice)."""


def outcomes_of(reckoning: Reckoning) -> list[Outcome]:
    """Return how each print, mount and backing came out, in the order of time.

    A print found bad at a look was a bad print after all. Prints that were only counted on their
    job, without a try of their own, count as of the day they were booked for.
    """
    tries = sorted(reckoning.records.all(Try), key=lambda item: (item.at_s, item.act, item.code))
    late: dict[str, Try] = {}
    last_print: dict[str, str] = {}
    for tried in tries:
        if tried.stage == "print" and tried.good and tried.piece:
            last_print[tried.piece] = tried.code
        elif tried.stage in LOOKS and not tried.good and "paper" in tried.takes:
            late[last_print.get(tried.piece or "", "")] = tried
    found = _only_counted(reckoning, tries)
    for tried in tries:
        kind = _KIND.get(tried.stage)
        if kind is None:
            continue
        bad = late.get(tried.code)
        good, cause = (False, bad.cause) if bad is not None else (tried.good, tried.cause)
        found.append(Outcome(tried.at_s, kind, tried.area_dmm2 / DMM2_PER_M2, good, cause))
    return found


def _only_counted(reckoning: Reckoning, tries: Iterable[Try]) -> list[Outcome]:
    """Prints that a job counts and no try tells of."""
    good: dict[str, int] = {}
    lost: dict[str, int] = {}
    for tried in tries:
        if tried.stage == "print":
            counts = good if tried.good else lost
            counts[tried.job] = counts.get(tried.job, 0) + 1
        elif not tried.good and "paper" in tried.takes:
            good[tried.job] = good.get(tried.job, 0) - 1
    found: list[Outcome] = []
    for job in reckoning.jobs.values():
        at_s = clock.start_of_day_s(job.print_on, reckoning.zone)
        area_m2 = job.area_dmm2 / DMM2_PER_M2
        for number, came_good in (
            (job.good - good.get(job.code, 0), True),
            (job.lost - lost.get(job.code, 0), False),
        ):
            found += [Outcome(at_s, "print", area_m2, came_good)] * max(0, number)
    return found


def learned_of(reckoning: Reckoning) -> Learned:
    """Return what the shop's own tries teach, on top of weak priors."""
    key = ("learned",)
    if key not in reckoning.asked:
        reckoning.asked[key] = learned(outcomes_of(reckoning), reckoning.now_s)
    return cast("Learned", reckoning.asked[key])


def loss_shares(reckoning: Reckoning) -> dict[str, dict[tuple[str, ...], float]]:
    """Return how often each stage destroyed which parts."""
    key = ("loss shares",)
    if key not in reckoning.asked:
        reckoning.asked[key] = counted_losses(reckoning.records.all(Try))
    return cast("dict[str, dict[tuple[str, ...], float]]", reckoning.asked[key])


def spell_of(reckoning: Reckoning) -> BadSpell | None:
    """Return a spell of losses alike that goes on, where it is not long ago."""
    recent_s = reckoning.now_s - SPELL_DAYS * SECONDS_PER_DAY
    return bad_spell(item for item in outcomes_of(reckoning) if item.at_s >= recent_s)


def last_lost(reckoning: Reckoning, spell: BadSpell) -> Try | None:
    """Return the last try of a spell."""
    lost = [
        item
        for item in reckoning.records.all(Try)
        if not item.good and item.cause == spell.cause and item.at_s <= spell.to_s
    ]
    return max(lost, key=lambda item: (item.at_s, item.act), default=None)


@dataclass(frozen=True, slots=True)
class LostLine:
    """What one cause took of one material in a span of time.

    Attributes
    ----------
    stage, cause : str
        Where and why; for what was lost outside a try the stage is "".
    times : int
        How many losses.
    qty : int
        How much: dmm2, dmm of bars, or a count, as the books weigh it.
    cents : int
        What it had cost.
    """

    stage: str
    cause: str
    material: Material
    times: int
    qty: int
    cents: int

    @property
    def area_m2(self) -> float:
        """Its area, m2; 0 for what has none."""
        return self.qty / DMM2_PER_M2 if self.material.shape.wide else 0.0

    @property
    def length_dmm(self) -> int:
        """Its length off rolls of the material's own width, or off bars."""
        if self.material.shape.bar:
            return self.qty
        if self.material.shape.wound and self.material.width_dmm:
            return self.qty // self.material.width_dmm
        return 0


def lost_between(reckoning: Reckoning, first: date, last: date) -> list[LostLine]:
    """Return what was lost from one day to another, both included, dearest first.

    Losses of tries count on the day of the loss, with all that it destroyed; what was lost or
    thrown away by itself counts with its own cause.
    """
    from_s = clock.start_of_day_s(first, reckoning.zone)
    to_s = clock.start_of_day_s(last, reckoning.zone) + SECONDS_PER_DAY
    found: dict[tuple[str, str, str], list[int]] = {}

    def add(stage: str, cause: str, material: str, qty: int, cents: int) -> None:
        line = found.setdefault((stage, cause, material), [0, 0, 0])
        for place, more in enumerate((1, qty, cents)):
            line[place] += more

    for tried, used in losses(reckoning):
        if from_s <= tried.at_s < to_s:
            add(tried.stage, tried.cause, used.material, used.qty, used.cost_cents)
    for cause, lot, qty, cents in _lost_alone(reckoning, from_s, to_s):
        add("", cause, reckoning.lots[lot].material, qty, cents)
    lines = [
        LostLine(stage, cause, reckoning.materials[material], *numbers)
        for (stage, cause, material), numbers in found.items()
    ]
    return sorted(lines, key=lambda line: (-line.cents, -line.qty, line.cause))


def losses(reckoning: Reckoning) -> list[tuple[Try, Used]]:
    """Return what each lost try destroyed: its own materials, and what earlier tries had put in."""
    tries = sorted(reckoning.records.all(Try), key=lambda item: (item.at_s, item.act, item.code))
    by_piece: dict[str, list[Used]] = {}
    own: dict[str, list[Used]] = {}
    for used in reckoning.records.all(Used):
        if used.fate == "lost":
            (by_piece if used.piece else own).setdefault(used.piece or used.attempt, []).append(
                used
            )
    number = {tried.code: place for place, tried in enumerate(tries)}
    found = []
    for tried in tries:
        if tried.good:
            continue
        lost_here = own.pop(tried.code, [])
        rest = by_piece.get(tried.piece or "", [])
        gone = [
            used
            for used in rest
            if used.part in tried.takes.split(", ") and number[used.attempt] <= number[tried.code]
        ]
        for used in gone:
            rest.remove(used)
        found += [(tried, used) for used in (*lost_here, *gone)]
    return found


def _lost_alone(reckoning: Reckoning, from_s: int, to_s: int) -> list[tuple[str, str, int, int]]:
    """Cause, batch, amount and cents of what was lost or thrown away outside a try."""
    query = sa.select(ACT).where(ACT.c.kind.in_(("lose", "discard", "undo")))
    acts = [act_of(row) for row in reckoning.view.connection.execute(query)]
    corrected = corrected_times(reckoning)
    undone: set[int] = set()
    for act in sorted(acts, key=lambda act: -act.seq):
        if act.undoes is not None and act.seq not in undone:
            undone.add(act.undoes)
    found = []
    for act in acts:
        at_s = corrected.get(act.seq, act.occurred_s)
        if act.kind == "undo" or act.seq in undone or not from_s <= at_s < to_s:
            continue
        cause = str(act.payload.get("cause") or act.reason or act.kind)
        found += [
            (cause, move.lot, move.qty, move.cost_cents)
            for move in reckoning.view.movements(act.seq)
            if move.kind in ("lost", "discarded")
        ]
    return found


def corrected_times(reckoning: Reckoning) -> Mapping[int, int]:
    """Return the corrected times of acts, s UTC."""
    from stockroom.core.records import ActTime
    from stockroom.store.mapping import select_records

    return {
        item.act: item.occurred_s for item in select_records(reckoning.view.connection, ActTime)
    }
