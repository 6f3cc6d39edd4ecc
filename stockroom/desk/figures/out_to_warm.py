"""What came out of the cold: rolls that stand open and cold, were opened too soon, or are warm."""

from collections.abc import Iterator
from datetime import date

from stockroom.core.constants import DEW_MARGIN
from stockroom.core.figures import Figure, Input, Notice, of_constant
from stockroom.core.records import Unit
from stockroom.desk.climate.pull_out import lately_moved, open_too_soon, rounded_up_s
from stockroom.desk.climate.warming import LOOK_BACK_S, Warming, warming_of
from stockroom.desk.climate.warming_text import damp_text, day_and_time, time_text
from stockroom.desk.reckoning import Reckoning
from stockroom.units import SECONDS_PER_DAY

GROUP = "Warm-up"


def figures(reckoning: Reckoning, unit: Unit, today: date) -> Iterator[Figure]:
    """Yield that a unit stands open before that is safe."""
    if not reckoning.material_of(unit).traits.warming_known:
        return
    warming = _stands_open(reckoning, unit)
    if warming is None or warming.left_s is None:
        return
    inputs = [
        Input("Its bag", "open", "as booked"),
        Input(
            f"Left {warming.cold.name}",
            day_and_time(warming.left_s, reckoning.zone),
            "as booked",
        ),
        of_constant("Margin", DEW_MARGIN),
    ]
    until = "move it into a drier room first"
    if warming.safe_s is not None:
        until = f"let it warm until {day_and_time(rounded_up_s(warming.safe_s), reckoning.zone)}"
        inputs.insert(2, Input("Safe to open", until.removeprefix("let it warm until "), "above"))
    yield Figure(
        GROUP,
        "Opened too soon",
        f"it stands open and is still too cold: water can settle on it. Shut it again, and {until}",
        "Open while some part of it is not yet so far above the dew point of the room's air that "
        "nothing can settle on it.",
        tuple(inputs),
        "bad",
    )


def notices(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    """Yield what stands open and cold, what was opened too soon, what is ready since today.

    What only warms up, shut in its bag, has its own place in the morning.
    """
    since_s = reckoning.now_s - LOOK_BACK_S
    moved = {unit.code for unit in lately_moved(reckoning)}
    for unit in reckoning.units.values():
        opened = [at_s for at_s in _opened(unit) if since_s <= at_s <= reckoning.now_s]
        if not (opened or unit.code in moved):
            continue
        if not reckoning.material_of(unit).traits.warming_known:
            continue
        notice = _open_and_cold(reckoning, unit) if unit.code in moved else None
        for opened_s in opened:
            notice = notice or _opened_early(reckoning, unit, opened_s)
        if notice is None and unit.code in moved:
            notice = _out(reckoning, unit)
        if notice is not None:
            yield notice


def _opened(unit: Unit) -> list[int]:
    """When it was opened, the last time first."""
    return [at_s for at_s in (unit.reopened_s, unit.opened_s) if at_s is not None]


def _stands_open(reckoning: Reckoning, unit: Unit) -> Warming | None:
    """How a unit warms that stands open now and is not safe to be open."""
    if unit.condition != "open":
        return None
    return open_too_soon(reckoning, unit, reckoning.now_s)


def _open_and_cold(reckoning: Reckoning, unit: Unit) -> Notice | None:
    warming = _stands_open(reckoning, unit)
    if warming is None:
        return None
    until = damp_text(warming)
    if warming.safe_s is not None and warming.ready_s is not None:
        safe, ready = (
            day_and_time(rounded_up_s(at_s), reckoning.zone)
            for at_s in (warming.safe_s, warming.ready_s)
        )
        until = f"Safe to open from {safe} on, ready to print from {ready} on."
    what = f"{_named(reckoning, unit)} stands open and is still too cold: shut it again"
    return Notice(unit.code, what, f"Water can settle on it. {until}", "bad")


def _out(reckoning: Reckoning, unit: Unit) -> Notice | None:
    """What is to be said of a unit that came out lately, shut."""
    warming = warming_of(reckoning, unit)
    if warming is None or warming.left_s is None or warming.ready_s is None:
        return None
    if warming.over(reckoning.now_s - SECONDS_PER_DAY) or not warming.wait.ready_s:
        return None
    if warming.safe_s is None:
        what = f"{_named(reckoning, unit)} warms up where it must not be opened"
        return Notice(unit.code, what, damp_text(warming), "bad", "move")
    if unit.is_open or not warming.over(reckoning.now_s):
        return None
    since = f"Out of {warming.cold.name} since {day_and_time(warming.left_s, reckoning.zone)}."
    what = f"{_named(reckoning, unit)} is warm: ready to print"
    return Notice(unit.code, what, since, "good")


def _opened_early(reckoning: Reckoning, unit: Unit, opened_s: int) -> Notice | None:
    warming = open_too_soon(reckoning, unit, opened_s)
    if warming is None or warming.left_s is None:
        return None
    zone = reckoning.zone
    left = f"It left {warming.cold.name} {day_and_time(warming.left_s, zone)} and was opened "
    left += time_text(opened_s, warming.left_s, zone)
    if warming.safe_s is None:
        why = f"{left}. {damp_text(warming)}"
    else:
        until = time_text(rounded_up_s(warming.safe_s), warming.left_s, zone)
        why = f"{left}; by this reckoning it was safe to open from {until} on."
    return Notice(
        unit.code,
        f"{_named(reckoning, unit)} was opened before it was safe",
        f"{why} Look at its outer wraps for damp, and run a strip.",
        "bad",
    )


def _named(reckoning: Reckoning, unit: Unit) -> str:
    word = "Roll" if unit.shape.wound else "Pack"
    return f"{word} {unit.code}, {reckoning.material_of(unit).name},"
