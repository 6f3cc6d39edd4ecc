"""What a disk may hold after its power went: what was synced, and any part of what was not."""

import random
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from support.disk import OK, Step, watched

SECTOR = 512
"""What a disk writes whole or not at all, bytes."""
LOST, KEPT, TORN = range(3)


@dataclass(frozen=True)
class Change:
    """One change to a file: bytes at a place, or a new length where there are none."""

    at: int
    data: bytes | None


@dataclass
class _File:
    """A file on the disk: what is safe in it, and what was written since."""

    safe: bytearray = field(default_factory=bytearray)
    waiting: list[Change] = field(default_factory=list)

    def settle(self) -> None:
        """All that waits is safe."""
        lay(self.safe, self.waiting)
        self.waiting = []

    def after_a_cut(self, rng: random.Random) -> bytearray:
        """Return what may be found: each waiting change kept, lost or torn, in any order."""
        found: list[Change] = []
        fates = rng.choice([(LOST,), (KEPT,), (LOST, KEPT), (LOST, KEPT, TORN), (KEPT, TORN)])
        for change in self.waiting:
            fate = rng.choice(fates)
            if fate == TORN and change.data is not None:
                found += torn(change.at, change.data, rng)
            elif fate != LOST:
                found.append(change)
        if rng.random() < 0.5:
            rng.shuffle(found)
        lay(self.safe, found)
        return self.safe


def torn(at: int, data: bytes, rng: random.Random) -> list[Change]:
    """Return some of the sectors of a write."""
    edges = [at, *range(at - at % SECTOR + SECTOR, at + len(data), SECTOR), at + len(data)]
    parts = [Change(start, data[start - at : end - at]) for start, end in pairwise(edges)]
    return [part for part in parts if rng.random() < 0.5]


def lay(image: bytearray, changes: list[Change]) -> None:
    """Lay changes into a content; what was never written reads as zero."""
    for change in changes:
        end = change.at + len(change.data or b"")
        if change.data is None:
            del image[change.at :]
        image.extend(bytes(max(0, end - len(image))))
        if change.data is not None:
            image[change.at : end] = change.data


@dataclass
class Recording:
    """All that was done to a store's files, and what was said in between.

    Parameters
    ----------
    store : str
        The name of the store's file.
    content : bytes
        What it held before, safe on the disk.
    """

    store: str
    content: bytes
    steps: list[Step | str] = field(default_factory=list)
    data: dict[int, bytes] = field(default_factory=dict)

    def watch(self, step: Step) -> int:
        """Keep a step, with its bytes."""
        if step.name.startswith(self.store):
            if step.operation == "write":
                self.data[len(self.steps)] = step.data
            self.steps.append(step)
        return OK

    def say(self, line: str) -> None:
        """Keep that something was acknowledged now."""
        self.steps.append(line)

    def never_synced(self) -> None:
        """Take every sync out of it: as if the disk lied about them."""
        for number, step in enumerate(self.steps):
            if isinstance(step, Step) and step.operation == "sync":
                self.steps[number] = Step("open", step.name)

    def image(self, cut: int, rng: random.Random) -> tuple[dict[str, bytearray], list[str]]:
        """Return the files after a power cut before a step, and all that was said until then.

        The index of the log is no file on the disk but shared memory: it is gone. A removal that
        no later sync brought to the disk may be undone.
        """
        files, gone = {self.store: _File(bytearray(self.content))}, {}
        said: list[str] = []
        for number, step in enumerate(self.steps[:cut]):
            if isinstance(step, str):
                said.append(step)
                continue
            file = files.setdefault(step.name, _File())
            match step.operation:
                case "write":
                    file.waiting.append(Change(step.at, self.data[number]))
                case "truncate":
                    file.waiting.append(Change(step.size, None))
                case "sync":
                    file.settle()
                    gone.pop(step.name, None)
                case "remove":
                    gone[step.name] = files.pop(step.name)
        back = {name: file for name, file in gone.items() if not files.get(name, _File()).safe}
        if rng.random() < 0.5:
            files |= back
        return {
            name: file.after_a_cut(rng) for name, file in files.items() if not name.endswith("-shm")
        }, said


Work = Callable[[Callable[[str], None]], None]
"""Does something on a store and says each act once it stands; opens and closes the store."""


def recorded(path: Path, work: Work) -> Recording:
    """Do some work on a store and record each operation on its files."""
    recording = Recording(path.name, path.read_bytes())
    with watched(recording.watch):
        work(recording.say)
    return recording


def recorded_from_outside(path: Path, work: Work) -> Recording:
    """Do some work and record what its log holds at each act: where SQLite cannot be watched.

    It must not bring the log into the file meanwhile. That each act was synced is taken on trust.
    """
    recording = Recording(path.name, path.read_bytes())
    log = path.with_name(path.name + "-wal")

    def say(line: str) -> None:
        known = sum(len(data) for data in recording.data.values())
        more = log.read_bytes()[known:]
        recording.data[len(recording.steps)] = more
        recording.steps.append(Step("write", log.name, known, len(more)))
        recording.steps.append(Step("sync", log.name))
        recording.say(line)

    work(say)
    return recording
