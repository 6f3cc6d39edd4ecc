"""The morning: prints with rolls and answers, what to take out, put back, explain and order."""

from datetime import date, timedelta
from pathlib import Path
from shutil import copyfile

import pytest
from support.studio import Studio, code_of

from seeds_demo.studio import open_demo
from stockroom.cli.shapes import reorder_text
from stockroom.desk.condition import checking
from stockroom.desk.stock import defining, handling, receiving
from stockroom.desk import keeping
from stockroom.desk.work import booking
from stockroom.desk.orders import ordering
from stockroom.desk.papers import printed
from stockroom.desk.day import Today, today
from stockroom.desk.stock.views import order_desk
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Desk


@pytest.fixture(scope="module")
def demo(demo_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Desk:
    """The demo, only read from."""
    return open_demo(Path(copyfile(demo_store, tmp_path_factory.mktemp("demo") / "demo.stockroom")))


@pytest.fixture(scope="module")
def morning(demo: Desk) -> Today:
    return today(demo)


def test_the_demo_is_the_same_every_time(demo: Desk, tmp_path: Path) -> None:
    again = open_demo(tmp_path / "again.stockroom")
    assert keeping.state(again).head == keeping.state(demo).head
    assert keeping.check(again).faults == ()
    again.close()


def test_each_booked_print_has_its_roll_and_answer(morning: Today) -> None:
    told = {line.job.name: line.answers.best for line in morning.prints}
    assert morning.prints[0].job.name == "Salt flats"
    assert all(best is not None and best.verdict.answer == "yes" for best in told.values())
    shared = told["Salt flats"], told["Night ferry"]
    assert shared[0].roll.unit.code == shared[1].roll.unit.code  # type: ignore[union-attr]
    assert shared[1].roll.promised_dmm == shared[0].verdict.length.needs_dmm  # type: ignore[union-attr]


def test_paper_is_ordered_in_time_for_a_large_job(morning: Today) -> None:
    wall = next(line for line in morning.prints if line.job.name == "Quarry wall")
    assert wall.order_rolls >= 1
    assert wall.order_by == date(2026, 3, 23)


def test_rolls_go_out_the_day_before_and_back_when_unused(morning: Today) -> None:
    assert [(o.by, o.job.name) for o in morning.take_out] == [
        (date(2026, 3, 4), "Salt flats"),
        (date(2026, 3, 5), "Tidal series"),
        (date(2026, 3, 9), "Night ferry"),
    ]
    (back,) = morning.put_back
    assert back.back_to.name == "Cold store"
    assert back.life_a_day == pytest.approx(4.34, abs=0.01)


def test_the_unexplained_weekend_waits_for_a_word(morning: Today) -> None:
    (risk,) = morning.spells
    assert risk.spell.worst_days == pytest.approx(2.4, abs=0.1)
    assert risk.jobs == ()


def test_sheets_below_their_number_are_on_the_list(morning: Today) -> None:
    (line,) = morning.reorder
    assert (line.material.name, line.have, line.quantity) == ("Cast acrylic 3 mm", 2, 2)


def test_an_order_on_its_way_counts_as_there(studio: Studio) -> None:
    ordering.tell_below(studio.desk, "Cast", 9)
    assert [line.quantity for line in today(studio.desk).reorder] == [3]
    order = code_of(ordering.order(studio.desk, "Cast", 3), "order")
    assert today(studio.desk).reorder == ()
    receiving.receive_order(studio.desk, order, "Mounting room")
    found = today(studio.desk)
    assert found.reorder == ()
    assert found.arrivals == ()


def test_held_sheets_and_offcuts_do_not_count(studio: Studio) -> None:
    handling.hold(studio.desk, studio.pack, "scratched")
    (line,) = today(studio.desk).reorder
    assert (line.have, line.held, line.past, line.quantity) == (0, 6, 0, 3)


def test_what_is_past_its_day_is_counted_beside_what_is_on_hold(studio: Studio) -> None:
    """Of two rolls a held one stays held, however old it is; the other one is past its day."""
    ordering.tell_below(studio.desk, studio.paper, 5)
    handling.hold(studio.desk, studio.roll, "dented")
    studio.desk.now_s.on(9_000)  # type: ignore[attr-defined]
    (line,) = [x for x in today(studio.desk).reorder if x.material.code == studio.paper]
    assert (line.have, line.held, line.past) == (0, 1, 1)
    assert "0 left, 1 on hold, 1 past its day, tell me below 5" in reorder_text(
        line, studio.desk.today()
    )


def test_paper_for_a_print_is_on_the_order_list_soonest_first(studio: Studio) -> None:
    """The order list and the morning count the same rolls, and a late one is due today."""
    desk = studio.desk
    defining.change_material(desk, studio.paper, lead_days=14)
    booking.book(desk, "Later", 25_000, 12_500, date(2026, 6, 1), studio.paper, count=90)
    booking.book(desk, "Soon", 25_000, 12_500, date(2026, 3, 9), studio.paper, count=90)
    lacking = order_desk(desk).lacking
    assert [line.job.name for line in lacking] == ["Soon", "Later"]
    assert [line.order_on(desk.today()) for line in lacking] == [
        desk.today(),
        date(2026, 6, 1) - timedelta(days=15),
    ]
    told = {line.job.name: line.order_rolls for line in today(desk).prints}
    assert {line.job.name: line.order_rolls for line in lacking} == told
    paper = printed.order_paper((), lacking)
    assert f"{told['Soon']}  Satin" in paper
    assert "for Later, Mon 1 Jun 2026; order by Sun 17 May 2026" in paper


def test_a_bad_spell_puts_its_jobs_at_risk(studio: Studio) -> None:
    booking.book(studio.desk, "Salt flats", 25_000, 12_500, date(2026, 3, 9), studio.paper)
    for roll in (studio.roll, studio.second_roll):
        checking.judge_strip(studio.desk, roll, "yellow")
    (line,) = today(studio.desk).prints
    best = line.answers.best
    assert best is not None
    assert best.verdict.answer == "no"
    assert line.order_rolls == 1
    assert line.order_by == date(2026, 2, 15)


def test_no_paper_at_all_says_order(desk: Desk) -> None:
    defining.define_place(desk, "Room", "room", set_point_centi_c=2100)
    defining.define_material(
        desk, "Satin", "paper", "roll", width_dmm=12_700, length_dmm=500_000, lead_days=10
    )
    booking.book(desk, "First", 10_000, 8_000, date(2026, 3, 20), "Satin")
    (line,) = today(desk).prints
    assert line.answers.best is None
    assert (line.order_rolls, line.order_by) == (1, date(2026, 3, 9))


def test_going_off_is_told_before_it_is_off(studio: Studio) -> None:
    receiving.receive(
        studio.desk,
        Delivery(material=studio.paper, place="Mounting room", number="OLD",
                 label_date=date(2026, 3, 30)),
    )  # fmt: skip
    (item,) = today(studio.desk).going_off
    assert not item.off
    assert item.ends < date(2026, 3, 30)
    studio.desk.now_s.on(60)  # type: ignore[attr-defined]
    (item,) = today(studio.desk).going_off
    assert item.off


def test_reasoning_as_of_another_day_changes_nothing(studio: Studio) -> None:
    before = keeping.state(studio.desk)
    assert today(studio.desk, date(2027, 6, 1)).day == date(2027, 6, 1)
    assert keeping.state(studio.desk) == before
