"""Short rises are found where doors were opened, and nowhere else."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockroom.core.climate.doors import Door, doors, unseen
from stockroom.core.climate.readings import EMPTY, FILLED, Readings

HOUR = 3600


def trace(hours: float, step_s: int, seed: int = 5, noise_k: float = 0.1) -> Readings:
    """A quiet store at 4 °C."""
    t = np.arange(0, int(hours * HOUR), step_s)
    return Readings.of(t, 4.0 + np.random.default_rng(seed).normal(0, noise_k, len(t)))


def opened(log: Readings, at_s: list[int], rise_k: float = 6.0, tau_s: float = 400.0) -> Readings:
    """The same with a door opened at some instants: up within two minutes, then it cools down."""
    temp = log.temp_c.copy()
    for begin_s in at_s:
        since = np.maximum(0, log.t_s - begin_s)
        up = np.minimum(1.0, since / 120)
        temp += rise_k * up * np.exp(-np.maximum(0, since - 120) / tau_s) * (since > 0)
    return Readings.of(log.t_s, temp)


def saw(hours: float, step_s: int, period_s: float, up: float) -> np.ndarray:
    """A compressor's swing of ±1 K that rises for a share of its period and falls for the rest."""
    share = np.arange(0, int(hours * HOUR), step_s) % period_s / period_s
    return np.where(share < up, 2 * share / max(up, 1e-9), 2 * (1 - share) / max(1 - up, 1e-9)) - 1


@pytest.mark.parametrize("step_s", [60, 120, 300])
def test_each_opening_is_found_once_with_its_peak(step_s: int) -> None:
    """Twenty openings at odd times over three days, on fine steps: all of them, nothing else."""
    at_s = [2 * HOUR + number * 3 * HOUR + number * 217 for number in range(20)]
    found = doors(opened(trace(72, step_s), at_s))
    assert len(found) == 20
    for door, begin_s in zip(found, at_s, strict=True):
        assert 0 < door.from_s - begin_s <= 120 + step_s
        assert door.from_s < door.to_s <= begin_s + 30 * 60
        assert 6.5 < door.peak_c < 10.4
        assert door.rise_k == pytest.approx(door.peak_c - 4.0, abs=0.2)


@pytest.mark.parametrize("step_s", [600, 900])
def test_on_coarse_steps_an_opening_is_found_where_a_reading_falls_into_it(step_s: int) -> None:
    """A reading three minutes after the door opened sees it; one that comes too late does not."""
    seen_s = [step * step_s - 180 for step in (10, 30, 60)]
    missed_s = [step * step_s + 1 for step in (80, 100)] if step_s > 600 else []
    found = doors(opened(trace(36, step_s), [*seen_s, *missed_s], tau_s=240.0))
    assert [door.from_s for door in found] == [begin_s + 180 for begin_s in seen_s]


@given(
    step_s=st.sampled_from([60, 120, 300, 600, 900]),
    period_s=st.integers(600, 6 * HOUR),
    up=st.floats(0.0, 1.0),
    noise=st.integers(0, 2**32 - 1),
)
@settings(max_examples=150, deadline=None)
def test_a_compressors_swing_gives_none(step_s: int, period_s: int, up: float, noise: int) -> None:
    """Saw-teeth of ±1 K of any shape and period, with up to 0.2 K of noise on top."""
    temp = 4.0 + saw(24, step_s, period_s, up)
    temp += np.random.default_rng(noise).uniform(-0.2, 0.2, len(temp))
    assert doors(Readings.of(np.arange(len(temp)) * step_s, temp)) == []


def test_a_door_is_found_on_top_of_a_swing() -> None:
    """A rise of 6 K over a saw-tooth of ±1 K, at any phase of it."""
    quiet = np.arange(0, 24 * HOUR, 60)
    log = Readings.of(quiet, 4.0 + saw(24, 60, 2_400, 0.7))
    at_s = [HOUR * hour + 7 * hour * 60 for hour in range(2, 22, 2)]
    assert len(doors(opened(log, at_s))) == len(at_s)


@pytest.mark.parametrize("step_s", [60, 300, 900])
def test_noise_gives_none(step_s: int) -> None:
    """A month of a restless sensor, half a kelvin either way."""
    assert doors(trace(30 * 24, step_s, noise_k=0.5)) == []


def test_what_lasts_longer_or_creeps_is_none() -> None:
    """A warm spell of forty minutes, one that has not ended, and a slow rise over two hours."""
    log = trace(24, 60)
    for temp in (
        np.where((log.t_s >= 10 * HOUR) & (log.t_s < 10 * HOUR + 2400), 9.0, log.temp_c),
        np.where(log.t_s >= 23.8 * HOUR, 9.0, log.temp_c),
        log.temp_c + np.clip((log.t_s - 6 * HOUR) / 7200, 0, 1) * 6,
    ):
        assert doors(Readings.of(log.t_s, temp)) == []
    short = np.where((log.t_s >= 10 * HOUR) & (log.t_s < 10 * HOUR + 1200), 9.0, log.temp_c)
    assert [door.from_s for door in doors(Readings.of(log.t_s, short))] == [10 * HOUR]


def test_a_dip_inside_a_long_spell_is_no_new_rise() -> None:
    """Forty minutes warm that fall for a moment, but not back: one spell, and too long."""
    log = trace(24, 60)
    temp = np.where((log.t_s >= 10 * HOUR) & (log.t_s < 10 * HOUR + 2400), 9.0, log.temp_c)
    temp[log.t_s == 10 * HOUR + 600] = 6.0
    assert doors(Readings.of(log.t_s, temp)) == []


def test_what_counts_as_an_excursion_is_left_out() -> None:
    log = opened(trace(12, 60), [3 * HOUR, 8 * HOUR])
    first, second = doors(log)
    assert doors(log, besides=[(first.from_s + 60, first.to_s + 600)]) == [second]


def test_nothing_is_told_across_a_gap_or_of_what_was_filled_in() -> None:
    """The first half hour after a gap has nothing before it; filled readings are not looked at."""
    log = opened(trace(12, 60), [6 * HOUR])
    kept = (log.t_s < 3 * HOUR) | (log.t_s > 6 * HOUR - 600)
    assert doors(Readings.of(log.t_s[kept], log.temp_c[kept])) == []
    flag = np.where((log.t_s >= 6 * HOUR) & (log.t_s < 7 * HOUR), FILLED, 0)
    assert doors(Readings.of(log.t_s, log.temp_c, flag=flag)) == []


def test_a_log_that_cannot_show_a_door_says_why() -> None:
    assert unseen(EMPTY) == "too few readings"
    assert unseen(trace(1, 900)) == "too few readings"
    assert unseen(trace(48, 1800)) == "too coarse"
    assert unseen(trace(48, 900)) is None
    coarse = opened(trace(48, 1800), [3 * 1800 - 180])
    assert max(coarse.temp_c) > 7
    assert doors(coarse) == []
    assert doors(EMPTY) == []


def test_figures_that_cannot_be_are_refused() -> None:
    for rise_k, longest_s in ((0.0, 900.0), (float("nan"), 900.0), (2.5, 0.0), (2.5, 1801.0)):
        with pytest.raises(ValueError):
            doors(EMPTY, rise_k, longest_s)


def test_agrees_with_a_plain_loop() -> None:
    """Random walks on uneven steps, every rule of the definition written out one by one."""
    rng = np.random.default_rng(11)
    found = 0
    for _ in range(40):
        steps = rng.choice([60, 120, 300, 2400], 400, p=[0.5, 0.3, 0.18, 0.02])
        t = np.cumsum(steps)
        temp = 4.0 + rng.normal(0, 0.3, 400)
        for at in rng.choice(390, 25, replace=False):
            temp[at : at + rng.integers(1, 9)] += rng.uniform(1, 8)
        log = Readings.of(t, temp)
        assert doors(log) == slow_doors(log)
        found += len(slow_doors(log))
    assert found > 100


def slow_doors(log: Readings) -> list[Door]:
    """The definition, reading by reading."""
    t, temp = log.t_s.tolist(), log.temp_c.tolist()
    usual = float(np.median(np.diff(log.t_s)))
    hour = max(2, round(3600 / usual))
    made: list[Door] = []
    for at in range(1, len(t)):
        before = [temp[i] for i in range(max(0, at - hour), at) if t[at] - t[i] <= 3600]
        if 2 * len(before) < hour:
            continue
        base = float(np.median(before))
        least = max(2.5, 5 * float(np.median(np.abs(np.array(before) - base))))
        calm = False
        for i in range(at - 1, -1, -1):
            if t[at] - t[i] > max(900, 1.5 * usual) or temp[i] > base + least:
                break
            if temp[i] <= base + least / 2:
                calm = True
                break
        if not calm or temp[at] <= base + least or (made and t[at] < made[-1].to_s):
            continue
        for i in range(at + 1, len(t)):
            if t[i] - t[at] > 1800:
                break
            if temp[i] <= base + least / 2:
                peak = max(temp[at:i])
                made.append(Door(t[at], t[i], peak, peak - base))
                break
    return made
