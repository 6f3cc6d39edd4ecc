"""Needs come from where each piece stands, cost from what was taken; a trace leads both ways."""

from datetime import date, timedelta

import pytest
from support.workshop import Workshop

from stockroom.core.craft import PARTS
from stockroom.core.losses import mounts_needed, prints_needed
from stockroom.core.making.sizes import Takes, TooLarge
from stockroom.desk.work import attempts, builds, booking
from stockroom.desk.condition import checking
from stockroom.desk.stock import counting, handling
from stockroom.desk.orders import ordering
from stockroom.desk.work.builds import LayerSaid
from stockroom.desk.work.cost import job_cost, stock_value
from stockroom.desk.day import today
from stockroom.desk.work.needs import PartNeed, job_needs, material_needs
from stockroom.desk.reckoning import reckoned
from stockroom.desk.work.spoilage import learned_of, lost_between, spell_of
from stockroom.desk.work.tracing import BatchTrace, trace
from stockroom.errors import RefusedError

TODAY = date(2026, 3, 2)


def needs(shop: Workshop, job: str) -> dict[str, PartNeed]:
    with reckoned(shop.desk) as reckoning:
        found = job_needs(reckoning, reckoning.jobs[job])
    return {need.part: need for need in found}


def test_a_build_whose_losses_take_all_agrees_with_the_closed_forms(shop: Workshop) -> None:
    """Where a bad mount always takes print, film and sheet, needs are the known distributions."""
    made = builds.define_build(
        shop.desk,
        "All lost",
        [LayerSaid("sheet", shop.studio.sheet), LayerSaid("face film", shop.film)],
        rules=[
            ("mount", cause, ("sheet", "face film", "paper"))
            for cause in ("", "film spoiled", "bad sheet")
        ],
    )
    code = next(t.key for t in made.changes.touches if t.kind == "build")
    job = shop.book(build=code, count=4)
    found = needs(shop, job)
    with reckoned(shop.desk) as reckoning:
        known = learned_of(reckoning).yields_for(0.96)
    sheets = mounts_needed(4, known.mounts)
    prints = prints_needed(4, 0.96, known.prints, known.mounts)
    for level in (0.5, 0.8, 0.95):
        assert found["sheet"].tries.quantile(level) == sheets.quantile(level)
        assert found["paper"].tries.quantile(level) == prints.quantile(level)
    assert found["sheet"].tries.mean == pytest.approx(sheets.mean, rel=1e-6)
    assert found["paper"].tries.mean == pytest.approx(prints.mean, rel=1e-4)


def test_needs_shrink_as_pieces_go_on(shop: Workshop) -> None:
    job = shop.book(count=2)
    before = needs(shop, job)
    attempts.record(shop.desk, job, good=True, stage="print")
    printed = needs(shop, job)
    assert printed["paper"].tries.mean < before["paper"].tries.mean - 0.9
    assert printed["sheet"].put_by == pytest.approx(1_000, abs=1)
    attempts.record(shop.desk, job, good=True, stage="mount")
    mounted = needs(shop, job)
    assert mounted["sheet"].tries.mean < printed["sheet"].tries.mean - 0.9
    assert set(mounted) == set(PARTS)


def test_what_is_taken_is_told_by_real_sizes(shop: Workshop) -> None:
    found = needs(shop, shop.book(count=1))
    film = found["face film"].takes
    assert isinstance(film, Takes)
    assert film.amount == 8_200  # 1220 x 820 mm: the long side lies across 1.3 m
    sheet = found["sheet"].takes
    assert isinstance(sheet, Takes)
    assert sheet.amount == 250  # four of 1220 x 820 mm in 3050 x 2030 mm
    profile = found["profile"].takes
    assert isinstance(profile, Takes)
    assert profile.amount == 2 * (12_000 + 8_000)


def test_a_layer_that_lies_in_no_sheet_is_told(shop: Workshop) -> None:
    job = shop.book(width_dmm=31_000, height_dmm=12_000, count=1)
    too_large = needs(shop, job)["sheet"].takes
    assert isinstance(too_large, TooLarge)
    assert "does not lie in a sheet" in too_large.why


def test_short_sheets_are_ordered_by_a_day(shop: Workshop) -> None:
    shop.book(width_dmm=24_000, height_dmm=12_000, count=9, print_on=TODAY + timedelta(days=30))
    with reckoned(shop.desk) as reckoning:
        (need,) = material_needs(reckoning, TODAY, only=shop.studio.sheet)
    assert need.usable == 6_000
    assert need.short_on == TODAY + timedelta(days=30)
    assert need.order_by == TODAY + timedelta(days=16)  # 14 days of lead time
    assert need.quantity * 1_000 >= need.safe - need.usable > (need.quantity - 1) * 1_000
    ordering.order(shop.desk, shop.studio.sheet, need.quantity)
    with reckoned(shop.desk) as reckoning:
        (again,) = material_needs(reckoning, TODAY, only=shop.studio.sheet)
    assert (again.short_on, again.quantity) == (None, 0)


def test_work_that_is_only_likely_is_not_spoken_for(shop: Workshop) -> None:
    shop.book(count=9, certainty="likely")
    with reckoned(shop.desk) as reckoning:
        assert material_needs(reckoning, TODAY) == []


def test_cost_of_a_job_is_what_its_pieces_took(shop: Workshop) -> None:
    job = shop.book(count=1)
    with reckoned(shop.desk) as reckoning:
        expected = job_cost(reckoning, reckoning.jobs[job])
    assert expected.unpriced == ()
    assert expected.piece_expected_cents > expected.piece_once_cents > 0
    attempts.record(shop.desk, job, good=True, stage="print")
    attempts.record(shop.desk, job, good=False, stage="mount", cause="dust")
    for stage in ("print", "mount", "back", "frame"):
        attempts.record(shop.desk, job, good=True, stage=stage)
    with reckoned(shop.desk) as reckoning:
        cost = job_cost(reckoning, reckoning.jobs[job])
        lines = lost_between(reckoning, TODAY, TODAY)
    assert cost.spent_cents == sum(used.cost_cents for used in shop.used())
    assert cost.lost_cents == sum(line.cents for line in lines)
    assert cost.still_cents == 0
    assert {(line.stage, line.cause) for line in lines} == {("mount", "dust")}
    assert len(lines) == 3


def test_a_month_tells_losses_outside_tries_too_and_not_those_undone(shop: Workshop) -> None:
    done = handling.lose(shop.desk, shop.studio.roll, 10_000, "dented core")
    handling.lose(shop.desk, shop.studio.second_roll, 20_000, "fogged outer wraps")
    counting.undo(shop.desk, done.seq)
    with reckoned(shop.desk) as reckoning:
        lines = lost_between(reckoning, TODAY, TODAY)
        assert lost_between(reckoning, TODAY + timedelta(days=1), TODAY + timedelta(days=9)) == []
    assert [(line.cause, line.length_dmm) for line in lines] == [("fogged outer wraps", 20_000)]


def test_a_print_found_bad_at_a_look_was_a_bad_print(shop: Workshop) -> None:
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    attempts.record(shop.desk, job, good=False, stage="look", cause="scratch")
    with reckoned(shop.desk) as reckoning:
        counts = learned_of(reckoning).count("print")
    assert (counts.good, counts.lost) == (0, 1)


def test_two_alike_are_a_spell_until_one_is_good(shop: Workshop) -> None:
    job = shop.book(count=3)
    for _ in range(2):
        attempts.record(shop.desk, job, good=False, stage="print", cause="scratch")
    with reckoned(shop.desk) as reckoning:
        spell = spell_of(reckoning)
    assert spell is not None
    assert (spell.lost, spell.cause) == (2, "scratch")
    attempts.record(shop.desk, job, good=True, stage="print")
    with reckoned(shop.desk) as reckoning:
        assert spell_of(reckoning) is None


def test_a_batch_leads_to_every_piece_and_back(shop: Workshop) -> None:
    first, second = shop.book(count=1), shop.book("Quarry", count=1)
    for job in (first, second):
        attempts.record(shop.desk, job, good=True, stage="print")
    attempts.record(shop.desk, first, good=True, stage="mount")
    with reckoned(shop.desk) as reckoning:
        of_film = trace(reckoning, f"N-{shop.film}")
        of_paper = trace(reckoning, "E-7731")
        (of_piece,) = trace(reckoning, shop.pieces(first)[0].code)  # type: ignore[misc]
        with pytest.raises(RefusedError, match="Nothing is traced"):
            trace(reckoning, shop.studio.room)
    assert isinstance(of_film, BatchTrace)
    assert isinstance(of_paper, BatchTrace)
    assert {item.job.code for item in of_film.into if item.in_it} == {first}
    assert {item.job.code for item in of_paper.into if item.in_it} == {first, second}
    assert {item.lot.number for item in of_piece.parts} >= {"E-7731", "B-204"}
    for item in of_piece.parts:
        with reckoned(shop.desk) as reckoning:
            back = trace(reckoning, item.lot.code)
        assert isinstance(back, BatchTrace)
        assert any(other.piece == item.piece for other in back.into)


def test_what_stock_is_worth_is_what_is_left_of_its_price(shop: Workshop) -> None:
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    with reckoned(shop.desk) as reckoning:
        value = stock_value(reckoning, TODAY)
        units = sum(unit.cost_left_cents for unit in reckoning.units.values())
    assert value.cents == units
    months = sum(cents for _, cents in value.by_month)
    assert value.cents == months + value.undated_cents + value.past_cents
    assert value.made_cents == sum(used.cost_cents for used in shop.used())


def test_prints_of_a_build_are_recorded_one_by_one(shop: Workshop) -> None:
    job = shop.book()
    with pytest.raises(RefusedError, match="recorded one by one"):
        handling.use(shop.desk, shop.studio.roll, 8_500, job=job, good=1)
    booking.close_job(shop.desk, job, "cancelled")
    assert needs(shop, job) == {}


def test_stock_put_by_that_is_spoiled_puts_its_job_on_today(shop: Workshop) -> None:
    job = shop.book("Dunes", count=2, series=True)
    attempts.record(shop.desk, job, good=True, stage="print")
    with reckoned(shop.desk) as reckoning:
        kept = [reckoning.units[put.unit] for put in reckoning.put_bys]
        roll = next(unit.code for unit in kept if unit.form == "roll" and unit.width_dmm == 12_700)
    assert not [notice for notice in today(shop.desk).notices if notice.unit == job]
    checking.judge_strip(shop.desk, roll, "yellow")
    (notice,) = [notice for notice in today(shop.desk).notices if notice.unit == job]
    assert notice.what == f"Dunes: {roll}, put by for it, no longer serves"
    assert notice.act == "job"
    assert "Dunes" in [line.job.name for line in today(shop.desk).work]


def test_a_roll_gives_whole_prints_of_the_job_that_takes_most(shop: Workshop) -> None:
    """Prints of 2.55 m: what is left of a roll beyond whole ones is too short for one more."""
    job = shop.book(count=4, width_dmm=25_000, height_dmm=12_000)
    for code, metres in ((shop.studio.roll, 6.0), (shop.studio.second_roll, 2.5)):
        counting.count(shop.desk, code, round(metres * 10_000))
    with reckoned(shop.desk) as reckoning:
        paper = material_needs(reckoning, TODAY, only=shop.studio.paper)[0]
    step = needs(shop, job)["paper"].takes
    assert isinstance(step, Takes)
    assert step.amount == 25_500
    assert paper.usable == 2 * step.amount
    assert paper.whole == 19 * step.amount  # of 50 m, its leader and tail taken off


def test_a_unit_put_by_twice_for_one_job_is_told_once(shop: Workshop) -> None:
    job = shop.book(count=2)
    booking.put_by(shop.desk, shop.studio.pack, job, 1)
    booking.put_by(shop.desk, shop.studio.pack, job, 1)
    with reckoned(shop.desk) as reckoning:
        found = trace(reckoning, shop.studio.pack)
    assert isinstance(found, BatchTrace)
    assert [(item.code, unit.code) for item, unit in found.jobs_put_by] == [(job, shop.studio.pack)]
