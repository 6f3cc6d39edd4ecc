"""Text from people and files, made clean before it is stored and harmless before it is shown."""

import json
import re
import unicodedata
from collections.abc import Sequence

NAME_LENGTH = 200
"""Longest name kept, in characters (our choice: longer ones are cut, with an ellipsis)."""

_DROPPED = {"Cf"}  # format characters: bidi marks, zero-width, tags
_REPLACED = {"Cc", "Cs", "Co", "Cn", "Zl", "Zp"}


def safe(text: object, *, length: int = NAME_LENGTH) -> str:
    """Return text as one harmless line: no control, bidi or surrogate characters, cut to length.

    Parameters
    ----------
    text : object
        Anything; ``str(text)`` is cleaned.
    length : int
        Longest result, in characters.

    Returns
    -------
    str
        NFC text; control characters become U+FFFD, format characters go, white space folds to
        single blanks.

    >>> safe("Ac\\x1bme  [/]\\n Ltd")
    'Ac\\ufffdme [/] Ltd'
    """
    cut = str(text)[: length * 8]
    line = printable(unicodedata.normalize("NFC", " ".join(cut.split()))).strip()
    return line if len(line) <= length else line[: length - 1] + "…"


def printable(line: str) -> str:
    """Return a line as it may be shown: nothing in it that a terminal would obey, or hide by.

    >>> printable("Ac\\x1bme\\u202e Ltd")
    'Ac\ufffdme Ltd'
    """
    if line.isprintable():
        return line
    out = []
    for char in line:
        category = unicodedata.category(char)
        if char.isspace():
            out.append(char if category == "Zs" else " ")
        elif category not in _DROPPED:
            out.append("\ufffd" if category in _REPLACED else char)
    return "".join(out)


def printable_json(value: object, *, indent: int | None = None) -> str:
    """Return JSON of just this value as it may be shown: what a terminal would obey is escaped.

    >>> printable_json("Ac\\x9bme\\u202e é")
    '"Ac\\\\u009bme\\\\u202e é"'
    """
    lines = json.dumps(value, ensure_ascii=False, indent=indent).split("\n")
    return "\n".join(line if line.isprintable() else _escaped(line) for line in lines)


def _escaped(line: str) -> str:
    return "".join(char if char.isprintable() else json.dumps(char)[1:-1] for char in line)


_SECRETS = re.compile(
    r"(?P<scheme>://)\S*@|(?P<name>\w*pass(?:word|file)\w*\s*[=:]\s*)(?:'[^']*'|\"[^\"]*\"|[^\s&]+)",
    re.IGNORECASE,
)


def without_secrets(text: object) -> str:
    """Return what a driver or a library said, without names, passwords and files of passwords.

    >>> without_secrets("no postgresql://ines:secret@db/studio?sslpassword=other&port=1")
    'no postgresql://…@db/studio?sslpassword=…&port=1'
    """
    return _SECRETS.sub(
        lambda found: "://…@" if found["scheme"] else f"{found['name']}…", str(text)
    )


def capital(text: str) -> str:
    """Return a text with its first letter a capital one, as a sentence begins.

    >>> capital("in 2 days"), capital("act 7"), capital("")
    ('In 2 days', 'Act 7', '')
    """
    return text[:1].upper() + text[1:]


def listed(items: Sequence[str]) -> str:
    """Return items as a sentence lists them.

    >>> listed(["1 offcut"]), listed(["1 offcut", "2 sheets", "1 sheet to buy"])
    ('1 offcut', '1 offcut, 2 sheets and 1 sheet to buy')
    """
    *others, last = items
    return f"{', '.join(others)} and {last}" if others else last


_FORMULA_STARTS = frozenset("=+-@|%\t\r\n\0＝＋－＠｜％")


def guard_cell(text: str) -> str:
    """Return a cell that no spreadsheet takes for a formula.

    Source: OWASP ASVS 5.0 item 1.2.10 and OWASP "CSV Injection" (leading = + - @ TAB CR LF NUL and
    full-width forms); | and % are our addition. Plain numbers are left as they are.

    >>> guard_cell("=1+1"), guard_cell("-5"), guard_cell("roll")
    ("'=1+1", '-5', 'roll')
    """
    bare = text.lstrip(" \ufeff'")
    if bare[:1] not in _FORMULA_STARTS or not bare:
        return text
    try:
        float(text)
    except ValueError:
        return "'" + text
    return text


def unguard_cell(text: str) -> str:
    """Return the text that `guard_cell` was given.

    >>> unguard_cell(guard_cell("@home")), unguard_cell("'tis")
    ('@home', "'tis")
    """
    if text.startswith("'") and guard_cell(text[1:]) == text:
        return text[1:]
    return text


def nearest(word: str, known: list[str], count: int = 3) -> tuple[str, ...]:
    """Return the known words closest to a mistyped one, nearest first.

    Of words that are equally close, the one that begins alike for longer comes first.

    >>> nearest("pearl", ["matt", "pearl 127", "gloss"])
    ('pearl 127',)
    >>> nearest("10152", ["10532", "10452", "10151"])[0]
    '10151'
    """
    import difflib

    matcher = difflib.SequenceMatcher(b=word.casefold(), autojunk=False)
    close = []
    for other in dict.fromkeys(known):
        matcher.set_seq1(other.casefold())
        ratio = round(matcher.ratio(), 3)
        if ratio >= 0.5:
            pairs = zip(word.casefold(), other.casefold(), strict=False)
            begins = next((n for n, (a, b) in enumerate(pairs) if a != b), len(other))
            close.append((-ratio, -begins, other))
    return tuple(other for *_, other in sorted(close)[:count])
