"""Bytes of a file to text and rows, or a plain word on why not."""

import csv
import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from stockroom.errors import ImportProblem, Problem
from stockroom.plain_files import MAX_FILE_BYTES, refuse_large, shown_name

MAX_LINE_CHARS = 10_000
"""Longest line read, characters (our choice: a row of readings has a few dozen)."""
MAX_CONTROL_SHARE = 0.01
"""Share of control characters from which a file is taken for no text (our choice)."""

_BLOCK_CHARS = 500_000
_LOOKED_AT = 65_536
_TEXT_CONTROLS = frozenset("\t\n\r\f\x1a")

_KINDS: tuple[tuple[bytes, str], ...] = (
    (b"PK\x03\x04", "a workbook or a zip archive"),
    (b"PK\x05\x06", "an empty zip archive"),
    (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "an older or locked workbook"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"BZh91AY&SY", "a bzip2 archive"),
    (b"\xfd7zXZ\x00", "an xz archive"),
    (b"7z\xbc\xaf\x27\x1c", "a 7z archive"),
    (b"Rar!\x1a\x07", "a rar archive"),
    (b"\x28\xb5\x2f\xfd", "a zstd archive"),
    (b"%PDF-", "a PDF document"),
    (b"{\\rtf", "a rich text document"),
    (b"SQLite format 3\x00", "a database"),
    (b"\x89PNG\r\n\x1a\n", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"GIF8", "a picture"),
    (b"\x7fELF", "a program"),
)


@dataclass(frozen=True, slots=True)
class FileText:
    """The text of a file, lines ended by a line feed, and the encoding it was read in."""

    text: str
    encoding: str


def sha256_hex(data: bytes) -> str:
    """Return the SHA-256 of a file's bytes, in hexadecimal.

    >>> sha256_hex(b"")[:8]
    'e3b0c442'
    """
    return hashlib.sha256(data).hexdigest()


def kind_by_first_bytes(data: bytes) -> str:
    """Return what a file is if its first bytes say that it is no text, else an empty text.

    >>> kind_by_first_bytes(b"PK\\x03\\x04"), kind_by_first_bytes(b"time;temp")
    ('a workbook or a zip archive', '')
    """
    for start, kind in _KINDS:
        if data.startswith(start):
            return kind
    if data[257:262] == b"ustar":
        return "a tar archive"
    head = data[:512].lstrip(b"\xef\xbb\xbf \t\r\n").lower()
    if head.startswith((b"<!doctype html", b"<html", b"<?xml")):
        return "a web page or XML"
    return ""


def to_text(data: bytes, *, name: str = "", most_bytes: int = MAX_FILE_BYTES) -> FileText:
    """Return the text of a file; UTF-8, UTF-16 (with or without its mark) or Windows-1252.

    Blanks that do not break (U+00A0, U+202F) become plain ones; lines end in a line feed.

    Parameters
    ----------
    data : bytes
        The whole file.
    name : str
        Its name, for the words of an error.
    most_bytes : int
        The largest size taken, bytes.

    Raises
    ------
    ImportProblem
        Where it is empty, too large, an archive, a workbook, a picture or other binary, holds NUL
        bytes, or has a line over `MAX_LINE_CHARS`.

    >>> to_text("Zeit;°C\\r\\n".encode("cp1252"))
    FileText(text='Zeit;°C\\n', encoding='cp1252')
    """
    shown = shown_name(name)
    refuse_large(len(data), shown, most_bytes)
    kind = kind_by_first_bytes(data)
    if kind:
        raise ImportProblem(
            f"{shown} is not text: it is {kind}.",
            "Only delimited text (CSV) can be read here.",
            "Open it in its own program and export it as CSV.",
        )
    _refuse_endless_lines(data, shown)
    text, encoding = _decoded(data, shown)
    if "\r" in text:
        text = text.replace("\r\n", "\n").replace("\r", "\n")
    if text.endswith("\x1a"):
        text = text.rstrip("\x1a")  # an end mark of old systems
    for blank in ("\u00a0", "\u202f"):
        if blank in text:
            text = text.replace(blank, " ")
    if not text or text.isspace():
        raise ImportProblem(
            f"{shown} is empty.", "There is not one row in it.", "Export it again and look inside."
        )
    _refuse_nul(text, shown)
    _refuse_controls(text, shown)
    _refuse_long_lines(text, shown)
    return FileText(text, encoding)


def _decoded(data: bytes, shown: str) -> tuple[str, str]:
    encodings = ["utf-8", "cp1252"]
    if data.startswith(b"\xef\xbb\xbf"):
        encodings, data = ["utf-8"], data[3:]
    elif data.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings = ["utf-16"]
    else:
        head = data[:2_000]
        zeros = head[0::2].count(0), head[1::2].count(0)
        if max(zeros) * 4 > len(head) and min(zeros) * 20 < len(head):
            encodings = ["utf-16-le" if zeros[1] > zeros[0] else "utf-16-be"]
    for encoding in encodings:
        try:
            return data.decode(encoding), encoding
        except UnicodeDecodeError as error:
            line = data.count(b"\n", 0, error.start) + 1
    raise ImportProblem(
        f"{shown} cannot be read as text: line {line}.",
        f"Its bytes are not {' or '.join(encodings)}.",
        "Export it again as CSV in UTF-8.",
        problems=[Problem(line, "bytes that are no text")],
    )


def _refuse_endless_lines(data: bytes, shown: str) -> None:
    """Refuse what has hardly a line end before it is decoded, which takes memory many times over.

    A stretch without one that is as long as the longest line can be, a character taking four bytes
    at most, begins a line that is too long.
    """
    step = 4 * MAX_LINE_CHARS
    for start in range(0, len(data) - step, step):
        if all(data.find(end, start, start + step) < 0 for end in (b"\n", b"\r")):
            line = max(data.count(end, 0, start) for end in (b"\n", b"\r")) + 1
            if data.find(bytes(100), start, start + step) >= 0:
                raise _nul(line, shown)
            raise _long_line(line, f"more than {MAX_LINE_CHARS}", shown)


def _refuse_nul(text: str, shown: str) -> None:
    at = text.find("\0")
    if at >= 0:
        raise _nul(text.count("\n", 0, at) + 1, shown)


def _nul(line: int, shown: str) -> ImportProblem:
    return ImportProblem(
        f"{shown} is damaged or not text: line {line} holds NUL bytes.",
        "A card pulled out while it was being written leaves such bytes.",
        "Copy or export the file again; or delete that line and what follows.",
        problems=[Problem(line, "NUL bytes")],
    )


def _refuse_controls(text: str, shown: str) -> None:
    head = text[:_LOOKED_AT]
    controls = sum(1 for char in head if char < " " and char not in _TEXT_CONTROLS)
    if controls > MAX_CONTROL_SHARE * len(head):
        raise ImportProblem(
            f"{shown} is not text.",
            f"{controls} of its first {len(head)} characters are control characters.",
            "Export it as CSV.",
        )


def _refuse_long_lines(text: str, shown: str) -> None:
    for first_line, chunk in chunks(text):
        if _longest_line_bytes(chunk) <= MAX_LINE_CHARS:
            continue
        lines = chunk.split("\n")
        at = next((i for i, line in enumerate(lines) if len(line) > MAX_LINE_CHARS), -1)
        if at < 0:
            continue
        raise _long_line(first_line + at, str(len(lines[at])), shown)


def _long_line(number: int, characters: str, shown: str) -> ImportProblem:
    return ImportProblem(
        f"{shown} has a line that is too long: line {number}.",
        f"It has {characters} characters; at most {MAX_LINE_CHARS} are read.",
        "Look whether the file has line ends at all, and export it again.",
        problems=[Problem(number, "the line is too long")],
    )


def _longest_line_bytes(chunk: str) -> int:
    """Return the bytes of the longest line, never less than its characters."""
    data = np.frombuffer(f"\n{chunk}\n".encode(), np.uint8)
    return int(np.diff(np.flatnonzero(data == ord("\n"))).max()) - 1


def chunks(text: str, size: int = _BLOCK_CHARS) -> Iterator[tuple[int, str]]:
    """Yield a text in stretches of whole lines, so that a long file is never held as rows at once.

    Parameters
    ----------
    text : str
        Lines ended by a line feed; the last end may be missing.
    size : int
        Characters of a stretch, about.

    Yields
    ------
    tuple of int and str
        The number of the first line (1 is the file's first), and the lines, the last without end.

    >>> list(chunks("a\\nb\\nc\\n", size=2))
    [(1, 'a\\nb'), (3, 'c')]
    """
    start, number = 0, 1
    while start < len(text):
        end = text.find("\n", start + size)
        end = end if end >= 0 else len(text)
        chunk = text[start:end]
        if end == len(text):
            chunk = chunk.removesuffix("\n")
        yield number, chunk
        number += chunk.count("\n") + 1
        start = end + 1


def blocks(text: str, size: int = _BLOCK_CHARS) -> Iterator[tuple[int, list[str]]]:
    """Yield the number of the first line, and the lines, of each of the `chunks` of a text.

    >>> list(blocks("a\\nb\\nc\\n", size=2))
    [(1, ['a', 'b']), (3, ['c'])]
    """
    for number, chunk in chunks(text, size):
        yield number, chunk.split("\n")


def split_lines(
    lines: Sequence[str], delimiter: str, first_line: int, *, name: str = ""
) -> list[list[str]]:
    """Return the cells of each line; a quoted cell must end on its own line.

    Raises
    ------
    ImportProblem
        Where a quote is opened and not closed.

    >>> split_lines(["a;b", '"c;d";e'], ";", 1)
    [['a', 'b'], ['c;d', 'e']]
    """
    if not any('"' in line for line in lines):
        return [line.split(delimiter) for line in lines]
    rows: list[list[str]] = []
    reader = csv.reader(lines, delimiter=delimiter, strict=True, skipinitialspace=True)
    try:
        for row in reader:
            if reader.line_num != len(rows) + 1:
                raise quote_problem(first_line + len(rows), name)
            rows.append(row)
    except csv.Error as error:
        raise quote_problem(first_line + len(rows), name) from error
    return rows


def quote_problem(line: int, name: str) -> ImportProblem:
    """Return the error for a quote that is not closed where it should be."""
    return ImportProblem(
        f"{shown_name(name)} cannot be read: a quote near line {line} is not closed.",
        "What follows it would run into one cell.",
        'Look at the quotes (") on that line, or export the file again.',
        problems=[Problem(line, "a quote is not closed")],
    )
