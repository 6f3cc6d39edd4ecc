"""Each reason that can decide an answer does decide it, and says so in a sentence."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from support.history import StayClimate, usable_by

from stockroom.core.climate.course import PlaceClimate
from stockroom.core.climate.readings import EMPTY
from stockroom.core.constants import ASSURANCE
from stockroom.core.freshness.label import label_life
from stockroom.core.freshness.opened import Opened
from stockroom.core.model import Lot, Material, Place, Unit
from stockroom.core.verdict import (
    Candidate,
    Verdict,
    Wish,
    best_first,
    length_lacking_dmm,
    ok_to_print,
)
from stockroom.core.wording import _SENTENCES, ANSWERS, because, sentence

TODAY = date(2026, 3, 2)
NOW = int(datetime(2026, 3, 2, 9, tzinfo=UTC).timestamp())
PAPER = Material(
    code="1", name="Satin 127", family="paper", form="roll", width_dmm=12_700,
    length_dmm=500_000, label_temp_centi_c=1000,
)  # fmt: skip
LOT = Lot(code="2", material="1", number="E-1", label_date=date(2027, 6, 1))
COLD = Place(code="4", name="Cold store", place_kind="cold store", set_point_centi_c=400)
ROLL = Unit(
    code="3", lot="2", form="roll", place="4", width_dmm=12_700, length_dmm=500_000,
    remaining_dmm=500_000,
)  # fmt: skip
WISH = Wish(25_000, 12_500, 1, TODAY + timedelta(days=3))
SEEN: set[str] = set()


def roll(lot: Lot = LOT, *, stood_c: float = 4.0, days: int = 60, **unit: object) -> Candidate:
    start = NOW - days * 86_400
    came = datetime.fromtimestamp(start, UTC).date()
    stays = [StayClimate(start, NOW, EMPTY, PlaceClimate(stood_c))]
    usable = usable_by(stays, label_life(PAPER, lot, came), NOW, stood_c)
    return Candidate(replace(ROLL, **unit), lot, PAPER, COLD, usable)  # type: ignore[arg-type]


def asked(candidate: Candidate, wish: Wish = WISH) -> Verdict:
    verdict = ok_to_print(candidate, wish, TODAY)
    SEEN.update(reason.kind for reason in verdict.reasons)
    for reason in verdict.reasons:
        text = sentence(reason, TODAY)
        assert text[-1] == "."
        assert "None" not in text
    return verdict


def test_a_fresh_long_roll_is_a_yes_with_what_to_do() -> None:
    verdict = asked(roll())
    assert verdict.answer == "yes"
    assert {r.kind for r in verdict.reasons} >= {"fresh", "long enough", "take out", "filled"}


@pytest.mark.parametrize(
    ("candidate", "kind"),
    [
        (roll(state="used"), "not in stock"),
        (roll(held="dented"), "on hold"),
        (roll(replace(LOT, held="streaks")), "batch on hold"),
        (roll(held="yellow strip"), "yellow strip"),
        (replace(roll(), strip=("yellow", 2)), "yellow strip"),
        (roll(replace(LOT, label_date=date(2026, 2, 1)), stood_c=22.0), "off"),
        (roll(remaining_dmm=20_000), "too short"),
    ],
)
def test_what_bars_a_roll(candidate: Candidate, kind: str) -> None:
    verdict = asked(candidate)
    assert (verdict.answer, verdict.first.kind) == ("no", kind)
    assert because(verdict, TODAY)


def test_a_print_that_does_not_go_on_the_roll() -> None:
    for wish, why in ((replace(WISH, height_dmm=13_000, width_dmm=14_000), "too wide"),):
        verdict = asked(roll(), wish)
        assert verdict.answer == "no"
        assert verdict.first.figures["why"] == why
    printer = replace(PAPER, longest_print_dmm=20_000)
    verdict = asked(replace(roll(), material=printer))
    assert verdict.first.figures["why"] == "too long"


def test_what_asks_for_a_strip_and_what_settles_it() -> None:
    undated = roll(Lot(code="2", material="1"))
    past = roll(replace(LOT, label_date=TODAY), days=300)
    near = roll(replace(LOT, label_date=date(2026, 7, 1)), stood_c=21.0, days=40)
    limit = near.usable.likely
    for candidate, wish, kind in (
        (undated, WISH, "estimated"),
        (past, WISH, "unproven"),
        (near, replace(WISH, day=limit), "near its day"),
        (replace(roll(), strip=("unsure", 3)), WISH, "unsure strip"),
    ):
        verdict = asked(candidate, wish)
        assert (verdict.answer, verdict.first.kind) == ("strip", kind)
        settled = asked(replace(candidate, strip=("clean", 3)), wish)
        assert settled.answer == "yes"
        assert asked(replace(candidate, strip=("clean", 15)), wish).answer == (
            "yes" if kind == "unsure strip" else "strip"
        )


def test_what_does_not_age_is_good_to_its_dates_and_wants_no_strip() -> None:
    canvas = replace(PAPER, family="canvas")
    over = Opened(date(2026, 1, 1), 30, 6e6, 6e6, 0.0, 50.0, 60.0)
    bare = replace(roll(), material=canvas, usable=None, opened=over)
    for ends, answer, kind in (
        (None, "yes", "undated"),
        (WISH.day, "yes", "in date"),
        (WISH.day - timedelta(days=1), "no", "past its date"),
    ):
        verdict = asked(replace(bare, ends=ends))
        assert verdict.answer == answer
        assert kind in {reason.kind for reason in verdict.reasons}
    soon, late = (replace(bare, ends=WISH.day + timedelta(days=days)) for days in (1, 2))
    pairs = [(one, asked(one)) for one in (bare, late, soon)]
    assert [one.ends for one, _ in best_first(pairs)] == [soon.ends, late.ends, None]


def test_a_print_past_the_likely_day_is_not_said_to_come_close_to_it() -> None:
    near = roll(replace(LOT, label_date=date(2026, 7, 1)), stood_c=21.0, days=40)
    likely = near.usable.likely
    on_it = asked(near, replace(WISH, day=likely)).first
    assert "comes close to its day" in sentence(on_it, TODAY)
    before, after = near.usable.nearer_part()
    assert before < likely + timedelta(days=1) <= after
    past = asked(near, replace(WISH, day=likely + timedelta(days=1))).first
    told = sentence(past, TODAY)
    assert "past its likely day, but inside the nearer part of its range: run a strip" in told
    assert "comes close" not in told


def test_an_unknown_label_temperature_asks_where_the_readings_disagree() -> None:
    material = replace(PAPER, label_temp_centi_c=None, storage_limit_centi_c=400)
    lot = replace(LOT, label_date=date(2026, 3, 20))
    start = NOW - 60 * 86_400
    came = datetime.fromtimestamp(start, UTC).date()
    stays = [StayClimate(start, NOW, EMPTY, PlaceClimate(6.0))]
    usable = usable_by(stays, label_life(material, lot, came), NOW, 6.0)
    days = sorted(day for _, day in usable.by_reading)
    verdict = asked(
        Candidate(ROLL, lot, material, COLD, usable), replace(WISH, day=days[0] + timedelta(days=1))
    )
    assert "label temperature" in {r.kind for r in verdict.reasons}


def test_length_tells_remakes_and_the_rolls_beside() -> None:
    few = asked(roll(remaining_dmm=62_000))
    assert (few.answer, few.first.kind) == ("yes", "few remakes")
    assert few.length.assurance < ASSURANCE.value
    assert few.length.lacking_dmm > 0
    beside = asked(replace(roll(remaining_dmm=62_000), beside_prints=19, beside_rolls=1))
    assert beside.length.together > 0.99
    assert beside.length.lacking_dmm == 0
    split = asked(
        replace(roll(remaining_dmm=62_000), beside_prints=19, beside_rolls=1),
        replace(WISH, count=4),
    )
    assert split.first.kind == "needs a second roll"


def test_a_series_stays_on_its_emulsion() -> None:
    series = replace(WISH, count=3, series=True)
    short = asked(roll(remaining_dmm=100_000), series)
    assert (short.answer, short.first.kind) == ("no", "series short")
    assert (
        asked(replace(roll(remaining_dmm=100_000), beside_prints=19, beside_rolls=1), series).answer
        == "yes"
    )


def test_another_paper_is_no_answer() -> None:
    verdict = asked(roll(), replace(WISH, material="99"))
    assert (verdict.answer, verdict.first.kind) == ("no", "another paper")


def test_what_is_promised_is_not_free() -> None:
    free, promised = asked(roll()), asked(replace(roll(), promised_dmm=440_000))
    assert promised.length.assurance < free.length.assurance
    assert asked(replace(roll(), promised_dmm=500_000)).answer == "no"


def test_customers_rolls_warm_arrivals_and_unsure_lengths_are_told() -> None:
    asked(roll(replace(LOT, owner="customer")))
    asked(roll(replace(LOT, owner="consignment")))
    asked(roll(arrived_warm=True, plus_minus_dmm=10_000))
    assert {"not mine", "arrived warm", "length unsure"} <= SEEN


def test_best_first_uses_what_runs_out_first_but_holds_the_remakes() -> None:
    old, new = roll(replace(LOT, label_date=date(2026, 8, 1))), roll()
    tight = roll(replace(LOT, label_date=date(2026, 7, 1)), remaining_dmm=40_000)
    pairs = [(c, asked(c)) for c in (new, tight, old)]
    assert [pair[0] for pair in best_first(pairs)] == [old, new, tight]


def test_new_paper_lacking_is_a_length_for_the_asked_assurance() -> None:
    lacking = length_lacking_dmm(WISH, PAPER)
    exact = roll(remaining_dmm=lacking + 5_000)
    assert asked(exact).length.assurance >= ASSURANCE.value
    assert asked(roll(remaining_dmm=lacking + 4_000)).length.assurance < ASSURANCE.value
    assert length_lacking_dmm(replace(WISH, height_dmm=14_000, width_dmm=14_000), PAPER) == 0


def test_nothing_is_taken_out_for_a_print_that_is_a_no() -> None:
    assert "take out" in {r.kind for r in asked(roll()).reasons}
    assert "take out" not in {r.kind for r in asked(roll(held="dented")).reasons}


def test_a_roll_that_came_expired_ran_out_by_its_label() -> None:
    expired = roll(replace(LOT, label_date=date(2025, 12, 24)), days=10)
    assert expired.usable.likely == date(2025, 12, 24)
    text = because(asked(expired), TODAY)
    assert "likely ran out on Wed 24 Dec 2025" in text


SAID_ELSEWHERE = {
    "white shared", "white off", "white odd", "white unexplained", "white drifts", "white fine",
    "white better",
    "process drifted", "opened too long", "damp air", "white shortens", "white word",
    "grade too low", "mask not on", "chipped corner", "chip cut away", "old masking",
    "masking age unknown", "matte side", "no gloss side",
}  # fmt: skip
"""Said in the tests of white reasons and of surfaces."""


def test_every_sentence_was_said_in_these_tests() -> None:
    """A phrase that nothing says would be a phrase that nobody read."""
    assert set(_SENTENCES) - SEEN - SAID_ELSEWHERE == set()
    assert set(ANSWERS) == {"yes", "strip", "no"}
