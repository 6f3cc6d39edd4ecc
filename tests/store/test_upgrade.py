"""A store of an older schema comes forward whole: no row is touched, every seal still fits."""

from collections.abc import Iterable, Mapping
from pathlib import Path

import pytest
import sqlalchemy as sa
from support.databases import DATABASES, new_database
from support.deeds import DEEDS, Doer, Seeded, records
from support.studio import MONDAY_S, Clock

from stockroom.core.model import Job, Material, Order, Unit
from stockroom.core.record import Record
from stockroom.desk import keeping
from stockroom.desk.session import Desk
from stockroom.store.mapping import table_of
from stockroom.store.tables import TABLE_OF_KIND

ADDED_KINDS = {
    2: ("patch", "white_word", "warm_time", "probe_run", "winding", "fault", "surface"),
    3: ("used", "try", "piece", "loss_rule", "layer", "build"),
    4: ("card",),
    5: (),
}
"""Kinds of record that came with each schema."""
ADDED_DEEDS = {
    2: {kind.replace("_", " ") for kind in ADDED_KINDS[2]} | {"warm table", "rebag"},
    3: {"build", "retire build", "take in jobs", "change job", "try", "try again", "damage",
        "confirm order", "claim order", "credit order", "receive an order"},
    4: {"plan cuts", "drop cards", "cut by card"},
    5: {"terms"},
}  # fmt: skip
"""Deeds that leave something that the schemas before could not hold."""

TERMS = {"order_minimum", "order_cost_cents", "price_breaks", "closed_days"}
"""Columns of a material that came with the fifth."""


def since(added: Mapping[int, Iterable[str]], schema: int) -> list[str]:
    return [item for number in sorted(added, reverse=True) if number > schema
            for item in added[number]]  # fmt: skip


def taken_back(desk: Desk, schema: int) -> None:
    """Take away what later schemas added; what is left is a store of that schema."""
    from alembic.migration import MigrationContext
    from alembic.operations import Operations

    with desk.engine.begin() as connection:
        declared = sa.inspect(connection)
        do = Operations(MigrationContext.configure(connection))
        changed: tuple[type[Record], ...] = ()
        if schema < 3:
            connection.execute(sa.text("DROP TABLE client"))
            for name in ("ix_job_build", "ix_job_work"):
                do.drop_index(name, "job")
            changed = (Job, Order, *((Material, Unit) if schema == 1 else ()))
        for record in changed:
            name = table_of(TABLE_OF_KIND[record.kind]).name
            of_second = {"width_dmm", "length_dmm"} if record is Order and schema == 2 else set()
            for column in sorted(record.added_later - of_second - TERMS):
                connection.execute(sa.text(f"ALTER TABLE {name} DROP COLUMN {column}"))
        for column in sorted(TERMS):
            connection.execute(sa.text(f"ALTER TABLE material DROP COLUMN {column}"))
        for kind in since(ADDED_KINDS, schema):
            name = table_of(TABLE_OF_KIND[kind]).name
            assert declared.has_table(name)
            do.drop_table(name)
        connection.execute(sa.text(f"UPDATE meta SET schema_number = {schema}"))
        connection.execute(sa.text(f"UPDATE alembic_version SET version_num = '000{schema}'"))


@pytest.mark.parametrize("schema", [1, 2, 3, 4])
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
    old = sorted(set(DEEDS) - set(since(ADDED_DEEDS, schema)))
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
    assert not all(isinstance(doer.tries("patch"), Exception) for _ in range(9))
    assert keeping.check(again).faults == ()
    again.close()
