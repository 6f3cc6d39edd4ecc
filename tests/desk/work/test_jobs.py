"""Jobs are booked with all that is told; the impossible is refused; clients can be erased."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
import sqlalchemy as sa
from support.studio import code_of
from support.workshop import Workshop

from stockroom.core.records import Build, Job
from stockroom.desk import keeping
from stockroom.desk.session import Desk
from stockroom.desk.stock import counting
from stockroom.desk.work import attempts, builds, jobs
from stockroom.desk.work.builds import LayerSaid
from stockroom.desk.work.jobs import JobSaid
from stockroom.errors import BadValueError, ImportProblem, RefusedError
from stockroom.store.mapping import ACT

SAID = JobSaid(
    name="Night ferry",
    width_dmm=12_000,
    height_dmm=8_000,
    print_on=date(2026, 3, 9),
    material="Satin colour paper 127",
)


def test_a_print_wider_than_any_roll_is_refused_with_the_largest(shop: Workshop) -> None:
    with pytest.raises(RefusedError, match="short side may be 1260 mm at most"):
        jobs.book(shop.desk, replace(SAID, width_dmm=30_000, height_dmm=14_000))
    lab = replace(SAID, width_dmm=30_000, height_dmm=14_000, printed_by="outside lab")
    assert code_of(jobs.book(shop.desk, lab), "job")


def test_a_due_day_that_is_past_is_warned_of_and_booked(shop: Workshop) -> None:
    done = jobs.book(shop.desk, replace(SAID, due_on=date(2026, 2, 20)))
    assert "was due on Fri 20 Feb 2026: past" in " ".join(done.said)


def test_due_before_it_can_be_started_is_refused(shop: Workshop) -> None:
    with pytest.raises(BadValueError, match="due before"):
        jobs.book(shop.desk, replace(SAID, due_on=date(2026, 3, 20), start_on=date(2026, 3, 21)))


def test_a_client_is_known_erased_and_never_in_the_chain(any_shop: Workshop) -> None:
    desk = any_shop.desk
    code = code_of(jobs.book(desk, replace(SAID, client="Lumen Gallery, no. 7")), "job")
    with desk.reading() as view:
        assert jobs.clients(view) == {code: "Lumen Gallery, no. 7"}
        payloads = view.connection.execute(sa.select(ACT.c.payload)).scalars().all()
    assert not any("Lumen" in payload for payload in payloads)
    assert jobs.erase_client(desk, code).job == code
    with desk.reading() as view:
        assert jobs.clients(view) == {}
    assert keeping.check(desk).faults == ()


def test_a_backup_brings_the_clients_back(shop: Workshop, tmp_path: Path) -> None:
    code = code_of(jobs.book(shop.desk, replace(SAID, client="Lumen Gallery")), "job")
    keeping.make_backup(shop.desk, tmp_path / "backup")
    keeping.restore_backup(tmp_path / "backup", str(tmp_path / "again"))
    again = Desk.at(str(tmp_path / "again"))
    with again.reading() as view:
        assert jobs.clients(view) == {code: "Lumen Gallery"}
    again.close()


def test_undoing_a_booking_hides_its_client(shop: Workshop) -> None:
    done = jobs.book(shop.desk, replace(SAID, client="Lumen Gallery"))
    counting.undo(shop.desk, done.seq)
    with shop.desk.reading() as view:
        assert jobs.clients(view) == {}


def test_the_client_of_a_booking_that_was_taken_back_can_be_erased(shop: Workshop) -> None:
    done = jobs.book(shop.desk, replace(SAID, client="Lumen Gallery"))
    code = code_of(done, "job")
    undone = counting.undo(shop.desk, done.seq)
    assert jobs.erase_client(shop.desk, code).job == code
    counting.undo(shop.desk, undone.seq)
    with shop.desk.reading() as view:
        assert view.get(Job, code) is not None
        assert jobs.clients(view) == {}


def test_a_job_cannot_have_fewer_pieces_than_prints(shop: Workshop) -> None:
    job = shop.book(count=2)
    for _ in range(2):
        attempts.record(shop.desk, job, good=True, stage="print")
    with pytest.raises(RefusedError, match="printed already"):
        jobs.change_job(shop.desk, job, JobSaid(count=1))


def test_a_job_is_not_changed_in_nothing(shop: Workshop) -> None:
    with pytest.raises(BadValueError, match="Nothing to change"):
        jobs.change_job(shop.desk, shop.book(), JobSaid())


def test_a_build_that_was_used_gets_a_new_version(shop: Workshop) -> None:
    job = shop.book()
    done = builds.change_build(shop.desk, "Face mount", [LayerSaid("board", None)])
    new = code_of(done, "build")
    with shop.desk.reading() as view:
        old = builds.recipe_in(view, view.get(Build, shop.job(job).build))
        fresh = builds.find_build(view, "Face mount")
    assert (fresh.code, fresh.version) == (new, 2)
    assert old.build is not None
    assert old.build.code == shop.build
    assert old.layer("board").material == shop.board  # type: ignore[union-attr]


def test_a_build_without_a_stage_is_refused(shop: Workshop) -> None:
    with pytest.raises(BadValueError, match="without a stage"):
        builds.define_build(shop.desk, "Nothing", [])
    with pytest.raises(BadValueError, match="cannot be the board"):
        builds.define_build(shop.desk, "Odd", [LayerSaid("board", shop.film)])


def test_a_list_is_booked_whole_or_not_at_all(any_shop: Workshop) -> None:
    desk = any_shop.desk
    wrong = replace(SAID, name="Quarry", material="No such paper")
    with pytest.raises(Exception, match="No such paper"):
        jobs.take_in_jobs(desk, [SAID, wrong])
    with desk.reading() as view:
        assert not view.having(Job, "name", SAID.name)
    done = jobs.take_in_jobs(desk, [SAID, replace(SAID, name="Quarry")], name="spring.csv")
    assert len([t for t in done.changes.touches if t.kind == "job"]) == 2
    assert keeping.check(desk).faults == ()


LIST = (
    b"name,size,count,material,build,due,client\n"
    b"Harbour,1200 x 800,2,Satin colour paper 127,Face mount,2026-04-10,A Gallery\n"
    b"Quarry,900 x 600,1,Satin colour paper 127,,2026-04-12,\n"
)


def test_a_list_is_looked_at_then_booked_once(any_shop: Workshop) -> None:
    desk = any_shop.desk
    seen = jobs.look_at_job_list(desk, LIST, "spring.csv")
    assert (seen.rows, seen.pieces, seen.problems, seen.taken_before) == (2, 3, (), False)
    done = jobs.take_in_job_list(desk, LIST, "spring.csv")
    booked = [touch.after for touch in done.changes.touches if touch.kind == "job"]
    assert [job.build for job in booked] == [any_shop.build, None]  # type: ignore[union-attr]
    again = jobs.take_in_job_list(desk, LIST, "spring.csv")
    assert again.repeated
    assert jobs.look_at_job_list(desk, LIST, "spring.csv").taken_before
    with desk.reading() as view:
        assert list(jobs.clients(view).values()) == ["A Gallery"]
    assert keeping.check(desk).faults == ()


def test_a_list_that_names_what_is_unknown_books_nothing(shop: Workshop) -> None:
    wrong = LIST.replace(b"Face mount", b"Glass mount")
    assert [problem.line for problem in jobs.look_at_job_list(shop.desk, wrong, "a").problems] == [
        2
    ]
    with pytest.raises(ImportProblem):
        jobs.take_in_job_list(shop.desk, wrong, "a")
    mixed = LIST.replace(b"900 x 600", b"90 x 60 cm")
    with pytest.raises(ImportProblem, match="In which unit"):
        jobs.take_in_job_list(shop.desk, mixed, "a")
    with shop.desk.reading() as view:
        assert jobs.clients(view) == {}


def test_a_print_too_wide_is_seen_when_a_list_is_looked_at(shop: Workshop) -> None:
    wide = LIST.replace(b"900 x 600", b"3000 x 1400")
    (problem,) = jobs.look_at_job_list(shop.desk, wide, "a").problems
    assert problem.line == 3
    assert "short side may be 1260 mm at most" in problem.what
