"""A file is written whole and on the disk, or not at all, and never over what is not its own."""

import os
import stat
from collections.abc import Callable
from pathlib import Path

import pytest
from support.workers import Say, release_together

from stockroom import writing
from stockroom.errors import BadValueError, RefusedError, StoreUnwritableError
from stockroom.writing import whole_file, write_whole

CALENDAR = b"BEGIN:VCALENDAR\r\nEND:VCALENDAR\r\n"
STORE = b"SQLite format 3\0" + bytes(84)
BACKUP = b"\x1f\x8b\x08\0" + bytes(16)


@pytest.mark.parametrize("replace", [False, True])
def test_it_is_on_the_disk_before_it_has_its_name(
    replace: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither a kill nor a power cut leaves a half under the name, or takes a told file away."""
    path, told = tmp_path / "studio.ics", []
    if replace:
        path.write_bytes(CALENDAR)
    fsync, link, rename = os.fsync, os.link, Path.replace

    def synced(descriptor: int) -> None:
        fsync(descriptor)
        status = os.fstat(descriptor)
        folder = stat.S_ISDIR(status.st_mode)
        told.append("folder synced" if folder else f"{status.st_size} bytes synced")

    def linked(part: Path, to: Path) -> None:
        link(part, to)
        told.append("named")

    def renamed(part: Path, to: Path) -> Path:
        told.append("named")
        return rename(part, to)

    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(os, "link", linked)
    monkeypatch.setattr(Path, "replace", renamed)
    write_whole(path, CALENDAR + b"more", replace=replace)
    assert told == [f"{len(CALENDAR) + 4} bytes synced", "named", "folder synced"]
    assert path.read_bytes() == CALENDAR + b"more"
    assert [item.name for item in tmp_path.iterdir()] == ["studio.ics"]


def test_nothing_of_a_persons_is_taken_for_what_is_half_written(tmp_path: Path) -> None:
    """Not a file that ends in .part, not one that a link of that name leads to."""
    mine, named = tmp_path / "mine", tmp_path / "labels.pdf.part"
    mine.write_text("mine")
    named.symlink_to(mine)
    write_whole(tmp_path / "labels.pdf", b"%PDF-1.4")
    assert (mine.read_text(), named.is_symlink()) == ("mine", True)
    write_whole(tmp_path / "mine.ics", CALENDAR)
    assert {item.name for item in tmp_path.iterdir()} == {
        "mine", "labels.pdf.part", "labels.pdf", "mine.ics",
    }  # fmt: skip


TAKEN: dict[str, Callable[[Path], object]] = {
    "a store": lambda path: path.write_bytes(STORE),
    "a backup": lambda path: path.write_bytes(BACKUP),
    "a letter": lambda path: path.write_text("Dear Ines"),
    "an empty file": lambda path: path.touch(),
    "a PDF": lambda path: path.write_bytes(b"%PDF-1.4 ..."),
    "a folder": lambda path: path.mkdir(),
    "a pipe": lambda path: os.mkfifo(path),
    "a link to nowhere": lambda path: path.symlink_to(path.with_name("nowhere")),
    "a link to a calendar": lambda path: path.symlink_to(path.with_name("other.ics")),
}


def there(folder: Path) -> dict[str, object]:
    """What lies in a folder: each name, what it is, and what it holds."""
    return {
        item.name: (item.lstat().st_mode, item.lstat().st_ino, item.is_file() and item.read_bytes())
        for item in folder.iterdir()
    }


@pytest.mark.parametrize("taken", TAKEN)
def test_only_a_file_of_the_same_kind_is_written_over(taken: str, tmp_path: Path) -> None:
    (tmp_path / "other.ics").write_bytes(CALENDAR)
    TAKEN[taken](tmp_path / "studio.ics")
    before = there(tmp_path)
    with pytest.raises(RefusedError):
        write_whole(tmp_path / "studio.ics", CALENDAR, replace=True)
    assert there(tmp_path) == before


@pytest.mark.parametrize("taken", [*TAKEN, "a calendar"])
def test_without_being_told_nothing_is_written_over(taken: str, tmp_path: Path) -> None:
    lay = TAKEN.get(taken, lambda path: path.write_bytes(CALENDAR))
    lay(tmp_path / "studio.ics")
    before = there(tmp_path)
    with pytest.raises(RefusedError, match="there already"):
        write_whole(tmp_path / "studio.ics", CALENDAR)
    assert there(tmp_path) == before


def test_what_is_of_no_known_kind_writes_over_nothing(tmp_path: Path) -> None:
    (tmp_path / "notes").write_text("one")
    with pytest.raises(RefusedError):
        write_whole(tmp_path / "notes", b"two", replace=True)
    assert (tmp_path / "notes").read_text() == "one"


def test_who_may_read_it_stays_when_it_is_written_over(tmp_path: Path) -> None:
    path = tmp_path / "studio.ics"
    path.write_bytes(CALENDAR)
    path.chmod(0o640)
    write_whole(path, CALENDAR + b"more", replace=True)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_what_is_private_is_so_from_its_first_byte(tmp_path: Path) -> None:
    before = os.umask(0)
    try:
        with whole_file(tmp_path / "books", private=True) as file:
            (part,) = tmp_path.iterdir()
            assert stat.S_IMODE(part.stat().st_mode) == 0o600
            file.write(b"all of it")
        write_whole(tmp_path / "labels.pdf", b"%PDF-1.4")
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "books").stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "labels.pdf").stat().st_mode) == 0o666


def without_links(*_: object, **__: object) -> None:
    raise PermissionError(1, "Operation not permitted")


@pytest.mark.parametrize("links", [True, False])
def test_of_many_who_want_one_name_one_has_it(
    links: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All of them saw it free; also where the file system has no hard links."""
    monkeypatch.setattr(writing, "see_free", lambda path, **_: None)
    if not links:
        monkeypatch.setattr(os, "link", without_links)

    def writer(text: bytes) -> Callable[[Say], None]:
        def work(say: Say) -> None:
            try:
                write_whole(tmp_path / "one", text)
                say(text.decode())
            except RefusedError:
                say("refused")

        return work

    said = sorted(line for (line,) in release_together([writer(b"%d" % n) for n in range(6)]))
    assert said[1:] == ["refused"] * 5
    assert (tmp_path / "one").read_text() == said[0]
    assert len(list(tmp_path.iterdir())) == 1


def test_where_there_are_no_links_it_is_written_and_written_over_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(os, "link", without_links)
    path = tmp_path / "studio.ics"
    write_whole(path, CALENDAR)
    write_whole(path, CALENDAR + b"more", replace=True)
    assert path.read_bytes() == CALENDAR + b"more"
    path.write_bytes(STORE)
    with pytest.raises(RefusedError, match="no calendar"):
        write_whole(path, CALENDAR, replace=True)
    assert path.read_bytes() == STORE
    assert list(tmp_path.iterdir()) == [path]


def failing(*_: object, **__: object) -> None:
    raise OSError(5, "Input/output error")


@pytest.mark.parametrize("fails", ["fsync", "link and replace"])
def test_what_fails_on_the_way_leaves_nothing(
    fails: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if fails == "fsync":
        monkeypatch.setattr(os, "fsync", failing)
    else:
        monkeypatch.setattr(os, "link", failing)
        monkeypatch.setattr(Path, "replace", failing)
    with pytest.raises(StoreUnwritableError, match=r"cannot be written\. Input/output error"):
        write_whole(tmp_path / "labels.pdf", b"%PDF-1.4")
    assert list(tmp_path.iterdir()) == []


def test_what_goes_wrong_in_making_it_is_not_blamed_on_the_folder(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="no such page"), whole_file(tmp_path / "labels.pdf"):
        raise ValueError("no such page")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("replace", [False, True])
def test_a_folder_that_is_missing_and_a_name_that_none_can_be_are_told(
    replace: bool, tmp_path: Path
) -> None:
    with pytest.raises(BadValueError, match=r"no folder for labels\.pdf"):
        write_whole(tmp_path / "none" / "labels.pdf", b"%PDF-1.4", replace=replace)
    with pytest.raises(StoreUnwritableError, match="cannot be written"):
        write_whole(tmp_path / "a\0b", b"%PDF-1.4", replace=replace)


def test_a_folder_that_does_not_keep_its_names_is_told_apart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    fsync = os.fsync

    def only_files(descriptor: int) -> None:
        if stat.S_ISDIR(os.fstat(descriptor).st_mode):
            failing()
        fsync(descriptor)

    monkeypatch.setattr(os, "fsync", only_files)
    with pytest.raises(StoreUnwritableError, match="is written, but the disk does not say"):
        write_whole(tmp_path / "labels.pdf", b"%PDF-1.4")


def test_the_longest_name_is_a_name_and_a_longer_one_is_refused(tmp_path: Path) -> None:
    write_whole(tmp_path / ("ü" * 127), b"%PDF-1.4")
    with pytest.raises(StoreUnwritableError, match="too long"):
        write_whole(tmp_path / ("ü" * 128), b"%PDF-1.4")
    assert len(list(tmp_path.iterdir())) == 1
