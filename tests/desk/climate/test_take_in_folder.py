"""A folder run takes in what is new and whole, says what it could not, minds what people did."""

import os
from pathlib import Path

import pytest
from support.logs import START_S, log
from support.studio import DAY_S, Studio

from stockroom import plain_files
from stockroom.core.model import Import
from stockroom.desk.stock import counting
from stockroom.desk import keeping
from stockroom.desk.climate import readings
from stockroom.desk.climate.folder import SETTLED_AFTER_S, FolderRun, take_in_folder
from stockroom.desk.lookup import everything
from stockroom.errors import ImportProblem, UnknownCodeError

HOUR_S = 3600


@pytest.fixture
def folder(tmp_path: Path, studio: Studio) -> Path:
    """An empty folder, ten days after the studio began."""
    studio.desk.now_s.on(10)  # type: ignore[attr-defined]
    made = tmp_path / "loggers"
    made.mkdir()
    return made


def put(studio: Studio, path: Path, data: bytes, age_s: float = HOUR_S) -> Path:
    """Write a file that was last changed some time ago by the desk's clock."""
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(data)
    changed_s = studio.desk.now_s() - age_s
    os.utime(path, (changed_s, changed_s))
    return path


def taken(run: FolderRun) -> list[str]:
    return [item.path for item in run.taken]


def skipped(run: FolderRun) -> dict[str, str]:
    return {item.path: item.why for item in run.skipped}


def refused(run: FolderRun) -> list[str]:
    return [item.path for item in run.refused]


def imports(studio: Studio) -> list[Import]:
    with studio.desk.reading() as view:
        return everything(view, Import)


def test_files_are_taken_in_by_name_once_and_the_next_run_is_silent(
    studio: Studio, folder: Path
) -> None:
    put(studio, folder / "b.csv", log(2))
    put(studio, folder / "a.csv", log(1))
    put(studio, folder / "c copy of b.csv", log(2))
    run = take_in_folder(studio.desk, folder, place="cold")
    assert taken(run) == ["a.csv", "b.csv"]
    assert skipped(run) == {"c copy of b.csv": "taken in before"}
    assert [item.taken.done.seq for item in run.taken] == sorted(
        item.taken.done.seq for item in run.taken
    )
    assert {item.place for item in imports(studio)} == {studio.store}
    again = take_in_folder(studio.desk, folder, place=studio.store)
    assert (taken(again), refused(again)) == ([], [])
    assert set(skipped(again).values()) == {"taken in before"}
    assert len(imports(studio)) == 2
    assert keeping.check(studio.desk).faults == ()


def test_each_sub_folder_is_a_place_by_code_or_whole_name(studio: Studio, folder: Path) -> None:
    put(studio, folder / "COLD store" / "one.csv", log(1))
    put(studio, folder / studio.room / "two.csv", log(2))
    put(studio, folder / "Printer" / "three.csv", log(3))
    put(studio, folder / "four.csv", log(4))
    run = take_in_folder(studio.desk, folder)
    assert {item.path: item.taken.place for item in run.taken} == {
        "COLD store/one.csv": studio.store,
        f"{studio.room}/two.csv": studio.room,
    }
    assert refused(run) == ["Printer", "four.csv"]
    assert "No place is called 'Printer'" in run.refused[0].error.what
    assert "Printer magazine" in run.refused[0].error.try_
    assert "beside the folders" in run.refused[1].error.what


def test_the_same_bytes_are_taken_in_for_each_place_they_lie_under(
    studio: Studio, folder: Path
) -> None:
    put(studio, folder / "Cold store" / "log.csv", log(1))
    put(studio, folder / "Mounting room" / "log.csv", log(1))
    assert len(take_in_folder(studio.desk, folder).taken) == 2


def test_what_a_person_withdrew_is_not_taken_in_again(studio: Studio, folder: Path) -> None:
    put(studio, folder / "log.csv", log(3))
    take_in_folder(studio.desk, folder, place="Cold store")
    (first,) = imports(studio)
    withdrawn = readings.withdraw_readings(studio.desk, first.code, reason="wrong logger")
    run = take_in_folder(studio.desk, folder, place="Cold store")
    assert (taken(run), skipped(run)) == ([], {"log.csv": "withdrawn"})
    assert all(item.withdrawn for item in imports(studio))

    counting.undo(studio.desk, withdrawn.seq)
    assert skipped(take_in_folder(studio.desk, folder, place="Cold store")) == {
        "log.csv": "taken in before"
    }


def test_what_a_person_undid_is_not_taken_in_again(studio: Studio, folder: Path) -> None:
    put(studio, folder / "log.csv", log(3))
    (item,) = take_in_folder(studio.desk, folder, place="Cold store").taken
    counting.undo(studio.desk, item.taken.done.seq)
    run = take_in_folder(studio.desk, folder, place="Cold store")
    assert (taken(run), skipped(run)) == ([], {"log.csv": "taken back"})
    assert imports(studio) == []
    by_hand = readings.take_in_readings(studio.desk, "Cold store", log(3), "log.csv")
    assert not by_hand.done.repeated
    assert skipped(take_in_folder(studio.desk, folder, place="Cold store")) == {
        "log.csv": "taken in before"
    }


def test_a_file_withdrawn_while_a_run_looks_is_not_taken_in_anew(studio: Studio) -> None:
    """Between a run's look and its act lies a moment: the act itself must mind it too."""
    studio.desk.now_s.on(10)  # type: ignore[attr-defined]
    readings.take_in_readings(studio.desk, "Cold store", log(3), "log.csv")
    readings.withdraw_readings(studio.desk, imports(studio)[0].code)
    late = readings.take_in_readings(studio.desk, "Cold store", log(3), "log.csv", anew=False)
    assert late.done.repeated
    assert [item.withdrawn for item in imports(studio)] == [True]


def test_one_bad_file_does_not_stop_the_others(studio: Studio, folder: Path) -> None:
    put(studio, folder / "a.csv", log(1))
    put(studio, folder / "b.csv", log(1).replace(b"2026-03-02T10:00", b"2026-13-02T10:00"))
    put(studio, folder / "c.csv", log(2))
    put(studio, folder / "d ahead.csv", log(20))
    run = take_in_folder(studio.desk, folder, place="Cold store")
    assert taken(run) == ["a.csv", "c.csv"]
    assert refused(run) == ["b.csv", "d ahead.csv"]
    said = str(run.refused[0].error) + " ".join(
        str(problem) for problem in run.refused[0].error.problems
    )
    assert "line 6" in said
    assert refused(take_in_folder(studio.desk, folder, place="Cold store")) == refused(run)


def test_hidden_and_unfinished_files_wait_for_next_time(studio: Studio, folder: Path) -> None:
    put(studio, folder / ".hidden.csv", log(1))
    put(studio, folder / "late.csv.part", log(2))
    put(studio, folder / "late.csv.TMP", log(2))
    put(studio, folder / "written.csv", log(3), age_s=SETTLED_AFTER_S - 1)
    put(studio, folder / "ahead.csv", log(4), age_s=1 - SETTLED_AFTER_S)
    put(studio, folder / "settled.csv", log(5), age_s=SETTLED_AFTER_S + 1)
    (folder / "older").mkdir()
    put(studio, folder / "older" / "log.csv", log(6))
    run = take_in_folder(studio.desk, folder, place="Cold store")
    assert taken(run) == ["settled.csv"]
    assert skipped(run) == {
        ".hidden.csv": "hidden",
        "ahead.csv": "changed just now",
        "late.csv.TMP": "unfinished",
        "late.csv.part": "unfinished",
        "older": "a folder within",
        "written.csv": "changed just now",
    }
    studio.desk.now_s.on(seconds=60)  # type: ignore[attr-defined]
    assert taken(take_in_folder(studio.desk, folder, place="Cold store")) == [
        "ahead.csv",
        "written.csv",
    ]


def test_a_file_that_grows_while_it_is_read_waits(
    studio: Studio, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = put(studio, folder / "log.csv", log(1))
    plain = plain_files.read_plain

    def grown(seen: Path) -> bytes:
        data = plain(seen)
        put(studio, path, data + b"2026-03-04T00:00:00,4.0\n", age_s=0)
        return data

    monkeypatch.setattr("stockroom.desk.climate.folder.read_plain", grown)
    run = take_in_folder(studio.desk, folder, place="Cold store")
    assert (taken(run), skipped(run)) == ([], {"log.csv": "changed just now"})


def test_links_out_of_the_folder_are_not_followed(
    studio: Studio, folder: Path, tmp_path: Path
) -> None:
    put(studio, tmp_path / "elsewhere" / "log.csv", log(1))
    put(studio, folder / "Cold store" / "log.csv", log(2))
    (folder / "Mounting room").symlink_to(tmp_path / "elsewhere")
    (folder / "Cold store" / "out.csv").symlink_to(tmp_path / "elsewhere" / "log.csv")
    (folder / "Cold store" / "round.csv").symlink_to(folder / "Cold store" / "round.csv")
    (folder / "Cold store" / "same.csv").symlink_to(folder / "Cold store" / "log.csv")
    run = take_in_folder(studio.desk, folder)
    assert taken(run) == ["Cold store/log.csv"]
    assert skipped(run) == {
        "Cold store/out.csv": "leads out of the folder",
        "Cold store/same.csv": "taken in before",
        "Mounting room": "leads out of the folder",
    }
    assert refused(run) == ["Cold store/round.csv"]


def test_what_is_no_file_or_too_large_is_refused_unread(
    studio: Studio, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert plain_files.MAX_FILE_BYTES == 200_000_000
    with (folder / "huge.csv").open("wb") as stream:
        stream.truncate(plain_files.MAX_FILE_BYTES + 1)  # a hole: takes no room on the disk
    os.utime(folder / "huge.csv", (START_S, START_S))
    os.mkfifo(folder / "pipe.csv")
    os.utime(folder / "pipe.csv", (START_S, START_S))
    run = take_in_folder(studio.desk, folder, place="Cold store")
    assert refused(run) == ["huge.csv", "pipe.csv"]
    assert "too large" in run.refused[0].error.what


def test_a_folder_or_place_that_is_not_there_is_said_at_once(studio: Studio, folder: Path) -> None:
    with pytest.raises(ImportProblem, match="cannot be read"):
        take_in_folder(studio.desk, folder / "gone", place="Cold store")
    with pytest.raises(UnknownCodeError):
        take_in_folder(studio.desk, folder, place="attic")


def test_the_order_of_dates_holds_for_all_files(studio: Studio, folder: Path) -> None:
    rows = "".join(f"0{3 + n}/03/2026 0{n}:00;4.{n}\n" for n in range(4))
    put(studio, folder / "a.csv", f"time;temperature °C\n{rows}".encode())
    put(studio, folder / "b.csv", f"time;temperature °C\n{rows.replace('4.', '5.')}".encode())
    assert refused(take_in_folder(studio.desk, folder, place="Cold store")) == ["a.csv", "b.csv"]
    run = take_in_folder(studio.desk, folder, place="Cold store", day_first=True)
    assert taken(run) == ["a.csv", "b.csv"]
    assert {item.taken.from_s // DAY_S for item in run.taken} == {START_S // DAY_S + 1}
