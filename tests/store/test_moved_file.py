"""A store that is moved away while it is open is not written to, and none is made in its place."""

import os
from pathlib import Path

import pytest
from support.studio import MONDAY_S, Clock, Studio
from support.studio_files import copied_studio

from stockroom.desk.stock import counting
from stockroom.desk import keeping
from stockroom.desk.latest import latest
from stockroom.desk.session import Desk
from stockroom.errors import StoreMissingError


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "shop" / "studio.stockroom"


@pytest.fixture
def moved(path: Path) -> tuple[Desk, Studio]:
    """A desk on a store that was moved away whole after it was opened and read."""
    path.parent.mkdir()
    studio = copied_studio(path)
    desk = Desk.at(str(path), now_s=Clock(MONDAY_S), clock_is_right=True)
    counting.count(desk, studio.roll, 400_000)
    (path.parent / "away").mkdir()
    _move(path.parent, path.parent / "away", path.name)
    return desk, studio


def _move(old: Path, new: Path, name: str) -> None:
    for item in sorted(old.glob(f"{name}*")):
        item.rename(new / item.name)


def test_nothing_is_recorded_in_it_and_no_other_is_made(
    moved: tuple[Desk, Studio], path: Path
) -> None:
    desk, studio = moved
    for _ in range(3):
        with pytest.raises(StoreMissingError, match="no longer at"):
            counting.count(desk, studio.roll, 390_000)
        with pytest.raises(StoreMissingError, match="no longer at"):
            latest(desk)
    assert not path.exists()
    desk.close()
    away = Desk.at(str(path.parent / "away" / path.name), now_s=Clock(MONDAY_S))
    assert "390" not in "".join(str(line.act.payload) for line in counting.trail(away, 1))
    away.close()


def test_it_goes_on_when_the_store_is_back(moved: tuple[Desk, Studio], path: Path) -> None:
    desk, studio = moved
    with pytest.raises(StoreMissingError):
        latest(desk)
    _move(path.parent / "away", path.parent, path.name)
    counting.count(desk, studio.roll, 390_000)
    assert keeping.check(desk).faults == ()
    desk.close()


def test_another_store_in_its_place_is_the_one_that_is_worked_in(
    moved: tuple[Desk, Studio], path: Path
) -> None:
    """As where a backup was restored to the same name: nobody goes on in the old one."""
    desk, studio = moved
    copied_studio(path)
    before = keeping.state(desk).acts
    counting.count(desk, studio.roll, 380_000)
    desk.close()
    other = Desk.at(str(path), now_s=Clock(MONDAY_S), clock_is_right=True)
    assert keeping.state(other).acts == before + 1
    other.close()


@pytest.mark.parametrize("what", ["pipe", "folder", "device"])
def test_what_is_no_file_is_refused_at_once(what: str, tmp_path: Path) -> None:
    path = tmp_path / "odd"
    if what == "pipe":
        os.mkfifo(path)
    elif what == "folder":
        path.mkdir()
    else:
        path = Path("/dev/null")
    for begin in (False, True):
        with pytest.raises(StoreMissingError, match="is not a file"):
            Desk.at(str(path), begin=begin)
