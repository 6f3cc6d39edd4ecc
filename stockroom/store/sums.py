"""Sums over the seals of all rows: one that is missing, doubled or an older one is noticed.

Each row of records and movements carries a seal, each block and file a SHA-256. The head of the
chain holds their sum, and a seal over itself. What changes rows changes the sum in the same
transaction, under the head's lock; every process compares it before its first figure. It is
against slips, lost writes and disks, not against a forger, who could reckon the sum anew.
"""

from array import array
from collections.abc import Callable, Iterable
from sys import byteorder
from typing import Any

from stockroom.core.books.chain import seal
from stockroom.core.records import RECORDS

DIGITS = 16
"""So many hexadecimal digits of a seal or SHA are summed: eight bytes."""
WRAP = 1 << 64
"""Sums are taken modulo this."""
ROWS = (
    *((record.table, "seal") for record in RECORDS),
    ("movement", "seal"),
    ("block", "sha256"),
    ("source_file", "sha256"),
)
"""What the first sum runs over, tables and the column of each; told without loading the tables."""
CLIENTS = (("client", "seal"),)
"""What the second runs over; apart, so that erasing leaves nothing of the text anywhere."""


def sum_of(seals: Iterable[str]) -> int:
    """Return the sum of seals, modulo 2^64.

    >>> hex(sum_of(["00000000000000ff", "ffffffffffffffff"]))
    '0xfe'
    """
    return sum(int(one[:DIGITS], 16) for one in seals) % WRAP


def stored_sum(
    ask: Callable[[str], str | None], parts: Iterable[tuple[str, str]], dialect: str = "sqlite"
) -> int:
    """Return the sum as the rows that stand in a store make it.

    Parameters
    ----------
    ask : callable
        Runs a query and returns its one value.
    parts : iterable of (str, str)
        Tables and the column to sum over.
    dialect : str
        Of the database.

    Raises
    ------
    ValueError
        Where a seal is no seal at all.
    """
    total = 0
    for table, column in parts:
        one = f"substr({column}, 1, {DIGITS})"
        joined = f"string_agg({one}, '')" if dialect == "postgresql" else f"group_concat({one}, '')"
        digits = ask(f'SELECT {joined} FROM "{table}"')  # noqa: S608 - names of our own tables
        numbers = array("Q")
        numbers.frombytes(bytes.fromhex(digits or ""))
        if byteorder == "little":
            numbers.byteswap()
        total += sum(numbers)
    return total % WRAP


def told_fault(head: dict[str, Any], ask: Callable[[str], Any], dialect: str = "sqlite") -> str:
    """Return what the rows of a store do not add up to, or "" (`ask` as in `stored_sum`)."""
    told = (("rows", ROWS, "rows_sum"), ("customers' references", CLIENTS, "clients_sum"))
    for what, parts, total in told:
        if kept(stored_sum(ask, parts, dialect)) != head[total]:
            return f"the {what} of the store are not all that its acts wrote"
    if ask("SELECT count(*) FROM act") != head["seq"]:
        return "the acts of the store are not all there"
    if ask("SELECT count(*) FROM touch") != head["touches"]:
        return "what the acts touched is not all there"
    return ""


def kept(total: int) -> str:
    """Return a sum as the head keeps it.

    >>> kept(255)
    '00000000000000ff'
    """
    return f"{total:0{DIGITS}x}"


def head_seal(row: dict[str, Any]) -> str:
    """Return the seal over the head of the chain: its act, hash, next number, touches and sums."""
    names = ("seq", "hash", "next_number", "touches", "rows_sum", "clients_sum")
    return seal("chain head", {name: row[name] for name in names})
