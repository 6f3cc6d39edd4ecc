"""Places, one place, and a logger file's look as lines of text; nothing is read here."""

from typing import TYPE_CHECKING

from stockroom.clock import local_date, moment_text
from stockroom.text import safe
from stockroom.units import count_of, days_text
from tui.climate.span_lines import span_facts, span_lines, span_title
from tui.stock.lines import unit_rows
from tui.today.lines import spell_detail, spell_texts
from tui.words import BLANK, Line, Row, Target, columns, head, note, say, two_lines, when, wrapped

if TYPE_CHECKING:
    from datetime import date

    from stockroom.core.climate.overlap import Overlap
    from stockroom.core.records import Place
    from stockroom.desk.climate.views import LogFile, PlaceLine, PlacePicture

LONG_WHEN = 29
"""Cells of a day of another year."""


def celsius(centi_c: int | None) -> str:
    """Return a temperature.

    >>> celsius(400), celsius(-1850), celsius(None)
    ('4 °C', '-18.5 °C', '-')
    """
    return "-" if centi_c is None else f"{centi_c / 100:g} °C"


def limits_text(place: "Place") -> str:
    """Return a place's set-point and limits."""
    if place.set_point_centi_c is None and place.high_centi_c is None:
        return "no climate of its own"
    text = f"set to {celsius(place.set_point_centi_c)}"
    if place.low_centi_c is not None and place.high_centi_c is not None:
        text += f", to stay in {celsius(place.low_centi_c)} to {celsius(place.high_centi_c)}"
    elif place.high_centi_c is not None:
        text += f", never above {celsius(place.high_centi_c)}"
    elif place.low_centi_c is not None:
        text += f", never below {celsius(place.low_centi_c)}"
    return text


def last_text(line: "PlaceLine", zone: str) -> tuple[str, str]:
    """Return a place's last reading, whether it is right, and its role."""
    if line.last is None:
        return "no readings; its set-point is believed", "dim"
    at_s, temp_c = line.last
    high, low = line.place.high_centi_c, line.place.low_centi_c
    text = f"{temp_c:.1f} °C on {moment_text(at_s, zone)}"
    if high is not None and temp_c * 100 > high:
        return f"{text}, too warm", "bad"
    if low is not None and temp_c * 100 < low:
        return f"{text}, too cold", "bad"
    return text, ""


def place_rows(lines: "list[PlaceLine]", zone: str, width: int) -> list[Row]:
    """Return all places: name, what stands there, set-point and limits, last reading."""
    if not lines:
        return [
            note(
                say("There is no place yet.", "strong"),
                *wrapped(
                    "At the console: stockroom place add 'Cold store' --kind 'cold store' "
                    "--set-point 4",
                    width,
                ),
            )
        ]
    rows: list[Row] = []
    for line in lines:
        last, role = last_text(line, zone)
        first = columns(
            [
                (safe(line.place.name), 24, "strong"),
                (count_of(line.units, "unit"), -10, ""),
                (limits_text(line.place), width - 38, ""),
            ]
        )
        second = columns([("", 24, ""), ("", 10, ""), (last, width - 38, role or "dim")])
        rows.append(
            Row(
                (first, second),
                key=f"place {line.place.code}",
                target=Target("place", line.place.code),
                detail=(
                    say(f"{safe(line.place.name)} ({line.place.code})", "strong"),
                    say(line.place.place_kind),
                    say(limits_text(line.place)),
                    say(last, role),
                ),
            )
        )
    return rows


def place_page(found: "PlacePicture", width: int) -> list[Row]:
    """Return one place: a span drawn with limits, its warm spells, and what stands there."""
    place = found.line.place
    last, role = last_text(found.line, found.zone)
    rows = [note(say(limits_text(place)), say(last, role)), note(BLANK)]
    rows += [head(span_title(found, width))]
    rows += [note(*span_facts(found, width), *span_lines(found, width))]
    rows += [note(BLANK), head("Warm spells, the dearest first")]
    if not found.spells:
        none = "None." if place.high_centi_c is not None else "It has no limits to be outside of."
        rows.append(note(say(none, "dim")))
    for item in found.spells:
        spell = item.spell
        first, second = spell_texts(item)
        word = f"; {safe(spell.cause)}" if spell.cause else "; waits for a word"
        if not spell.cause and not spell.wants_a_word:
            word = ""
        day = when(local_date(spell.from_s, found.zone), found.today)
        what = first.removeprefix(f"{safe(place.name)}, ")
        losses = [
            columns(
                [
                    ("", LONG_WHEN, ""),
                    (loss.unit.code, 8, ""),
                    (f"lost {days_text(loss.days)}", 16, "dim"),
                ]
            )
            for loss in spell.losses[:6]
        ]
        rows.append(
            Row(
                (*two_lines(day, what + word, second, width, LONG_WHEN), *losses),
                key=f"spell {spell.from_s}",
                target=Target("cause", place.code, (str(spell.from_s), str(spell.to_s))),
                detail=tuple(spell_detail(item, 58)),
            )
        )
    rows += [note(BLANK), head("Stands here")]
    shelf = unit_rows(sorted(found.units, key=lambda x: x.material.name), found.today, width)
    rows += [row for row in shelf if row.text.strip()]
    if found.imports:
        rows += [note(BLANK), head("Logger files taken in")]
    for taken in found.imports:
        text = (
            f"{safe(taken.name)}: {taken.readings} readings, "
            f"{moment_text(taken.from_s, found.zone)} to {moment_text(taken.to_s, found.zone)}"
        )
        rows.append(
            Row(
                tuple(wrapped(text, width)),
                key=f"import {taken.code}",
                target=Target("withdraw", taken.code),
            )
        )
    return rows


# --- a logger file before it is taken in -----------------------------------------------------


def look_rows(
    log: "LogFile", zone: str, today: "date", width: int, common: "Overlap | None" = None
) -> list[Row]:
    """Return what a logger file says and how it was understood, before anything is stored.

    Where a place was chosen, `common` is what the file has in common with its readings.
    """
    from stockroom.core.climate.readings import FLAG_WORDS
    from stockroom.desk.climate.readings import coarse_text, file_moment, overlap_text, zone_text

    first, last = log.first_s, log.last_s
    order = {"year first": "year first"}.get(log.date_order, log.date_order)
    facts = (
        ("time from", ", ".join(safe(name) for name in log.time_columns)),
        ("temperature from", f"{safe(log.temp_column)}, {log.unit} ({log.unit_known_by})"),
        ("humidity from", safe(log.rh_column) if log.rh_column else "no column"),
        ("not looked at", ", ".join(safe(name) for name in log.ignored_columns) or "nothing"),
        ("zone", zone_text(log, told=False)),
        ("date order", f"{order} ({safe(log.order_known_by)})"),
        ("first reading", file_moment(log, first, zone)),
        ("last reading", f"{file_moment(log, last, zone)}, {_ago(last, zone, today)}"),
        ("step", f"{log.median_step_s / 60:g} min"),
        ("readings", f"{len(log.readings)} of {log.rows_read} rows"),
        ("gaps", _gaps(log)),
    )
    lines: list[Line] = [
        columns([(name, 18, "dim"), (text, width - 20, "")]) for name, text in facts
    ]
    for flag, count in sorted(log.flag_counts.items()):
        lines.append(
            columns([("marked", 18, "dim"), (f"{count} {_flag(flag, FLAG_WORDS)}", width - 20, "")])
        )
    rows: list[Row] = []
    if common is not None:
        said = overlap_text(common) or "None of its readings stands there yet."
        role = "ask" if common.differing or common.nothing_new else ""
        rows += [head("Beside the readings of this place"), note(*wrapped(said, width, role))]
    if hint := coarse_text(log.median_step_s):
        rows.append(note(*wrapped(hint, width, "ask")))
    rows += [note(BLANK)] if rows else []
    rows += [head("How it was understood"), note(*lines)]
    if log.problems:
        rows += [note(BLANK), head("Worth knowing")]
        for problem in log.problems[:8]:
            rows.append(note(*wrapped(safe(problem), width, "ask", first="· ", rest="  ")))
        if len(log.problems) > 8:
            rows.append(note(say(f"and {len(log.problems) - 8} more", "dim")))
    return rows


def _flag(flag: int, words: object) -> str:
    if not flag:
        return "as they should be"
    known = dict(words) if isinstance(words, dict) else {}
    named = [str(word) for bit, word in known.items() if bit and flag & bit]
    return safe(", ".join(named) or f"flag {flag}")


def _gaps(log: "LogFile") -> str:
    if not log.gap_count:
        return "none"
    return f"{count_of(log.gap_count, 'gap')}, the longest {log.longest_gap_s / 3600:.1f} h"


def _ago(instant_s: int, zone: str, today: "date") -> str:
    from stockroom.units import distance_text

    return distance_text(local_date(instant_s, zone), today)
