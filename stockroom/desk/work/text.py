"""Sentences about work, for screen and console alike: needs, cost, losses, where pieces stand."""

from collections.abc import Iterator
from datetime import date

from stockroom.core.constants import ASSURANCE
from stockroom.core.making.sizes import TooLarge
from stockroom.desk.work.board import BoardLine
from stockroom.desk.work.cost import JobCost, StockValue
from stockroom.desk.work.needs import MaterialNeed, PartNeed
from stockroom.desk.work.spoilage import LostLine
from stockroom.units import day_text, m_text, money_text

_PERCENT = round(ASSURANCE.value * 100)


def percent_text(share: float) -> str:
    """Return a chance in percent; what is not quite certain is never told as certain.

    >>> percent_text(0.784), percent_text(0.9999), percent_text(1.0)
    ('78 %', 'over 99 %', '100 %')
    """
    return "over 99 %" if 0.995 <= share < 1 - 1e-9 else f"{round(share * 100)} %"


def stage_text(stage: str) -> str:
    """Return where a piece stands, as words to follow a number.

    >>> stage_text("mount"), stage_text("finished")
    ('to mount', 'finished')
    """
    words = {
        "print": "to print",
        "look": "to look at",
        "sign": "to sign",
        "look again": "to look at again",
        "mount": "to mount",
        "back": "to back",
        "frame": "to frame",
    }
    return words.get(stage, stage)


def far_text(line: BoardLine) -> str:
    """Return how far the pieces of a job are."""
    return ", ".join(f"{number} {stage_text(stage)}" for stage, number in line.at)


def amount_text(measure: str, amount: float) -> str:
    """Return an amount of a material in its measure.

    >>> amount_text("length", 82_000), amount_text("sheets", 1_250), amount_text("pieces", 2)
    ('8.2 m', '1.25 sheets', '2')
    """
    if measure == "length":
        return m_text(round(amount))
    if measure == "sheets":
        number = f"{amount / 1_000:.2f}".rstrip("0").rstrip(".")
        return f"{number} sheet" if number == "1" else f"{number} sheets"
    return f"{amount:.1f}".removesuffix(".0")


def times_text(need: PartNeed) -> str:
    """Return how often a part is still taken."""
    likely, enough = _often(need.times_likely), _often(need.times_enough)
    return f"{likely} likely, {enough} enough" if likely != enough else likely


def _often(times: int) -> str:
    return {1: "once", 2: "twice"}.get(times, f"{times} times")


def part_need_text(need: PartNeed) -> str:
    """Return what a job still needs for one part."""
    often = f"{times_text(need)} at {_PERCENT} %"
    if isinstance(need.takes, TooLarge):
        return f"{need.part}: {need.takes.why} {need.takes.try_}"
    if need.material is None:
        what = "from outside" if need.part == "paper" else "material not chosen"
        return f"{need.part}: {often}; {what}"
    if need.takes is None:
        return f"{need.part}: {often}"
    likely = amount_text(need.takes.measure, need.amount(need.times_likely))
    enough = amount_text(need.takes.measure, need.amount(need.times_enough))
    put = f"; put by {amount_text(need.takes.measure, need.put_by)}" if need.put_by else ""
    return f"{need.part}, {need.material.name}: {likely} likely, {enough} enough ({often}){put}"


def material_need_lines(need: MaterialNeed, today: date) -> Iterator[str]:
    """Yield what sure work needs of a material, a sentence first."""

    def told(amount: float) -> str:
        return amount_text(need.measure, amount)

    number = len({part.job.code for part in need.parts})
    jobs = "1 job takes" if number == 1 else f"{number} jobs take"
    there = f"{told(need.usable)} usable" + (f", {told(need.coming)} coming" if need.coming else "")
    text = (
        f"{need.material.name}: {jobs} {told(need.likely)} "
        f"likely, {told(need.safe)} at {_PERCENT} %; {there}"
    )
    if need.short_on is None:
        yield f"{text}: enough ({percent_text(need.assurance)})."
    else:
        by = f" by {day_text(need.order_by, today)}" if need.order_by else ", lead time not known"
        yield f"{text}: short from {day_text(need.short_on, today)}. Order {need.quantity}{by}."
    for part in need.parts:
        yield (
            f"    {part.job.name}, {part.part}: {told(part.amount(part.times_likely))} likely, "
            f"{told(part.amount(part.times_enough))} enough; print on "
            f"{day_text(part.job.print_on, today)}"
        )


def cost_lines(cost: JobCost, currency: str) -> Iterator[str]:
    """Yield what a job costs in materials."""

    def money(cents: float) -> str:
        return money_text(round(cents), currency)

    yield (
        f"A piece takes {money(cost.piece_once_cents)} of materials where nothing is lost, "
        f"{money(cost.piece_expected_cents)} with its expected remakes."
    )
    yield (
        f"So far {money(cost.spent_cents)}, of that {money(cost.lost_cents)} lost; the rest "
        f"likely takes {money(cost.still_cents)}."
    )
    if cost.taken_free:
        yield (
            f"Some of it came without a price, and counts as nothing so far: "
            f"{', '.join(cost.taken_free)}."
        )
    if cost.unpriced:
        yield f"No price is known for: {', '.join(cost.unpriced)}; no sum holds it."


def lost_line(line: LostLine, currency: str) -> str:
    """Return what one cause took of one material, in one line."""
    at = f"{line.stage}, {line.cause}" if line.stage else line.cause
    amount = f"{line.area_m2:.2f} m²" if line.area_m2 else m_text(line.qty)
    if line.material.shape.wound and line.length_dmm:
        amount = f"{m_text(line.length_dmm)}, {amount}"
    if line.material.shape.counted:
        amount = str(line.qty)
    times = f" ({line.times} times)" if line.times > 1 else ""
    return f"{money_text(line.cents, currency):>12}  {at}: {line.material.name}, {amount}{times}"


def value_lines(value: StockValue, currency: str) -> Iterator[str]:
    """Yield what stock is worth and when it goes off."""
    yield f"Our stock cost {money_text(value.cents, currency)}."
    if value.made_cents:
        yield f"{money_text(value.made_cents, currency)} more stands in pieces in the making."
    if value.past_cents:
        yield f"{money_text(value.past_cents, currency)} is past its day."
    for month, cents in value.by_month:
        yield f"  going off in {month:%b %Y}: {money_text(cents, currency)}"
    if value.undated_cents:
        yield f"  without a last day: {money_text(value.undated_cents, currency)}"
