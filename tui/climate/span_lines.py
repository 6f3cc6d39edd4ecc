"""One place over a week, a month or a year, and its kinetic means, as lines of text."""

from bisect import bisect_left, bisect_right
from datetime import date, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from stockroom.clock import local_date, moment_text, start_of_day_s
from stockroom.core.climate.readings import gap_s
from stockroom.core.constants import ACTIVATION_ENERGY, MKT_ENERGY, WORST_LOGGED
from stockroom.core.wording import percent
from stockroom.desk.climate.readings import coarse_text
from stockroom.units import count_of, distance_text
from tui.climate.picture import SCALE, Trace, blocks, climate_picture, thin
from tui.shared.picture import axis
from tui.words import BLANK, Line, Row, columns, head, note, say, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stockroom.core.climate.windows import Window
    from stockroom.desk.climate.views import PlaceMeans, PlacePicture, Stretch

PICTURE_ROWS, TALL_ROWS = 8, 14
"""Rows of a picture in a small and in a large window."""
TALL_FROM = 100
"""From this width on a picture is tall, cells."""
HINT = "   ← earlier, later →"


def day_text(day: date, *, year: bool) -> str:
    """Return a day with its weekday.

    >>> day_text(date(2026, 3, 3), year=True), day_text(date(2026, 2, 2), year=False)
    ('Tue 3 Mar 2026', 'Mon 2 Feb')
    """
    return f"{day:%a} {day.day} {day:%b}" + (f" {day.year}" if year else "")


def every_text(step_seconds: float) -> str:
    """Return how often a log is written.

    >>> every_text(900), every_text(45), every_text(5400)
    ('every 15 min', 'every 45 s', 'every 90 min')
    """
    if step_seconds < 60:
        return f"every {step_seconds:.0f} s"
    return f"every {round(step_seconds / 60, 1):g} min"


def span_title(found: "PlacePicture", width: int) -> str:
    """Return which days are drawn, in words."""
    stretch = found.stretch
    first = local_date(stretch.from_s, found.zone)
    last = local_date(stretch.to_s - 1, found.zone)
    begins = day_text(first, year=first.year != last.year)
    title = f"{stretch.span.capitalize()} from {begins} to {day_text(last, year=True)}"
    title += f", {distance_text(last, found.today)}"
    return title + HINT if len(title + HINT) <= width else title


def span_facts(found: "PlacePicture", width: int) -> list[Line]:
    """Return how well the span is logged: share, step, gaps and short rises."""
    stretch = found.stretch
    if not len(stretch.readings):
        return []
    texts = [f"logged {percent(stretch.logged_share)} of it"]
    if stretch.step_s:
        texts[0] += f", {every_text(stretch.step_s)}"
    texts.append(count_of(len(stretch.gaps), "gap") if stretch.gaps else "no gap")
    ended_s, due_s = int(found.log.t_s[-1]), min(found.now_s, stretch.to_s)
    if stretch.from_s < ended_s and due_s - ended_s > gap_s(found.step_s):
        last = local_date(ended_s, found.zone)
        texts[-1] += f", nothing since {last:%a} {last.day} {last:%b}"
    if stretch.gaps and width >= TALL_FROM:
        longest_s = max(to_s - from_s for from_s, to_s in stretch.gaps)
        texts[-1] += f", the longest {longest_s / 3600:.1f} h"
    texts.append(rises_text(stretch))
    told = "; ".join(texts)
    lines = wrapped(told if len(told) <= width else told.replace(" of it", "", 1), width)
    coarse = coarse_text(found.step_s)
    if coarse:
        lines += wrapped(coarse, width, "ask")
    return lines


def rises_text(stretch: "Stretch") -> str:
    """Return how many short rises there were, or why none can be seen."""
    if stretch.unseen == "too coarse":
        return "too coarse to see a door"
    if stretch.unseen is not None:
        return "too few readings to see a door"
    count = len(stretch.doors)
    return f"{count_of(count, 'short rise')} (door or defrost)" if count else "no short rise"


def span_lines(found: "PlacePicture", width: int) -> list[Line]:
    """Return a place's climate over the span as a picture, its days below."""
    stretch, place = found.stretch, found.line.place
    if not len(stretch.readings):
        return [say(f"No readings in this {stretch.span}.", "dim")]
    cells = width - SCALE
    limits = (place.low_centi_c, place.high_centi_c, place.set_point_centi_c)
    low_c, high_c, set_c = (None if centi is None else centi / 100 for centi in limits)
    log = stretch.readings
    pairs = thin(log.t_s, log.temp_c, stretch.from_s, stretch.to_s, cells * 2)
    edges = [
        stretch.from_s + (stretch.to_s - stretch.from_s) * cell / cells for cell in range(cells + 1)
    ]
    trace = Trace(pairs, low_c, high_c, set_c, _silent(found, edges), _rises(stretch, edges))
    picture = climate_picture(trace, width, TALL_ROWS if width >= TALL_FROM else PICTURE_ROWS)
    days = axis(_marks(found, cells), stretch.from_s, stretch.to_s, cells)
    return [*picture, say(" " * SCALE + days), *_legend(trace, width)]


def _silent(found: "PlacePicture", edges: "Sequence[float]") -> list[bool]:
    """Whether some of each cell was not logged: in a gap, before the first reading, after the last.

    What is still to come is not silent.
    """
    stretch, log = found.stretch, found.log
    longest_s = gap_s(found.step_s)
    ends = [(stretch.from_s, int(log.t_s[0])), (int(log.t_s[-1]), min(found.now_s, stretch.to_s))]
    silent = [*stretch.gaps, *(end for end in ends if end[1] - end[0] > longest_s)]
    made = [False] * (len(edges) - 1)
    for from_s, to_s in silent:
        first, after = max(0, bisect_right(edges, from_s) - 1), bisect_left(edges, to_s)
        made[first:after] = [True] * (min(after, len(made)) - first)
    return made


def _rises(stretch: "Stretch", edges: "Sequence[float]") -> list[int]:
    """Return how many short rises begin in each cell."""
    starts = [door.from_s for door in stretch.doors]
    return [after - before for before, after in pairwise(bisect_left(starts, at) for at in edges)]


def _legend(trace: Trace, width: int) -> list[Line]:
    """Return what the marks mean, of those that are there."""
    parts = []
    if trace.low_c is not None or trace.high_c is not None:
        parts.append("╌ limits, ! outside")
    if trace.set_point_c is not None:
        parts.append("· set-point")
    if any(trace.silent):
        parts.append("░ not logged")
    most = max([*trace.rises, 0])
    if most:
        parts.append("▁ 1 short rise" if most == 1 else f"▁ 1 to {blocks([most])} {most} rises")
    lead = " " * SCALE
    return wrapped("; ".join(parts), width, "dim", first=lead, rest=lead) if parts else []


def _marks(found: "PlacePicture", cells: int) -> list[tuple[float, str]]:
    """Return what stands below a picture: each day of a week, Mondays, or the months of a year."""
    stretch = found.stretch
    first = local_date(stretch.from_s, found.zone)
    days = [first + timedelta(days=count) for count in range(366)]
    at = [(start_of_day_s(day, found.zone), day) for day in days]
    inside = [(at_s, day) for at_s, day in at if at_s < stretch.to_s]
    if stretch.span == "week":
        return [(at_s, f"{day:%a} {day.day}") for at_s, day in inside]
    if stretch.span == "month":
        mondays = [(at_s, day) for at_s, day in inside if day.weekday() == 0]
        return [(at_s, day_text(day, year=False)) for at_s, day in mondays]
    firsts = [(at_s, day) for at_s, day in inside if day.day == 1]
    roomy = cells >= 12 * len("Mar 2026 ")
    return [(at_s, f"{day:%b %Y}" if roomy else f"{day:%b}") for at_s, day in firsts]


# --- mean kinetic temperature -------------------------------------------------------------------


def means_page(found: "PlaceMeans", width: int) -> list[Row]:
    """Return a place's mean kinetic temperature over the stated windows, and the worst stretches.

    Every line fits 72 cells.
    """
    rows = [
        note(
            *wrapped(
                "The one temperature that would have aged as much as all the logged ones did. "
                "Gaps of the log, and what was only assumed, are left out.",
                width,
            )
        )
    ]
    if not any(window.mkt_c for window in found.windows):
        nothing = "Nothing is logged here, so there is nothing to take a mean of."
        more = wrapped("L takes in a logger's file.", width)
        return [*rows, note(BLANK, *wrapped(nothing, width, "strong"), *more)]
    theirs, ours = (f"{energy.value / 1000:g}" for energy in (MKT_ENERGY, ACTIVATION_ENERGY))
    heads = (("", "logged", "mean", "MKT at", "MKT at", "lowest", "highest"),
             ("", "", "", theirs, ours, "", ""))  # fmt: skip
    table = [_means_line(texts, "dim") for texts in heads]
    table += [_means_line(_means_texts(window)) for window in found.windows]
    rows += [note(BLANK), head("Windows up to now; MKT at so many kJ/mol"), note(*table)]
    worst = [_worst_line(("", "24 h", "from", "30 days", "from"), "dim")]
    worst += [_worst_line(_worst_texts(window, found.zone)) for window in found.windows]
    rows += [note(BLANK), head(f"The worst stretches in them, at {theirs} kJ/mol"), note(*worst)]
    about = (
        f"MKT at {theirs} kJ/mol is the pharmacopoeia's (USP <1160>); {ours} kJ/mol is ours for "
        f"paper, an estimate. A long window hides a warm spell: look at the worst stretches, of "
        f"which at least {percent(WORST_LOGGED.value)} is logged."
    )
    return [*rows, note(BLANK, *wrapped(about, width, "dim"))]


def _means_line(texts: "Sequence[str]", role: str = "") -> Line:
    wide = (13, -9, -8, -8, -8, -8, -8)
    return columns([(text, room, role) for text, room in zip(texts, wide, strict=True)], " ")


def _means_texts(window: "Window") -> list[str]:
    if not window.mkt_c:
        return [window.name, "nothing", *(["-"] * 5)]
    figures = (window.mean_c, *window.mkt_c)
    extremes = (window.low_c, window.high_c)
    return [
        window.name,
        percent(window.logged_share),
        *(_celsius(value, 2) for value in figures),
        *(_celsius(value, 1) for value in extremes),
    ]


def _worst_line(texts: "Sequence[str]", role: str = "") -> Line:
    wide = (13, -9, 21, -9, 15)
    return columns([(text, room, role) for text, room in zip(texts, wide, strict=True)], " ")


def _worst_texts(window: "Window", zone: str) -> list[str]:
    texts = [window.name, "-", "", "-", ""]
    if window.worst_day is not None:
        texts[1:3] = (
            _celsius(window.worst_day.mkt_c[0], 2),
            moment_text(window.worst_day.from_s, zone),
        )
    if window.worst_month is not None:
        first = local_date(window.worst_month.from_s, zone)
        texts[3:5] = _celsius(window.worst_month.mkt_c[0], 2), day_text(first, year=True)
    return texts


def _celsius(value: float | None, places: int) -> str:
    return "-" if value is None else f"{value:.{places}f} °C"
