"""No roll holds more than it came with: a count or a use beyond that is a slip, never a fact."""

from dataclasses import replace
from datetime import date

import pytest
from support.studio import Studio, code_of
from support.truths import see_truths

from stockroom.core.model import Unit
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk.cutting import one_cut
from stockroom.desk.orders import ordering
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.stock.receiving import Delivery
from stockroom.errors import BadValueError, RefusedError

WHOLE_DMM = 500_000
"""What a roll of the small studio comes with."""


def length_of(studio: Studio, code: str) -> int:
    with studio.desk.reading() as view:
        unit = view.get(Unit, code)
    assert unit is not None
    return unit.remaining_dmm


def received(studio: Studio, **differing: object) -> str:
    delivery = Delivery(material=studio.paper, place=studio.store)
    return code_of(receiving.receive(studio.desk, replace(delivery, **differing)), "unit")


def test_a_count_of_more_than_it_came_with_is_refused_and_changes_nothing(studio: Studio) -> None:
    desk = studio.desk
    with pytest.raises(RefusedError, match=r"it came with 50\.0 m") as refused:
        counting.count(desk, studio.roll, 510_001)
    assert refused.value.why
    assert refused.value.try_
    assert length_of(studio, studio.roll) == WHOLE_DMM
    counting.count(desk, studio.roll, 510_000)
    assert length_of(studio, studio.roll) == 510_000
    with pytest.raises(RefusedError, match=r"532\.26 m cannot have been"):
        counting.count(desk, studio.roll, 5_322_600, plus_minus_dmm=260_000)
    see_truths(desk)


def test_what_it_came_with_counts_and_not_what_is_left_of_it(studio: Studio) -> None:
    """A count below, and one back up to the whole: the books were wrong, the roll was not."""
    desk = studio.desk
    counting.count(desk, studio.roll, 94_000)
    counting.count(desk, studio.roll, WHOLE_DMM)
    with pytest.raises(RefusedError):
        counting.count(desk, studio.roll, 600_000)


def test_a_length_that_was_only_about_may_be_more_up_to_a_whole_roll(studio: Studio) -> None:
    about = received(studio, length_dmm=120_000, plus_minus_dmm=20_000)
    known = received(studio, length_dmm=120_000)
    counting.count(studio.desk, about, 180_000)
    with pytest.raises(RefusedError, match=r"it came with 12\.0 m"):
        counting.count(studio.desk, known, 180_000)
    counting.count(studio.desk, about, 20_000, plus_minus_dmm=0)
    counting.count(studio.desk, about, 510_000)
    with pytest.raises(RefusedError):
        counting.count(studio.desk, about, 510_100)


def test_more_than_the_books_hold_is_used_but_not_more_than_ever_was(studio: Studio) -> None:
    desk = studio.desk
    counting.count(desk, studio.roll, 22_000)
    for take in (handling.use, handling.discard, handling.return_unit):
        with pytest.raises(RefusedError, match="cannot have been on"):
            take(desk, studio.roll, 510_100)  # type: ignore[operator]
    with pytest.raises(RefusedError, match="cannot have been on"):
        one_cut.cut(desk, studio.roll, take_dmm=510_100, pieces=[Part(1_000, 1_000)])
    done = handling.use(desk, studio.roll, WHOLE_DMM)
    assert any("47.8 m more than the books held" in line for line in done.said)
    see_truths(desk)


def test_a_length_of_which_nothing_is_known_is_no_length(studio: Studio) -> None:
    desk = studio.desk
    with pytest.raises(BadValueError, match="off by more than there is"):
        counting.count(desk, studio.roll, 94_000, plus_minus_dmm=338_000)
    counting.count(desk, studio.roll, 2_000, plus_minus_dmm=5_000)
    with pytest.raises(BadValueError, match="is counted, not measured"):
        counting.count(desk, studio.pack, 5, plus_minus_dmm=10)
    with pytest.raises(BadValueError, match="off by more than there is"):
        received(studio, length_dmm=120_000, plus_minus_dmm=120_001)
    received(studio, length_dmm=120_000, plus_minus_dmm=120_000)


def test_nothing_is_made_after_it_came(studio: Studio) -> None:
    with pytest.raises(BadValueError, match="made on Tue 3 Mar 2026, after it came on Mon 2 Mar"):
        received(studio, made_on=date(2026, 3, 3))
    received(studio, made_on=date(2026, 3, 2))
    with pytest.raises(BadValueError, match="is still to come"):
        counting.amend_batch(studio.desk, "E-7731", made_on=date(2026, 3, 3))
    with pytest.raises(BadValueError, match="after it came on Thu 1 Jan 2026"):
        receiving.receive(
            studio.desk,
            Delivery(material=studio.paper, place=studio.store, made_on=date(2026, 1, 2)),
            happened_s=1_767_261_600,
        )


@pytest.mark.parametrize("size", [(30_501, 100), (100, 30_501), (20_301, 20_301)])
def test_no_size_is_ordered_that_the_sheet_cannot_give(
    studio: Studio, size: tuple[int, int]
) -> None:
    with pytest.raises(BadValueError, match="cannot be cut from a sheet of Cast acrylic 3 mm"):
        ordering.order(studio.desk, studio.sheet, 4, width_dmm=size[0], length_dmm=size[1])
    ordering.order(studio.desk, studio.sheet, 4, width_dmm=20_300, length_dmm=30_500)


def test_a_core_is_a_tube_and_limits_are_told_of_what_has_them(studio: Studio) -> None:
    desk = studio.desk
    for core_dmm in (249, 2_001, 5_000):
        with pytest.raises(BadValueError, match="from 25 to 200 mm"):
            defining.change_material(desk, studio.paper, core_dmm=core_dmm)
    defining.change_material(desk, studio.paper, core_dmm=890, white_act_centi=200)
    for wrong in ({"white_act_centi": 100}, {"liners": 1}, {"core_dmm": 890}):
        with pytest.raises(BadValueError, match="cannot be told of Cast acrylic 3 mm"):
            defining.change_material(desk, studio.sheet, **wrong)
    defining.change_material(desk, studio.sheet, settle_days=3)
