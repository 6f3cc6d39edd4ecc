"""Pull-outs and warm-up times in words: when, how long shut, and what to mind."""

from datetime import date
from typing import TYPE_CHECKING

from stockroom import clock
from stockroom.core.constants import WORK_BEGINS
from stockroom.units import distance_text

if TYPE_CHECKING:
    from stockroom.desk.climate.pull_out import Outing, OutNow
    from stockroom.desk.climate.warming import Warming


def day_and_time(instant_s: int, zone: str) -> str:
    """Return an instant without its year.

    >>> day_and_time(1_772_524_800, "Europe/Berlin")
    'Tue 3 Mar 09:00'
    """
    *day, _, hour = clock.moment_text(instant_s, zone).split()
    return " ".join((*day, hour))


def at_text(instant_s: int, zone: str, today: date) -> str:
    """Return an instant and how far off its day is.

    >>> at_text(1_772_524_800, "Europe/Berlin", date(2026, 3, 1))
    'Tue 3 Mar 09:00, in 2 days'
    """
    distance = distance_text(clock.local_date(instant_s, zone), today)
    return f"{day_and_time(instant_s, zone)}, {distance}"


def time_text(instant_s: int, beside_s: int, zone: str) -> str:
    """Return an instant; its time alone where it is on the same day as another one.

    >>> time_text(7_200, 0, "UTC"), time_text(90_000, 0, "UTC")
    ('02:00', 'Fri 2 Jan 01:00')
    """
    same = clock.local_date(instant_s, zone) == clock.local_date(beside_s, zone)
    return (
        day_and_time(instant_s, zone).rpartition(" ")[2] if same else day_and_time(instant_s, zone)
    )


def out_text(item: "Outing", zone: str, today: date) -> str:
    """Return when a roll comes out: a day and time, or now."""
    return "now" if item.at_once else at_text(item.out_s, zone, today)


def ready_text(item: "Outing", zone: str) -> str:
    """Return when a roll may be opened and when it is ready; "" where nothing tells."""
    if item.ready_s is None:
        return ""
    if item.safe_s is None:
        return f"ready {time_text(item.ready_s, item.out_s, zone)}, but not to be opened there"
    safe = time_text(item.safe_s, item.out_s, zone)
    before_s = item.safe_s if " " in safe else item.out_s
    return f"safe to open {safe}, ready {time_text(item.ready_s, before_s, zone)}"


def cautions(item: "Outing", zone: str) -> list[str]:
    """Return what else is to be said of taking a roll out, most pressing first."""
    said = []
    warming = item.warming
    if warming is not None and item.too_damp:
        said.append(damp_text(warming))
    morning_s = clock.local_hour_s(item.job.print_on, WORK_BEGINS.value, zone)
    if item.ready_s is not None and item.ready_s > morning_s:
        said.append(f"Not ready by {day_and_time(morning_s, zone)}, when its print begins.")
    if item.unit.is_open:
        said.append("It stands open: bag it shut before it leaves the cold.")
    if item.beside and item.stacked_ready_s is not None:
        until = time_text(item.stacked_ready_s, item.out_s, zone)
        said.append(
            f"{item.beside + 1} rolls come out that day: stand them apart, or count until {until}."
        )
    return said


def damp_text(warming: "Warming") -> str:
    """Return that no wait makes opening safe in a room, and what does."""
    room, dew = warming.room, warming.wait.dew
    return (
        f"{room.name} is too damp: its {dew.kind} of {dew.temp_c:.1f} °C is too near its "
        f"{room.temp_c:.1f} °C, and no wait makes opening safe there. Dry or warm the room first."
    )


def opened_cold_text(warming: "Warming", safe_s: int | None, now_s: int, zone: str) -> str:
    """Return what to do with a roll that was opened before that was safe.

    Parameters
    ----------
    safe_s : int or None
        When it may be opened, s UTC; None where no wait makes it safe.
    now_s : int
        The present, s UTC.
    zone : str
        The workshop's zone.
    """
    if safe_s is None:
        return f"Still cold. {damp_text(warming)} Water can settle on it. Shut it again."
    when = time_text(safe_s, now_s, zone)
    if now_s >= safe_s:
        return (
            f"It was still cold: safe to open from {when}. Look at its outer wraps for damp, and "
            "run a strip."
        )
    return (
        f"Still cold: safe to open from {when}. Water can settle on it. Shut it again and let it "
        "warm."
    )


def out_now_text(item: "OutNow", now_s: int, zone: str) -> str:
    """Return until when a roll that is out to warm stays shut, and when it is ready."""
    ready = time_text(item.ready_s, now_s, zone)
    if item.safe_s is None:
        return f"not to be opened there, warm {ready}"
    if now_s >= item.safe_s:
        return f"may be opened, ready {ready}"
    safe = time_text(item.safe_s, now_s, zone)
    if item.unit.is_open:
        return f"it stands open: shut it again until {safe}, ready {ready}"
    return f"shut until {safe}, ready {ready}"
