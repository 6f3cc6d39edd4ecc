"""On the console an order comes as it was ordered: its count and size, where none is typed."""

import pytest
from support.studio import Studio, code_of

from stockroom.cli import run
from stockroom.core.model import Order, Unit
from stockroom.desk.orders import ordering
from stockroom.desk.lookup import everything, find, usual_place


@pytest.fixture
def at(studio: Studio):
    """Run a command on the small studio's store."""
    store = studio.desk.engine.url.render_as_string(hide_password=False)

    def call(*words: str) -> int:
        return run([*words, "--store", store])

    return call


def came(studio: Studio) -> list[tuple[int, int, int]]:
    """Width, length and count of the sheets that came after the studio was furnished."""
    with studio.desk.reading() as view:
        units = everything(view, Unit)
    known = (studio.roll, studio.second_roll, studio.pack)
    return [(u.width_dmm, u.length_dmm, u.count) for u in units if u.code not in known]


def sized(studio: Studio) -> str:
    return code_of(
        ordering.order(studio.desk, studio.sheet, 4, width_dmm=12_100, length_dmm=8_100), "order"
    )


def receive(studio: Studio, *words: str) -> tuple[str, ...]:
    return ("receive", studio.sheet, "--place", studio.room, *words)


def test_what_was_cut_to_size_comes_so_many_times_in_its_size(at, studio, capsys) -> None:
    order = sized(studio)
    assert at(*receive(studio, "--order", order)) == 0
    assert came(studio) == [(12_100, 8_100, 1)] * 4
    told = capsys.readouterr().out
    assert f"Order {order} has come." in told
    assert "ordered; the order" not in told
    with studio.desk.reading() as view:
        assert find(view, Order, order).state == "arrived"


@pytest.mark.parametrize("option", ["--count", "--units"])
def test_another_count_is_taken_and_said(at, studio, capsys, option: str) -> None:
    assert at(*receive(studio, "--order", sized(studio), option, "2")) == 0
    assert came(studio) == [(12_100, 8_100, 1)] * 2
    assert "2 of the 4 ordered; the order is closed as arrived." in capsys.readouterr().out


def test_full_sheets_come_in_one_pack_unless_packs_are_told(at, studio, capsys) -> None:
    order = code_of(ordering.order(studio.desk, studio.sheet, 4), "order")
    assert at(*receive(studio, "--order", order, "--units", "2")) == 2
    assert "How many came in each of 2 packs" in capsys.readouterr().err
    assert at(*receive(studio, "--order", order, "--units", "2", "--count", "2")) == 0
    assert came(studio) == [(30_500, 20_300, 2)] * 2
    assert "ordered; the order" not in capsys.readouterr().out


def test_rolls_come_as_many_as_were_ordered_and_go_where_the_others_stand(at, studio) -> None:
    order = code_of(ordering.order(studio.desk, studio.paper, 3), "order")
    assert at("receive", studio.paper, "--place", studio.store, "--order", order) == 0
    assert came(studio) == [(12_700, 500_000, 1)] * 3
    with studio.desk.reading() as view:
        from stockroom.core.model import Material

        assert usual_place(view, find(view, Material, studio.paper)) == studio.store
        assert usual_place(view, find(view, Material, studio.sheet)) == studio.room


def test_an_order_of_another_material_is_not_closed_by_it(at, studio, capsys) -> None:
    order = sized(studio)
    assert at("receive", studio.paper, "--place", studio.store, "--order", order) == 1
    assert "is for Cast acrylic 3 mm, not for Satin" in capsys.readouterr().err
    assert came(studio) == []


def test_without_an_order_one_of_it_comes(at, studio) -> None:
    assert at(*receive(studio)) == 0
    assert came(studio) == [(30_500, 20_300, 1)]


def test_a_count_below_zero_and_an_empty_look_are_refused_in_words(at, studio, capsys) -> None:
    assert at("count", studio.roll, "-3") == 2
    assert "No such option" not in capsys.readouterr().err
    assert at("look-over", studio.pack) == 2
    assert "--mask-front, --mask-back, --grade" in capsys.readouterr().err


def test_no_roll_was_measured_before_the_first_came(at, studio, capsys) -> None:
    words = ("winding", studio.paper, "--length", "50", "--across", "152.6")
    assert at(*words, "--happened", "2024-01-01") == 1
    assert "the books came on Mon 2 Mar 2026 09:00" in capsys.readouterr().err
    assert at(*words) == 0
