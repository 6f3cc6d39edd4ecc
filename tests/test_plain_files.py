"""What a person names is read, but never a store that is open, by whatever name it has."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from support.studio import MONDAY_S, Clock
from support.studio_files import copied_studio, desk_at
from support.workers import Say, fork

from stockroom.desk.stock import defining
from stockroom.desk import keeping
from stockroom.desk.climate.folder import take_in_folder
from stockroom.desk.session import Desk
from stockroom.errors import ImportProblem, RefusedError
from stockroom.plain_files import read_plain
from stockroom.writing import write_whole

PLACE = "Cold store"


def read_by_its_name(desk: Desk, store: Path) -> None:
    with pytest.raises(ImportProblem, match="the store itself"):
        read_plain(store)


def read_by_a_link(desk: Desk, store: Path) -> None:
    os.link(store, store.with_name("linked.csv"))
    with pytest.raises(ImportProblem, match="the store itself"):
        read_plain(store.with_name("linked.csv"))


def read_with_its_folder(desk: Desk, store: Path) -> None:
    refused = take_in_folder(desk, store.parent, place=PLACE).refused
    assert {item.path for item in refused} >= {f"{store.name}{end}" for end in ("", "-wal", "-shm")}


def written_over(desk: Desk, store: Path) -> None:
    with pytest.raises(RefusedError):
        write_whole(store, b"%PDF-1.4", replace=True)


READ: list[Callable[[Desk, Path], None]] = [
    read_by_its_name, read_by_a_link, read_with_its_folder, written_over,
]  # fmt: skip


@pytest.mark.parametrize("read", READ)
def test_an_act_stands_though_the_store_was_named_as_a_file_to_read(
    read: Callable[[Desk, Path], None], tmp_path: Path
) -> None:
    """Closing any handle of a file lets go a process's locks: another's closing takes the log."""
    store = tmp_path / "shop" / "studio.stockroom"
    store.parent.mkdir()
    copied_studio(store)

    def work(say: Say) -> None:
        desk = desk_at(store, Clock(MONDAY_S + 3_600))
        defining.define_place(desk, "First", "rack")
        read(desk, store)
        say("read")
        os.read(waits, 1)
        defining.define_place(desk, "Third", "rack")
        say("acted")
        os.read(waits, 1)

    waits, goes = os.pipe()
    worker = fork(work)
    worker.hear()
    other = desk_at(store)
    defining.define_place(other, "Second", "rack")
    acts = keeping.state(other).acts
    other.close()
    os.write(goes, b".")
    worker.hear()
    worker.kill()
    assert worker.end() == ["read", "acted"]
    os.close(goes)
    os.close(waits)
    desk = desk_at(store)
    assert keeping.state(desk).acts == acts + 1
    desk.close()
