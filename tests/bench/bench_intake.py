"""How long a logger's file of a million rows takes to be read, against a general table reader.

Both start from the same bytes in the same run. Ours does all that an import does: decoding, finding
the table, times to UTC, fault codes, flags, sorting. The other reads the table and turns times and
temperatures into arrays, told everything that ours must find out.

Run with: python -m pytest -m bench tests/bench/bench_intake.py -s
"""

import io
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
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


def written(form: Form) -> bytes:
    """Return a log of a million readings, one each minute, about -18 °C."""
    start = np.datetime64("2023-03-01T00:00:00")
    whens = pd.DatetimeIndex(start + np.arange(ROWS) * np.timedelta64(60, "s"))
    tenths = -180 + np.arange(ROWS) % 37
    temps = [f"{tenth / 10:.1f}".replace(".", form.decimal) for tenth in tenths.tolist()]
    humid = (40 + np.arange(ROWS) % 19).tolist()
    head = form.delimiter.join(("time", "temperature °C", "RH %"))
    rows = zip(whens.strftime(form.stamp), temps, humid, strict=True)
    body = (f"{when}{form.delimiter}{temp}{form.delimiter}{rh}" for when, temp, rh in rows)
    return "\n".join([head, *body, ""]).encode()


def other(data: bytes, form: Form) -> tuple[pd.Series, pd.Series]:
    """Return times and temperatures as the general reader gives them."""
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
