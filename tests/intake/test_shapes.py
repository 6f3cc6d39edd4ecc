"""Cells read many at once by their shapes give what each gives read alone."""

import random
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from stockroom.intake import shapes
from stockroom.intake.numbers import NUMBER, read_numbers, value_of
from stockroom.intake.shapes import Cells, grid, number
from stockroom.intake.stamps import NO_OFFSET, Stamps, read_epochs, read_stamps


def some_number(random_: random.Random) -> str:
    """Return a number as files write them, now and then one that is none."""
    whole = "".join(random_.choices("0123456789", k=random_.choice([0, 1, 1, 2, 2, 3, 9, 17])))
    part = "".join(random_.choices("0123456789", k=random_.choice([0, 1, 1, 2, 9])))
    sign = random_.choice(["", "", "-", "+", "\u2212"])
    mark = random_.choice([".", ",", "", "e", " "])
    unit = random_.choice(["", "", "", " °C", "C", "°F", " f", "%", " %RH", "x"])
    return f"{random_.choice(['', '', ' '])}{sign}{whole}{mark}{part}{unit}"


@pytest.mark.parametrize("letter", ["C", "F"])
def test_numbers_by_shape_are_the_numbers_of_python(letter: str) -> None:
    """To the last bit, for twenty thousand cells of every kind, the odd ones told apart."""
    random_ = random.Random(4)
    words = [some_number(random_) for _ in range(20_000)]
    wanted = []
    for word in words:
        found = NUMBER.fullmatch(word.strip())
        fits = found and (found[2] or letter).upper() == letter
        wanted.append(value_of(found) if found and fits else np.nan)
    many = [read_numbers(Cells.of(words[at : at + 500]), letter) for at in range(0, 20_000, 500)]
    assert np.array_equal(np.concatenate(many), np.array(wanted), equal_nan=True)
    assert np.count_nonzero(np.isnan(wanted)) > 2_000
    assert np.count_nonzero(~np.isnan(wanted)) > 5_000


STAMP_SHAPES = (
    "%Y-%m-%d %H:%M:%S", "%Y-%m-%dT%H:%M:%S.250Z", "%d.%m.%Y %H:%M", "%-d.%-m.%y, %-H:%M",
    "%m/%d/%Y %I:%M:%S %p", "%-m/%-d/%Y %-I:%M%p", "%Y/%m/%d %H:%M +0530", "%Y-%m-%d %H:%M-02",
    "%d-%m-%Y %H:%M UTC", "%d-%m-%Y %H:%M GMT+3",
)  # fmt: skip


def test_stamps_by_shape_are_the_stamps_read_one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ten ways to write a time, mixed, with and without the reading by shape."""
    random_ = random.Random(5)
    begin = datetime(2025, 12, 30, tzinfo=UTC)
    whens = [begin + timedelta(minutes=17 * i) for i in range(2_000)]
    words = [when.strftime(random_.choice(STAMP_SHAPES)) for when in whens]
    words = [word.lower() if random_.random() < 0.1 else word for word in words]
    fast = read_stamps(Cells.of(words))
    monkeypatch.setattr(shapes, "MOST_SHAPES", 0)
    slow = read_stamps(Cells.of(words))
    assert isinstance(fast, Stamps)
    assert isinstance(slow, Stamps)
    for name in Stamps.__slots__:
        assert np.array_equal(getattr(fast, name), getattr(slow, name)), name
    clocks = [when.hour * 60 + when.minute for when in whens]
    assert (fast.clock_s // 60).tolist() == clocks
    offsets = {"+0530": 19_800, "-02": -7_200, "gmt+3": 10_800, "utc": 0, "z": 0}
    wanted = [
        next((s for end, s in offsets.items() if word.lower().endswith(end)), NO_OFFSET)
        for word in words
    ]
    assert fast.offset_s.tolist() == wanted


@pytest.mark.parametrize(
    "odd",
    ["", "x", "2026-05-01", "10:00", "2026-05-01 10:60", "2026-05-01 13:00 PM", "٢٠-05-01 10:00"],
)
@pytest.mark.parametrize("most", [0, 48])
def test_the_first_cell_that_is_no_time_is_named(
    odd: str, most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By its index, whichever way the cells are read."""
    monkeypatch.setattr(shapes, "MOST_SHAPES", most)
    assert read_stamps(Cells.of(["2026-05-01 10:00"] * 7 + [odd, odd])) == 7


def test_unix_times_are_the_dates_of_the_standard_library() -> None:
    """Over leap years and centuries' ends; what is out of range is named."""
    random_ = random.Random(6)
    at_s = [random_.randrange(1_000_000_000, 4_102_444_800) for _ in range(500)]
    found = read_epochs(Cells.of([f"{s}{random_.choice(['', '.5', '123'])}" for s in at_s]))
    assert isinstance(found, Stamps)
    dates = [datetime.fromtimestamp(s, UTC) for s in at_s]
    assert found.first.tolist() == [date.year for date in dates]
    assert found.second.tolist() == [date.month for date in dates]
    assert found.third.tolist() == [date.day for date in dates]
    assert found.clock_s.tolist() == [s % 86_400 for s in at_s]
    assert read_epochs(Cells.of(["1777651200", "9999999999"])) == 1
    assert read_epochs(Cells.of(["1777651200", "177765120"])) == 1


@pytest.mark.parametrize("count", range(18))
def test_nines_of_any_length_are_counted_right(count: int) -> None:
    """The widths at which a sum of letters would overflow."""
    letters = np.full((count, 2), ord("9"), np.uint8)
    assert number(letters).tolist() == [10**count - 1] * 2


@pytest.mark.parametrize(
    "block",
    [
        "a;b;c;d\ne;f",  # two lines with the cells of three
        "a\nb",  # two lines with the cells of one
        "a;b\n\nc;d",
        "a;b\nc",
        'a;"b\nc";d',
        '"a;b";c',
        'a;"b"c',
        'a;"',
        'a; "b"',
        "a;\u2212b",
    ],
)
def test_a_block_that_is_not_simple_is_left_to_the_slow_way(block: str) -> None:
    """Lines of other lengths, quotes with something in or around them, letters of other scripts."""
    assert grid(block, ";", 2) is None


def test_a_simple_block_gives_its_cells() -> None:
    """Empty cells, quoted cells and cells of several lengths."""
    found = grid('a;"bc"\n;"4,5"\n"";x', ";", 2)
    assert found is not None
    columns = [found.column(at) for at in (0, 1, 2)]
    assert columns[2] is None
    texts = [[column.text(row) for row in range(3)] for column in columns if column is not None]
    assert texts == [["a", "", ""], ["bc", "4,5", "x"]]
