"""OK to print? One roll, one print, one day: yes, run a strip first, or no; with reasons."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, Literal

from stockroom.core.facts import ASSURANCE, COLD_BELOW, OUT_BEFORE, STRIP_HOLDS
from stockroom.core.freshness.usable_by import UsableBy
from stockroom.core.geometry import (
    DoesNotFit,
    RollRules,
    length_for,
    print_layout,
    prints_that_fit,
)
from stockroom.core.losses import MountYield, PrintYield, prints_needed
from stockroom.core.model import Lot, Material, Place, StripResult, Unit

Answer = Literal["yes", "strip", "no"]
Weight = Literal["bars", "asks", "warns", "backs", "notes"]
"""What a reason does: forbids, wants a strip, cautions, speaks for it, or only tells."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason with its figures; `stockroom.core.wording` makes a sentence of it."""

    kind: str
    weight: Weight
    figures: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be printed: size, how many still, on which day, all from one emulsion or not."""

    width_dmm: int
    height_dmm: int
    count: int
    day: date
    series: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A roll with all that is known of it.

    Attributes
    ----------
    unit, lot, material, place
        The roll, its emulsion, its paper, and where it stands.
    usable : UsableBy
        Its usable-by day.
    strip : (StripResult, int) or None
        The last strip judged by eye, and how many days before the print it was.
    promised_dmm : int
        What of it is put by, or was counted on, for other jobs.
    siblings_dmm : tuple of int
        What is free on other good rolls of the same emulsion.
    """

    unit: Unit
    lot: Lot
    material: Material
    place: Place
    usable: UsableBy
    strip: tuple[StripResult, int] | None = None
    promised_dmm: int = 0
    siblings_dmm: tuple[int, ...] = ()

    @property
    def loaded(self) -> bool:
        """Whether it is in the printer already, its leader paid."""
        return self.place.place_kind == "magazine" and self.unit.condition == "open"

    @property
    def free_dmm(self) -> int:
        """What is left and not promised."""
        return max(0, self.unit.remaining_dmm - self.promised_dmm)


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer for one roll and one print, the weightiest reasons first."""

    unit: str
    answer: Answer
    reasons: tuple[Reason, ...]
    assurance: float = 0.0
    needs_dmm: int = 0
    remakes: int = 0

    @property
    def first(self) -> Reason:
        """The reason that decides."""
        return self.reasons[0]


_ORDER: tuple[Weight, ...] = ("bars", "asks", "warns", "backs", "notes")


def rules_of(material: Material) -> RollRules:
    """Return what a roll of a material loses beside the prints; the shop's usual where not told."""
    usual = RollRules()
    return RollRules(
        leader_dmm=usual.leader_dmm if material.leader_dmm is None else material.leader_dmm,
        tail_dmm=usual.tail_dmm if material.tail_dmm is None else material.tail_dmm,
        gap_dmm=usual.gap_dmm,
        margin_dmm=usual.margin_dmm if material.margin_dmm is None else material.margin_dmm,
        longest_print_dmm=material.longest_print_dmm,
    )


def ok_to_print(
    roll: Candidate,
    wish: Wish,
    today: date,
    *,
    print_yield: PrintYield | None = None,
    mount_yield: MountYield | None = None,
) -> Verdict:
    """Return whether a roll is good for a print on a day, with every reason.

    Rules: a hold, a yellow strip, a size that does not go on the roll, or a length that does not
    hold the prints themselves says no. Else the likely usable-by day decides; a strip is asked
    where the day of the print lies in the nearer part of the range, where the life is unproven
    (past the printed date) or only estimated, and no clean strip counts. A clean strip settles
    it for `STRIP_HOLDS` days. Length for the likely remakes is told as an assurance; a series
    that its emulsion does not hold with the asked assurance is a no.

    Parameters
    ----------
    roll : Candidate
    wish : Wish
    today : date
    print_yield, mount_yield : optional
        What is known of losses; the priors if left out.
    """
    reasons = _state_reasons(roll, wish) + _fresh_reasons(roll, wish)
    length, assurance, needs_dmm, remakes = _length_reasons(
        roll, wish, print_yield or PrintYield(), mount_yield or MountYield()
    )
    reasons += length + _care_reasons(roll, wish, today)
    reasons.sort(key=lambda reason: _ORDER.index(reason.weight))
    weights = {reason.weight for reason in reasons}
    answer: Answer = "no" if "bars" in weights else "strip" if "asks" in weights else "yes"
    return Verdict(roll.unit.code, answer, tuple(reasons), assurance, needs_dmm, remakes)


def _state_reasons(roll: Candidate, wish: Wish) -> list[Reason]:
    reasons = []
    if roll.unit.state != "in stock":
        reasons.append(Reason("not in stock", "bars", {"state": roll.unit.state}))
    if roll.unit.held and roll.unit.held != "yellow strip":
        reasons.append(Reason("on hold", "bars", {"why": roll.unit.held}))
    if roll.lot.held:
        reasons.append(
            Reason("batch on hold", "bars", {"why": roll.lot.held, "number": roll.lot.number})
        )
    if roll.lot.owner != "mine":
        reasons.append(Reason("not mine", "warns", {"owner": roll.lot.owner}))
    return reasons


def _fresh_reasons(roll: Candidate, wish: Wish) -> list[Reason]:
    usable = roll.usable
    figures = {
        "likely": usable.likely,
        "earliest": usable.earliest,
        "latest": usable.latest,
        "day": wish.day,
        "printed": usable.label.printed,
        "runs_out": usable.runs_out,
        "estimated": usable.label.estimated,
        "cause": usable.spreads[0].cause if usable.spreads else "",
    }
    result, age_days = roll.strip or ("", 0)
    counts = bool(result) and 0 <= age_days <= STRIP_HOLDS.value
    if roll.unit.held == "yellow strip" or result == "yellow":
        return [Reason("yellow strip", "bars", {"age_days": age_days})]
    if result == "clean" and counts:
        return [
            Reason("clean strip", "backs", {"age_days": age_days, "holds": STRIP_HOLDS.value}),
            Reason("usable by", "notes", figures),
        ]
    before, after = usable.nearer_part()
    asks = []
    if result == "unsure" and counts:
        asks.append(Reason("unsure strip", "asks", {"age_days": age_days}))
    if wish.day > after:
        return [Reason("off", "bars", figures), *asks]
    if wish.day > before:
        asks.append(Reason("near its day", "asks", figures))
    elif usable.label.printed is not None and wish.day > usable.label.printed:
        asks.append(Reason("unproven", "asks", figures))
    elif usable.label.estimated:
        asks.append(Reason("estimated", "asks", figures))
    if len(usable.by_reading) > 1:
        days = [day for _, day in usable.by_reading]
        if min(days) < wish.day <= max(days):
            asks.append(
                Reason("label temperature", "asks", {"first": min(days), "last": max(days)})
            )
    return asks or [Reason("fresh", "backs", figures)]


def _length_reasons(
    roll: Candidate, wish: Wish, print_yield: PrintYield, mount_yield: MountYield
) -> tuple[list[Reason], float, int, int]:
    """Reasons of size and length; the assurance, what is needed, and how many remakes fit."""
    rules = rules_of(roll.material)
    layout = print_layout(
        wish.width_dmm, wish.height_dmm, roll.unit.width_dmm, rules, count=wish.count
    )
    if isinstance(layout, DoesNotFit):
        figures: dict[str, Any] = {
            "why": layout.kind,
            "over_dmm": layout.over_dmm,
            "printable_dmm": layout.printable_dmm,
            "longest_dmm": layout.longest_print_dmm,
        }
        return [Reason("does not fit", "bars", figures)], 0.0, 0, 0
    area_m2 = wish.width_dmm * wish.height_dmm / 1e8
    tries = prints_needed(wish.count, area_m2, print_yield, mount_yield)
    here = prints_that_fit(roll.free_dmm, layout, rules, roll.loaded)
    elsewhere = sum(prints_that_fit(dmm, layout, rules, False) for dmm in roll.siblings_dmm)
    needs = length_for(wish.count, layout, rules, 0 if roll.loaded else 1)
    assurance, together = tries.cdf(here), tries.cdf(here + elsewhere)
    figures = {
        "left_dmm": roll.unit.remaining_dmm,
        "free_dmm": roll.free_dmm,
        "promised_dmm": roll.promised_dmm,
        "plus_minus_dmm": roll.unit.plus_minus_dmm,
        "needs_dmm": needs,
        "tail_dmm": rules.tail_dmm,
        "prints": here,
        "count": wish.count,
        "remakes": max(0, here - wish.count),
        "assurance": assurance,
        "together": together,
        "asked": ASSURANCE.value,
        "siblings": len(roll.siblings_dmm),
    }
    remakes = max(0, here - wish.count)
    if here < wish.count and (not roll.siblings_dmm or wish.count == 1 or here == 0):
        return [Reason("too short", "bars", figures)], assurance, needs, remakes
    known = roll.lot.known
    if wish.series and wish.count > 1 and (together if known else assurance) < ASSURANCE.value:
        return [Reason("series short", "bars", figures)], assurance, needs, remakes
    if here < wish.count:
        return [Reason("needs a second roll", "warns", figures)], assurance, needs, remakes
    if assurance < ASSURANCE.value:
        return [Reason("few remakes", "warns", figures)], assurance, needs, remakes
    return [Reason("long enough", "backs", figures)], assurance, needs, remakes


def _care_reasons(roll: Candidate, wish: Wish, today: date) -> list[Reason]:
    """What to do, or to know, before it is printed."""
    reasons = []
    if is_cold(roll.place):
        out = wish.day - timedelta(days=round(OUT_BEFORE.value))
        reasons.append(
            Reason("take out", "notes", {"by": max(out, today), "place": roll.place.name})
        )
    if roll.unit.arrived_warm:
        reasons.append(Reason("arrived warm", "notes", {}))
    if roll.usable.filled_life >= 1.0:
        share = roll.usable.filled_life / max(roll.usable.used_days, 1e-9)
        reasons.append(Reason("filled", "notes", {"share": min(1.0, share)}))
    if roll.unit.plus_minus_dmm:
        reasons.append(
            Reason("length unsure", "notes", {"plus_minus_dmm": roll.unit.plus_minus_dmm})
        )
    return reasons


def is_cold(place: Place) -> bool:
    """Return whether a place is a cold one."""
    if place.set_point_centi_c is not None:
        return place.set_point_centi_c < COLD_BELOW.value * 100
    return place.place_kind == "cold store"


_RANK: dict[Answer, int] = {"yes": 0, "strip": 1, "no": 2}


def best_first(
    verdicts: Sequence[tuple[Candidate, Verdict]],
) -> list[tuple[Candidate, Verdict]]:
    """Return candidates in the order in which to take them.

    Yes before strip before no; then those that hold the asked assurance; then the one that runs
    out first, so that paper is used before it goes off; then the shorter roll.
    """
    return sorted(
        verdicts,
        key=lambda pair: (
            _RANK[pair[1].answer],
            pair[1].assurance < ASSURANCE.value,
            pair[0].usable.likely,
            pair[0].unit.remaining_dmm,
            pair[0].unit.code,
        ),
    )
