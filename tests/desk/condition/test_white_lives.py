"""Measured whites at the desk: what they do to a roll's day, its answer, and the morning."""

from datetime import date
from pathlib import Path

import pytest

from seeds_demo.studio import open_demo
from stockroom.core.wording import sentence
from stockroom.desk.condition import checking, whites
from stockroom.desk.stock import counting
from stockroom.desk.day import today
from stockroom.desk.figures import unit_figures
from stockroom.desk.reckoning import reckoned
from stockroom.desk.session import Desk
from stockroom.desk.condition.whites import shown_life
from stockroom.errors import RefusedError

DAY = date(2026, 3, 5)


@pytest.fixture
def desk(demo_store: Path, tmp_path: Path) -> Desk:
    """A copy of the demo, free to change."""
    copy = tmp_path / "demo"
    copy.write_bytes(demo_store.read_bytes())
    return open_demo(copy)


def roll_of(desk: Desk, number: str) -> str:
    with reckoned(desk) as reckoning:
        return next(
            unit.code
            for unit in reckoning.units.values()
            if reckoning.lot_of(unit).number == number
        )


def asked(desk: Desk, roll: str) -> tuple[str, str]:
    found = checking.ok(desk, unit=roll, width_dmm=9_000, height_dmm=6_000, day=DAY)
    assert found.best is not None
    verdict = found.best.verdict
    told = [sentence(reason, desk.today()) for reason in verdict.reasons]
    return verdict.answer, " ".join(told)


def patch(desk: Desk, roll: str, b: float, control_b: float | None, measuring: str = "M1") -> None:
    whites.note_patch(
        desk, roll, b=b, instrument="Bench spectro", measuring=measuring,  # type: ignore[arg-type]
        backing="white", spots=4, control="strip A" if control_b is not None else None,
        control_b=control_b,
    )  # fmt: skip


def test_a_roll_that_the_label_calls_good_and_the_white_calls_off(desk: Desk) -> None:
    roll = roll_of(desk, "P-2207")
    answer, why = asked(desk, roll)
    assert answer == "no"
    assert "Its white has drifted: b* +1.74" in why
    with reckoned(desk) as reckoning:
        unit = reckoning.units[roll]
        usable = reckoning.usable_by(unit)
        assert usable.label.days > usable.used_days + 400
        assert usable.life_days < usable.used_days + 1
    notice = next(item for item in today(desk).notices if item.unit == roll)
    assert (notice.tone, notice.act) == ("bad", "hold")


def test_a_roll_that_the_label_calls_off_and_the_white_calls_good_waits_for_a_word(
    desk: Desk,
) -> None:
    roll = roll_of(desk, "P-1803")
    answer, why = asked(desk, roll)
    assert answer == "strip"
    assert "Its life likely ran out on" in why
    assert "may count on that by your word" in why
    notice = next(item for item in today(desk).notices if item.unit == roll)
    assert notice.act == "trust"
    with reckoned(desk) as reckoning:
        before = reckoning.usable_by(reckoning.units[roll])
    assert before.likely < desk.today()
    unit, most_days = shown_life(desk, roll)
    with reckoned(desk) as reckoning:
        white = reckoning.whites.of(reckoning.units[roll])
        assert white is not None
        last_age = white.life.drifts[-1].reading.age_days
    assert most_days == int(1.5 * last_age) < white.life.median_days
    with pytest.raises(RefusedError, match="shows no"):
        whites.trust_white(desk, unit.code, "clean", most_days=most_days + 1)
    done = whites.trust_white(desk, unit.code, " whites  are clean ", most_days=most_days)
    assert counting.trail(desk)[0].act.reason == "whites are clean"
    assert f"up to {most_days} days" in done.said[-1]
    answer, why = asked(desk, roll)
    assert answer == "yes"
    assert "By your word it counts on its measured white" in why
    with reckoned(desk) as reckoning:
        after = reckoning.usable_by(reckoning.units[roll])
        found = reckoning.whites.of(reckoning.units[roll])
    assert after.likely > before.likely
    assert found is not None
    assert after.life_days == pytest.approx(most_days - found.before_days, abs=1)
    assert not after.unproven
    counting.undo(desk, done.seq)
    assert asked(desk, roll)[0] == "strip"


def test_the_chemistry_is_told_and_the_roll_stays_good(desk: Desk) -> None:
    roll = roll_of(desk, "P-2215")
    answer, why = asked(desk, roll)
    assert answer == "yes"
    assert "The control of the same run moved by b* +1.24: that is the process" in why
    with reckoned(desk) as reckoning:
        usable = reckoning.usable_by(reckoning.units[roll])
        assert usable.life_days == usable.label.days
    told = [item for item in today(desk).notices if item.what.startswith("The process")]
    assert len(told) == 1


def test_a_patch_of_another_measuring_condition_moves_nothing(desk: Desk) -> None:
    """Under M0 the same paper reads far yellower; that is no drift."""
    roll = roll_of(desk, "P-2215")
    with reckoned(desk) as reckoning:
        before = reckoning.usable_by(reckoning.units[roll]).life_days
    patch(desk, roll, 0.4, -2.1, measuring="M0")
    assert asked(desk, roll)[0] == "yes"
    with reckoned(desk) as reckoning:
        found = reckoning.whites.of(reckoning.units[roll])
        assert found is not None
        assert found.life.drifts[-1].telling == "baseline"
        assert reckoning.usable_by(reckoning.units[roll]).life_days == before


def test_a_drift_without_a_control_asks_for_a_strip_and_a_clean_one_answers(desk: Desk) -> None:
    roll = roll_of(desk, "P-2215")
    patch(desk, roll, -1.3, None)
    answer, why = asked(desk, roll)
    assert answer == "strip"
    assert "no control tells whether that is the paper or the chemistry" in why
    checking.judge_strip(desk, roll, "clean")
    assert asked(desk, roll)[0] == "yes"


def test_a_word_wants_a_white_that_shows_more_than_the_label(desk: Desk) -> None:
    with pytest.raises(RefusedError, match="speaks against it"):
        shown_life(desk, roll_of(desk, "P-2207"))
    with pytest.raises(RefusedError, match="Too little of the white"):
        shown_life(desk, roll_of(desk, "S-4418"))


def test_every_figure_of_every_unit_says_how_it_is_made_and_from_what(desk: Desk) -> None:
    """One key leads from each figure to its inputs, each with where it is from."""
    with reckoned(desk) as reckoning:
        codes = list(reckoning.units)
    groups = set()
    for code in codes:
        _, figures = unit_figures(desk, code)
        names = [figure.name for figure in figures]
        assert len(names) == len(set(names)), code
        for figure in figures:
            groups.add(figure.group)
            assert figure.how, (code, figure.name)
            assert figure.inputs, (code, figure.name)
            assert any(item.source for item in figure.inputs), (code, figure.name)
    assert groups >= {"Freshness", "Paper white"}
    assert len(groups) >= 5


def test_no_later_patch_of_another_kind_takes_a_stop_back(desk: Desk) -> None:
    """Under M0, without a control, or by density: the roll stays off, and stays as old."""
    roll = roll_of(desk, "P-2207")
    with reckoned(desk) as reckoning:
        before = reckoning.usable_by(reckoning.units[roll]).likely
    patch(desk, roll, -0.5, -2.1, measuring="M0")
    patch(desk, roll, -2.3, None)
    whites.note_patch(
        desk, roll, density=0.08, instrument="Meter", measuring="unknown", backing="white",
        control="strip A", control_density=0.08,
    )  # fmt: skip
    answer, why = asked(desk, roll)
    assert answer == "no"
    assert "Its white has drifted: b* +1.74" in why
    with reckoned(desk) as reckoning:
        assert reckoning.usable_by(reckoning.units[roll]).likely == before
    assert any("its white is off" in item.what for item in today(desk).notices)
    _, figures = unit_figures(desk, roll)
    last = next(figure for figure in figures if figure.name == "Last patch")
    assert "does not take that back" in last.value


def test_a_worse_patch_gives_no_days_back(desk: Desk) -> None:
    roll = roll_of(desk, "P-2207")
    with reckoned(desk) as reckoning:
        before = reckoning.usable_by(reckoning.units[roll]).likely
    patch(desk, roll, -2.40 + 2.1, -2.15)
    with reckoned(desk) as reckoning:
        assert reckoning.usable_by(reckoning.units[roll]).likely == before


def test_a_strip_of_the_morning_does_not_answer_a_patch_of_the_afternoon(desk: Desk) -> None:
    roll = roll_of(desk, "P-2215")
    checking.judge_strip(desk, roll, "clean")
    patch(desk, roll, -1.3, None)
    assert asked(desk, roll)[0] == "strip"


def test_a_roll_as_control_gives_no_word(desk: Desk) -> None:
    """Beside a roll that yellows too, a patch that moved is neither fine nor the process."""
    roll, beside = roll_of(desk, "P-2215"), roll_of(desk, "P-1803")
    for b in (-2.4, -0.9):
        whites.note_patch(
            desk, roll, b=b, instrument="Other spectro", measuring="M1", backing="white",
            control=beside, control_b=b,
        )  # fmt: skip
    answer, why = asked(desk, roll)
    assert answer == "strip"
    assert "its control is a roll, which may have yellowed with it" in why


def test_another_label_life_ages_the_patches_anew(desk: Desk) -> None:
    """What had gone when a roll came hangs on the label's whole life; the used days do not."""
    from stockroom.desk.stock import defining

    roll = roll_of(desk, "P-1803")

    def age_days() -> float:
        with reckoned(desk) as reckoning:
            found = reckoning.whites.of(reckoning.units[roll])
            assert found is not None
            return found.life.drifts[-1].reading.age_days

    before = age_days()
    defining.change_material(desk, "Pearl colour paper 111", label_life_days=900)
    changed = age_days()
    assert changed == pytest.approx(before + 170, abs=1)
