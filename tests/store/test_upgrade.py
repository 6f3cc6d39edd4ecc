"""A store of an older schema comes forward whole: no row is touched, every seal still fits."""

from pathlib import Path

import pytest
import sqlalchemy as sa
from support.databases import DATABASES, new_database
from support.deeds import DEEDS, Doer, Seeded, records
from support.studio import MONDAY_S, Clock

from stockroom.core.model import Job, Material, Order, Unit
from stockroom.desk import keeping
from stockroom.desk.session import Desk
from stockroom.store.mapping import table_of
from stockroom.store.tables import TABLE_OF_KIND

SECOND = ("patch", "white_word", "warm_time", "probe_run", "winding", "fault", "surface")
THIRD = ("used", "try", "piece", "loss_rule", "layer", "build")
NEW_DEEDS = {kind.replace("_", " ") for kind in SECOND} | {"warm table", "rebag"}
NEWER_DEEDS = {"build", "retire build", "take in jobs", "change job", "try", "try again", "damage"}
NEWER_DEEDS |= {"confirm order", "claim order", "credit order", "receive an order"}


def taken_back(desk: Desk, schema: int) -> None:
    """Take away what later schemas added; what is left is a store of the first or second."""
    from alembic.migration import MigrationContext
    from alembic.operations import Operations

    with desk.engine.begin() as connection:
        declared = sa.inspect(connection)
        do = Operations(MigrationContext.configure(connection))
        connection.execute(sa.text("DROP TABLE client"))
        for name in ("ix_job_build", "ix_job_work"):
            do.drop_index(name, "job")
        for record in (Job, Order, *((Material, Unit) if schema == 1 else ())):
            name = table_of(TABLE_OF_KIND[record.kind]).name
            of_second = {"width_dmm", "length_dmm"} if record is Order and schema == 2 else set()
            for column in sorted(record.added_later - of_second):
                connection.execute(sa.text(f"ALTER TABLE {name} DROP COLUMN {column}"))
        for kind in (*THIRD, *(SECOND if schema == 1 else ())):
            name = table_of(TABLE_OF_KIND[kind]).name
            assert declared.has_table(name)
            do.drop_table(name)
        connection.execute(sa.text(f"UPDATE meta SET schema_number = {schema}"))
        connection.execute(sa.text(f"UPDATE alembic_version SET version_num = '000{schema}'"))


@pytest.mark.parametrize("schema", [1, 2])
@pytest.mark.parametrize("database", DATABASES)
def test_an_older_store_comes_forward_with_its_seals(
    database: str, schema: int, tmp_path: Path, request: pytest.FixtureRequest
) -> None:
    if database == "sqlite":
        _comes_forward(str(tmp_path / "store"), schema)
        return
    with new_database(request.getfixturevalue("postgres")) as store:
        _comes_forward(store, schema)


def _comes_forward(store: str, schema: int) -> None:
    clock = Clock(MONDAY_S)
    desk = Desk.at(store, begin=True, now_s=clock)
    doer = Doer(desk, clock, Seeded(11))
    old = sorted(set(DEEDS) - NEWER_DEEDS - (NEW_DEEDS if schema == 1 else set()))
    for kind in ("material", "place", "receive", "receive", "material", "receive"):
        doer.tries(kind)
    for step in range(90):
        doer.tries(old[step % len(old)])
    before = records(desk)
    assert len({kind for kind, _ in before}) >= 9
    taken_back(desk, schema)
    desk.close()

    again = Desk.at(store, now_s=clock)
    assert records(again) == before
    assert keeping.check(again).faults == ()
    doer = Doer(again, clock, Seeded(12), name="later")
    assert not isinstance(doer.tries("patch"), Exception)
    assert keeping.check(again).faults == ()
    again.close()
