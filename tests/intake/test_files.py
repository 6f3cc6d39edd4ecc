"""Bytes become text, or a plain word on why not; no archive, bomb or binary gets further."""

import codecs
import gzip
import io
import os
import zipfile
from pathlib import Path

import pytest

from stockroom.errors import ImportProblem
from stockroom.intake.files import MAX_LINE_CHARS, blocks, split_lines, to_text
from stockroom.plain_files import MAX_FILE_BYTES, read_plain

LINES = "Zeit;°C\n2026-05-01 10:00;4,5\n"


@pytest.mark.parametrize(
    ("data", "encoding"),
    [
        (LINES.encode(), "utf-8"),
        (codecs.BOM_UTF8 + LINES.encode(), "utf-8"),
        (LINES.encode("cp1252"), "cp1252"),
        (LINES.encode("utf-16"), "utf-16"),
        (codecs.BOM_UTF16_BE + LINES.encode("utf-16-be"), "utf-16"),
        (LINES.encode("utf-16-le"), "utf-16-le"),
        (LINES.encode("utf-16-be"), "utf-16-be"),
        (LINES.replace("\n", "\r\n").encode(), "utf-8"),
        (LINES.replace("\n", "\r").encode(), "utf-8"),
    ],
)
def test_the_same_lines_come_out_of_each_encoding_and_line_end(data: bytes, encoding: str) -> None:
    """The text is the same whatever it was written in, and the encoding is named."""
    found = to_text(data)
    assert found.text == LINES
    assert found.encoding == encoding


def zipped() -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr(zipfile.ZipInfo("readings.csv"), LINES)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("data", "word"),
    [
        (b"", "empty"),
        (b" \r\n\t\n", "empty"),
        (codecs.BOM_UTF8, "empty"),
        (zipped(), "workbook or a zip"),
        (gzip.compress(LINES.encode(), mtime=0), "gzip"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "older or locked workbook"),
        (b"%PDF-1.7\n", "PDF"),
        (b"\x89PNG\r\n\x1a\n" + bytes(20), "picture"),
        (b"SQLite format 3\x00", "database"),
        (b"\xef\xbb\xbf <!DOCTYPE html><html>", "web page"),
        (b"\0" * 257 + b"ustar\x0000" + bytes(300), "tar"),
        (b"time;temp\n2026-05-01 10:00;4.\0\0\0\0", "line 2 holds NUL"),
        (bytes(range(1, 32)) * 40, "control characters"),
        (b"time;temp\n2026;\x81\x8d\n", "line 2"),
        (codecs.BOM_UTF16_LE + b"a", "cannot be read as text"),
    ],
)
def test_what_is_no_text_is_refused_and_told(data: bytes, word: str) -> None:
    """Each refusal says what the file is, why it cannot be read, and what to try."""
    with pytest.raises(ImportProblem) as caught:
        to_text(data, name="readings.csv")
    assert word in str(caught.value)
    assert caught.value.what.startswith("readings.csv")
    assert caught.value.why
    assert caught.value.try_


def test_a_line_over_the_limit_is_refused_and_one_at_it_is_not() -> None:
    """The limit on a line is exact, and names the line."""
    assert to_text(b"a\n" + b"x" * MAX_LINE_CHARS + b"\n").text.endswith("x\n")
    with pytest.raises(ImportProblem, match="line 2") as caught:
        to_text(b"a\n" + b"x" * (MAX_LINE_CHARS + 1))
    assert caught.value.problems[0].line == 2


def test_more_bytes_than_the_limit_are_refused_undecoded() -> None:
    """Bytes over the size limit are refused by their number alone, whatever they are."""
    with pytest.raises(ImportProblem, match="too large"):
        to_text(bytes(MAX_FILE_BYTES + 1))


def test_a_huge_file_is_refused_unread(tmp_path: Path) -> None:
    """A sparse file of 512 MB is refused by its size."""
    path = tmp_path / "one line.csv"
    with path.open("wb") as stream:
        stream.truncate(512_000_000)
    with pytest.raises(ImportProblem, match="512 MB"):
        read_plain(path)


def test_what_is_no_plain_file_is_refused(tmp_path: Path) -> None:
    """A folder, a pipe (which would wait for ever), nothing, and a NUL in the name."""
    pipe = tmp_path / "pipe.csv"
    os.mkfifo(pipe)
    for path in (tmp_path, pipe, tmp_path / "none.csv", tmp_path / "a\0b.csv"):
        with pytest.raises(ImportProblem) as caught:
            read_plain(path)
        assert "\0" not in str(caught.value)
    plain = tmp_path / "plain.csv"
    plain.write_bytes(b"abc")
    assert read_plain(plain) == b"abc"


def test_a_hostile_file_name_is_cleaned_in_the_words_of_an_error() -> None:
    """Escape sequences and bidi marks of a name never reach the terminal."""
    with pytest.raises(ImportProblem) as caught:
        to_text(b"", name="\x1b]0;x\x07\u202eevil.csv")
    assert not {"\x1b", "\x07", "\u202e"} & set(str(caught.value))


@pytest.mark.parametrize("size", [1, 2, 5, 1000])
def test_blocks_hold_each_line_once_with_its_number(size: int) -> None:
    """Cut into blocks of any size, the lines and their numbers are the file's."""
    for text in ("a\n\nbcd\ne", "a\n\nbcd\ne\n", "a", "\n"):
        seen = [
            (first + i, line) for first, lines in blocks(text, size) for i, line in enumerate(lines)
        ]
        wanted = text.removesuffix("\n").split("\n")
        assert seen == list(enumerate(wanted, start=1))


@pytest.mark.parametrize("lines", [['a;"b', "c;d"], ["a;b", '"c";"d', "e"], ['a;"b" x']])
def test_an_open_quote_is_named_by_its_line(lines: list[str]) -> None:
    """A quote that swallows what follows is an error at its line, not a long cell."""
    with pytest.raises(ImportProblem) as caught:
        split_lines(lines, ";", 11)
    guilty = next(i for i, line in enumerate(lines) if line.count('"') % 2 or " x" in line)
    assert caught.value.problems[0].line == 11 + guilty
