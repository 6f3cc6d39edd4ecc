"""A store of the first schema comes forward whole: no row is touched, every seal still fits."""

from pathlib import Path

import pytest
import sqlalchemy as sa
from support.databases import DATABASES, new_database
from support.deeds import DEEDS, Doer, Seeded, records
from support.studio import MONDAY_S, Clock

from stockroom.core.model import RECORD_OF_KIND
from stockroom.desk import keeping
from stockroom.desk.session import Desk
from stockroom.store.mapping import table_of
from stockroom.store.tables import TABLE_OF_KIND

LATER = ("patch", "white_word", "warm_time", "probe_run", "winding", "fault", "surface")
NEW_DEEDS = {kind.replace("_", " ") for kind in LATER} | {"warm table", "rebag"}


def taken_back_to_the_first_schema(desk: Desk) -> None:
    """Take away what the second schema added; what is left is a store of the first."""
    with desk.engine.begin() as connection:
        for kind in LATER:
            connection.execute(sa.text(f"DROP TABLE {table_of(TABLE_OF_KIND[kind]).name}"))
        for kind, record in RECORD_OF_KIND.items():
            for column in record.added_later:
                name = table_of(TABLE_OF_KIND[kind]).name
                connection.execute(sa.text(f"ALTER TABLE {name} DROP COLUMN {column}"))
        connection.execute(sa.text("UPDATE meta SET schema_number = 1"))
        connection.execute(sa.text("UPDATE alembic_version SET version_num = '0001'"))


@pytest.mark.parametrize("database", DATABASES)
def test_an_older_store_comes_forward_with_its_seals(
    database: str, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    if database == "sqlite":
        _comes_forward(str(tmp_path / "store"))
        return
    with new_database(request.getfixturevalue("postgres")) as store:
        _comes_forward(store)


def _comes_forward(store: str) -> None:
    clock = Clock(MONDAY_S)
    desk = Desk.at(store, begin=True, now_s=clock)
    doer = Doer(desk, clock, Seeded(11))
    old = sorted(set(DEEDS) - NEW_DEEDS)
    for kind in ("material", "place", "receive", "receive", "material", "receive"):
        doer.tries(kind)
    for step in range(90):
        doer.tries(old[step % len(old)])
    before = records(desk)
    assert len({kind for kind, _ in before}) >= 9
    taken_back_to_the_first_schema(desk)
    desk.close()

    again = Desk.at(store, now_s=clock)
    assert records(again) == before
    assert keeping.check(again).faults == ()
    doer = Doer(again, clock, Seeded(12), name="later")
    assert not isinstance(doer.tries("patch"), Exception)
    assert keeping.check(again).faults == ()
    again.close()
