"""After a power cut at any write, whatever of the unsynced came to the disk, all is there."""

import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import event
from support.broken_off import KINDS, LATER_S, InFile
from support.deeds import Doer, Seeded
from support.disk import can_be_watched
from support.drills import rounds
from support.power import Recording, recorded, recorded_from_outside
from support.studio import Clock
from support.truths import see_acknowledged, see_truths

from stockroom.desk.stock import defining
from stockroom.desk.session import Desk
from stockroom.errors import StockroomError

EACH_RECORDING = 50
"""Images made of one recording before another one is made."""
OFTEN, NEVER = 20, 1_000_000
"""Pages in the log after which it is brought into the file."""


def worked(place: InFile, seed: int) -> Recording:
    """Do some acts of all kinds, in an order of the seed's, and record what came to the disk."""
    place.lay()

    def work(say: Callable[[str], None]) -> None:
        clock, choose = Clock(LATER_S), Seeded(seed)
        doer = Doer(Desk(place.engine, now_s=clock, clock_is_right=True), clock, choose, "p")
        for number, kind in enumerate(choose.rng.sample(KINDS, 30)):
            try:
                done = doer.do(kind)
            except StockroomError:
                continue
            say(f"{done.seq} p-{doer.count}")
            if number % 10 == 9 and place.pages != NEVER:
                place.engine.dispose()  # the last to close brings the log into the file
        place.engine.dispose()

    if seed % 5 == 4 or not can_be_watched():
        place.pages = NEVER
        return recorded_from_outside(place.file.path, work)
    place.pages = random.Random(seed).choice([OFTEN, 1_000])
    return recorded(place.file.path, work)


def see_all_there(place: InFile, count: int, seed: int, *, lies: bool = False) -> None:
    """Cut the power so many times, and see that each store that is left is whole."""
    rng, lost, began_s = random.Random(seed), 0, time.monotonic()
    for number in range(count):
        if number % EACH_RECORDING == 0:
            recording = worked(place, seed + number // EACH_RECORDING)
            if lies:
                recording.never_synced()
        files, said = recording.image(rng.randrange(len(recording.steps) + 1), rng)
        place.file.clear()
        for name, data in files.items():
            place.file.path.with_name(name).write_bytes(data)
        desk = Desk(place.engine, now_s=Clock(LATER_S), clock_is_right=True)
        see_truths(desk)
        see_acknowledged(desk, said)
        defining.define_place(desk, "After the cut", "rack")
        lost += not said
    sys.stdout.write(
        f"\n{count} power cuts: lost 0, half-done 0; {time.monotonic() - began_s:.1f} s\n"
    )
    assert lost < count / 2, "most cuts must come after something was acknowledged"
    place.file.clear()


@rounds(60, 1_000, 5_000)
def test_after_a_power_cut_all_that_was_acknowledged_is_there(rounds: int, tmp_path: Path) -> None:
    see_all_there(InFile(tmp_path / "studio.stockroom"), rounds, seed=1)


LESS = ["NORMAL", "OFF", "a disk that lies"] if can_be_watched() else ["a disk that lies"]
"""Settings under which a commit is not on the disk when it is acknowledged."""


@pytest.mark.parametrize("less", LESS)
def test_a_store_that_is_not_synced_is_found_out(less: str, tmp_path: Path) -> None:
    """The drill itself is tried: with fewer syncs acknowledged acts must turn up as lost."""
    place, lies = InFile(tmp_path / "studio.stockroom"), less == LESS[-1]
    if not lies:
        event.listen(
            place.engine,
            "connect",
            lambda raw, _record: raw.execute(f"PRAGMA synchronous = {less}"),
        )
    with pytest.raises((AssertionError, StockroomError)) as found:
        see_all_there(place, 100, seed=1, lies=lies)
    assert less == "OFF" or "acknowledged and lost" in str(found.value)
    place.file.clear()
