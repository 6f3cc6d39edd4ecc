"""Ten realistic rolls get the answers that a careful printer would give.

The rolls and the answers were written down before the rule was tuned: each says what a printer
with years at the machine would say on hearing the story, without any arithmetic.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta

import numpy as np
import pytest
from support.history import StayClimate, usable_by

from stockroom.core.climate.course import PlaceClimate
from stockroom.core.climate.lag import time_constant_s
from stockroom.core.climate.readings import EMPTY, Readings
from stockroom.core.freshness.label import label_life
from stockroom.core.records import Lot, Material, Place, StripResult, Unit
from stockroom.core.verdict import Answer, Candidate, Verdict, Wish, ok_to_print

DAY = 86_400
TODAY = date(2026, 3, 2)
NOW = int(datetime(2026, 3, 2, 9, tzinfo=UTC).timestamp())

PAPER = Material(
    code="1", name="Satin 127", family="paper", form="roll", width_dmm=12_700,
    length_dmm=500_000, label_life_days=730, label_temp_centi_c=1000,
)  # fmt: skip

COLD = PlaceClimate(4.0, 8.0)
FREEZER = PlaceClimate(-18.0, -12.0)
MAGAZINE = PlaceClimate(22.0, None)
RACK = PlaceClimate(21.0, None)


def logged(days: float, ago: float, temp_c: float, spells: Sequence[tuple[float, float, float]]):
    """A quarter-hourly log that ends `ago` days before now, with spells (start, hours, °C)."""
    end = NOW - int(ago * DAY)
    t = np.arange(end - int(days * DAY), end + 1, 900)
    temp = np.full(len(t), temp_c) + 0.4 * np.sin(t / 3000)
    for start, hours, spell_c in spells:
        inside = (t >= t[0] + start * DAY) & (t < t[0] + start * DAY + hours * 3600)
        temp[inside] = spell_c
    return Readings.of(t, temp)


@dataclass(frozen=True)
class Story:
    name: str
    says: Answer
    stays: tuple[tuple[float, PlaceClimate, Readings], ...]
    """Days at a place, the place, and its log; the last one ends now."""
    label_in_days: float | None
    print_in_days: int = 3
    strip: tuple[StripResult, int] | None = None
    undated: bool = False


STORIES = [
    Story("two months cold and sealed", "yes", ((60, COLD, EMPTY),), 600),
    Story(
        "eight months: cold, sixty days in the magazine, one warm weekend", "yes",
        ((150, COLD, logged(150, 60, 4.0, [(70, 60, 19.0)])), (60, MAGAZINE, EMPTY)), 430,
    ),
    Story("eighteen months frozen, a month past its date", "strip", ((540, FREEZER, EMPTY),), -30),
    Story("six months in the magazine, date not yet reached", "no", ((180, MAGAZINE, EMPTY),), 240),
    Story("undated, three months cold", "strip", ((90, COLD, EMPTY),), None, undated=True),
    Story("cold all its life, last week of its date", "yes", ((400, COLD, EMPTY),), 5),
    Story(
        "ten days past its date, cold all its life, clean strip yesterday", "yes",
        ((500, COLD, EMPTY),), -10, strip=("clean", 4),
    ),
    Story("fresh by its label, but a yellow strip", "no", ((60, COLD, EMPTY),), 600,
          strip=("yellow", 4)),
    Story(
        "a year cold, one logged power cut of three days at 26", "yes",
        ((365, COLD, logged(365, 0, 4.0, [(200, 72, 26.0)])),), 300,
    ),
    Story("short-dated, left on a rack eight weeks, print in five weeks", "strip",
          ((56, RACK, EMPTY), (3, COLD, EMPTY)), 181, print_in_days=35),
]  # fmt: skip


def answer(story: Story) -> Verdict:
    length_days = sum(days for days, _, _ in story.stays)
    start = NOW - int(length_days * DAY)
    stays, at = [], start
    for days, place, log in story.stays:
        stays.append(StayClimate(at, min(NOW, at + int(days * DAY)), log, place))
        at += int(days * DAY)
    ends = None if story.label_in_days is None else TODAY + timedelta(days=story.label_in_days)
    lot = Lot(code="2", material="1", number="E-1", label_date=ends)
    if story.undated:
        lot = replace(lot, label_date=None)
    life = label_life(PAPER, lot, datetime.fromtimestamp(start, UTC).date())
    ahead = story.stays[-1][1].set_point_c
    assert ahead is not None
    usable = usable_by(stays, life, NOW, ahead, tau_s=time_constant_s(300_000, 12_700))
    roll = Candidate(
        unit=Unit(code="3", lot="2", form="roll", place="4", width_dmm=12_700,
                  length_dmm=500_000, remaining_dmm=300_000),
        lot=lot,
        material=PAPER,
        place=Place(code="4", name="Cold store", set_point_centi_c=round(ahead * 100)),
        usable=usable,
        strip=story.strip,
    )  # fmt: skip
    wish = Wish(25_000, 12_500, 1, TODAY + timedelta(days=story.print_in_days))
    return ok_to_print(roll, wish, TODAY)


@pytest.mark.parametrize("story", STORIES, ids=[story.name for story in STORIES])
def test_the_answer_is_a_careful_printers(story: Story) -> None:
    verdict = answer(story)
    assert verdict.answer == story.says, [r.kind for r in verdict.reasons]


def test_not_every_doubt_becomes_a_strip() -> None:
    said = [answer(story).answer for story in STORIES]
    assert said.count("strip") <= 3
    assert {"yes", "no"} <= set(said)
