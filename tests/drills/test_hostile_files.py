"""Whatever a file holds, it is read or refused in words, soon, in little memory, and whole."""

import gzip
import io
import json
import os
import random
import socket
import sqlite3
import unicodedata
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path

import openpyxl
import pytest
from support.logs import log
from support.measured import Measure, Took, measuring
from support.stock_lists import STOCK_LIST
from support.studio import Studio
from support.studio_files import copied_studio, desk_at
from support.truths import see_truths

from stockroom.core.books.chain import GENESIS, seal
from stockroom.desk import keeping
from stockroom.store.backup import BACKUP_FORMAT
from stockroom.store.tables import SCHEMA_NUMBER

MOST_CPU_S, MOST_MB = 5.0, 300.0
UNFORESEEN = b"did not foresee"

STATE = {
    "format": "stockroom.supply/1",
    "day": "2026-03-03",
    "materials": [
        {"code": "satin 127", "capacity": 30, "cost": 640, "minimum": 2, "lead_days": [30, 41],
         "life_days": [300, 260], "contiguous": True, "price_breaks": [{"from": 2, "cost": 600}]},
    ],
    "stock": [{"material": "satin 127", "left": 21.5, "usable_by": "2026-06-30"}],
    "on_order": [{"material": "satin 127", "units": 2, "ordered_on": "2026-02-27"}],
    "jobs": [{"code": "Estuary", "due": "2026-04-02", "start": "2026-03-24", "to_print": 6,
              "area_m2": 1.5, "per_print": {"satin 127": 1.3}}],
    "history_days": 200,
}  # fmt: skip
SETTINGS = b'zone = "Europe/Berlin"\ncurrency = "EUR"\n[keys]\n"act.strip" = "t"\n[saw]\nlongest_cut_mm = 3100\n'  # noqa: E501
JOBS = b"name,size,pieces,material,due date\nHarbour,1200x800 mm,3,,2026-04-10\nPier,90x60 cm,1,,\n"
PIECES = b"code,width_mm,height_mm,count,turn,value\nA,620,420.5,4,0,12.34\nB,1200,800,,,\n"
BLANKS = b"code,width_mm,height_mm,count,cost,trim\nsheet,3050,2030,,129.90,1\n"
WARM = b"width_mm,length_m,from_c,hours\n1270,50,-18,10.5\n1270,50,4,6\n"


def workbook(*rows: list[object]) -> bytes:
    book = openpyxl.Workbook()
    assert book.active is not None
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


STOCK_BOOK = workbook(["material", "family", "form", "count"], ["Tape", "goods", "counted", 3])
SHEET, STYLES = "xl/worksheets/sheet1.xml", "xl/styles.xml"


def packed_again(part: str, before: str, more: bytes) -> bytes:
    """The workbook with something more in one of its parts, before an end that is there."""
    out = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(STOCK_BOOK)) as source,
        zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as target,
    ):
        for info in source.infolist():
            content = source.read(info)
            if info.filename == part:
                assert before.encode() in content
                content = content.replace(before.encode(), more + before.encode())
            target.writestr(info.filename, content)
    return out.getvalue()


class Reader:
    """The commands that read files, on one furnished store."""

    def __init__(self, folder: Path, measure: Measure) -> None:
        self.folder, self._measure = folder, measure
        self.store = folder / "studio.stockroom"
        self.studio: Studio = copied_studio(self.store)
        config = folder / "config" / "stockroom"
        config.mkdir(parents=True)
        self.settings = config / "settings.toml"
        self.new = folder / "new.stockroom"
        (folder / "good.csv").write_bytes(BLANKS)

    def words(self, kind: str, path: Path) -> list[str]:
        """The command that reads a file of a kind."""
        file = str(path)
        return {
            "log": ["readings", "take-in", file, "--place", "Cold store"],
            "look": ["readings", "look", file],
            "stock": ["stock", "take-in", file, "--yes"],
            "jobs": ["job", "take-in", file, "--yes", "--material", self.studio.paper],
            "cuts": ["cuts", "try", "--pieces", file, "--blanks", str(self.folder / "good.csv"),
                     "--seconds", "0.05"],
            "warm": ["warm-table", self.studio.paper, file, "--source", "data sheet"],
            "probe": ["probe", self.studio.roll, file, "--room-c", "21", "--from-c", "4",
                      "--out", "2026-03-02T09:00"],
            "state": ["orders", "try", "--state", file],
            "backup": ["restore", file],
            "settings": ["where"],
        }[kind]  # fmt: skip

    def read(self, kind: str, path: Path) -> Took:
        """Read a file as a person would, and see that nothing is changed where it is refused."""
        store = self.new if kind == "backup" else self.store
        if kind == "settings":
            path.replace(self.settings)
        before = self._head()
        took = self._measure(
            [*self.words(kind, path), "--store", str(store)],
            XDG_CONFIG_HOME=str(self.settings.parents[1]),
        )
        self.settings.unlink(missing_ok=True)
        after = self._head()
        assert after == before or (took.code == 0 and after[0] > before[0])
        if took.code:
            assert not self.new.exists() or not keeping.state(desk_at(self.new)).acts
        for left in self.folder.glob("new.stockroom*"):
            left.unlink()
        return took

    def _head(self) -> tuple[int, str]:
        connection = sqlite3.connect(self.store)
        seq, hash_ = connection.execute("SELECT seq, hash FROM chain_head").fetchone()
        connection.close()
        return seq, hash_


@pytest.fixture(scope="module")
def measure() -> Iterator[Measure]:
    """A process that reads the files, one after the other."""
    with measuring() as measure:
        yield measure


@pytest.fixture
def reader(tmp_path: Path, measure: Measure) -> Reader:
    """A furnished store, and what reads files into it."""
    return Reader(tmp_path, measure)


def see_words(took: Took, about: object) -> None:
    """An answer or a refusal that a person can read, soon, in little memory."""
    said = took.said.decode("utf-8", "replace")
    assert took.code in (0, 1, 2, 3), (about, took)
    assert said.strip(), about
    assert UNFORESEEN not in took.said, (about, said)
    assert "Traceback" not in said, (about, said)
    obeyed = {c for c in said if unicodedata.category(c) in ("Cc", "Cf") and c != "\n"}
    assert not obeyed, (about, obeyed)
    assert took.cpu_s < MOST_CPU_S, (about, took.cpu_s)
    assert took.peak_mb < MOST_MB, (about, took.peak_mb)


# --- many small mutations --------------------------------------------------------------------

TOKENS = (
    b"\0", b"\xff\xfe", b"\xef\xbb\xbf", b'"', b";", b",", b"\t", b"\r", b"\n\n", b"NaN", b"1e308",
    b"-1", b"9" * 60, b"1e999", b"[" * 300, b'{"a":' * 300, b"\x1b[2J\x1b]0;x\x07", b"\xc2\x9b31m",
    b"\xe2\x80\xae", b"=1+1", b"PK\x03\x04", b"\x1f\x8b\x08", b"9999-12-31", b"0001-01-01", b"null",
    b"true", b"\\ud800", b"\\u0000", b"Infinity", b"<!DOCTYPE x [<!ENTITY a 'b'>]>", b"A" * 12_000,
    b"2147483648", b"9223372036854775808",
)  # fmt: skip
ENCODINGS = ("utf-8", "cp1252", "utf-16", "utf-16-be", "utf-8-sig", "utf-7")


def mutated(choose: random.Random, seed: bytes) -> bytes:
    """A seed with bytes or tokens changed, cut, repeated, packed or in another encoding."""
    data = bytearray(seed)
    for _ in range(choose.choice([1, 1, 2, 4])):
        at = choose.randrange(len(data) + 1)
        end = min(len(data), at + choose.choice([1, 2, 8, 40, 400]))
        kind = choose.randrange(8)
        if kind == 0 and at < len(data):
            data[at] ^= 1 << choose.randrange(8)
        elif kind == 1:
            data[at:at] = choose.choice(TOKENS)
        elif kind == 2:
            data[at:end] = choose.choice(TOKENS)
        elif kind == 3:
            del data[at:end]
        elif kind == 4:
            data[at:at] = data[at:end] * choose.choice([1, 2, 50])
        elif kind == 5:
            del data[at:]
        elif kind == 6:
            text = bytes(data).decode("utf-8", "replace")
            data = bytearray(text.encode(choose.choice(ENCODINGS), "replace"))
        else:
            data = bytearray(gzip.compress(bytes(data), mtime=0))
    return bytes(data)


def repacked(choose: random.Random, seed: bytes) -> bytes:
    """A packed seed (a workbook, a backup) changed inside, and packed again so that it unpacks."""
    if seed.startswith(b"\x1f\x8b"):
        return gzip.compress(mutated(choose, gzip.decompress(seed)), mtime=0)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(seed)) as source, zipfile.ZipFile(out, "w") as target:
        names = source.namelist()
        changed = choose.choice(names)
        for name in names:
            content = source.read(name)
            target.writestr(name, mutated(choose, content) if name == changed else content)
    return out.getvalue()


def seeds(reader: Reader) -> list[tuple[str, bytes]]:
    """Files of every kind that the program reads, with what reads them."""
    backup = reader.folder / "seed.backup"
    desk = desk_at(reader.store)
    keeping.make_backup(desk, backup)
    desk.close()
    run = b"time;temp \xc2\xb0C\n" + b"".join(
        b"2026-03-02 %02d:%02d;%.1f\n" % (9 + n // 12, n % 12 * 5, 21 - 17 * 0.97**n)
        for n in range(60)
    )
    jobs_book = workbook(["name", "width (cm)", "height (cm)"], ["Harbour III", 120, 80])
    return [
        ("log", log(1)),
        ("look", "\n".join(["t;temp", *(f"{n:02d}.03.2026 10:00;4,5" for n in range(1, 28))]).encode()),  # noqa: E501
        ("stock", STOCK_LIST.encode()),
        ("stock", STOCK_BOOK),
        ("jobs", JOBS),
        ("jobs", jobs_book),
        ("cuts", PIECES),
        ("warm", WARM),
        ("probe", run),
        ("state", json.dumps(STATE, indent=1).encode()),
        ("backup", backup.read_bytes()),
        ("settings", SETTINGS),
    ]  # fmt: skip


@pytest.mark.parametrize("files", [100, pytest.param(2_000, marks=pytest.mark.drill)])
def test_hostile_files_are_read_or_refused_in_words(reader: Reader, files: int) -> None:
    """Mutations of files of every kind; the store holds all that was taken in, and nothing else."""
    choose = random.Random(1_707)
    kinds = seeds(reader)
    refused = 0
    for kind, seed in kinds:  # each is read as it is, so that its mutations get somewhere
        took = reader.read(kind, written(reader, kind, seed))
        assert took.code == 0, (kind, took.said.decode())
    for n in range(files):
        kind, seed = kinds[n % len(kinds)]
        packed = seed.startswith((b"\x1f\x8b", b"PK"))
        data = (repacked if packed and choose.random() < 0.7 else mutated)(choose, seed)
        took = reader.read(kind, written(reader, kind, data))
        see_words(took, (n, kind, data[:200]))
        refused += took.code != 0
    assert files // 3 < refused < files
    desk = desk_at(reader.store)
    see_truths(desk)
    desk.close()


def written(reader: Reader, kind: str, data: bytes) -> Path:
    path = reader.folder / f"{kind}.file"
    path.write_bytes(data)
    return path


# --- what is greedy ----------------------------------------------------------------------------


def large_gzip(first: bytes, piece: bytes, times: int) -> bytes:
    """A gzip file of a begin and a piece so many times, made without packing all of it."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    begin = packer.compress(first) + packer.flush(zlib.Z_FULL_FLUSH)
    again = packer.compress(piece) + packer.flush(zlib.Z_FULL_FLUSH)
    head = b"\x1f\x8b\x08\0\0\0\0\0\0\xff"
    return head + begin + again * times + packer.flush() + bytes(8)


def first_line(**promised: int) -> bytes:
    told = {"acts": 0, "files": 0, "blocks": 0, "clients": 0, **promised}
    return _line(
        format=BACKUP_FORMAT, schema=SCHEMA_NUMBER, zone="UTC", currency="EUR", seq=0, head=GENESIS,
        next_number=1_000, **told,
    )  # fmt: skip


def _line(**fields: object) -> bytes:
    return (json.dumps(fields, sort_keys=True) + "\n").encode()


REFERENCE = {"job": "10011", "reference": "x"}
CLIENT = _line(client={**REFERENCE, "seal": seal("client", REFERENCE)})
THREE_GB = 3 * 10**9

GREEDY: dict[str, tuple[str, Callable[[], bytes]]] = {
    "three gigabytes of nothing": (
        "backup", lambda: large_gzip(b"", bytes(10**7), THREE_GB // 10**7)),
    "one line of three gigabytes": (
        "backup", lambda: large_gzip(first_line(clients=1), b"a" * 10**7, THREE_GB // 10**7)),
    "thirty million references": (
        "backup", lambda: large_gzip(
            first_line(clients=10**8), CLIENT * 10**5, THREE_GB // len(CLIENT * 10**5))),
    "a backup that is nested deep": (
        "backup", lambda: gzip.compress(first_line(clients=1) + b'{"client":' * 10**5)),
    "a backup of five million lists": (
        "backup", lambda: gzip.compress(first_line(clients=1) + b"[" + b"[]," * (5 * 10**6))),
    "a workbook of eight million cells": (
        "stock", lambda: packed_again(SHEET, "</sheetData>", b"<c/>" * (8 * 10**6))),
    "a workbook of eight million styles": (
        "stock", lambda: packed_again(STYLES, "</styleSheet>", b"<a/>" * (8 * 10**6))),
    "a row of a million cells": (
        "stock", lambda: packed_again(
            SHEET, "</sheetData>", b"<row>" + b"<c/>" * 900_000 + b"</row>")),
    "a formula that all rows share": (
        "stock", lambda: packed_again(
            SHEET, "</sheetData>",
            b'<row r="3"><c r="A3"><f t="shared" si="0" ref="A3:A9">' + b"1+" * 4_000 + b"1</f></c>"
            b"</row>" + b'<row><c><f t="shared" si="0"/></c></row>' * 19_000)),
    "a state nested deep": ("state", lambda: b"[" * 10**6),
    "a state of five million lists": ("state", lambda: b"[" + b"[]," * (5 * 10**6) + b"0]"),
    "a log of one line": ("log", lambda: b"a" * (150 * 10**6)),
    "a list of one line": ("stock", lambda: b"a," * (9 * 10**6)),
    "settings nested deep": ("settings", lambda: b"a = [\n" + b"[\n" * 40_000),
    "settings of one long key": ("settings", lambda: b".".join([b"a"] * 45_000) + b" = 1\n"),
}  # fmt: skip


@pytest.mark.parametrize("what", GREEDY)
def test_greedy_files_are_refused_soon_and_in_little_memory(reader: Reader, what: str) -> None:
    """Files that would unpack to gigabytes, or be held as millions of things, are refused."""
    kind, make = GREEDY[what]
    took = reader.read(kind, written(reader, kind, make()))
    see_words(took, what)
    assert took.code in (2, 3), took


@pytest.mark.parametrize(
    "kind", ["look", "stock", "jobs", "cuts", "warm", "probe", "state", "backup"]
)
def test_devices_pipes_sockets_and_folders_are_refused(reader: Reader, kind: str) -> None:
    """Nothing is waited for or read for ever that a person names by mistake."""
    pipe, door = reader.folder / "pipe", reader.folder / "door"
    os.mkfifo(pipe)
    with socket.socket(socket.AF_UNIX) as listening:
        listening.bind(str(door))
        for path in (Path("/dev/zero"), Path("/dev/urandom"), pipe, door, reader.folder):
            took = reader.read(kind, path)
            see_words(took, (kind, path))
            assert took.code in (2, 3)


def test_settings_that_are_a_device_are_refused(reader: Reader) -> None:
    link = reader.folder / "link"
    link.symlink_to("/dev/zero")
    took = reader.read("settings", link)
    see_words(took, "settings")
    assert took.code == 2
