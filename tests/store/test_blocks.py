"""Readings come back as they were taken in, withdrawn ones not at all, damaged ones never."""

import numpy as np
import pytest
from support.deeds import Doer, Seeded
from support.studio import Clock, Studio

from stockroom.core.climate.readings import Readings, merge
from stockroom.core.model import Import
from stockroom.desk.stock import counting
from stockroom.desk.lookup import everything
from stockroom.errors import StoreDamagedError
from stockroom.store.blocks import block_hash, blocks_of, pack, read_place, unpack


def a_log(n: int = 500) -> Readings:
    rng = np.random.default_rng(3)
    t_s = 1_770_000_000 + np.cumsum(rng.integers(1, 90_000, n))
    temp_c = np.where(rng.random(n) < 0.1, np.nan, rng.uniform(-60, 70, n).round(3))
    rh_pct = np.where(rng.random(n) < 0.1, np.nan, rng.uniform(0, 100, n).round(1))
    return Readings.of(t_s, temp_c, rh_pct, rng.integers(0, 256, n))


def see_same(one: Readings, other: Readings) -> None:
    np.testing.assert_array_equal(one.t_s, other.t_s)
    np.testing.assert_allclose(one.temp_c, other.temp_c, atol=1e-9)
    np.testing.assert_allclose(one.rh_pct, other.rh_pct, atol=1e-9)
    np.testing.assert_array_equal(one.flag, other.flag)


def test_packed_readings_come_back() -> None:
    log = a_log()
    see_same(unpack(pack(log), len(log)), log)


def test_blocks_are_months_and_sum_to_the_log() -> None:
    rows = blocks_of(a_log(), "10014", "10025")
    months = [row["month"] for row in rows]
    assert months == sorted(set(months))
    assert len(months) > 5
    assert sum(row["n"] for row in rows) == 500
    joined, differing = merge([unpack(row["data"], row["n"]) for row in rows])
    assert differing == 0
    see_same(joined, a_log())


@pytest.mark.parametrize("field", ["import_code", "month", "place", "from_s", "to_s", "n", "data"])
def test_the_hash_of_a_block_covers_all_of_it(field: str) -> None:
    row = blocks_of(a_log(), "10014", "10025")[0]
    more = 1 if isinstance(row[field], int) else row[field][:1]
    assert block_hash(row) == row["sha256"]
    assert block_hash({**row, field: row[field] + more}) != row["sha256"]


def taken_in(studio: Studio) -> tuple[Doer, Import]:
    clock = studio.desk.now_s
    assert isinstance(clock, Clock)
    doer = Doer(studio.desk, clock, Seeded(2), "log")
    doer.do("readings")
    with studio.desk.reading() as view:
        return doer, everything(view, Import)[0]


def test_withdrawn_readings_are_read_no_more(any_studio: Studio) -> None:
    doer, taken = taken_in(any_studio)

    def read() -> int:
        with any_studio.desk.reading() as view:
            return len(read_place(view.connection, taken.place)[0])

    assert read() == taken.readings
    done = doer.do("withdraw")
    assert read() == 0
    counting.undo(any_studio.desk, done.seq)
    assert read() == taken.readings


@pytest.mark.parametrize("change", ["n = n - 1", "place = '1'", "sha256 = 'a'", "data = x'00'"])
def test_changed_readings_are_not_read(change: str, studio: Studio) -> None:
    _, taken = taken_in(studio)
    with studio.desk.engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER block_no_update")
        connection.exec_driver_sql(f"UPDATE block SET {change}")
    with pytest.raises(StoreDamagedError), studio.desk.reading() as view:
        read_place(view.connection, taken.place)


def test_readings_with_a_month_gone_are_not_read(studio: Studio) -> None:
    _, taken = taken_in(studio)
    with studio.desk.engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER block_no_delete")
        connection.exec_driver_sql("DELETE FROM block WHERE month = (SELECT max(month) FROM block)")
    with pytest.raises(StoreDamagedError, match="number"), studio.desk.reading() as view:
        read_place(view.connection, taken.place)
