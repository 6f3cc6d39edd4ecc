"""A store that others may look at: they leave nothing beside it, and read one true state of it."""

import os
import resource
import signal
import stat
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from support.accounts import GROUP, OTHER, OWNER, as_user, given_to, is_administrator, shared_folder
from support.deeds import head
from support.studio import DAY_S, MONDAY_S, Clock, Studio
from support.studio_files import copied_studio, desk_at
from support.truths import see_truths
from support.workers import Say, at_work, fork

from stockroom.desk.stock import handling
from stockroom.desk import keeping
from stockroom.desk.glance import glance
from stockroom.desk.session import Desk
from stockroom.errors import StoreError, StoreUnwritableError
from stockroom.store import opening
from stockroom.store.opening import look

NOW_S = MONDAY_S + 14 * DAY_S
"""After all that was done in the copied studio."""


@pytest.fixture
def folder() -> Iterator[Path]:
    """A folder that every account may enter."""
    with shared_folder() as made:
        yield made


@pytest.fixture
def studio(folder: Path) -> Studio:
    """A store in it, which its owner may write and others may read."""
    made = copied_studio(folder / "studio.stockroom")
    (folder / "studio.stockroom").chmod(0o644 if is_administrator() else 0o444)
    given_to(folder)
    return made


def beside(folder: Path) -> list[str]:
    return sorted(item.name for item in folder.iterdir())


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def looked_at(path: Path, into: Path, unit: str) -> Callable[[Say], None]:
    """What a second account does: a glance, a look, a backup; it tries to act as well."""

    def work(say: Say) -> None:
        say("glance" if glance(str(path)) else "no glance")
        desk = desk_at(path, Clock(NOW_S))
        say(f"act {head(desk)[0]}")
        say(f"backup of {keeping.make_backup(desk, into / 'looked-at.backup').acts}")
        try:
            handling.open_unit(desk, unit)
        except StoreUnwritableError as error:
            say(str(error))
        os._exit(0)  # nothing is put in order: as if it were killed

    return work


@pytest.mark.parametrize("folder_mode", [0o777, 0o555])
def test_a_look_by_another_leaves_nothing_beside_the_store(
    folder_mode: int, folder: Path, studio: Studio
) -> None:
    """Were there a log of the other's, its owner could not write any more."""
    path = folder / "studio.stockroom"
    folder.chmod(folder_mode)
    with shared_folder() as own:
        own.chmod(0o777)
        said = fork(as_user(looked_at(path, own, studio.second_roll))).end()
        assert keeping.check_backup(own / "looked-at.backup").faults == ()
    assert said[:3] == ["glance", "act 18", "backup of 18"]
    assert "can be read, but not written; nothing was changed" in said[3]
    assert beside(folder) == ["studio.stockroom"]

    def owner(say: Say) -> None:
        handling.open_unit(desk_at(path, Clock(NOW_S)), studio.second_roll)
        say("done")

    folder.chmod(0o755)
    if not is_administrator():
        path.chmod(0o644)
    assert fork(as_user(owner, OWNER)).end() == ["done"]


def test_who_would_begin_a_store_looks_at_one_that_is_there(folder: Path, studio: Studio) -> None:
    """As the screen does: it begins one where there is none."""
    path = folder / "studio.stockroom"

    def looking(say: Say) -> None:
        desk = Desk.at(str(path), begin=True, now_s=Clock(NOW_S))
        say(f"{keeping.state(desk).acts} acts")

    folder.chmod(0o555)
    assert fork(as_user(looking)).end() == ["18 acts"]


@pytest.mark.parametrize("folder_mode", [0o777, 0o555])
@pytest.mark.parametrize("still_open", [True, False])
def test_what_is_in_the_log_alone_is_seen_too(
    folder_mode: int, still_open: bool, folder: Path, studio: Studio
) -> None:
    """Its owner has it open, or was killed: the last act is in the log, and nowhere else."""
    path = folder / "studio.stockroom"
    path.chmod(0o644)

    def owner(say: Say) -> None:
        desk = desk_at(path, Clock(NOW_S))
        handling.open_unit(desk, studio.second_roll)
        say("ready")
        if not still_open:
            os.kill(os.getpid(), signal.SIGKILL)
        signal.pause()

    with at_work([as_user(owner, OWNER)]) as (worker,):
        if not still_open:
            os.waitid(os.P_PID, worker.pid, os.WEXITED | os.WNOWAIT)
        folder.chmod(folder_mode)
        if not is_administrator():
            path.chmod(0o444)
        before = beside(folder)
        with shared_folder() as own:
            own.chmod(0o777)
            said = fork(as_user(looked_at(path, own, studio.roll))).end()
            assert keeping.check_backup(own / "looked-at.backup").faults == ()
    assert said[1:3] == ["act 19", "backup of 19"]
    assert beside(folder) == before
    folder.chmod(0o755)
    path.chmod(0o644)
    desk = desk_at(path, Clock(NOW_S))
    assert see_truths(desk) == 19
    desk.close()


def test_a_log_that_cannot_be_brought_in_is_said_and_nothing_is_made_beside_it(
    folder: Path, studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = folder / "studio.stockroom"
    path.chmod(0o644)
    monkeypatch.setattr(opening, "OPENING_S", 0.1)

    def killed(say: Say) -> None:
        handling.open_unit(desk_at(path, Clock(NOW_S)), studio.second_roll)
        os.kill(os.getpid(), signal.SIGKILL)

    fork(as_user(killed, OWNER)).end()
    path.with_name(path.name + "-shm").unlink()
    if not is_administrator():
        path.chmod(0o444)
    folder.chmod(0o777)

    def other(say: Say) -> None:
        try:
            desk_at(path, Clock(NOW_S))
        except StoreUnwritableError as error:
            say(str(error))

    (said,) = fork(as_user(other)).end()
    assert "its last acts are still in the log beside it" in said
    assert "Let its owner open it once" in said
    assert beside(folder) == ["studio.stockroom", "studio.stockroom-wal"]


def test_a_store_that_may_not_be_read_is_said(folder: Path, studio: Studio) -> None:
    path = folder / "studio.stockroom"
    path.chmod(0o600 if is_administrator() else 0)

    def other(say: Say) -> None:
        try:
            desk_at(path, Clock(NOW_S))
        except StoreUnwritableError as error:
            say(str(error))

    (said,) = fork(as_user(other)).end()
    assert said.startswith("This account may not read ")


def test_one_that_looks_sees_what_others_did_since(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "studio.stockroom"
    studio = copied_studio(path)
    writes = [False]
    monkeypatch.setattr(opening, "may_write", lambda path: writes[0])
    looking = desk_at(path, Clock(NOW_S))
    assert head(looking)[0] == 18
    writes[0] = True
    desk = desk_at(path, Clock(NOW_S))
    handling.open_unit(desk, studio.second_roll)
    writes[0] = False
    assert head(looking)[0] == 19, "from the log"
    desk.close()
    assert head(looking)[0] == 19, "from the file"
    looking.close()


def test_what_was_read_while_the_file_was_written_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without a lock half of it could be of before, half of after."""
    path = tmp_path / "studio.stockroom"
    studio = copied_studio(path)
    writes = [False]
    monkeypatch.setattr(opening, "may_write", lambda path: writes[0])
    looking = desk_at(path, Clock(NOW_S))

    def read_beside_a_writer() -> None:
        with looking.reading() as view:
            view.put_bys(studio.roll)
            writes[0] = True
            desk = desk_at(path, Clock(NOW_S))
            handling.open_unit(desk, studio.second_roll)
            desk.close()
            writes[0] = False

    with pytest.raises(StoreError, match="written to while it was read"):
        read_beside_a_writer()
    assert head(looking)[0] == 19
    looking.close()


def test_a_look_that_meets_the_owner_closing_takes_its_empty_log_away(
    folder: Path, studio: Studio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The log was there when it looked, and is gone when it opens the file."""
    path, log = folder / "studio.stockroom", folder / "studio.stockroom-wal"
    folder.chmod(0o777)

    def other(say: Say) -> None:
        state, seen = opening._state, []

        def closed_since(asked: Path) -> opening.State | None:
            found = state(asked)
            if asked == log and not seen:
                seen.append("a log")
                return opening.State(1, 4_152, 0, OWNER)
            return found

        opening._state = closed_since
        look(path, "").close()
        say("looked")

    assert fork(as_user(other)).end() == ["looked"]
    if is_administrator():
        assert beside(folder) == ["studio.stockroom"]


def test_a_disk_without_room_for_a_log_can_still_be_read_and_backed_up(tmp_path: Path) -> None:
    """The place where the backup goes has room; the log needs more than there is."""
    path = tmp_path / "studio.stockroom"
    studio = copied_studio(path)

    def cramped(say: Say) -> None:
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (30_000, resource.RLIM_INFINITY))
        desk = desk_at(path, Clock(NOW_S))
        say(f"backup of {keeping.make_backup(desk, tmp_path / 'studio.backup').acts}")
        try:
            handling.open_unit(desk, studio.second_roll)
        except StoreUnwritableError:
            say("not written")
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        handling.open_unit(desk, studio.second_roll)
        say("written")

    assert fork(cramped).end() == ["backup of 18", "not written", "written"]
    assert keeping.check_backup(tmp_path / "studio.backup").faults == ()
    desk = desk_at(path, Clock(NOW_S))
    assert see_truths(desk) == 19
    desk.close()


def test_a_new_store_is_its_makers_alone_and_so_is_its_log(folder: Path) -> None:
    path = folder / "new" / "studio.stockroom"
    before = os.umask(0)
    try:
        desk = Desk.at(str(path), begin=True, now_s=Clock(MONDAY_S))
        keeping.make_backup(desk, folder / "studio.backup")
        keeping.restore_backup(folder / "studio.backup", str(folder / "again.stockroom"))
    finally:
        os.umask(before)
    assert {item.name: mode(item) for item in path.parent.iterdir()} == {
        "studio.stockroom": 0o600, "studio.stockroom-wal": 0o600, "studio.stockroom-shm": 0o600,
    }  # fmt: skip
    desk.close()
    assert mode(folder / "studio.backup") == mode(folder / "again.stockroom") == 0o600


def test_a_store_that_a_group_shares_stays_the_groups(folder: Path, studio: Studio) -> None:
    """What its owner set up is left so, and the log of whoever opens it first is the group's."""
    path = folder / "studio.stockroom"
    given_to(folder, OWNER, GROUP)
    path.chmod(0o660)
    folder.chmod(0o770)

    def killed(say: Say) -> None:
        handling.open_unit(desk_at(path, Clock(NOW_S)), studio.second_roll)
        say("done")
        os.kill(os.getpid(), signal.SIGKILL)

    assert fork(as_user(killed, OTHER, (GROUP,))).end() == ["done"]
    assert {mode(item) for item in folder.iterdir()} == {0o660}
    assert len({item.stat().st_gid for item in folder.iterdir()}) == 1

    def owner(say: Say) -> None:
        handling.open_unit(desk_at(path, Clock(NOW_S)), studio.roll)
        say("done")

    assert fork(as_user(owner, OWNER, (GROUP,))).end() == ["done"]
    desk = desk_at(path, Clock(NOW_S))
    assert see_truths(desk) == 20
    desk.close()
