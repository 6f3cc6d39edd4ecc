"""OK to print? One roll, one print, one day: yes, run a strip first, or no; with reasons."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from stockroom.core.constants import ASSURANCE, COLD_BELOW, OUT_BEFORE, STRIP_HOLDS
from stockroom.core.freshness.opened import Opened, opened_reasons
from stockroom.core.freshness.usable_by import UsableBy
from stockroom.core.geometry import DoesNotFit, length_for, print_layout, prints_that_fit
from stockroom.core.losses import prints_needed
from stockroom.core.making.sizes import roll_rules
from stockroom.core.reason import Reason as Reason
from stockroom.core.reason import Weight as Weight
from stockroom.core.records import YELLOW_STRIP, Lot, Material, Place, StripResult, Unit
from stockroom.core.white_reasons import WhiteSeen, life_reasons, white_reasons
from stockroom.core.yields import MountYield, PrintYield

Answer = Literal["yes", "strip", "no"]


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be printed: size, how many still, on which day, all from one emulsion or not.

    `material` is the code of the paper wanted; empty for any.
    """

    width_dmm: int
    height_dmm: int
    count: int
    day: date
    series: bool = False
    material: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A roll with all that is known of it.

    Attributes
    ----------
    unit, lot, material, place
        The roll, its emulsion, its paper, and where it stands.
    usable : UsableBy or None
        Its usable-by day, where it ages.
    ends : date or None
        The last day it is good by its dates, where it does not age and any of them sets one.
    strip : (StripResult, int) or None
        The last strip judged by eye, and how many days before the print it was.
    strip_at : (int, int) or None
        When it was judged (s UTC), and the act that wrote it down.
    white : WhiteSeen or None
        The measured patch that decides.
    opened : Opened or None
        How long it was open, and in how damp an air.
    promised_dmm : int
        What of it is put by, or was counted on, for other jobs.
    beside_prints, beside_rolls : int
        How many of the prints other rolls hold that may serve the remakes, and how many such
        rolls there are: for a series only those of the same emulsion, else any of the same paper.
    """

    unit: Unit
    lot: Lot
    material: Material
    place: Place
    usable: UsableBy | None
    ends: date | None = None
    strip: tuple[StripResult, int] | None = None
    strip_at: tuple[int, int] | None = None
    white: WhiteSeen | None = None
    opened: Opened | None = None
    promised_dmm: int = 0
    beside_prints: int = 0
    beside_rolls: int = 0

    @property
    def loaded(self) -> bool:
        """Whether it is in the printer already, its leader paid."""
        return self.place.place_kind == "magazine" and self.unit.is_open

    @property
    def last_day(self) -> date:
        """The last day it is likely good."""
        return self.usable.likely if self.usable is not None else self.ends or date.max

    @property
    def free_dmm(self) -> int:
        """What is left and not promised."""
        return max(0, self.unit.remaining_dmm - self.promised_dmm)


@dataclass(frozen=True, slots=True)
class Verdict:
    """The answer for one roll and one print, the weightiest reasons first.

    Attributes
    ----------
    unit, answer, reasons
        Which roll, what, and why.
    length : Length
        What is needed and how sure it is to be enough.
    """

    unit: str
    answer: Answer
    reasons: tuple[Reason, ...]
    length: "Length"

    @property
    def first(self) -> Reason:
        """The reason that decides."""
        return self.reasons[0]


@dataclass(frozen=True, slots=True)
class Length:
    """How a roll's length answers a print and its likely remakes.

    Attributes
    ----------
    needs_dmm : int
        The prints themselves, with their leader.
    prints : int
        How many prints this roll holds.
    remakes : int
        How many remakes this roll holds on top.
    assurance, together : float
        Chance that this roll is enough, and that it is with the rolls beside it.
    lacking_dmm : int
        What is lacking, all rolls together, to the asked assurance.
    """

    needs_dmm: int = 0
    prints: int = 0
    remakes: int = 0
    assurance: float = 0.0
    together: float = 0.0
    lacking_dmm: int = 0


_ORDER: tuple[Weight, ...] = ("bars", "asks", "warns", "backs", "notes")


def prints_on(free_dmm: int, width_dmm: int, material: Material, wish: Wish, loaded: bool) -> int:
    """Return how many of the wished prints a length of paper of a width holds.

    Parameters
    ----------
    free_dmm, width_dmm : int
        What is free of a roll, its tail and all, and its width.
    material : Material
        Its paper, which tells leader, tail and margins.
    wish : Wish
        The prints.
    loaded : bool
        Whether its leader is paid.
    """
    rules = roll_rules(material)
    layout = print_layout(wish.width_dmm, wish.height_dmm, width_dmm, rules, count=wish.count)
    if isinstance(layout, DoesNotFit):
        return 0
    return prints_that_fit(free_dmm, layout, rules, loaded)


def length_of(prints: int, width_dmm: int, material: Material, wish: Wish, loaded: bool) -> int:
    """Return the length (dmm) that so many of the wished prints take; 0 where they do not fit."""
    rules = roll_rules(material)
    layout = print_layout(wish.width_dmm, wish.height_dmm, width_dmm, rules, count=wish.count)
    if isinstance(layout, DoesNotFit) or prints <= 0:
        return 0
    return length_for(prints, layout, rules, 0 if loaded else 1)


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
    that its emulsion does not hold with the asked assurance is a no. A measured white at its act
    limit says no, whatever the label says; what it only asks, a later clean strip answers.

    Parameters
    ----------
    print_yield, mount_yield : optional
        What is known of losses; the priors if left out.
    """
    reasons = paper_reasons(roll, wish)
    reason, length = _length_reason(
        roll, wish, print_yield or PrintYield(), mount_yield or MountYield()
    )
    barred = any(item.weight == "bars" for item in [*reasons, reason])
    reasons += [reason, *_care_reasons(roll, wish, today, printable=not barred)]
    reasons.sort(key=lambda reason: _ORDER.index(reason.weight))
    weights = {reason.weight for reason in reasons}
    answer: Answer = "no" if "bars" in weights else "strip" if "asks" in weights else "yes"
    return Verdict(roll.unit.code, answer, tuple(reasons), length)


def paper_reasons(roll: Candidate, wish: Wish) -> list[Reason]:
    """Return what speaks for and against a roll on a day, the weightiest first, length left out.

    Parameters
    ----------
    wish : Wish
        Its paper and day count here.
    """
    reasons = _state_reasons(roll, wish) + _fresh_reasons(roll, wish)
    usable = roll.usable
    if usable is not None:
        off = usable.likely < wish.day
        reasons += white_reasons(roll.white, settled=_clean_since(roll), off=off)
        reasons += life_reasons(usable.white, usable.label.days, own=roll.white is not None)
    # a strip is asked for where none has settled it, and where one can be run at all
    no_strip = not roll.material.traits.white_judged or any(
        reason.kind == "clean strip" for reason in reasons
    )
    reasons += [
        item
        for item in opened_reasons(roll.opened, wish.day)
        if not (no_strip and item.weight == "asks")
    ]
    return sorted(reasons, key=lambda reason: _ORDER.index(reason.weight))


def _state_reasons(roll: Candidate, wish: Wish) -> list[Reason]:
    reasons = []
    if roll.unit.state != "in stock":
        reasons.append(Reason("not in stock", "bars", {"state": roll.unit.state}))
    if wish.material and roll.material.code != wish.material:
        reasons.append(Reason("another paper", "bars", {"name": roll.material.name}))
    if roll.unit.held and roll.unit.held != YELLOW_STRIP:
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
    if usable is None:
        return [_dated_reason(roll.ends, wish.day)]
    figures = {
        "likely": usable.likely,
        "earliest": usable.earliest,
        "latest": usable.latest,
        "day": wish.day,
        "printed": usable.label.printed,
        "runs_out": usable.runs_out,
        "estimated": usable.label.estimated,
        "came_with_days": usable.life_days,
        "cause": usable.spreads[0].cause if usable.spreads else "",
    }
    result, age_days = roll.strip or ("", 0)
    counts = bool(result) and 0 <= age_days <= STRIP_HOLDS.value
    if roll.unit.held == YELLOW_STRIP or result == "yellow":
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
    elif usable.unproven_on(wish.day):
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


def _dated_reason(ends: date | None, day: date) -> Reason:
    if ends is None:
        return Reason("undated", "backs", {})
    if day > ends:
        return Reason("past its date", "bars", {"ends": ends})
    return Reason("in date", "backs", {"ends": ends})


def _clean_since(roll: Candidate) -> bool:
    """Whether a clean strip that still counts was judged after that patch was measured."""
    if roll.strip is None or roll.strip_at is None or roll.white is None:
        return False
    result, age_days = roll.strip
    counts = result == "clean" and 0 <= age_days <= STRIP_HOLDS.value
    return counts and roll.strip_at > roll.white.at


def _length_reason(
    roll: Candidate, wish: Wish, print_yield: PrintYield, mount_yield: MountYield
) -> tuple[Reason, Length]:
    """The one reason of size and length, and the figures behind it."""
    rules = roll_rules(roll.material)
    layout = print_layout(
        wish.width_dmm, wish.height_dmm, roll.unit.width_dmm, rules, count=wish.count
    )
    if isinstance(layout, DoesNotFit):
        why = {
            "why": layout.kind,
            "over_dmm": layout.over_dmm,
            "printable_dmm": layout.printable_dmm,
        }
        return Reason("does not fit", "bars", why), Length()
    area_m2 = wish.width_dmm * wish.height_dmm / 1e8
    tries = prints_needed(wish.count, area_m2, print_yield, mount_yield)
    here = prints_that_fit(roll.free_dmm, layout, rules, roll.loaded)
    beside = roll.beside_prints
    lacking = max(0, tries.quantile(ASSURANCE.value) - here - beside)
    length = Length(
        needs_dmm=length_for(wish.count, layout, rules, 0 if roll.loaded else 1),
        prints=here,
        remakes=max(0, here - wish.count),
        assurance=tries.cdf(here),
        together=tries.cdf(here + beside),
        lacking_dmm=length_for(lacking, layout, rules, 1) if lacking else 0,
    )
    figures = {
        "left_dmm": roll.unit.remaining_dmm,
        "promised_dmm": roll.promised_dmm,
        "needs_dmm": length.needs_dmm,
        "tail_dmm": rules.tail_dmm,
        "prints": here,
        "count": wish.count,
        "remakes": length.remakes,
        "assurance": length.assurance,
        "together": length.together,
        "asked": ASSURANCE.value,
        "siblings": roll.beside_rolls,
        "of": "emulsion" if wish.series else "paper",
    }
    kind, weight = _length_kind(here, beside, wish, length)
    return Reason(kind, weight, figures), length


def length_lacking_dmm(
    wish: Wish,
    material: Material,
    print_yield: PrintYield | None = None,
    mount_yield: MountYield | None = None,
) -> int:
    """Return the length of new paper that a print and its likely remakes take, dmm.

    0 where the print does not go on the material's rolls at all.
    """
    rules = roll_rules(material)
    layout = print_layout(
        wish.width_dmm, wish.height_dmm, material.width_dmm or 1, rules, count=wish.count
    )
    if isinstance(layout, DoesNotFit):
        return 0
    area_m2 = wish.width_dmm * wish.height_dmm / 1e8
    tries = prints_needed(
        wish.count, area_m2, print_yield or PrintYield(), mount_yield or MountYield()
    )
    return length_for(tries.quantile(ASSURANCE.value), layout, rules, 1)


def _length_kind(here: int, beside: int, wish: Wish, length: Length) -> tuple[str, Weight]:
    if here == 0 or here + beside < wish.count:
        return "too short", "bars"
    if wish.series and wish.count > 1 and length.together < ASSURANCE.value:
        return "series short", "bars"
    if here < wish.count:
        return "needs a second roll", "warns"
    if length.assurance < ASSURANCE.value:
        return "few remakes", "warns"
    return "long enough", "backs"


def _care_reasons(roll: Candidate, wish: Wish, today: date, *, printable: bool) -> list[Reason]:
    """What to do, or to know, before it is printed."""
    reasons = []
    if printable and is_cold(roll.place):
        out = wish.day - timedelta(days=round(OUT_BEFORE.value))
        reasons.append(
            Reason("take out", "notes", {"by": max(out, today), "place": roll.place.name})
        )
    if roll.unit.arrived_warm:
        reasons.append(Reason("arrived warm", "notes", {}))
    usable = roll.usable
    if usable is not None and usable.filled_life >= 1.0:
        share = usable.filled_life / max(usable.used_days, 1e-9)
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

    Yes before strip before no; then those that hold the asked assurance, or come nearest to it;
    then the one that runs out first, so that paper is used before it goes off; then the shorter.
    """
    return sorted(
        verdicts,
        key=lambda pair: (
            _RANK[pair[1].answer],
            max(0.0, ASSURANCE.value - pair[1].length.assurance),
            pair[0].last_day,
            pair[0].unit.remaining_dmm,
            pair[0].unit.code,
        ),
    )
