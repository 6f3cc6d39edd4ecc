"""How long a logger's file of a million rows takes to be read, against a general table reader.

Both start from the same bytes in the same run. Ours does all that an import does: decoding, finding
the table, times to UTC, fault codes, flags, sorting. The other reads the table and turns times and
temperatures into arrays, told everything that ours must find out.

Run with: python -m pytest -m bench tests/bench/bench_intake.py -s
"""

import io
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import pytest

from stockroom.intake.loggers import read_log

if TYPE_CHECKING:
    import pandas as pd

Found = TypeVar("Found")
ROWS = 1_000_000
ROUNDS = 3
MOST_OTHERS, MOST_ISO = 0.7, 2.0
"""Ratios that must hold; ISO has a reader of its own in the other library."""


@dataclass(frozen=True)
class Form:
    """A way of writing a log, and how the other library is told to read it."""

    name: str
    stamp: str
    delimiter: str
    decimal: str
    most: float


FORMS = (
    Form("day first, decimal comma", "%d.%m.%Y %H:%M", ";", ",", MOST_OTHERS),
    Form("month first, 12 hours", "%m/%d/%Y %I:%M:%S %p", ",", ".", MOST_OTHERS),
    Form("year first", "%Y-%m-%d %H:%M:%S", ",", ".", MOST_ISO),
)


ZONE = "Europe/Berlin"


def written(form: Form) -> bytes:
    """Return a log of a million readings, one each minute, about 4 °C, as a wall clock shows it."""
    import pandas as pd

    start = np.datetime64("2023-03-01T00:00:00")
    whens = pd.DatetimeIndex(start + np.arange(ROWS) * np.timedelta64(60, "s"), tz="UTC")
    tenths = np.abs(np.arange(ROWS) * 3 % 342 - 171) - 40  # up and down, -4.0 to 13.1 °C
    temps = [f"{tenth / 10:.1f}".replace(".", form.decimal) for tenth in tenths.tolist()]
    humid = (40 + np.arange(ROWS) % 19).tolist()
    head = form.delimiter.join(("time", "temperature °C", "RH %"))
    rows = zip(whens.tz_convert(ZONE).strftime(form.stamp), temps, humid, strict=True)
    body = (f"{when}{form.delimiter}{temp}{form.delimiter}{rh}" for when, temp, rh in rows)
    return "\n".join([head, *body, ""]).encode()


def other(data: bytes, form: Form) -> "tuple[pd.Series, pd.Series]":
    """Return times and temperatures as the general reader gives them."""
    import pandas as pd

    table = pd.read_csv(io.BytesIO(data), sep=form.delimiter, decimal=form.decimal)
    return pd.to_datetime(table["time"], format=form.stamp), table["temperature °C"]


def best(work: Callable[[], Found]) -> tuple[float, Found]:
    """Return the shortest of several times, s, and what the work gave."""
    times = []
    for _ in range(ROUNDS):
        began_s = time.perf_counter()
        found = work()
        times.append(time.perf_counter() - began_s)
    return min(times), found


@pytest.mark.bench
@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.name)
def test_a_million_rows_are_read_about_as_fast_as_a_table(form: Form) -> None:
    """The whole import against reading the table and its times, best of three, same bytes."""
    import pandas as pd

    data = written(form)
    ours_s, log = best(lambda: read_log(data, zone=ZONE))
    others_s, (when, temp) = best(lambda: other(data, form))
    ratio = ours_s / others_s
    sys.stdout.write(
        f"\n{form.name:26} {len(data) / 1e6:3.0f} MB  ours {ours_s:.2f} s  "
        f"table reader {others_s:.2f} s  ratio {ratio:.2f} (at most {form.most})\n"
    )
    assert pd.api.types.is_datetime64_any_dtype(when)
    assert temp.dtype == np.float64
    assert len(log.readings) == len(when) == ROWS
    assert not log.readings.flag.any()
    assert np.array_equal(log.readings.temp_c, temp.to_numpy())
    assert np.array_equal(np.diff(log.readings.t_s), np.full(ROWS - 1, 60))
    assert ratio <= form.most
