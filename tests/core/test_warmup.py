"""A cold package is never called safe or ready too early, by the maker's table or by conduction."""

import math
import random

import numpy as np
import pytest
from support.warmth import temperature_at

from stockroom.core.climate.moisture import DewPoint, dew_point
from stockroom.core.climate.probe import fit_surface_coefficient
from stockroom.core.climate.warm_table import TableRow, by_table
from stockroom.core.climate.warmup import Pack, Package, Way, modes, warm_up
from stockroom.core.constants import DEW_MARGIN, READY_WITHIN, WARM_UP_COEFFICIENT
from stockroom.errors import BadValueError

NAN = float("nan")
ROLL = Package(500_000, 12_700)
PACK = Pack(25.0, 400.0, 500.0)
ROOM_C, ROOM = 21.0, dew_point(21.0, 50.0)
BODIES = [ROLL, Package(0, 12_700), Package(50_000, 2_000, core_mm=0.0), PACK, Pack(200, 200, 200)]


@pytest.mark.parametrize("body", BODIES)
@pytest.mark.parametrize("h", [1.0, 1.17, 3.0, 30.0])
def test_it_starts_cold_ends_warm_and_never_turns_back(body, h):
    """The surface leads the core; neither passes the room nor falls below the start."""
    t_s = np.concatenate(([0.0], np.geomspace(0.1, 3e6, 400)))
    core_c, surface_c = temperature_at(body, -18.0, ROOM_C, h, t_s)
    assert core_c[0] == surface_c[0] == -18.0
    assert core_c[-1] == pytest.approx(ROOM_C, abs=1e-3)
    assert surface_c[-1] == pytest.approx(ROOM_C, abs=1e-3)
    assert np.all(np.diff(core_c) >= -1e-9)
    assert np.all(np.diff(surface_c) >= -1e-9)
    assert np.all(surface_c >= core_c - 1e-9)
    assert core_c.min() >= -18.0 - 1e-9
    assert surface_c.max() <= ROOM_C + 1e-9


@pytest.mark.parametrize("ratio", [None, 0.0, 0.001, 0.4, 0.86, 0.99])
@pytest.mark.parametrize("biot", [1e-4, 0.3, 3.0, 100.0])
def test_the_modes_together_are_the_start(ratio, biot):
    """Weights sum to the first difference, and late terms never outweigh early ones."""
    zeta, inner, outer = modes(biot, ratio)
    assert np.all(np.diff(zeta) > 0)
    span = 1.0 if ratio is None else 1 - ratio
    assert np.allclose(np.diff(zeta)[5:] * span, math.pi, rtol=0.05)
    # what is cut off at the outer face falls as one over the number of modes
    assert outer.sum() == pytest.approx(1.0, abs=2 * biot * span / (math.pi**2 * 39) + 1e-3)
    early = Way(0.01, 0.14, None if ratio is None else 0.01 * ratio / (1 - ratio))
    h = biot * 0.14 / (0.01 / span)
    assert float(early.left(0.0, h)) == 1.0
    assert float((inner * np.exp(-((zeta * span) ** 2) * 0.01)).sum()) == pytest.approx(1, abs=2e-3)


def test_the_short_and_the_long_solution_meet():
    """At the moment the series takes over, both give the same temperature."""
    for body in BODIES:
        for h in (1.0, 3.0, 30.0):
            for way in body.ways:
                t_s = 2e-3 * way.depth_m**2 / (way.conductivity / 1.54e6)
                before, after = way.left([t_s * (1 - 1e-9), t_s * (1 + 1e-9)], h, outer=True)
                assert before == pytest.approx(after, abs=4e-5)  # 1.6 mK of 39 K


def test_both_times_are_read_from_the_core():
    """At safe_s the core is 2.8 K above the room's dew point, at ready_s within 2 K of the room."""
    for body in BODIES:
        for from_c in (-18.0, 4.0):
            wait = warm_up(body, from_c, ROOM_C, ROOM)
            core_c, _ = temperature_at(body, from_c, ROOM_C, 3.0, [wait.safe_s, wait.ready_s])
            assert core_c == pytest.approx([ROOM.temp_c + 2.8, ROOM_C - 2.0], abs=0.002)
            assert (wait.state, wait.by, wait.beyond_table) == ("wait", "conduction", False)
            assert 0 < wait.safe_s < wait.ready_s
            assert (wait.dew, wait.surface_coefficient) == (ROOM, 3.0)
    assert (DEW_MARGIN.value, READY_WITHIN.value, WARM_UP_COEFFICIENT.value) == (2.8, 2.0, 3.0)


@pytest.mark.parametrize("body", [ROLL, PACK])
def test_slower_air_more_paper_and_more_cold_never_shorten_it(body):
    def times(body, from_c, h, dew=ROOM):
        wait = warm_up(body, from_c, ROOM_C, dew, h=h)
        return wait.safe_s, wait.ready_s

    def never_shorter(series):
        assert np.all(np.diff(np.array(series), axis=0) >= 0)

    never_shorter([times(body, 4.0, h) for h in np.linspace(30, 1, 30).tolist()])
    never_shorter([times(body, from_c, 3.0) for from_c in np.linspace(21, -25, 41).tolist()])
    never_shorter([times(body, 4.0, 3.0, dew_point(ROOM_C, rh)) for rh in range(20, 82, 2)])
    if body is ROLL:
        never_shorter([times(Package(1e4 * m, 12_700), 4.0, 3.0) for m in range(0, 100, 7)])
        never_shorter([times(Package(500_000, w), 4.0, 3.0) for w in range(500, 15_000, 900)])
    else:
        never_shorter([times(Pack(mm, 400, 500), 4.0, 3.0) for mm in range(5, 100, 7)])


@pytest.mark.parametrize(("rh_pct", "safe"), [(83.5, True), (84.5, False), (100, False)])
def test_a_room_near_its_own_dew_point_is_named_not_timed(rh_pct, safe):
    """At 21 °C the margin of 2.8 K is lost at 84 %: then no number of hours helps."""
    wait = warm_up(ROLL, 4.0, ROOM_C, dew_point(ROOM_C, rh_pct))
    assert (wait.state == "room too damp") is not safe
    assert (wait.safe_s is None) is not safe
    assert wait.ready_s > 0


def test_the_margin_is_lost_exactly_where_the_room_meets_it():
    dew = DewPoint(18.2, "dew point")
    assert warm_up(ROLL, 4.0, 21.0, dew).state == "room too damp"
    assert warm_up(ROLL, 4.0, 21.01, dew).state == "wait"
    rows = [TableRow(20_000, 1_000_000, -20.0, 9)]
    damp = warm_up(ROLL, 4.0, 21.0, dew, rows=rows, stacked=True)
    assert (damp.state, damp.safe_s, damp.ready_s) == ("room too damp", None, 13.5 * 3_600)
    assert warm_up(ROLL, 21.0, 21.0, dew).state == "room too damp"


def test_it_is_never_ready_before_it_may_be_opened():
    """In a damp room the dew point is the stricter of the two."""
    damp = dew_point(ROOM_C, 80.0)
    assert damp.temp_c + 2.8 > ROOM_C - 2.0
    wait = warm_up(ROLL, 4.0, ROOM_C, damp)
    assert wait.safe_s == wait.ready_s
    core_c, _ = temperature_at(ROLL, 4.0, ROOM_C, 3.0, wait.safe_s)
    assert float(core_c) == pytest.approx(damp.temp_c + 2.8, abs=0.002)


def test_a_dry_cold_room_is_judged_by_its_frost_point():
    room = dew_point(8.0, 40.0)
    assert room.kind == "frost point"
    wait = warm_up(ROLL, -18.0, 8.0, room)
    core_c, _ = temperature_at(ROLL, -18.0, 8.0, 3.0, wait.safe_s)
    assert float(core_c) == pytest.approx(room.temp_c + 2.8, abs=0.002)


def test_what_is_warm_already_does_not_wait():
    rows = [TableRow(20_000, 1_000_000, -20.0, 9)]
    for given in ((), rows):
        none = warm_up(ROLL, 19.5, ROOM_C, ROOM, rows=given)
        assert (none.state, none.safe_s, none.ready_s) == ("nothing to wait for", 0.0, 0.0)
        hot = warm_up(ROLL, 32.0, ROOM_C, ROOM, rows=given)
        assert (hot.safe_s, hot.by) == (0.0, "conduction")
        core_c, _ = temperature_at(ROLL, 32.0, ROOM_C, 3.0, hot.ready_s)
        assert float(core_c) == pytest.approx(23.0, abs=0.002)
    assert warm_up(ROLL, ROOM_C, ROOM_C, ROOM).state == "nothing to wait for"


ROWS = [
    TableRow(7_620, 304_800, -18.0, 8),
    TableRow(7_620, 304_800, 2.0, 6),
    TableRow(7_620, 304_800, 13.0, 4),
    TableRow(10_160, 304_800, -18.0, 9),
    TableRow(10_160, 304_800, 2.0, 7),
    TableRow(10_160, 304_800, 13.0, 5),
]


@pytest.mark.parametrize(
    ("width_dmm", "length_dmm", "from_c", "hours", "beyond"),
    [
        (7_620, 304_800, -18.0, 8, False),
        (10_160, 304_800, 13.0, 5, False),
        (7_621, 304_800, 13.0, 5, False),  # a hair wider: the next row
        (7_000, 10_000, 12.9, 6, False),  # a hair colder: the next row
        (7_000, 10_000, 20.0, 4, False),
        (7_000, 10_000, 1.9, 8, False),
        (10_161, 304_800, 13.0, 9, True),
        (7_620, 304_801, 13.0, 9, True),
        (7_620, 304_800, -18.1, 9, True),
    ],
)
def test_the_table_is_rounded_up_in_every_direction(width_dmm, length_dmm, from_c, hours, beyond):
    told = by_table(ROWS[::-1], width_dmm, length_dmm, from_c)
    assert (told.hours, told.beyond) == (hours, beyond)


def test_a_misprint_cannot_make_more_paper_quicker():
    """The largest roll with 2 h where a smaller one has 8 counts as 8."""
    wrong = [*ROWS[:3], TableRow(10_160, 304_800, -18.0, 2)]
    assert by_table(wrong, 10_160, 304_800, -18.0).hours == 8
    assert by_table(wrong, 7_620, 304_800, -18.0).hours == 8
    assert by_table(wrong, 7_620, 304_800, 13.0).hours == 4


def test_any_table_is_monotone():
    rng = random.Random(3)
    for _ in range(200):
        rows = [
            TableRow(
                rng.randint(1, 4), rng.randint(1, 4), rng.choice([-18, 2, 13]), rng.randint(1, 9)
            )
            for _ in range(rng.randint(1, 8))
        ]
        small = [rng.uniform(0.5, 5), rng.uniform(0.5, 5), rng.uniform(-25, 20)]
        large = [small[0] + rng.random(), small[1] + rng.random(), small[2] - 8 * rng.random()]
        less, more = by_table(rows, *small), by_table(rows, *large)
        assert less.hours <= more.hours
        assert less.beyond <= more.beyond


def test_the_makers_table_decides_both_times():
    wait = warm_up(Package(300_000, 10_000), 2.0, ROOM_C, ROOM, rows=ROWS)
    assert (wait.safe_s, wait.ready_s, wait.by) == (7 * 3_600, 7 * 3_600, "maker's table")
    assert not wait.beyond_table
    assert wait.ready_s < warm_up(Package(300_000, 10_000), 2.0, ROOM_C, ROOM).ready_s


def test_a_damper_room_than_the_maker_thought_of_lengthens_his_hours():
    damp = dew_point(ROOM_C, 82.0)
    roll = Package(300_000, 10_000)
    wait = warm_up(roll, 2.0, ROOM_C, damp, rows=ROWS)
    assert wait.by == "conduction"
    assert wait.ready_s == wait.safe_s == warm_up(roll, 2.0, ROOM_C, damp).safe_s > 7 * 3_600


@pytest.mark.parametrize("roll", [Package(900_000, 12_700), Package(100_000, 12_700)])
def test_beyond_the_table_it_is_the_largest_row_and_at_least_conduction(roll):
    wait = warm_up(roll, 2.0, ROOM_C, ROOM, rows=ROWS)
    conduction_s = warm_up(roll, 2.0, ROOM_C, ROOM).ready_s
    assert wait.beyond_table
    assert wait.ready_s == max(9 * 3_600, conduction_s)
    assert wait.by == ("conduction" if conduction_s > 9 * 3_600 else "maker's table")
    assert wait.safe_s >= 9 * 3_600


def test_a_table_of_sheets_does_not_know_how_thick_the_pack_is():
    """A thin box has the table's hours, a thick one at least those of conduction."""
    rows = [TableRow(4_064, 5_080, -18.0, 3)]
    thin, thick = Pack(3.0, 508.0, 406.4), Pack(60.0, 406.4, 508.0)
    assert warm_up(thin, -18.0, ROOM_C, ROOM, rows=rows).ready_s == 3 * 3_600
    wait = warm_up(thick, -18.0, ROOM_C, ROOM, rows=rows)
    assert wait.ready_s == warm_up(thick, -18.0, ROOM_C, ROOM).ready_s > 3 * 3_600
    assert (wait.by, wait.beyond_table) == ("conduction", False)


@pytest.mark.parametrize("rows", [(), ROWS])
def test_stacked_is_half_as_long_again(rows):
    roll = Package(300_000, 10_000)
    alone = warm_up(roll, 2.0, ROOM_C, ROOM, rows=rows)
    stack = warm_up(roll, 2.0, ROOM_C, ROOM, rows=rows, stacked=True)
    assert stack.safe_s == pytest.approx(1.5 * alone.safe_s)
    assert stack.ready_s == pytest.approx(1.5 * alone.ready_s)
    assert (alone.stacked, stack.stacked, stack.by) == (False, True, alone.by)


def test_a_pack_lies_on_a_bench_and_its_sides_may_be_turned():
    """One face closed is half a slab of twice the thickness with both faces open."""
    wide = Pack(10.0, 1e6, 1e6)
    core_c, _ = temperature_at(wide, 4.0, ROOM_C, 3.0, 3_600)
    both = Way(0.010, 0.14)  # half of 20 mm
    assert float(core_c) == pytest.approx(ROOM_C - 17 * float(both.left(3_600, 3.0)))
    a, b = Pack(10.0, 300.0, 400.0), Pack(10.0, 400.0, 300.0)
    assert a.sides_dmm == b.sides_dmm == (3_000, 4_000)
    assert float(temperature_at(a, 4, 21, 3, 3_600)[0]) == pytest.approx(
        float(temperature_at(b, 4, 21, 3, 3_600)[0])
    )


NIGHT_S = np.arange(0, 12 * 3_600, 900.0)


@pytest.mark.parametrize("body", [ROLL, PACK])
@pytest.mark.parametrize("h", [1.5, 5.0, 20.0])
def test_a_clean_probe_run_gives_its_coefficient_back(body, h):
    core_c, _ = temperature_at(body, 4.0, ROOM_C, h, NIGHT_S)
    fit = fit_surface_coefficient(NIGHT_S + 1.7e9, core_c, ROOM_C, body)
    assert fit.h == pytest.approx(h, rel=2e-3)
    assert fit.low < h < fit.high
    assert fit.rms_k < 0.01


def test_a_room_that_steps_is_two_runs_laid_over_each_other():
    """Up by 4 K after three hours: the sum of two answers to a step."""
    room_c = np.where(NIGHT_S <= 3 * 3_600, 17.0, ROOM_C)
    first, _ = temperature_at(ROLL, 4.0, 17.0, 4.0, NIGHT_S)
    # the room is read straight between readings: the step is a ramp of a quarter of an hour
    late_s = np.maximum(NIGHT_S - 3 * 3_600 - 450, 0)
    second, _ = temperature_at(ROLL, 0.0, 4.0, 4.0, late_s)
    fit = fit_surface_coefficient(NIGHT_S, first + second, room_c, ROLL, from_c=4.0)
    assert fit.h == pytest.approx(4.0, rel=5e-3)
    assert fit.rms_k < 0.01


def test_the_interval_holds_the_truth_with_a_usual_sensor():
    """Probes half a kelvin off either way, with noise, in a room logger just as far off."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(12):
        h = float(rng.uniform(2, 9))
        core_c, _ = temperature_at(ROLL, 4.0, ROOM_C, h, NIGHT_S)
        probe_c = core_c + rng.uniform(-0.5, 0.5) + rng.normal(0, 0.1, len(core_c))
        fit = fit_surface_coefficient(NIGHT_S, probe_c, ROOM_C + rng.uniform(-0.5, 0.5), ROLL)
        held += fit.low <= h <= fit.high
        assert fit.low < fit.h < fit.high < 3 * fit.low
    assert held >= 11


def test_a_long_run_is_thinned_and_missing_readings_are_left_out():
    t_s = np.arange(0, 12 * 3_600, 10.0)
    core_c, _ = temperature_at(ROLL, 4.0, ROOM_C, 5.0, t_s)
    core_c[100:200] = NAN
    room_c = np.full(len(t_s), ROOM_C)
    room_c[1_000:1_100] = NAN
    assert fit_surface_coefficient(t_s, core_c, room_c, ROLL).h == pytest.approx(5.0, rel=5e-3)


def test_a_start_that_is_known_counts_from_the_first_instant_given():
    """The probe woke an hour late: with the store's temperature the hour is not lost."""
    core_c, _ = temperature_at(ROLL, 4.0, ROOM_C, 5.0, NIGHT_S)
    core_c[:5] = NAN
    fit = fit_surface_coefficient(NIGHT_S, core_c, ROOM_C, ROLL, from_c=4.0)
    assert fit.h == pytest.approx(5.0, rel=2e-3)
    assert fit.rms_k < 0.01


def test_what_the_cache_hands_out_cannot_be_written_to():
    with pytest.raises(ValueError):
        modes(1.0, 0.5)[0][0] = 0.0


def probe(until_s=12 * 3_600, from_c=4.0, h=5.0):
    t_s = NIGHT_S[until_s >= NIGHT_S]
    return t_s, temperature_at(ROLL, from_c, ROOM_C, h, t_s)[0]


@pytest.mark.parametrize(
    "run",
    [
        lambda: (*probe(until_s=5_400), ROOM_C, ROLL),  # too short: seven readings
        lambda: (*probe(until_s=2 * 3_600, h=3.0), ROOM_C, ROLL),  # not yet 5 K up
        lambda: (*probe(from_c=18.0), ROOM_C, ROLL),  # too flat
        lambda: (NIGHT_S, np.full(len(NIGHT_S), 4.0), ROOM_C, ROLL),
        lambda: (NIGHT_S, np.linspace(4, 300, len(NIGHT_S)), ROOM_C, ROLL),  # faster than any
        lambda: (*probe(), ROOM_C, Package(9_000_000, 12_700)),  # another, much larger roll
        lambda: (*probe(), np.full(3, ROOM_C), ROLL),
        lambda: (probe()[0][::-1], probe()[1], ROOM_C, ROLL),
        lambda: (NIGHT_S, np.full(len(NIGHT_S), NAN), ROOM_C, ROLL),
        lambda: (*probe(), NAN, ROLL),
        lambda: (np.append(NIGHT_S[:-1], NAN), probe(h=4.0)[1][: len(NIGHT_S)], ROOM_C, ROLL),
        lambda: (*probe(), ROOM_C, ROLL, NAN),
    ],
)
def test_a_probe_run_that_cannot_tell_is_refused(run):
    """Too short, too flat, not of this package, or not a run at all: said so, with no number."""
    with pytest.raises(BadValueError) as caught:
        fit_surface_coefficient(*run())
    assert len(str(caught.value).split()) > 6


@pytest.mark.parametrize(
    "impossible",
    [
        lambda: Package(-1, 12_700),
        lambda: Package(NAN, 12_700),
        lambda: Package(500_000, 0),
        lambda: Package(500_000, 12_700, 0.0),
        lambda: Package(500_000, 12_700, wall_mm=-1),
        lambda: Package(0, 12_700, wall_mm=0),
        lambda: Pack(0, 100, 100),
        lambda: Pack(10, NAN, 100),
        lambda: TableRow(10, 10, 4.0, 0),
        lambda: TableRow(10, 0, 4.0, 1),
        lambda: TableRow(10, 10, NAN, 1),
        lambda: by_table([], 1, 1, 4.0),
        lambda: warm_up(ROLL, NAN, ROOM_C, ROOM),
        lambda: warm_up(ROLL, 4.0, 300.0, ROOM),
        lambda: warm_up(ROLL, 4.0, ROOM_C, DewPoint(NAN, "dew point")),
        lambda: warm_up(ROLL, 4.0, ROOM_C, ROOM, h=0.0),
    ],
)
def test_what_cannot_be_is_refused_in_words(impossible):
    with pytest.raises(BadValueError) as caught:
        impossible()
    assert len(str(caught.value).split()) > 6
