"""A print or a mount recorded books what it took, and the piece stands where it then belongs."""

import pytest
from support.studio import DAY_S, MONDAY_S
from support.workshop import Workshop

from stockroom.core.act_wording import act_brief
from stockroom.core.records import FINISHED, PutBy, Unit
from stockroom.desk import keeping
from stockroom.desk.cutting import one_cut
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.lookup import everything
from stockroom.desk.stock import counting, handling
from stockroom.desk.work import attempts, jobs
from stockroom.desk.work.jobs import JobSaid
from stockroom.errors import BadValueError, RefusedError, UnknownCodeError

PRINT_DMM = 8_000 + 500
"""What a print of 1200 x 800 mm takes of a 127 cm roll, with the gap after it."""


def checked(shop: Workshop) -> None:
    assert keeping.check(shop.desk).faults == ()


def to_the_end(shop: Workshop, job: str) -> None:
    for stage in ("print", "look", "mount", "back", "frame"):
        attempts.record(shop.desk, job, good=True, stage=stage)


def open_puts(shop: Workshop) -> list[PutBy]:
    with shop.desk.reading() as view:
        return [put for put in everything(view, PutBy) if put.open]


def test_a_piece_goes_from_its_print_to_its_frame(any_shop: Workshop) -> None:
    shop = any_shop
    job = shop.book(count=1)
    to_the_end(shop, job)
    (piece,) = shop.pieces(job)
    assert piece.stage == FINISHED
    assert shop.job(job).state == "done"
    assert {used.part for used in shop.used() if used.fate == "in"} == {
        "paper",
        "sheet",
        "face film",
        "back film",
        "board",
        "profile",
    }
    assert not open_puts(shop)
    checked(shop)


def test_a_bad_print_takes_paper_and_nothing_else(any_shop: Workshop) -> None:
    shop = any_shop
    job = shop.book()
    before = shop.unit(shop.studio.roll).remaining_dmm
    attempts.record(shop.desk, job, good=False, cause="bad print")
    rolls = [shop.unit(code) for code in (shop.studio.roll, shop.studio.second_roll)]
    assert sorted(before - roll.remaining_dmm for roll in rolls) == [0, PRINT_DMM]
    assert [(used.part, used.fate) for used in shop.used()] == [("paper", "lost")]
    assert shop.pieces(job) == []
    assert (shop.job(job).good, shop.job(job).lost) == (0, 1)
    checked(shop)


def test_a_bad_mount_takes_print_film_and_sheet_and_asks_for_a_new_print(
    any_shop: Workshop,
) -> None:
    shop = any_shop
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    attempts.record(shop.desk, job, good=False, stage="mount", cause="dust")
    (piece,) = shop.pieces(job)
    assert piece.stage == "print"
    assert shop.job(job).to_print == 1
    lost = {used.part for used in shop.used() if used.fate == "lost"}
    assert lost == {"paper", "face film", "sheet"}
    assert not [used for used in shop.used() if used.part in ("board", "back film")]
    to_the_end(shop, job)
    assert shop.pieces(job)[0].code == piece.code
    assert shop.job(job).state == "done"
    checked(shop)


def test_a_sheet_found_bad_at_unmasking_takes_itself(shop: Workshop) -> None:
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    attempts.record(
        shop.desk, job, good=False, stage="mount", cause="bad sheet", without=["face film"]
    )
    (piece,) = shop.pieces(job)
    assert piece.stage == "mount"
    assert [used.part for used in shop.used() if used.fate == "lost"] == ["sheet"]
    assert shop.job(job).to_print == 0


def test_a_bad_backing_takes_all_that_is_in_the_piece(shop: Workshop) -> None:
    job = shop.book(count=1)
    for stage in ("print", "mount"):
        attempts.record(shop.desk, job, good=True, stage=stage)
    attempts.record(shop.desk, job, good=False, stage="back", cause="bubble")
    assert {used.part for used in shop.used() if used.fate == "lost"} == {
        "paper",
        "sheet",
        "face film",
        "back film",
        "board",
    }
    assert shop.pieces(job)[0].stage == "print"


def test_a_bad_frame_leaves_the_mount(shop: Workshop) -> None:
    job = shop.book(count=1)
    for stage in ("print", "mount", "back"):
        attempts.record(shop.desk, job, good=True, stage=stage)
    attempts.record(shop.desk, job, good=False, stage="frame", cause="bad frame")
    assert [used.part for used in shop.used() if used.fate == "lost"] == ["profile"]
    assert shop.pieces(job)[0].stage == "frame"


def test_damage_on_a_finished_piece_opens_it_again(any_shop: Workshop) -> None:
    shop = any_shop
    job = shop.book(count=1)
    to_the_end(shop, job)
    done = attempts.record(
        shop.desk, shop.pieces(job)[0].code, good=False, stage="damage", cause="scratch"
    )
    assert shop.job(job).state == "booked"
    assert shop.pieces(job)[0].stage == "print"
    assert "open again" in " ".join(done.said)
    checked(shop)


def test_undo_gives_back_stock_put_by_and_stage(any_shop: Workshop) -> None:
    shop = any_shop
    job = shop.book(count=2)
    attempts.record(shop.desk, job, good=True, stage="print")

    def state() -> object:
        with shop.desk.reading() as view:
            units = everything(view, Unit)
            return [record.plain() for record in (*units, *everything(view, PutBy))], (
                shop.pieces(job),
                shop.job(job),
                shop.used(),
            )

    before = state()
    done = attempts.record(shop.desk, job, good=False, stage="mount", cause="dust")
    assert state() != before
    counting.undo(shop.desk, done.seq)
    assert state() == before
    checked(shop)


def test_a_good_print_puts_by_what_comes_later(shop: Workshop) -> None:
    job = shop.book(count=2)
    attempts.record(shop.desk, job, good=True, stage="print")
    puts = open_puts(shop)
    materials = [(shop.unit(put.unit).form, put.qty // shop.unit(put.unit).measure) for put in puts]
    assert sorted(materials) == [
        ("length", 2 * (12_000 + 8_000)),
        ("roll", 8_000),
        ("roll", 8_200),
        ("sheet", 1),
        ("sheet", 1),
    ]
    attempts.record(shop.desk, job, good=True, stage="print")
    assert len(open_puts(shop)) == 2 * len(puts)


def test_a_series_puts_by_the_rest_of_its_paper_on_one_roll(shop: Workshop) -> None:
    job = shop.book(count=3, series=True)
    attempts.record(shop.desk, job, good=True, stage="print")
    paper = [put for put in open_puts(shop) if shop.unit(put.unit).width_dmm == 12_700]
    assert [put.qty // 12_700 for put in paper] == [2 * PRINT_DMM]
    attempts.record(shop.desk, job, good=True, stage="print")
    paper = [put for put in open_puts(shop) if shop.unit(put.unit).width_dmm == 12_700]
    assert [put.qty // 12_700 for put in paper] == [PRINT_DMM]


def test_a_cut_from_a_full_sheet_keeps_the_offcuts(shop: Workshop) -> None:
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    done = attempts.record(shop.desk, job, good=True, stage="mount")
    born = [
        touch.after
        for touch in done.changes.touches
        if isinstance(touch.after, Unit) and touch.before is None
    ]
    assert born
    assert all(unit.parent == shop.studio.pack for unit in born)
    sheet = next(used for used in shop.used() if used.part == "sheet")
    assert sheet.qty == 12_200 * 8_200
    checked(shop)


def test_a_spoiled_sheet_may_become_an_offcut(any_shop: Workshop) -> None:
    shop = any_shop
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    done = attempts.record(
        shop.desk, job, good=False, stage="mount", cause="dust", spoiled_to=(6_000, 5_000)
    )
    sizes = [
        (touch.after.width_dmm, touch.after.length_dmm)
        for touch in done.changes.touches
        if isinstance(touch.after, Unit) and touch.before is None
    ]
    assert (6_000, 5_000) in sizes
    sheet = next(used for used in shop.used() if used.part == "sheet")
    assert sheet.qty == 12_200 * 8_200 - 6_000 * 5_000
    checked(shop)


def test_one_more_good_print_than_pieces_is_refused(shop: Workshop) -> None:
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    with pytest.raises(RefusedError, match="have their print"):
        attempts.record(shop.desk, job, good=True, stage="print")
    jobs.change_job(shop.desk, job, JobSaid(count=2))
    attempts.record(shop.desk, job, good=True, stage="print")
    assert [piece.number for piece in shop.pieces(job)] == [1, 2]


def test_a_stage_out_of_turn_is_refused_with_where_the_pieces_stand(shop: Workshop) -> None:
    job = shop.book(count=1)
    with pytest.raises(RefusedError, match="waits for: mount"):
        attempts.record(shop.desk, job, good=True, stage="mount")
    attempts.record(shop.desk, job, good=True, stage="print")
    with pytest.raises(RefusedError, match="waits for: frame"):
        attempts.record(shop.desk, job, good=True, stage="frame")
    with pytest.raises(BadValueError, match=r"Cause at .* is not known"):
        attempts.record(shop.desk, job, good=False, stage="mount", cause="moonlight")


def test_an_edition_is_numbered_from_its_first(shop: Workshop) -> None:
    job = shop.book(count=2, edition_from=3, edition_of=8)
    for _ in range(2):
        attempts.record(shop.desk, job, good=True, stage="print")
    assert [piece.edition for piece in shop.pieces(job)] == [3, 4]


def test_a_print_from_a_lab_takes_no_paper_and_its_loss_is_an_order(shop: Workshop) -> None:
    job = shop.book(count=1, printed_by="outside lab", lab_days=6, pays="customer")
    attempts.record(shop.desk, job, good=True, stage="print")
    assert shop.used() == []
    done = attempts.record(shop.desk, job, good=False, stage="mount", cause="dust")
    assert "from the lab, 6 days; customer pays" in " ".join(done.said)
    assert {tried.paid_by for tried in shop.tries() if not tried.good} == {"customer"}
    assert shop.pieces(job)[0].stage == "print"


def test_entered_later_it_counts_when_it_happened(shop: Workshop) -> None:
    job = shop.book(count=1)
    morning_s = MONDAY_S + 3_600
    shop.desk.now_s.on(days=3)  # type: ignore[attr-defined]
    done = attempts.record(shop.desk, job, good=True, happened_s=morning_s)
    assert shop.tries()[0].at_s == morning_s
    counting.retime(shop.desk, done.seq, morning_s + DAY_S)
    assert shop.tries()[0].at_s == morning_s + DAY_S
    assert shop.pieces(job)[0].since_s == morning_s + DAY_S
    checked(shop)


def test_nothing_in_stock_is_said_and_the_try_is_booked(shop: Workshop) -> None:
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    from stockroom.desk.stock import handling

    handling.lose(shop.desk, shop.studio.pack, None, "broken")
    done = attempts.record(shop.desk, job, good=True, stage="mount")
    assert "The sheet was not booked" in " ".join(done.said)
    assert shop.pieces(job)[0].stage == "back"


def test_the_books_of_a_print_without_a_build(shop: Workshop) -> None:
    job = shop.book(count=1, build=None)
    attempts.record(shop.desk, job, good=True)
    assert shop.pieces(job)[0].stage == FINISHED
    assert shop.job(job).state == "done"


def test_what_a_try_cost_is_what_left_the_units(any_shop: Workshop) -> None:
    """The cents of the parts and of what is left come to what was paid."""
    shop = any_shop
    job = shop.book(count=1)

    def value() -> int:
        with shop.desk.reading() as view:
            return sum(unit.cost_left_cents for unit in everything(view, Unit))

    paid = value()
    to_the_end(shop, job)
    assert sum(used.cost_cents for used in shop.used()) == paid - value()


def test_a_bad_print_is_lost_in_the_books(shop: Workshop) -> None:
    done = attempts.record(shop.desk, shop.book(), good=False, cause="bad print")
    assert [item.kind for item in done.changes.movements] == ["lost"]


def test_what_a_try_and_its_taking_back_say(shop: Workshop) -> None:
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    lost = attempts.record(shop.desk, job, good=False, stage="mount", cause="dust")
    first = lost.said[0]
    assert first == (
        f"Act {lost.seq}: Salt flats: mount lost to dust; destroyed: sheet, face film, paper."
    )
    back = counting.undo(shop.desk, lost.seq)
    assert f"The paper of {shop.studio.roll} in it is part of it again." in back.said
    assert not [line for line in back.said if line.endswith("is lost.")]
    assert act_brief(counting.trail(shop.desk, 2)[1].act) == f"mount {job}, dust"


def test_a_unit_that_is_named_and_does_not_serve_is_refused(shop: Workshop) -> None:
    job = shop.book(count=1)
    attempts.record(shop.desk, job, good=True, stage="print")
    with pytest.raises(UnknownCodeError, match="99999"):
        attempts.record(shop.desk, job, good=True, stage="mount", units={"sheet": "99999"})
    with pytest.raises(BadValueError, match="No paper is taken at mount"):
        attempts.record(shop.desk, job, good=True, stage="mount", units={"paper": shop.studio.roll})
    small = one_cut.cut(shop.desk, shop.studio.pack, offcuts=[Part(5_000, 5_000)])
    code = next(t.key for t in small.changes.touches if t.kind == "unit" and t.before is None)
    with pytest.raises(RefusedError, match="does not serve") as told:
        attempts.record(shop.desk, job, good=True, stage="mount", units={"sheet": code})
    assert told.value.why == f"{code} is too small."
    handling.lose(shop.desk, code, None, "broken")
    with pytest.raises(RefusedError, match="It is lost"):
        attempts.record(shop.desk, job, good=True, stage="mount", units={"sheet": code})
    assert [piece.stage for piece in shop.pieces(job)] == ["look"]


def test_what_is_taken_though_it_is_on_hold_is_said(shop: Workshop) -> None:
    job = shop.book(count=1)
    handling.hold(shop.desk, shop.studio.roll, "dented")
    done = attempts.record(
        shop.desk, job, good=True, stage="print", units={"paper": shop.studio.roll}
    )
    assert f"{shop.studio.roll} is on hold (dented); it was taken all the same." in done.said
