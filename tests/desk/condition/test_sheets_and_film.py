"""Sheets looked over, faults, film in the cold, dates, and sheets cut to size: each as told."""

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pytest
from support.studio import DAY_S, Clock, Studio, code_of

from stockroom.core.records import Fault, Order, Surface, Unit
from stockroom.desk import keeping
from stockroom.desk.condition import surfaces
from stockroom.desk.cutting import one_cut
from stockroom.desk.cutting.one_cut import OffcutAnswer, Part, find_offcut
from stockroom.desk.day import today
from stockroom.desk.figures import notices_of
from stockroom.desk.orders import ordering
from stockroom.desk.reckoning import reckoned
from stockroom.desk.session import Desk
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.stock.views import shelf
from stockroom.desk.work import booking
from stockroom.errors import BadValueError, RefusedError, UndoRefusedError

MONDAY = date(2026, 3, 2)


@dataclass
class Film:
    """A roll of film in the mounting room, and its material."""

    material: str
    roll: str


@pytest.fixture
def film(studio: Studio) -> Film:
    """Fifty metres of film, not yet opened."""
    material = defining.define_material(
        studio.desk, "Clear film 155", "film", "roll", width_dmm=15_500, length_dmm=500_000,
        label_life_days=365,
    )  # fmt: skip
    came = receiving.receive(
        studio.desk, Delivery(material="Clear film 155", place="Mounting room", number="F-1")
    )
    return Film(code_of(material, "material"), code_of(came, "unit"))


def surface(desk: Desk, code: str) -> Surface | None:
    with reckoned(desk) as reckoning:
        unit = reckoning.unit(code)
        assert unit is not None
        return surfaces.surface_of(reckoning, unit)


def offcut(studio: Studio, width: int = 12_200, height: int = 20_300) -> str:
    done = one_cut.cut(
        studio.desk, studio.pack, pieces=[Part(18_200, 12_200)], offcuts=[Part(width, height)]
    )
    return code_of(done, "unit")


def asked(
    studio: Studio, code: str, width: int = 6_200, height: int = 4_200, **more: Any
) -> tuple[bool, OffcutAnswer]:
    yes, no = find_offcut(studio.desk, width, height, best=99, **more)
    for answers, takes in ((yes, True), (no, False)):
        for answer in answers:
            if answer.unit.code == code:
                return takes, answer
    raise AssertionError(f"{code} was not looked at")


def told(desk: Desk, on: date = MONDAY) -> list[str]:
    with reckoned(desk, on) as reckoning:
        return [f"{notice.what} {notice.why}" for notice in notices_of(reckoning, on)]


# --- looking over ----------------------------------------------------------------------------


def test_what_is_not_said_stays_as_it_was(any_studio: Studio, now: Clock) -> None:
    s, desk = any_studio, any_studio.desk
    surfaces.look_over(desk, s.pack, mask_back="lifted", chipped="br, TL")
    now.on(1)
    done = surfaces.look_over(desk, s.pack, grade="back")
    found = surface(desk, s.pack)
    assert found is not None
    assert (found.mask_front, found.mask_back, found.grade) == ("on", "lifted", "back")
    assert found.chipped == "top left, bottom right"
    assert found.seen_s == now.now_s
    assert done.said[1] == (
        f"{s.pack}: the masking of its back is lifted at an edge, kept for a back or a sample, "
        "chipped at top left, bottom right."
    )
    surfaces.look_over(desk, s.pack, chipped="none")
    assert surface(desk, s.pack).chipped == ""  # type: ignore[union-attr]
    assert keeping.check(desk).faults == ()


def test_what_is_bare_is_not_called_kept_for_a_face(studio: Studio) -> None:
    done = surfaces.look_over(studio.desk, studio.pack, mask_front="off")
    assert "was taken off, no corner chipped" in done.said[1]


def test_a_look_is_taken_back_to_the_look_before(studio: Studio, now: Clock) -> None:
    desk = studio.desk
    first = surfaces.look_over(desk, studio.pack, grade="back")
    before = surface(desk, studio.pack)
    second = surfaces.look_over(desk, studio.pack, mask_front="off", happened_s=now.on(2))
    with pytest.raises(UndoRefusedError, match=f"act {second.seq}"):
        counting.undo(desk, first.seq)
    counting.undo(desk, second.seq)
    assert surface(desk, studio.pack) == before
    counting.undo(desk, first.seq)
    assert surface(desk, studio.pack) is None
    assert keeping.check(desk).faults == ()


def test_only_sheets_and_boards_have_faces_and_only_known_words_are_taken(
    studio: Studio, now: Clock
) -> None:
    desk = studio.desk
    with pytest.raises(RefusedError, match="no sheet or board"):
        surfaces.look_over(desk, studio.roll, grade="back")
    for wrong in ({"mask_front": "half"}, {"grade": "good"}, {"matte": "left"}):
        with pytest.raises(BadValueError, match="is no"):
            surfaces.look_over(desk, studio.pack, **wrong)  # type: ignore[arg-type]
    with pytest.raises(BadValueError, match="not a corner"):
        surfaces.look_over(desk, studio.pack, chipped="middle")
    now.on(5)
    with pytest.raises(BadValueError, match="was not told"):
        surfaces.look_over(desk, studio.pack)
    surfaces.look_over(desk, studio.pack, mask_front="on")
    with pytest.raises(RefusedError, match="Only the last look is kept"):
        surfaces.look_over(desk, studio.pack, grade="jig", happened_s=now.now_s - DAY_S)


# --- offcuts ---------------------------------------------------------------------------------


def test_an_offcut_is_as_its_sheet_was_until_somebody_looks(studio: Studio) -> None:
    desk = studio.desk
    assert surface(desk, studio.pack) is None
    surfaces.look_over(desk, studio.pack, mask_back="lifted", chipped="top left")
    piece = offcut(studio)
    found = surface(desk, piece)
    assert found is not None
    assert (found.unit, found.mask_back, found.chipped) == (studio.pack, "lifted", "top left")
    takes, answer = asked(studio, piece, use="back")
    assert takes
    assert any("Perhaps chipped" in caution for caution in answer.cautions(MONDAY))
    surfaces.look_over(desk, piece, mask_back="on", chipped="none")
    own = surface(desk, piece)
    assert own is not None
    assert (own.unit, own.mask_back, own.chipped) == (piece, "on", "")
    assert asked(studio, piece)[0]
    assert surface(desk, studio.pack).mask_back == "lifted"  # type: ignore[union-attr]


def test_a_lifted_mask_bars_a_face_and_only_warns_of_a_back(studio: Studio) -> None:
    piece = offcut(studio)
    takes, answer = asked(studio, piece)
    assert takes
    assert answer.cautions(MONDAY) == [
        "Nobody has looked it over since it came; taken to be as it comes, both masks on."
    ]
    surfaces.look_over(studio.desk, piece, mask_back="lifted")
    takes, answer = asked(studio, piece)
    assert not takes
    assert answer.why_not == (
        "not for a face: the masking of its back is lifted at an edge, seen Mon 2 Mar 2026"
    )
    takes, answer = asked(studio, piece, use="back")
    assert takes
    assert "lifted at an edge" in answer.cautions(MONDAY)[0]
    assert asked(studio, piece, use="jig")[1].cautions(MONDAY) == []


def test_a_grade_bars_what_wants_better(studio: Studio) -> None:
    piece = offcut(studio)
    surfaces.look_over(studio.desk, piece, grade="jig")
    for use, good in (("face", False), ("back", False), ("jig", True)):
        assert asked(studio, piece, use=use)[0] is good
    with pytest.raises(BadValueError, match=r"Use for a sheet: .* is not known"):
        find_offcut(studio.desk, 6_200, 4_200, use="window")  # type: ignore[arg-type]


def test_a_chipped_corner_is_cut_away_where_the_piece_leaves_room(studio: Studio) -> None:
    piece = offcut(studio)
    surfaces.look_over(studio.desk, piece, chipped="top left")
    takes, answer = asked(studio, piece)
    assert takes
    assert answer.cautions(MONDAY) == [
        "It is chipped at top left: lay the piece so that this is cut away."
    ]
    takes, answer = asked(studio, piece, 12_200, 20_300)
    assert not takes
    assert "chipped at top left" in answer.why_not


def test_boards_are_cut_for_backs_unless_said(studio: Studio) -> None:
    defining.define_material(
        studio.desk, "Composite 3 mm", "board", "sheet", width_dmm=30_500, length_dmm=15_000,
        thickness_um=3000,
    )  # fmt: skip
    came = receiving.receive(
        studio.desk, Delivery(material="Composite", place="Mounting room", count=2)
    )
    board = code_of(came, "unit")
    surfaces.look_over(studio.desk, board, mask_front="off")
    assert asked(studio, board)[0]
    assert asked(studio, board)[1].use == "back"
    assert not asked(studio, board, use="face")[0]


# --- faults ----------------------------------------------------------------------------------


def test_a_fault_lies_within_what_was_delivered(any_studio: Studio) -> None:
    s, desk = any_studio, any_studio.desk
    done = surfaces.note_fault(desk, s.roll, 32_000, 32_500, "gel")
    assert done.said[1] == f"{s.roll}: gel, 3.2 m to 3.25 m from the start of the roll."
    handling.use(desk, s.roll, 400_000)
    surfaces.note_fault(desk, s.roll, 500_000, 500_000, "end splice")
    with pytest.raises(BadValueError, match="does not lie on"):
        surfaces.note_fault(desk, s.roll, 499_000, 500_001, "gel")
    with pytest.raises(BadValueError, match="does not lie on"):
        surfaces.note_fault(desk, s.roll, 200, 100, "gel")
    counting.count(desk, s.roll, 110_000, reason="measured")
    surfaces.note_fault(desk, s.roll, 505_000, 510_000, "crease")
    with pytest.raises(BadValueError, match="needs a word"):
        surfaces.note_fault(desk, s.roll, 1, 2, " ")
    with pytest.raises(RefusedError, match="no roll of film or paper"):
        surfaces.note_fault(desk, s.pack, 1, 2, "gel")
    counting.undo(desk)
    with desk.reading() as view:
        assert [fault.what for fault in view.having(Fault, "unit", s.roll)] == ["gel", "end splice"]
    assert keeping.check(desk).faults == ()


def test_what_came_counts_what_was_found_but_not_what_was_taken_back(studio: Studio) -> None:
    desk = studio.desk

    def came() -> int:
        with desk.reading() as view:
            unit = view.get(Unit, studio.roll)
            assert unit is not None
            return surfaces.length_come_dmm(view, unit)

    assert came() == 500_000
    handling.use(desk, studio.roll, 60_000)
    assert came() == 500_000
    counting.undo(desk)
    counting.count(desk, studio.roll, 509_000)
    assert came() == 509_000
    counting.undo(desk)
    assert came() == 500_000


# --- film ------------------------------------------------------------------------------------


def test_film_into_the_cold_is_moved_and_that_is_said(studio: Studio, film: Film) -> None:
    desk = studio.desk
    assert told(desk) == []
    done = handling.move(desk, [film.roll, studio.roll], "Cold store")
    assert done.notes == (
        f"{film.roll}: Cold store is cold; film is never kept in a cold store by default, and no "
        "band of its own is written down.",
    )
    (notice,) = told(desk)
    assert f"Film {film.roll}, Clear film 155, stands in Cold store" in notice
    came = receiving.receive(desk, Delivery(material="Clear film 155", place="Cold store", units=2))
    assert "never kept in a cold store" in came.notes[0]
    assert len(told(desk)) == 3
    defining.change_material(desk, film.material, band_low_centi_c=200, band_high_centi_c=1_200)
    assert told(desk) == []
    assert handling.move(desk, [film.roll], "Cold store").notes == ()


def test_film_outside_its_band_or_too_cold_to_use_is_told(studio: Studio, film: Film) -> None:
    desk = studio.desk
    defining.change_material(desk, film.material, band_low_centi_c=500, band_high_centi_c=2_000)
    (notice,) = told(desk)
    assert (
        "Mounting room is at 21 °C; by its own sheet this film is kept between 5 and 20" in notice
    )
    defining.change_material(desk, film.material, band_high_centi_c=2_500)
    assert told(desk) == []
    defining.change_material(desk, film.material, use_least_centi_c=2_150)
    (notice,) = told(desk)
    assert "is too cold to be used" in notice
    assert "its sheet says not below 21.5 °C" in notice
    moved = handling.move(desk, [film.roll], "Cold store")
    assert moved.notes[0].endswith("Cold store is at 4 °C; by its own sheet this film is kept "
                                   "between 5 and 25 °C.")  # fmt: skip


def test_film_goes_off_by_the_day_it_was_made_and_by_being_opened(
    studio: Studio, film: Film, now: Clock
) -> None:
    desk = studio.desk

    def ends() -> date | None:
        return next(line.ends for line in shelf(desk) if line.unit.code == film.roll)

    assert ends() is None
    counting.amend_batch(desk, "F-1", made_on=date(2025, 4, 1))
    assert ends() == date(2026, 4, 1)
    (off,) = today(desk).going_off
    assert (off.unit.code, off.ends, off.off) == (film.roll, date(2026, 4, 1), False)
    defining.change_material(desk, film.material, opened_life_days=10)
    assert ends() == date(2026, 4, 1)
    handling.open_unit(desk, film.roll)
    assert ends() == MONDAY + timedelta(days=10)
    assert told(desk, MONDAY + timedelta(days=10)) == []
    late = MONDAY + timedelta(days=11)
    (notice,) = told(desk, late)
    assert "open for 11 days" in notice
    assert today(desk, late).going_off[0].off
    with reckoned(desk, late) as reckoning:
        assert ordering.counted(reckoning, reckoning.materials[film.material]) == (0, 0, 1)
    with reckoned(desk, MONDAY + timedelta(days=10)) as reckoning:
        assert ordering.counted(reckoning, reckoning.materials[film.material]) == (1, 0, 0)


def test_the_shops_own_rule_counts_where_there_is_no_date(studio: Studio, film: Film) -> None:
    defining.change_material(studio.desk, film.material, shop_life_days=30)
    (off,) = today(studio.desk).going_off
    assert (off.unit.code, off.ends) == (film.roll, MONDAY + timedelta(days=30))


# --- cut to size -----------------------------------------------------------------------------


def test_what_comes_cut_to_size_is_no_full_sheet(studio: Studio) -> None:
    desk = studio.desk
    ordering.tell_below(desk, studio.sheet, 8)
    done = ordering.order(desk, studio.sheet, 4, width_dmm=12_100, length_dmm=8_100)
    assert "4 x Cast acrylic 3 mm, cut to 1210 x 810 mm" in done.said[1]
    found = today(desk)
    (line,) = found.reorder
    assert (line.have, line.coming, line.quantity) == (6, 0, 2)
    (order,) = found.arrivals
    assert (order.width_dmm, order.length_dmm, order.price_cents) == (12_100, 8_100, None)
    ordering.order(desk, studio.sheet, 2)
    assert today(desk).reorder == ()


def test_a_size_wants_both_sides_and_a_sheet(studio: Studio) -> None:
    desk = studio.desk
    with pytest.raises(BadValueError, match="not cut to size"):
        ordering.order(desk, studio.paper, 1, width_dmm=100, length_dmm=100)
    with pytest.raises(BadValueError, match="a width and a height"):
        ordering.order(desk, studio.sheet, 1, width_dmm=100)
    with pytest.raises(BadValueError, match="size cannot be"):
        ordering.order(desk, studio.sheet, 1, width_dmm=100, length_dmm=-1)
    whole = ordering.order(desk, studio.sheet, 1, width_dmm=30_500, length_dmm=20_300)
    with desk.reading() as view:
        kept = view.get(Order, whole.born[0])
    assert kept is not None
    assert kept.width_dmm is None


def test_an_order_cut_to_size_comes_as_units_of_that_size(any_studio: Studio) -> None:
    s, desk = any_studio, any_studio.desk
    order = ordering.order(
        desk, s.sheet, 2, width_dmm=12_100, length_dmm=8_100, price_cents=4_000
    ).born[0]
    came = receiving.receive_order(desk, order, "Mounting room")
    units = [t.after for t in came.changes.touches if isinstance(t.after, Unit)]
    assert [(u.width_dmm, u.length_dmm, u.count, u.cost_left_cents) for u in units] == [
        (12_100, 8_100, 1, 4_000)
    ] * 2
    assert today(desk).arrivals == ()
    with reckoned(desk) as reckoning:
        assert ordering.counted(reckoning, reckoning.materials[s.sheet]) == (6, 0, 0)
    takes, answer = asked(any_studio, units[0].code, 12_100, 8_100)
    assert (takes, answer.kind) == (True, "cut to size")
    job = code_of(
        booking.book(desk, "Salt flats", 12_000, 8_000, MONDAY + timedelta(days=7), s.paper), "job"
    )
    booking.put_by(desk, units[0].code, job)
    takes, answer = asked(any_studio, units[0].code, 12_000, 8_000)
    assert (takes, answer.why_not) == (False, "put by for Salt flats")
    assert asked(any_studio, units[1].code, 12_000, 8_000)[0]
    counting.undo(desk)
    counting.undo(desk)
    counting.undo(desk)
    assert len(today(desk).arrivals) == 1
    assert keeping.check(desk).faults == ()
