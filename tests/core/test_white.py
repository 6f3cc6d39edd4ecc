"""Drifts against the emulsion's first patch, the process taken out; and what of it counts."""

from dataclasses import replace

import pytest

from stockroom.core.freshness.drift import Series, WhiteReading, own_drift
from stockroom.core.freshness.white import Paper, decided, white_lives

DAY_S = 86_400
M1 = Series("b*", "Bench spectro", "M1", "white")


def patch(
    key: str,
    day: int,
    value: float,
    control: float | None = -2.2,
    *,
    name: str = "strip A",
    series: Series = M1,
    unit: str = "roll",
    lot: str = "lot",
) -> WhiteReading:
    return WhiteReading(
        f"{key} b*", unit, lot, "paper", day * DAY_S, float(day), value, series,
        name if control is not None else "", control, 4,
    )  # fmt: skip


def test_what_the_control_shares_is_the_process_and_the_rest_is_the_paper() -> None:
    first, last = own_drift([patch("1", 0, -2.4), patch("2", 60, -1.1, -1.0)])
    assert first.telling == "baseline"
    assert (last.raw, last.process, last.own) == pytest.approx((1.3, 1.2, 0.1))


def test_another_measuring_condition_is_never_compared() -> None:
    """A patch read under M0 begins a baseline of its own."""
    m0 = M1._replace(measuring="M0")
    drifts = own_drift([patch("1", 0, -2.4), patch("2", 60, 0.9, 0.2, series=m0)])
    assert [drift.telling for drift in drifts] == ["baseline", "baseline"]


def test_an_emulsion_has_its_own_first_patch() -> None:
    drifts = own_drift([patch("1", 0, -2.4), patch("2", 5, -1.0, unit="other", lot="other lot")])
    assert [drift.own for drift in drifts] == [0.0, 0.0]


def test_without_a_control_nobody_can_tell() -> None:
    drift = own_drift([patch("1", 0, -2.4), patch("2", 60, -1.0, None)])[1]
    assert (drift.telling, drift.counts) == ("no control", False)
    assert drift.raw == pytest.approx(1.4)


def test_a_new_control_counts_only_where_it_was_tied_to_the_old_one() -> None:
    """On the day of the change both are measured; untied, the reading tells nothing."""
    old = [patch("1", 0, -2.4), patch("2", 50, -1.4, -1.2)]
    new = patch("4", 80, -1.3, -2.6, name="strip B")
    assert own_drift([*old, new])[-1].telling == "control unknown"
    both = patch("3", 50, -1.4, -2.7, name="strip B")
    tied = own_drift([*old, both, new])[-1]
    assert tied.telling == "counts"
    assert tied.process == pytest.approx(1.1)


def test_a_white_lengthens_only_by_a_word() -> None:
    """Ten clean patches to twice its label: the label stands until a person says otherwise."""
    clean = [patch(str(n), 60 * n, -2.4) for n in range(20)]
    paper = Paper("roll", "lot", "paper", 730.0, {"b*": 1.5, "density": 0.02})
    life = white_lives([paper], clean)["roll"]
    assert life.tells
    assert life.median_days > 1_000
    assert decided(life, 730.0) is None
    word = decided(life, 730.0, 900.0)
    assert word is not None
    assert (word.likely, word.word) == (900.0, True)


def test_a_white_shortens_at_once() -> None:
    quick = [patch(str(n), 30 * n, -2.4 + 1.5 * n * 30 / 300) for n in range(9)]
    paper = Paper("roll", "lot", "paper", 730.0, {"b*": 1.5, "density": 0.02})
    counted = decided(white_lives([paper], quick)["roll"], 730.0)
    assert counted is not None
    assert counted.likely < 450
    assert counted.low <= counted.likely <= counted.high <= 730


def test_a_roll_leans_a_little_on_others_of_its_emulsion() -> None:
    """A roll nobody measured has a shorter life where one of its emulsion yellows quickly."""
    quick = [patch(str(n), 30 * n, -2.4 + 1.5 * n * 30 / 300) for n in range(9)]
    acts = {"b*": 1.5, "density": 0.02}
    roll = Paper("roll", "lot", "paper", 730.0, acts)  # type: ignore[arg-type]
    lives = white_lives([roll, replace(roll, unit="sister")], quick)
    assert lives["roll"].median_days < lives["sister"].median_days < 730
    assert lives["sister"].pooled_from == 1


def test_a_roll_as_control_hides_what_it_does_itself() -> None:
    """Both yellowed by 2.2: no drift is left, and nothing says that the paper is fine."""
    readings = [
        replace(patch("1", 0, -2.4), control="10151", control_ages=True),
        replace(patch("2", 200, -0.2, 0.0), control="10151", control_ages=True),
    ]
    last = own_drift(readings)[-1]
    assert (last.own, last.at_least) == (pytest.approx(0.0), True)
    paper = Paper("roll", "lot", "paper", 730.0, {"b*": 1.5, "density": 0.02})
    many = [*readings, *(replace(readings[1], key=f"{n} b*", at_s=n * DAY_S) for n in range(3, 20))]
    life = white_lives([paper], many)["roll"]
    assert not life.tells
    assert decided(life, 730.0, 2_000.0) is None


def test_a_strip_tied_to_a_roll_carries_what_the_roll_hid() -> None:
    roll = [
        replace(patch("1", 0, -2.4), control="10151", control_ages=True),
        replace(patch("2", 200, -0.2, 0.0), control="10151", control_ages=True),
    ]
    tied = patch("3", 200, -0.2, -2.6, name="strip B")
    later = patch("4", 230, -0.2, -2.6, name="strip B")
    assert own_drift([*roll, tied, later])[-1].at_least
    strip = [patch("1", 0, -2.4), patch("2", 200, -1.2, -2.0)]
    assert not own_drift([*strip, tied, later])[-1].at_least


def test_a_patch_entered_again_is_no_new_evidence() -> None:
    paper = Paper("roll", "lot", "paper", 730.0, {"b*": 1.5, "density": 0.02})
    once = [patch("1", 0, -2.4), patch("2", 400, -2.35)]
    again = [replace(once[1], key=f"{n} b*", at_s=once[1].at_s + 60 * n) for n in range(6)]
    first = white_lives([paper], once)["roll"]
    more = white_lives([paper], [*once, *again])["roll"]
    assert not first.tells
    assert not more.tells
    assert more.median_days == pytest.approx(first.median_days, rel=0.1)


def test_a_life_that_is_over_lasted_until_the_patch_before() -> None:
    paper = Paper("roll", "lot", "paper", 730.0, {"b*": 1.5, "density": 0.02})
    life = white_lives([paper], [patch("1", 0, -2.4), patch("2", 60, -0.6)])["roll"]
    counted = decided(life, 730.0, None, 152.0, 139.0)
    assert counted is not None
    assert (counted.low, counted.likely, counted.high) == (139.0, 152.0, 152.0)
