"""A list of jobs from a spreadsheet: checked rows, problems by row, and what must be asked."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import partial

from stockroom.core.records import MOST_LAB_DAYS, MOST_PRINTS, Certainty, PrintedBy
from stockroom.errors import ImportProblem, Problem
from stockroom.intake import list_values as values
from stockroom.intake.list_columns import UNITS, Column, by_word, column, columns_of
from stockroom.intake.list_files import capped
from stockroom.intake.list_rows import Cell, ListRow, Side
from stockroom.intake.lists import Kind, Listed, read_list
from stockroom.plain_files import shown_name
from stockroom.units import DMM_PER_MM, length_dmm, number

MIXED_UNITS = 8.0
"""Sizes that differ by more than this, row to row, may be in two units (our choice: below the 10
between mm and cm)."""
SMALL_MM = 300.0
"""Where the middle size of a list is no longer, mm were hardly meant (our choice: the finisher's
pieces are larger, and one large piece in cm does not hide the others)."""
LINES_NAMED = 8
"""Lines named in a question; the rest are counted."""

_PIECES = values.whole(1, MOST_PRINTS, "Type 12.")
_BY = re.compile(r"\s*(?:x|×|\*|by)\s*", re.IGNORECASE)
_EDITIONS = ("edition", "edition_from", "edition_of")
_EDITION = re.compile(
    r"(?:([0-9]{1,5})(?:\s*[-–]\s*([0-9]{1,5}))?)?(?:\s*(?:/|of)\s*([0-9]{1,5}))?"
)
_CERTAINTY: dict[str, Certainty] = by_word(
    {
        "sure": "sure, confirmed, ordered, firm, booked, definite, definitely, certain, fixed",
        "likely": "likely, probable, probably, option, on option, provisional",
        "maybe": "maybe, enquiry, inquiry, quote, possible, perhaps, tentative, unconfirmed",
    }
)
_PRINTED_BY: dict[str, PrintedBy] = by_word(
    {
        "here": "here, us, in house, in-house, studio",
        "outside lab": "outside lab, lab, outside, external lab, external",
        "customer": "customer, client, artist, supplied, by customer, supplied by customer, "
        "customer supplied",
    }
)


def _asks_yes_or_no(header: str) -> bool:
    return header.strip(" ?").lower() in ("sure", "confirmed")


def _certainty(cell: Cell) -> Certainty:
    """Return how sure a job is, from a word for it; a share in per cent is not taken."""
    word = cell.lower()
    if _asks_yes_or_no(cell.header) and word in values.YES_OR_NO:
        return "sure" if values.YES_OR_NO[word] else "maybe"
    why = "A share in per cent is not taken." if "%" in cell else "The word is not known."
    return values.one_of(_CERTAINTY, "no certainty", why)(cell)


def _side_dmm(cell: Cell) -> int:
    return _said_side_dmm(cell, cell.unit, cell.row)


def _said_side_dmm(text: str, unit: str, row: ListRow) -> int:
    """Return a side in dmm; one whose unit nobody names is in mm, and noted to be asked for."""
    bare, typed = values.split_side(text)
    named = typed or unit
    value = float(number(bare, "a length"))
    if not named and 0 < value * DMM_PER_MM <= values.LARGEST_SIDE_DMM:
        row.sides.append(Side("", value))
    shown = f"{bare} {named or row.setting.unit or 'mm'}"
    side_dmm = values.likely_side_dmm(length_dmm(shown), shown)
    if named:
        row.sides.append(Side(named, side_dmm / DMM_PER_MM))
    return side_dmm


def _size_dmm(cell: Cell) -> tuple[int, int]:
    """Return the two sides of a size, as they are written."""
    sides = _BY.split(cell)
    if len(sides) != 2 or not all(sides):
        why = "Width and height are wanted."
        raise values.bad(cell, "no size", why, "Type it like 1200 x 800 mm.")
    second = _said_side_dmm(sides[1], cell.unit, cell.row)
    unit = values.split_side(sides[1])[1] or cell.unit
    return _said_side_dmm(sides[0], unit, cell.row), second


def read_edition(text: str, *, bare: bool = False) -> tuple[int | None, int | None, int | None]:
    """Return the first and last number, and the size of the edition.

    Parameters
    ----------
    text : str
        Such as 3/8, 1-3/8, 5 of 8, of 8.
    bare : bool
        Whether one number alone is taken, as a number of the edition; else it might be its size.

    >>> read_edition("1-3/8"), read_edition("5 of 8"), read_edition("of 8")
    ((1, 3, 8), (5, None, 8), (None, None, 8))
    """
    found = _EDITION.fullmatch(text.strip().lower().removeprefix("edition").strip())
    parts = found.groups() if found else ("0", None, None)
    first, last, of = (int(part) if part else None for part in parts)
    if first and last is None and of is None and not bare:
        why = "It may be a number of the edition or how many there are."
        raise values.bad(text, "not clear", why, "Type it like 3/8, or of 8.")
    told = [part for part in (first, last, of) if part is not None]
    if of and max(told) > of:
        why = f"Number {max(told)} is beyond an edition of {of}."
        raise values.bad(text, "no edition that can be", why, "Type the number first, like 3/8.")
    if not told or min(told) < 1 or told != sorted(told) or told[-1] > MOST_PRINTS:
        why = "A number, and of how many, is wanted."
        raise values.bad(text, "no edition", why, "Type it like 3/8.")
    return first, last, of


@dataclass(frozen=True, slots=True)
class JobRow:
    """A line of a job list that was read without a problem, and the columns it is read from.

    None and "" stand for what is not told. `work` names the whole that it belongs to; sizes are in
    tenths of a millimetre; `edition_from` is the first number of its pieces, `edition_of` the size
    of the edition.
    """

    line: int
    name: str = column("name, title, job, image, picture", default="")
    width_dmm: int = column("width, w", _side_dmm, units=UNITS, later=True)
    height_dmm: int = column("height, h", _side_dmm, units=UNITS, later=True)
    count: int = column("count, quantity, qty, pieces, pcs, copies, prints", _PIECES, default=1)
    work: str = column("work, project, exhibition, show", default="")
    material: str = column("material, paper, paper_name", default="")
    build: str = column("build, mounting, finish, finishing", default="")
    series: bool = column("series, one_emulsion, same_emulsion", values.yes_or_no, default=False)
    certainty: Certainty = column(
        "certainty, how_sure, status, state, sure, confirmed", _certainty, default="sure"
    )
    print_on: date | None = column("print_on, print_day, print_date, printed_on", values.day)
    due_on: date | None = column(
        "due_on, due, due_date, due_day, deadline, delivery, deliver_by", values.day
    )
    start_on: date | None = column("start_on, start, start_date, earliest_start", values.day)
    edition_from: int | None = column(
        "edition_from, edition_no, edition_number, first_number",
        partial(read_edition, bare=True),
        later=True,
    )
    edition_of: int | None = column("edition_of, edition_size, size_of_edition", _PIECES)
    client: str = column("client, customer, client_reference, reference", default="")
    printed_by: PrintedBy = column(
        "printed_by, printer, print_source",
        values.one_of(_PRINTED_BY, "not known", "It says who makes the print."),
        default="here",
    )
    lab_days: int | None = column(
        "lab_days, days_at_lab, lab_time",
        values.whole(0, MOST_LAB_DAYS, "Type it like 10.", "no number of days", "days?"),
    )


JOBS = Kind(
    name="job list",
    columns={
        **columns_of(JobRow),
        "size": Column(
            "size, dimensions, format, w_x_h, wxh, width_x_height, size_w_x_h, dimensions_w_x_h",
            _size_dmm,
            units=UNITS,
            later=True,
        ),
        "turned_size": Column(
            "h_x_w, hxw, height_x_width, size_h_x_w, dimensions_h_x_w",
            _size_dmm,
            units=UNITS,
            later=True,
        ),
        "edition": Column("edition", read_edition, later=True),
    },
    needed=("name",),
    unheaded=(
        "None of its first rows has a column called name together with another one known.",
        "Write a first row like: name, size, count, material, build, due, certainty.",
    ),
    empty=(" of jobs", "Write one row for each size of each job."),
)


def read_job_list(
    data: bytes,
    *,
    name: str,
    today: date,
    unit: str | None = None,
    day_first: bool | None = None,
) -> Listed[JobRow]:
    """Return the rows of a job list and its problems; parameters and errors as `read_list`.

    Parameters
    ----------
    today : date
        A due day before it is warned of.
    unit : str, optional
        Left out, numbers that name none are mm, unless the list mixes units or is hardly in mm:
        then it asks.
    """
    listed = read_list(
        data, name, JOBS, _whole_row, today=today, day_first=day_first, unit=unit, asks=_asks
    )
    sizes = {field for _, field in listed.columns} & {"size", "h_x_w", "width", "height"}
    if not sizes & {"size", "h_x_w"} and len(sizes) < 2:
        raise ImportProblem(
            f"{shown_name(name)} has no column of sizes.",
            f"Its header on line {listed.header_line} names neither a size nor a width and a "
            "height.",
            "Call one column size, or two of them width (mm) and height (mm).",
        )
    warnings = sorted([*listed.warnings, *_twice(listed.rows)], key=lambda one: one.line)
    return replace(listed, warnings=capped(warnings, "warnings"))


def _whole_row(row: ListRow) -> JobRow | None:
    """Fill in what several cells tell, and note what contradicts itself and what is odd."""
    said, certainty = row.said, row.setting.headings.get("certainty")
    said["width_dmm"], said["height_dmm"] = _sides(row)
    _number(row)
    if certainty and _asks_yes_or_no(certainty.header) and not row.told("certainty"):
        row.warn("certainty", "it is not marked as confirmed; it is taken as maybe")
        said["certainty"] = "maybe"
    start_on, due_on = said["start_on"], said["due_on"]
    if start_on and due_on and due_on < start_on:
        what = f"It is due before it can be started, on {start_on.isoformat()}. Look at both days."
        row.note("due_on", what)
    found = row.built(partial(JobRow, row.line))
    if found is None:
        return None
    if due_on and due_on < row.setting.today:
        row.warn("due_on", f"it was due on {due_on.isoformat()}, which is past")
    if found.name:
        return found
    named = replace(found, name=f"Line {row.line}")
    row.warn("name", f"it has no name; it is called {named.name!r}")
    return named


def _sides(row: ListRow) -> tuple[int | None, int | None]:
    """Return width and height in dmm, from one cell or two."""
    if row.told("size"):
        return row.take("size") or (None, None)
    if row.told("turned_size"):
        height, width = row.take("turned_size") or (None, None)
        return width, height
    missing = next((side for side in ("width_dmm", "height_dmm") if not row.told(side)), None)
    if missing is None:
        return row.take("width_dmm"), row.take("height_dmm")
    whole_size = next((one for one in ("size", "turned_size") if one in row.setting.headings), None)
    what = "size" if whole_size else JOBS.columns[missing].name
    row.note(whole_size or missing, f"The {what} is missing. Type it like 1200 x 800 mm.")
    return None, None


def _number(row: ListRow) -> None:
    """Fill in numbers, edition and count from what one column or several tell of them."""
    said, nothing = row.said, (None, None, None)
    first, last, of = row.take("edition") or nothing
    if first is None:
        first, last, own = row.take("edition_from") or nothing
        of = of if own is None else own
    told = said["edition_of"]
    if told is not None and of is not None and told != of:
        row.note("edition_of", f"Another column says an edition of {of}. Mend one of them.")
    of = told if of is None else of
    said["edition_from"], said["edition_of"] = first, of
    if said["count"] is None and first is not None and last is not None:
        said["count"] = last - first + 1
    first, count = first or 1, said["count"] or 1
    column = next((one for one in _EDITIONS if row.told(one)), "edition")
    if last is not None and last - first + 1 != count:
        what = f"Numbers {first} to {last} are {last - first + 1} pieces, but the count is {count}."
        row.note(column, f"{what} Mend one of them.")
    elif of is not None and first + count - 1 > of:
        what = f"Number {first + count - 1} is beyond the edition of {of}."
        row.note(column, f"{what} Look at the first number and the count.")


def _twice(rows: Sequence[JobRow]) -> list[Problem]:
    """Warn of rows that say the same job again; other numbers of an edition are another one."""
    found = []
    seen: dict[tuple[object, ...], int] = {}
    for row in rows:
        words = (row.work, row.name, row.material, row.build)
        same = (
            *(word.casefold() for word in words),
            *(row.width_dmm, row.height_dmm, row.due_on, row.edition_from, row.edition_of),
        )
        if same in seen:
            found.append(Problem(row.line, f"the same job stands on line {seen[same]}"))
        seen.setdefault(same, row.line)
    return found


def _asks(rows: Sequence[ListRow]) -> tuple[str, ...]:
    """Ask for the unit of plain numbers where the list mixes units, or seems to."""
    plain = [row for row in rows if row.plain]
    if not plain:
        return ()
    answers = f"Say --unit {', '.join(UNITS[:-1])} or {UNITS[-1]}, or write units into the list."
    named = {side.unit for row in rows for side in row.sides} - {""}
    sides_mm = sorted(max(side.mm for side in row.sides) for row in rows if row.sides)
    small = [row for row in plain if max(row.plain) * MIXED_UNITS < sides_mm[-1]]
    middle_mm = sides_mm[(len(sides_mm) - 1) // 2]
    which = f"In which unit are the sizes on {_lines(plain)}? They name none, and"
    if named - {"mm"}:
        others = ", ".join("inches" if unit == "in" else unit for unit in sorted(named))
        return (f"{which} other sizes are in {others}. {answers}",)
    if small:
        return (
            f"Are all sizes in one unit? Those on {_lines(small)} name none and are much smaller "
            f"than others. {answers}",
        )
    if middle_mm < SMALL_MM:
        half = f"in mm half of the list or more would be no longer than {middle_mm:g} mm."
        return (f"{which} {half} {answers}",)
    return ()


def _lines(rows: Sequence[ListRow]) -> str:
    lines = [str(row.line) for row in rows]
    more = f" and {len(lines) - LINES_NAMED} more" if len(lines) > LINES_NAMED else ""
    return f"line {', '.join(lines[:LINES_NAMED])}{more}"
