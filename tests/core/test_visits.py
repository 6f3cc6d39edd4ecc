"""Ages by look-up: many units through many places, against the rule spelled out."""

import math
import random

import numpy as np
import pytest
from support.airs import CLIMATES, DAYS, KINDS, airs, logs, stays
from support.history import history_used
from support.studio import DAY_S

from stockroom.core.climate.ageing import Scenario, rate
from stockroom.core.climate.bodies import LIKELY, Kind, PlaceAir, followed, lag_class_s, step_of
from stockroom.core.climate.course import PlaceClimate, believed
from stockroom.core.climate.lag import inside
from stockroom.core.climate.readings import EMPTY
from stockroom.core.climate.visits import Aged, Journey, Rule, Visit, age, over_time

END_S = DAYS * DAY_S + 2 * DAY_S
RULES = tuple(Rule(kind, 10.0, energy) for kind in KINDS for energy in (60e3, 85e3, 120e3))


def journey(rng, rules=RULES, budget_days=math.inf):
    """A unit with one to five visits, of hours or of weeks, that lags by half an hour to hours."""
    count = rng.randrange(1, 6)
    span_s = rng.choice([3600, DAY_S, 12 * DAY_S])
    at_s, visits = rng.uniform(0, (DAYS - 2) * DAY_S), []
    for _ in range(count):
        to_s = min(DAYS * DAY_S, at_s + rng.uniform(900, span_s))
        if to_s <= at_s + 1:
            break
        place = rng.choice(list(CLIMATES))
        visits.append(Visit(place, lag_class_s(rng.uniform(1200, 20_000)), at_s, to_s))
        at_s = to_s
    lag_s = visits[0].tau_s
    visits = [visit._replace(tau_s=lag_s) for visit in visits]
    return Journey(Aged.fresh(rules), visits, rules, np.full(len(rules), budget_days))


def test_units_age_as_by_the_rule():
    """120 units, five beliefs, three energies: 1 % of an hour's ageing, and 2e-4 of the whole."""
    rng = random.Random(7)
    of = logs()
    journeys = [journey(rng) for _ in range(120)]
    for made, asked in zip(age(journeys, airs(of, END_S)), journeys, strict=True):
        first = asked.visits[0]
        begin = airs_begin(of, first)
        for column, rule in enumerate(RULES):
            if rule.kind.gaps == "worst":
                continue  # what lies beyond the log is judged by the place, not by the stay
            scenario = Scenario(rule.energy_j_mol, rule.kind.offset_k, rule.kind.gaps)
            lead = Visit(first.place, first.tau_s, begin, first.from_s)
            used = history_used(stays(of, [lead, *asked.visits]), 10.0, scenario, first.tau_s)[1:]
            exact = sum(stay.days for stay in used)
            hour = 0.01 / 24 * rate(28.0, 10.0, rule.energy_j_mol)
            assert made.used_days[column] == pytest.approx(exact, rel=2e-4, abs=hour)
            if column == 0:
                filled = sum(stay.filled_days_of_life for stay in used)
                assert made.filled_days == pytest.approx(filled, rel=0.02, abs=0.05 * exact + hour)


def airs_begin(of, visit):
    """Long before a first visit: the unit has then stood there as long as matters."""
    return max(0.0, visit.from_s - 14 * visit.tau_s)


def test_a_body_followed_in_steps_is_the_body_followed_exactly():
    """The temperature inside at every step, against the exact chain over every reading."""
    for name, readings in logs().items():
        air = believed(readings, 0, DAYS * DAY_S, CLIMATES[name])
        for tau_s in (lag_class_s(1_500), lag_class_s(9_000), lag_class_s(40_000)):
            body = followed(air, tau_s, step_of(tau_s))
            exact, end_c = inside(air, tau_s)
            knots = np.searchsorted(exact.start_s, body.start_s)
            known = exact.start_s[np.minimum(knots, len(exact) - 1)] == body.start_s
            assert known.sum() > 3 or len(readings) == 0
            assert body.from_c[known] == pytest.approx(exact.from_c[knots[known]], abs=1e-9)
            assert body.to_c[-1] == pytest.approx(end_c, abs=1e-6)


def test_what_the_sensor_is_off_is_mirrored():
    """A sensor 0.5 K high and one 0.5 K low lie evenly about the reading one, gaps and all."""
    of = logs()
    for name in ("store", "unset", "unlogged"):
        air = PlaceAir(of[name], CLIMATES[name], 0.0, END_S)
        tau_s = lag_class_s(9_000)
        low, mid, high = (air.track(Kind("likely", k), tau_s).course for k in (-0.5, 0.0, 0.5))
        as_low = believed(of[name], 0, END_S, CLIMATES[name], offset_k=-0.5)
        direct = followed(as_low, tau_s, float(low.length_s[0]))
        assert low.from_c == pytest.approx(direct.from_c, abs=1e-9)
        assert low.from_c + high.from_c == pytest.approx(2 * mid.from_c, abs=1e-9)


def test_it_does_not_matter_where_one_stops_and_goes_on():
    """Aged to any instant and from there on: the same as in one go."""
    rng = random.Random(3)
    air = airs(logs(), END_S)
    for _ in range(20):
        whole = journey(rng, budget_days=2.0)
        cut = rng.randrange(len(whole.visits) + 1)
        (once,) = age([whole], air)
        (before,) = age([Journey(whole.start, whole.visits[:cut], RULES, whole.budget_days)], air)
        (after,) = age([Journey(before, whole.visits[cut:], RULES, whole.budget_days)], air)
        assert after.used_days == pytest.approx(once.used_days, rel=1e-12)
        assert after.ended_s == pytest.approx(once.ended_s, nan_ok=True)
        assert after.total_s == pytest.approx(once.total_s)


def test_the_instant_at_which_a_life_ended_is_found():
    """By then just the budget was used; where it never was, there is no instant."""
    rng = random.Random(4)
    air = airs(logs(), END_S)
    ended = 0
    for _ in range(30):
        whole = journey(rng, RULES[:3], budget_days=0.8)
        (aged,) = age([whole], air)
        for column, end_s in enumerate(aged.ended_s.tolist()):
            if math.isnan(end_s):
                assert aged.used_days[column] < 0.8
                continue
            ended += 1
            upto = [
                visit._replace(to_s=min(visit.to_s, end_s))
                for visit in whole.visits
                if visit.from_s < end_s
            ]
            (then,) = age([Journey(whole.start, upto, RULES[:3], whole.budget_days)], air)
            assert then.used_days[column] == pytest.approx(0.8, abs=1e-4)
    assert ended > 10


def test_units_reckoned_together_are_as_reckoned_alone():
    """Grouping by place and lag mixes nobody up."""
    rng = random.Random(6)
    air = airs(logs(), END_S)
    journeys = [journey(rng, RULES[: rng.choice([1, 4, 9])], budget_days=3.0) for _ in range(40)]
    together = age(journeys, air)
    for made, asked in zip(together, journeys, strict=True):
        (alone,) = age([asked], air)
        assert made.used_days == pytest.approx(alone.used_days, rel=1e-12)
        assert made.ended_s == pytest.approx(alone.ended_s, nan_ok=True)


def test_a_place_nobody_logs_ages_by_its_set_point():
    """Ten days at the label's temperature are ten days of life, all of it believed."""
    air = {"room": PlaceAir(EMPTY, PlaceClimate(10.0), 0.0, 20 * DAY_S)}
    rules = (Rule(LIKELY, 10.0, 85e3),)
    visit = Visit("room", lag_class_s(9_000), 0.0, 10 * DAY_S)
    (aged,) = age([Journey(Aged.fresh(rules), [visit], rules, np.full(1, 5.0))], air)
    assert aged.used_days == pytest.approx([10.0])
    assert aged.filled_days == pytest.approx(10.0)
    assert aged.filled_s == aged.total_s == 10 * DAY_S
    assert aged.ended_s == pytest.approx([5 * DAY_S], abs=1.0)


def test_the_picture_runs_to_what_was_used():
    """Life over time ends where ageing ends, and never falls."""
    rng = random.Random(8)
    air = airs(logs(), END_S)
    asked = journey(rng)
    at_s, used = over_time(asked.visits, air, RULES, 50)
    (aged,) = age([asked], air)
    assert used[-1] == pytest.approx(aged.used_days, rel=1e-3)
    assert (np.diff(used, axis=0) >= 0).all()
    assert (np.diff(at_s) > 0).all()
