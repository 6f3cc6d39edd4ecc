"""Figures of paper white: the last patch, the process beside it, and the life it tells."""

from collections.abc import Iterator
from datetime import date

from stockroom import clock
from stockroom.core.act_wording import patch_text
from stockroom.core.care import WHITE_LIMITS, care_input
from stockroom.core.colour import delta_e_2000
from stockroom.core.constants import (
    WHITE_EXPONENT,
    WHITE_LIFE_SD_EMULSION,
    WHITE_LIFE_SD_MATERIAL,
    WHITE_LIFE_SD_ROLL,
    WHITE_REACH,
    WHITE_SPOT_SD_B,
    WHITE_TELLS,
)
from stockroom.core.figures import Figure, Input, Notice, Tone, of_constant
from stockroom.core.freshness.drift import Drift, WhiteReading
from stockroom.core.freshness.standing import Standing
from stockroom.core.patches import lab_of
from stockroom.core.records import Patch, Unit
from stockroom.desk.condition.white_lives import White
from stockroom.desk.reckoning import Reckoning
from stockroom.text import capital
from stockroom.units import SECONDS_PER_DAY, days_text

GROUP = "Paper white"
PROCESS_DAYS = 14
"""A control that moved is told of for so many days (our choice)."""
_WHY_NOT = {
    "no control": "no control was measured with it, so nobody can tell paper from chemistry",
    "control unknown": "nothing ties its control to that of the emulsion's first patch",
}


def figures(reckoning: Reckoning, unit: Unit, today: date) -> Iterator[Figure]:
    """Yield what was measured of a roll's white."""
    if not (unit.shape.wound and reckoning.material_of(unit).traits.white_judged):
        return
    found = reckoning.whites.of(unit)
    if found is None:
        return
    if found.standing is not None:
        yield _last(reckoning, unit, found, found.standing)
        process = _process(reckoning, found)
        if process is not None:
            yield process
    yield _life(reckoning, found)


def notices(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    """Yield rolls whose white is off, odd or better than the label, and a process that moved."""
    moved: dict[tuple[str, str], Drift] = {}
    for unit in reckoning.whites.measured():
        found = reckoning.whites.of(unit)
        if found is None or unit.state != "in stock" or not found.life.drifts:
            continue
        notice = _notice(reckoning, unit, found, today)
        if notice is not None:
            yield notice
        last = found.life.drifts[-1]
        aged_days = (reckoning.now_s - last.reading.at_s) / SECONDS_PER_DAY
        if aged_days <= PROCESS_DAYS and _process_moved(found, last):
            moved.setdefault((last.reading.control, last.reading.series.quantity), last)
    for (control, _), drift in moved.items():
        yield Notice(
            drift.reading.unit,
            f"The process: control {control} moved by {_amount(drift, drift.process)}",
            f"Patch {drift.reading.unit} moved with it; of {_amount(drift, drift.raw)} only "
            f"{_amount(drift, drift.own)} is the paper's. Look at the chemistry, not the roll.",
            "ask",
        )


def _process_moved(found: White, drift: Drift) -> bool:
    """Whether the control moved by so much that it is worth watching."""
    watch, _ = found.limits[drift.reading.series.quantity]
    return drift.telling == "counts" and abs(drift.process) >= watch


def _notice(reckoning: Reckoning, unit: Unit, found: White, today: date) -> Notice | None:
    name = f"Roll {unit.code}"
    stands = found.standing
    if stands is None:
        return None
    last = stands.lead
    if stands.judgement == "act":
        _, act = found.limits[last.reading.series.quantity]
        return Notice(
            unit.code,
            f"{name}: its white is off, {_amount(last, last.own)}",
            f"The limit to act is {_amount(last, act, sign=False)}. Hold it, or measure once more.",
            "bad",
            "hold",
        )
    if stands.judgement == "ask":
        odd = last.reading.key in found.life.odd
        why = "it goes with none before it" if odd else _why_not(last)
        what = f"{name}: its last patch asks for a strip"
        return Notice(unit.code, what, f"{capital(why)}.", "ask", "strip")
    off = not reckoning.good_on(unit, today)
    if off and found.life.tells and found.life.median_days > found.label_days:
        return Notice(
            unit.code,
            f"{name}: past its day by the label, but its white is fine",
            f"It tells {days_text(found.life.median_days)} of life where the label gives "
            f"{days_text(found.label_days)}. Give your word, or let it go.",
            "ask",
            "trust",
        )
    return None


def _last(reckoning: Reckoning, unit: Unit, found: White, stands: Standing) -> Figure:
    last = stands.lead
    later = found.life.drifts[-1]
    when = clock.moment_text(last.reading.at_s, reckoning.zone)
    tones: dict[str, Tone] = {"fine": "good", "watch": "ask", "ask": "ask", "act": "bad"}
    return Figure(
        GROUP,
        "Last patch",
        f"{_drift_text(last, found)}; measured {when}{_measured_since(reckoning, last, later)}",
        "Patch less the emulsion's first patch, less what the control of the same run moved by "
        "from then to now. Only readings of one instrument, measuring condition and backing are "
        "compared (ISO 13655). The patch that asks for most is shown: one that reached the limit "
        "to act stands until a later one of its own kind is below it.",
        (
            *_measured(reckoning, unit, last),
            *(
                care_input(reckoning.material_of(unit), field)
                for field in WHITE_LIMITS[last.reading.series.quantity]
            ),
            Input(
                "Against the others",
                f"{found.life.residuals.get(last.reading.key, 0.0):+.1f} sd",
                "how far it lies off what the other patches lead to expect",
            ),
            of_constant("One spot scatters by", WHITE_SPOT_SD_B),
        ),
        tones[stands.judgement],
        "examine",
    )


def _measured_since(reckoning: Reckoning, last: Drift, later: Drift) -> str:
    """That another patch came later and does not take back what this one says."""
    if later.reading.at == last.reading.at:
        return ""
    when = clock.moment_text(later.reading.at_s, reckoning.zone)
    why = ""
    if later.telling == "baseline":
        why = ": it has no patch of its own kind before it"
    elif not later.counts:
        why = f": {_why_not(later)}"
    return f"; the one of {when} does not take that back{why}"


def _why_not(drift: Drift) -> str:
    """Why a patch tells nothing of the paper for sure."""
    if drift.at_least:
        return "its control is a roll, which may have yellowed with it"
    return _WHY_NOT.get(drift.telling, "it is doubtful")


def _drift_text(last: Drift, found: White) -> str:
    watch, act = found.limits[last.reading.series.quantity]
    if last.telling == "baseline":
        return f"the emulsion's first, {_amount(last, last.reading.value, sign=False)}"
    if last.telling != "counts":
        return f"{_amount(last, last.raw)} since the first, but {_WHY_NOT[last.telling]}"
    odd = ", but it goes with none before it" if last.reading.key in found.life.odd else ""
    return (
        f"{_amount(last, last.own)} of its own since the emulsion's first patch{odd} "
        f"(limits {_amount(last, watch, sign=False)}, {_amount(last, act, sign=False)})"
    )


def _measured(reckoning: Reckoning, unit: Unit, last: Drift) -> Iterator[Input]:
    patches = {patch.code: patch for patch in reckoning.records.all(Patch)}
    mine, first = (patches.get(_code(item)) for item in (last.reading, last.base))
    for name, patch in (("This patch", mine), ("The emulsion's first patch", first)):
        if patch is not None:
            taken = clock.moment_text(patch.at_s, reckoning.zone)
            yield Input(name, patch_text(patch), f"roll {patch.unit}, {patch.instrument}, {taken}")
    yield Input("Moved in all", _amount(last, last.raw), "this patch less the first")
    if last.telling == "counts":
        yield Input("Of that the process", _amount(last, last.process), "what the control moved by")
    colours = [None if patch is None else lab_of(patch) for patch in (first, mine)]
    if colours[0] is not None and colours[1] is not None:
        yield Input(
            "Colour difference",
            f"{delta_e_2000(colours[0], colours[1]):.2f}",
            "CIEDE2000 to the emulsion's first patch (ISO/CIE 11664-6), the process still in it",
        )


def _process(reckoning: Reckoning, found: White) -> Figure | None:
    told = [drift for drift in found.life.drifts if drift.telling == "counts"]
    if not told:
        return None
    last = told[-1]
    moved = _process_moved(found, last)
    return Figure(
        GROUP,
        "Process",
        f"control {last.reading.control}: {_amount(last, last.process)} since the emulsion's first "
        f"patch{'; that is the chemistry, not the paper' if moved else ''}",
        "What the control moved by between two runs: it is processed with the patch but is not "
        "this paper, so both share only the process.",
        tuple(
            Input(
                clock.moment_text(drift.reading.at_s, reckoning.zone),
                f"control {_amount(drift, drift.process)}, paper's own {_amount(drift, drift.own)}",
                f"control {drift.reading.control}",
            )
            for drift in told[-8:]
        ),
        "ask" if moved else "",
    )


def _life(reckoning: Reckoning, found: White) -> Figure:
    life = found.life
    interval = (
        f"{days_text(life.median_days)} of life ({days_text(life.low_days)} to "
        f"{days_text(life.high_days)}); the label gives {days_text(found.label_days)}"
    )
    over_days = None if found.standing is None else found.standing.over_days
    if over_days is not None:
        stands = f"over at {days_text(over_days)} of age: a patch reached the limit to act"
    elif found.counted is None and not life.tells:
        stands = "too little measured yet: the label stands"
    elif found.counted is None:
        stands = "the label stands: the white lengthens only by your word"
    elif found.counted.word:
        stands = "by your word it counts beyond the label"
    else:
        stands = "it shortens the life at once"
    others = "one other roll" if life.pooled_from == 1 else f"{life.pooled_from} other rolls"
    pooled = f"{others} of this paper" if life.pooled_from else "none"
    word = "none given"
    if found.word is not None:
        word = f"up to {days_text(found.word.most_days)}: {found.word.why}"
    return Figure(
        GROUP,
        "Life by white",
        f"{interval}; {stands}",
        "b(a) = b0 + D (a / L)^p over the effective age a, with D the act limit and b0 the white "
        "of new paper, so that what went before the first patch is in it; 90 % interval of L from "
        "a grid over ln L and p, readings scattered by Student's t, odd ones left out.",
        (
            Input("Narrower than before", f"{life.narrowed:.0%}", "than the label alone leaves it"),
            of_constant("Tells from", WHITE_TELLS),
            Input("Left out as odd", str(len(life.odd)), "of the patches of this roll"),
            Input("Leans on", pooled, "same emulsion more, same paper less"),
            Input("Your word", word, "an act on the trail"),
            of_constant("A word carries to", WHITE_REACH),
            of_constant("Exponent p", WHITE_EXPONENT),
            of_constant("Papers differ by", WHITE_LIFE_SD_MATERIAL),
            of_constant("Emulsions differ by", WHITE_LIFE_SD_EMULSION),
            of_constant("Rolls differ by", WHITE_LIFE_SD_ROLL),
            Input(
                "Gone when it came",
                days_text(found.before_days),
                "of the label's whole life; 0 where the label tells none",
            ),
        ),
        "bad" if over_days is not None else "",
        "trust" if life.tells and life.median_days > found.label_days else "",
    )


def _code(reading: WhiteReading) -> str:
    return reading.key.split(" ")[0]


def _amount(drift: Drift, value: float, *, sign: bool = True) -> str:
    """A drift with its quantity and sign, or a limit without."""
    quantity = drift.reading.series.quantity
    places = 2 if quantity == "b*" else 3
    return f"{quantity} {value:{'+' if sign else ''}.{places}f}"
