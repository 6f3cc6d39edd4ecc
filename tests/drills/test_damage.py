"""Whatever damages a store, a process that opens it shows the right figures or none."""

import json
import random
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from support.deeds import DEEDS, Doer, Seeded
from support.drills import rounds
from support.studio import Clock
from support.studio_files import Reopened, copied_studio, desk_at, settle

from stockroom.core.books.chain import seal
from stockroom.core.model import RECORD_OF_KIND, RECORDS, Place, Unit
from stockroom.desk.stock import counting
from stockroom.desk import keeping
from stockroom.desk.lookup import everything
from stockroom.desk.session import Desk
from stockroom.errors import StockroomError
from stockroom.store import blocks
from stockroom.store.mapping import to_row
from stockroom.store.sums import ROWS

KINDS = sorted(DEEDS)


@pytest.fixture(scope="module")
def two_states(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """One store twice: as it is, and as it was a dozen acts before."""
    folder = tmp_path_factory.mktemp("worked")
    path, earlier = folder / "worked.stockroom", folder / "earlier.stockroom"
    copied_studio(path)
    for acts, seed in ((20, 8), (12, 9)):
        desk = desk_at(path)
        clock = desk.now_s
        assert isinstance(clock, Clock)
        doer, choose = Doer(desk, clock, Seeded(seed), f"worked-{seed}"), Seeded(seed)
        for _ in range(acts):
            doer.tries(choose.one(KINDS))
        desk.close()
        settle(path)
        if seed == 8:
            earlier.write_bytes(path.read_bytes())
    return path, earlier


@pytest.fixture
def place(two_states: tuple[Path, Path], tmp_path: Path) -> Iterator[Reopened]:
    """Where damaged stores are laid, one after the other."""
    there = Reopened(tmp_path / "image.stockroom")
    there.path.write_bytes(two_states[0].read_bytes())
    yield there
    there.clear()


def figures(desk: Desk) -> Iterator[tuple[str, object]]:
    """Return what a person could be shown, piece by piece; a piece may be refused."""
    readers: list[Callable[[Any], Any]] = [
        *(lambda view, kind=kind: everything(view, kind) for kind in RECORDS),
        lambda view: [view.stays(unit.code) for unit in everything(view, Unit)],
        lambda view: [view.put_bys(unit.code) for unit in everything(view, Unit)],
        lambda view: [
            blocks.read_place(view.connection, place.code)[0].temp_c.tolist()
            for place in everything(view, Place)
        ],
        lambda view: [view.movements(seq) for seq in range(1, 90)],
    ]
    for number, read in enumerate(readers):
        with desk.reading() as view:
            yield f"figure {number}", read(view)
    yield "history", counting.trail(desk, 500)
    yield "workshop", (desk.zone, desk.currency)


def shown(place: Reopened, *, checked: bool) -> dict[str, object] | None:
    """Return every figure that a new process shows; None where it shows none.

    Nothing but the error made for people may come of it. With `checked`, it looks at the file of
    the database too, as it does once a day.
    """
    try:
        desk = place.desk()
        if checked and keeping.check(desk).faults:
            return None
        return dict(figures(desk))
    except StockroomError:
        return None


# ---- damage to the file ------------------------------------------------------------------------


def damaged_images(path: Path, earlier: Path, count: int, seed: int) -> Iterator[bytes]:
    """Return copies of a file with bytes flipped, cut short, pages swapped, or pages gone back."""
    whole, old, rng = path.read_bytes(), earlier.read_bytes(), random.Random(seed)
    filled = [at for at, byte in enumerate(whole) if byte]
    size = int.from_bytes(whole[16:18], "big")
    pages = len(whole) // size
    for number in range(count):
        image = bytearray(whole)
        match number % 5:
            case 4 if number % 10 == 9:
                image = image[: rng.randrange(len(image))]
            case 3 | 4:  # a write that never reached the disk: pages as they were before
                differ = [
                    page
                    for page in range(min(pages, len(old) // size))
                    if whole[page * size : (page + 1) * size]
                    != old[page * size : (page + 1) * size]
                ]
                for page in rng.sample(differ, rng.randint(1, max(1, len(differ) // 2))):
                    image[page * size : (page + 1) * size] = old[page * size : (page + 1) * size]
            case 2:
                one, other = rng.sample(range(1, pages), 2)
                for page, came in ((one, other), (other, one)):
                    image[page * size : (page + 1) * size] = whole[came * size : (came + 1) * size]
            case _:
                for _ in range(rng.choice([1, 1, 1, 4, 16, 64])):
                    at = rng.choice(filled) if rng.random() < 0.9 else rng.randrange(len(image))
                    image[at] ^= rng.randrange(1, 256)
        yield bytes(image)


@rounds(30, 500)
def test_a_damaged_file_shows_no_wrong_figure(
    rounds: int, two_states: tuple[Path, Path], place: Reopened
) -> None:
    """Flips, cuts, swapped pages, lost writes: a check finds it, or all figures are right."""
    right = shown(place, checked=True)
    assert right is not None
    assert len(right) > 15
    unnoticed = 0
    for image in damaged_images(*two_states, rounds, seed=9):
        place.clear()
        place.path.write_bytes(image)
        found = shown(place, checked=True)
        if found is not None:
            unnoticed += 1
            assert found == right
    assert unnoticed < rounds / 2, "the damage must mostly hit something"


# ---- damage to rows ----------------------------------------------------------------------------


def spoil(path: Path, rng: random.Random) -> str:
    """Change rows of a store as nothing of ours does, triggers dropped; return what was done."""
    with sqlite3.connect(path) as connection:
        for (name,) in connection.execute(
            "SELECT name FROM sqlite_master WHERE type = 'trigger'"
        ).fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        how = rng.choice([_delete, _put_back, _swap, _multiply, _rename])
        done = how(connection, rng)
    connection.close()
    return done


def _filled(connection: sqlite3.Connection) -> list[str]:
    return [
        table for table, _ in ROWS
        if connection.execute(f'SELECT count(*) FROM "{table}"').fetchone()[0]
    ]  # fmt: skip


def _delete(connection: sqlite3.Connection, rng: random.Random) -> str:
    table = rng.choice([*_filled(connection), "client", "act"])
    rows = [row for (row,) in connection.execute(f'SELECT rowid FROM "{table}"')]
    gone = rng.sample(rows, min(len(rows), rng.choice([1, 1, 3])))
    for row in gone:
        connection.execute(f'DELETE FROM "{table}" WHERE rowid = ?', (row,))
    return f"{len(gone)} rows of {table} deleted"


def _put_back(connection: sqlite3.Connection, rng: random.Random) -> str:
    """An older row with its own valid seal."""
    touches = connection.execute(
        "SELECT kind, record_key, before FROM touch WHERE before IS NOT NULL"
    ).fetchall()
    kind, key, before = rng.choice(touches)
    record = RECORD_OF_KIND[kind]
    row = to_row(record.from_plain(json.loads(before)))
    names = ", ".join(f"{name} = :{name}" for name in row)
    changed = connection.execute(
        f'UPDATE "{record.table}" SET {names} WHERE {record.key_field} = :the_key',
        {**row, "the_key": key},
    )
    return f"{changed.rowcount} older {kind} put back"


def _swap(connection: sqlite3.Connection, rng: random.Random) -> str:
    """Two records of a kind that change places under their keys, seals as they are."""
    kind = rng.choice(["unit", "job", "lot", "place", "material"])
    named = [row[1] for row in connection.execute(f'PRAGMA table_info("{kind}")')]
    rest = [name for name in named if name not in ("code", "name")]
    rows = connection.execute(f'SELECT code, {", ".join(rest)} FROM "{kind}"').fetchall()
    one, other = rng.sample(rows, 2)
    sets = ", ".join(f"{name} = ?" for name in rest)
    for (code, *_), (_, *values) in ((one, other), (other, one)):
        connection.execute(f'UPDATE "{kind}" SET {sets} WHERE code = ?', (*values, code))
    return f"two {kind} swapped"


def _multiply(connection: sqlite3.Connection, rng: random.Random) -> str:
    """A movement's cost three times as high; its seal as it was, or made anew for it."""
    cursor = connection.execute("SELECT * FROM movement ORDER BY random() LIMIT 1")
    names = [column[0] for column in cursor.description]
    row = dict(zip(names, cursor.fetchone(), strict=True))
    row["cost_cents"] = 3 * row["cost_cents"] + 1
    if rng.random() < 0.5:
        row["seal"] = seal("movement", {name: row[name] for name in row if name != "seal"})
    connection.execute(
        "UPDATE movement SET cost_cents = :cost_cents, seal = :seal WHERE act = :act AND n = :n",
        row,
    )
    return "a movement's cost tripled"


def _rename(connection: sqlite3.Connection, rng: random.Random) -> str:
    kind = rng.choice(["unit", "stay", "lot"])
    column = {"unit": "place", "stay": "from_s", "lot": "number"}[kind]
    connection.execute(f"UPDATE {kind} SET {column} = {column} || '1'")
    return f"{kind}.{column} changed in all rows"


@rounds(30, 500)
def test_rows_that_no_act_changed_show_no_wrong_figure(
    rounds: int, two_states: tuple[Path, Path], place: Reopened
) -> None:
    """Without any check: what a process shows after opening is right, or it shows nothing."""
    right = shown(place, checked=False)
    assert right is not None
    rng, whole, noticed = random.Random(11), two_states[0].read_bytes(), 0
    for _ in range(rounds):
        place.clear()
        place.path.write_bytes(whole)
        done = spoil(place.path, rng)
        found = shown(place, checked=False)
        noticed += found is None
        assert found in (None, right), done
    assert noticed > rounds / 2
