"""A migrated store, the declared tables and the records are one and the same schema."""

import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import sqlalchemy as sa
from sqlalchemy.engine import Connection
from sqlmodel import SQLModel
from support.databases import DATABASES, new_database

from stockroom.core.books.draft import Movement
from stockroom.core.records import RECORDS
from stockroom.desk.session import Desk
from stockroom.store import tables
from stockroom.store.engine import make_engine, reading, url_of
from stockroom.store.mapping import table_of
from stockroom.store.schema import trigger_statements

ROOT = Path(__file__).parents[2]

Schema = dict[str, dict[str, Any]]


def schema_of(connection: Connection) -> Schema:
    """Return all that a database says of its tables, in an order of our own."""
    look = sa.inspect(connection)
    found: Schema = {}
    for table in sorted(look.get_table_names()):
        if table == "alembic_version":
            continue
        found[table] = {
            "columns": {
                column["name"]: (
                    str(column["type"]),
                    column["nullable"],
                    column.get("default"),
                    column.get("autoincrement"),
                )
                for column in look.get_columns(table)
            },
            "key": look.get_pk_constraint(table)["constrained_columns"],
            "checks": {
                str(check["name"]): check["sqltext"] for check in look.get_check_constraints(table)
            },
            "uniques": {
                str(unique["name"]): unique["column_names"]
                for unique in look.get_unique_constraints(table)
            },
            "indexes": {
                str(index["name"]): (index["column_names"], bool(index["unique"]))
                for index in look.get_indexes(table)
            },
            # By what they are: SQLite tells no name of one that came with its column.
            "points to": sorted(
                (key["constrained_columns"], key["referred_table"], key["referred_columns"])
                for key in look.get_foreign_keys(table)
            ),
            "triggers": triggers_of(connection, table),
        }
    return found


def triggers_of(connection: Connection, table: str) -> dict[str, str]:
    """Return a table's triggers and the whole statement of each."""
    query = (
        "SELECT name, sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = :table"
        if connection.dialect.name == "sqlite"
        else "SELECT tgname, pg_get_triggerdef(oid) FROM pg_trigger "
        "WHERE NOT tgisinternal AND tgrelid = CAST(:table AS regclass)"
    )
    quoted = f'"{table}"' if connection.dialect.name == "postgresql" else table
    rows = connection.execute(sa.text(query), {"table": quoted})
    return {str(row[0]): str(row[1]) for row in rows}


@pytest.fixture(params=DATABASES)
def two_stores(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[tuple[str, str]]:
    """Two empty stores on each database in turn."""
    if request.param == "sqlite":
        yield str(tmp_path / "migrated"), str(tmp_path / "declared")
        return
    server = request.getfixturevalue("postgres")
    with new_database(server) as one, new_database(server) as other:
        yield one, other


def migrated(store: str) -> Schema:
    desk = Desk.at(store, begin=True)
    with reading(desk.engine) as connection:
        found = schema_of(connection)
    desk.close()
    return found


def test_a_migrated_store_is_what_the_tables_declare(two_stores: tuple[str, str]) -> None:
    by_migration = migrated(two_stores[0])
    engine = make_engine(url_of(two_stores[1]))
    with engine.begin() as connection:
        SQLModel.metadata.create_all(connection)
        for statement in trigger_statements(connection.dialect.name, tables.ONLY_ADDED):
            connection.execute(sa.text(statement))
        declared = schema_of(connection)
    engine.dispose()
    assert by_migration.keys() == declared.keys()
    for table in declared:
        for part in declared[table]:
            assert by_migration[table][part] == declared[table][part], (table, part)
    assert sum(len(table["triggers"]) for table in declared.values()) >= len(tables.ONLY_ADDED)


def test_the_comparison_sees_what_a_tool_for_migrations_does_not(tmp_path: Path) -> None:
    """The comparison itself is tried: a lost CHECK, trigger, index and uniqueness all show."""
    store = str(tmp_path / "changed")
    before = migrated(store)
    engine = make_engine(url_of(store))
    with engine.begin() as connection:
        connection.exec_driver_sql("DROP TRIGGER act_no_update")
        connection.exec_driver_sql("DROP INDEX ix_act_kind")
        connection.exec_driver_sql("ALTER TABLE act_time ADD COLUMN more INTEGER")
        connection.exec_driver_sql("DROP TABLE put_by")
        connection.exec_driver_sql("CREATE TABLE put_by (code VARCHAR NOT NULL PRIMARY KEY)")
        connection.exec_driver_sql("DROP TABLE chain_head")
        connection.exec_driver_sql("CREATE TABLE chain_head (id INTEGER NOT NULL PRIMARY KEY)")
        connection.exec_driver_sql("DROP TABLE place")
        connection.exec_driver_sql("CREATE TABLE place (code VARCHAR PRIMARY KEY, name VARCHAR)")
        after = schema_of(connection)
    engine.dispose()
    differing = {
        (table, part)
        for table in before
        for part in before[table]
        if before[table][part] != after[table][part]
    }
    assert differing >= {
        ("act", "triggers"),
        ("act", "indexes"),
        ("act_time", "columns"),
        ("put_by", "points to"),
        ("chain_head", "checks"),
        ("place", "uniques"),
    }


def test_movements_and_their_table_have_the_same_fields() -> None:
    columns = {column.name for column in table_of(tables.MovementRow).columns}
    assert columns == {"act", "n", "seal", *Movement.__slots__}


def test_every_table_of_records_or_acts_is_known(tmp_path: Path) -> None:
    """A new table must be sealed, only added to, a single row, or what may be erased."""
    known = {record.table for record in RECORDS}
    assert migrated(str(tmp_path / "store")).keys() == known | {
        *tables.ONLY_ADDED,
        "meta",
        "chain_head",
        "client",
    }


# ---- from a built wheel ------------------------------------------------------------------------

USE_IT = """
import sys
sys.path.insert(0, sys.argv[1])
import stockroom
assert stockroom.__file__.startswith(sys.argv[1]), stockroom.__file__
from stockroom.desk import keeping
from stockroom.desk.stock import defining
from stockroom.desk.session import Desk
TRIGGERS = {
    "sqlite": "SELECT count(*) FROM sqlite_master WHERE type = 'trigger'",
    "postgresql": "SELECT count(*) FROM pg_trigger WHERE NOT tgisinternal",
}
for store in sys.argv[2:]:
    desk = Desk.at(store, begin=True)
    defining.define_place(desk, "Cold store", "cold store", set_point_centi_c=400)
    report = keeping.check(desk)
    with desk.reading() as view:
        query = TRIGGERS[view.connection.dialect.name]
        count = view.connection.exec_driver_sql(query).scalar()
        print(report.acts, report.faults, count)
    desk.close()
"""


@pytest.fixture(scope="module")
def unpacked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built and unpacked away from its sources."""
    from hatchling.builders.wheel import WheelBuilder

    folder = tmp_path_factory.mktemp("wheel")
    (built,) = WheelBuilder(str(ROOT)).build(directory=str(folder / "built"), versions=["standard"])
    with zipfile.ZipFile(built) as wheel:
        wheel.extractall(folder / "elsewhere")
    return folder / "elsewhere"


def test_the_migrations_run_from_a_built_wheel(store: str, unpacked: Path, tmp_path: Path) -> None:
    packages = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["hatch"]
    for package in packages["build"]["targets"]["wheel"]["packages"]:
        assert (unpacked / package / "__init__.py").exists()
    ran = subprocess.run(
        [sys.executable, "-I", "-c", USE_IT, str(unpacked), store],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    count = 5 if "postgresql" in store else 10
    assert ran.stdout == f"1 () {count}\n"
