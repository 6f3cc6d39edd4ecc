"""A logger's text made plain: cells over several lines, months as words, lines after the last."""

import re

from stockroom.errors import Problem
from stockroom.intake.dates import MONTH, month_number
from stockroom.intake.files import MAX_LINE_CHARS, chunks
from stockroom.intake.stamps import STAMP
from stockroom.text import safe

MOST_JOINED = 20
"""Lines that one quoted cell may run over (our choice: a header or a remark has two or three)."""
MOST_OPEN = 200_000
"""Lines with an odd number of quotes that are looked at (our choice)."""
MOST_AFTER = 60
"""Lines after the last reading that are looked at (our choice: a summary has a dozen)."""

_LOOKED_AT = 100_000
_NAMED_DAY = re.compile(
    rf"(?<![0-9a-z])(?:([0-9]{{1,2}})[ .-]{{1,2}}{MONTH}[ .,-]{{1,2}}([0-9]{{4}})"
    rf"|{MONTH}\.? ([0-9]{{1,2}}),? ([0-9]{{4}}))(?=[ T,;|\t\"][ 0-9\"]|$)",
    re.ASCII | re.IGNORECASE | re.MULTILINE,
)
_OPENS_CELL = re.compile(r'(?:^|[;,|\t]) *"$')
_WORDS = re.compile(r"[^\W\d_]{2}|[-=*#_]{2}")


def join_quoted(text: str) -> str:
    """Return a text in which quoted cells that run over several lines stand on their first one.

    The lines they took are left empty, so that all other lines keep their numbers. A quote that
    is not closed soon, or that would swallow a reading, is left for its error.

    >>> join_quoted('time;"temp\\n(°C)"\\n1;2\\n')
    'time;"temp (°C)"\\n\\n1;2\\n'
    """
    if '"' not in text:
        return text
    odd = [
        first + i
        for first, chunk in chunks(text)
        if '"' in chunk
        for i, line in enumerate(chunk.split("\n"))
        if line.count('"') % 2
    ]
    if len(odd) < 2 or len(odd) > MOST_OPEN:
        return text
    lines = text.split("\n")
    at = 0
    while at + 1 < len(odd):
        start, end = odd[at] - 1, odd[at + 1] - 1
        at += 1
        inside = lines[start + 1 : end + 1]
        joined = " ".join(part.strip() for part in (lines[start], *inside))
        quotes = lines[start].replace('""', "  ")
        opens = _OPENS_CELL.search(quotes[: quotes.rfind('"') + 1])
        if not opens or end - start >= MOST_JOINED or len(joined) > MAX_LINE_CHARS:
            continue
        if any(STAMP.search(line) for line in inside):
            continue
        lines[start : end + 1] = [joined, *("" for _ in inside)]
        at += 1
    return "\n".join(lines)


def plain_months(text: str) -> tuple[str, bool]:
    """Return a text with its dates of the form 1 May 2026 as 2026-05-01, and whether it had any.

    Months in English, years of four digits; looked for where a file begins.

    >>> plain_months("t;temp\\n1 May 2026 10:00;4\\n")
    ('t;temp\\n2026-05-01 10:00;4\\n', True)
    """
    if not _NAMED_DAY.search(text, 0, _LOOKED_AT):
        return text, False

    def plain(found: re.Match[str]) -> str:
        day, month, year = found.group(1, 2, 3) if found[1] else found.group(5, 4, 6)
        return f"{year}-{month_number(month):02d}-{int(day):02d}"

    return _NAMED_DAY.sub(plain, text), True


def cut_after(text: str, delimiter: str, time_column: int) -> tuple[str, Problem | None]:
    """Return a text without the lines of words after its last reading, and a remark on them.

    Such lines hold a summary or an end mark. Only words, or marks such as ``---``, in the place of
    the time make a line one of them; whatever else stands there is kept, and read or refused.

    >>> cut_after("t;temp\\n2026-05-01 10:00;4\\nMean;4\\n", ";", 0)[0]
    't;temp\\n2026-05-01 10:00;4\\n'
    """
    end, cut = len(text), -1
    named: set[int] = set()
    for _ in range(MOST_AFTER):
        start = text.rfind("\n", 0, end) + 1
        cells = [cell.strip(' "') for cell in text[start:end].split(delimiter)]
        first = next((i for i, cell in enumerate(cells) if cell), -1)
        if first >= 0:
            time = cells[time_column] if time_column < len(cells) else ""
            if not _WORDS.match(time or cells[first]):
                break
            cut = start
            named |= set() if time else {first}
        if not start:
            return text, None
        end = start - 1
    else:
        return text, None
    # where readings have words too, words beside an empty time may be a reading that lost it
    if cut < 0 or any(_WORDS.match(cells[i]) for i in named if i < len(cells)):
        return text, None
    what = "from here on, words stand in place of the time; these lines were left aside"
    shown = safe(text[cut:].split("\n", 1)[0], length=40)
    return text[:cut], Problem(text.count("\n", 0, cut) + 1, what, value=shown)
