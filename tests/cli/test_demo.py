"""The demo has a file of its own, tells its story anew where that is old, and touches no other."""

import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest

import seeds_demo
from seeds_demo.studio import open_demo
from stockroom.cli import run
from stockroom.desk.stock import defining
from stockroom.desk import keeping
from stockroom.desk.keeping import demo_of
from stockroom.desk.session import Desk
from stockroom.errors import RefusedError, StoreError
from stockroom.store import glance
from tui import main  # noqa: F401 - it adds the demo to the commands


@pytest.fixture
def path(tmp_path: Path, demo_store: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The demo's own file, in a cache folder of this test."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    path = tmp_path / "stockroom" / "demo" / "studio.stockroom"
    path.parent.mkdir(parents=True)
    path.write_bytes(demo_store.read_bytes())
    return path


@pytest.fixture
def books(tmp_path: Path) -> Path:
    """Somebody's own books."""
    path = tmp_path / "mine.stockroom"
    desk = Desk.at(str(path), begin=True)
    defining.define_place(desk, "Cold store", "cold store")
    desk.close()
    return path


@pytest.mark.parametrize("words", [["demo", "--fresh"], ["demo", "place", "add", "Rack 9"]])
def test_a_store_named_to_the_demo_is_refused_and_left_alone(
    words: list[str], books: Path, path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = books.read_bytes()
    for call in ([*words, "--store", str(books)], ["--store", str(books), *words]):
        assert run(call) == 2
        assert "takes no --store" in capsys.readouterr().err
    assert books.read_bytes() == before


def test_a_store_in_the_environment_is_not_the_demos(
    books: Path, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = books.read_bytes()
    monkeypatch.setenv("STOCKROOM_STORE", str(books))
    assert run(["demo", "--fresh"]) == 0
    assert run(["demo", "place", "add", "Rack 9", "--kind", "rack"]) == 0
    assert books.read_bytes() == before


def test_own_books_where_the_demo_lives_are_left_alone(
    books: Path, path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    books.rename(path)
    before = path.read_bytes()
    for words in (["demo", "--fresh"], ["demo", "today"], ["demo"]):
        assert run(words) == 1
        assert "is not the demo's; it is left alone" in capsys.readouterr().err
    assert path.read_bytes() == before


def test_a_link_to_own_books_where_the_demo_lives_is_not_followed(books: Path, path: Path) -> None:
    path.unlink()
    path.symlink_to(books)
    with pytest.raises(RefusedError):
        open_demo(path, fresh=True)
    assert path.is_symlink()
    assert Desk.at(str(books)).zone


def test_what_was_tried_in_the_demo_stays_until_it_is_told_anew(path: Path) -> None:
    assert run(["demo", "place", "add", "Rack 9", "--kind", "rack"]) == 0
    desk = open_demo(path)
    acts = keeping.state(desk).acts
    desk.close()
    desk = open_demo(path, fresh=True)
    assert keeping.state(desk).acts == acts - 1
    desk.close()


def test_another_story_is_told_anew_by_itself(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("seeds_demo.studio.story", lambda: "a later story")
    assert demo_of(path) == seeds_demo.story()
    open_demo(path).close()
    assert demo_of(path) == "a later story"


def test_a_demo_of_another_shape_is_made_anew(path: Path) -> None:
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE meta SET schema_number = 999")
        connection.execute("DROP TABLE winding")
    connection.close()
    assert demo_of(path) == ""
    desk = open_demo(path)
    assert keeping.check(desk).faults == ()
    desk.close()


def test_a_story_that_was_broken_off_leaves_nothing_half_told(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(_story: object) -> None:
        raise KeyboardInterrupt

    path = tmp_path / "demo" / "studio.stockroom"
    with monkeypatch.context() as broken:
        broken.setattr("seeds_demo.studio._Story.tell", stopped)
        with pytest.raises(KeyboardInterrupt):
            open_demo(path)
    assert list(path.parent.iterdir()) == []


@pytest.mark.parametrize("fresh", [False, True])
def test_a_file_that_could_not_be_read_is_not_called_anothers(
    fresh: bool, path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody holds it just now."""
    monkeypatch.setattr(glance, "glanced", partial(glance.glanced, timeout=0))
    with closing(sqlite3.connect(path, isolation_level=None)) as holding:
        holding.execute("PRAGMA locking_mode = EXCLUSIVE")
        holding.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match=r"could not be read\."):
            open_demo(path, fresh=fresh)
    assert demo_of(path) == seeds_demo.story()


def test_where_there_are_no_links_the_demo_is_told_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def without_links(*_: object, **__: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", without_links)
    monkeypatch.setattr("seeds_demo.studio._Story.tell", lambda _: None)
    path = tmp_path / "demo" / "studio.stockroom"
    open_demo(path).close()
    assert demo_of(path) == seeds_demo.story()
    assert not list(path.parent.glob(".telling-*"))


def test_restored_books_are_nobodys_demo(path: Path, tmp_path: Path) -> None:
    desk = open_demo(path)
    keeping.make_backup(desk, tmp_path / "backup")
    desk.close()
    keeping.restore_backup(tmp_path / "backup", str(tmp_path / "mine.stockroom"))
    assert demo_of(tmp_path / "mine.stockroom") is None


def test_the_screen_of_the_demo_has_the_demos_clock(
    path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else one act booked there would be dated months after its story."""
    shown = []

    def show(open_desk: Callable[[], Desk], **_: object) -> int:
        desk = open_desk()
        shown.append(desk.now_s())
        desk.close()
        return 0

    monkeypatch.setattr("tui.app.run", show)
    assert run(["demo", "screen"]) == 0
    assert shown == [seeds_demo.DEMO_NOW_S]
