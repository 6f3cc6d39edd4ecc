"""A roll's white stands as its patches say, and none of them hides another."""

import pytest

from stockroom.core.freshness.drift import Drift, Quantity, Series, Telling, WhiteReading
from stockroom.core.freshness.standing import Standing, standing

LIMITS: dict[Quantity, tuple[float, float]] = {"b*": (0.7, 1.5), "density": (0.008, 0.015)}
M1 = Series("b*", "Bench spectro", "M1", "white")
M0 = M1._replace(measuring="M0")
DENSITY = Series("density", "Meter", "unknown", "white")


def drift(
    day: int,
    own: float,
    *,
    telling: Telling = "counts",
    series: Series = M1,
    process: float = 0.0,
    at_least: bool = False,
) -> Drift:
    reading = WhiteReading(f"{day} {series}", "1", "2", "3", day * 86_400, day, 0.0, series)
    return Drift(reading, reading, telling, own + process, process, at_least)


def stands(*drifts: Drift, odd: tuple[str, ...] = ()) -> Standing:
    found = standing(drifts, odd, LIMITS)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("own", "judgement"), [(0.2, "fine"), (0.7, "watch"), (1.49, "watch"), (1.5, "act")]
)
def test_a_drift_is_judged_by_the_limits(own: float, judgement: str) -> None:
    assert stands(drift(0, 0.0, telling="baseline"), drift(90, own)).judgement == judgement


def test_nothing_measured_stands_for_nothing() -> None:
    assert standing([], (), LIMITS) is None


@pytest.mark.parametrize(
    "later",
    [
        drift(120, 0.0, telling="baseline", series=M0),
        drift(120, 0.1, telling="no control"),
        drift(120, 0.1, telling="control unknown"),
        drift(120, 0.001, series=DENSITY),
        drift(120, 0.2, process=1.8, at_least=True),
    ],
    ids=["another condition", "no control", "untied control", "density", "control yellows too"],
)
def test_what_cannot_tell_takes_no_stop_back(later: Drift) -> None:
    """A patch at the limit bars the roll; only one of its own kind below the limit clears it."""
    found = stands(drift(0, 0.0, telling="baseline"), drift(90, 1.8), later)
    assert (found.judgement, found.lead.own, found.over_days) == ("act", 1.8, 90)
    cleared = stands(drift(0, 0.0, telling="baseline"), drift(90, 1.8), later, drift(130, 0.3))
    assert cleared.over_days is None
    assert cleared.judgement != "act"


def test_both_quantities_of_one_patch_are_judged() -> None:
    """The density is fine, b* is off: the roll is off."""
    both = (drift(90, 1.6), drift(90, 0.002, series=DENSITY))
    assert stands(*both).judgement == "act"
    assert stands(*reversed(both)).judgement == "act"


def test_life_was_over_at_the_first_patch_past_the_limit() -> None:
    """A second one, later and worse, gives no days back."""
    found = stands(drift(0, 0.0, telling="baseline"), drift(70, 1.2), drift(90, 1.6), drift(190, 2))
    assert (found.over_days, found.sound_days) == (90, 70)


@pytest.mark.parametrize(
    "doubtful",
    [
        drift(120, 0.9, telling="no control"),
        drift(120, 0.9, telling="control unknown"),
        drift(120, 0.1, process=0.9, at_least=True),
    ],
)
def test_a_doubtful_drift_asks_until_a_sound_one_answers(doubtful: Drift) -> None:
    assert stands(drift(90, 0.1), doubtful).judgement == "ask"
    assert stands(drift(90, 0.1), doubtful, drift(121, 0.1)).judgement == "fine"


def test_a_reading_that_goes_with_none_asks_and_bars_nothing() -> None:
    false = drift(120, 1.9)
    assert stands(drift(90, 0.1), false, odd=(false.reading.key,)).judgement == "ask"
