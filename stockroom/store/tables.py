"""The tables: acts and movements that are only added to, and the records folded from them."""

from types import new_class
from typing import Any

import sqlalchemy as sa
from sqlmodel import Field, SQLModel

from stockroom.core.records import RECORD_OF_KIND, RECORDS
from stockroom.core.records.base import About, Record, about

SCHEMA_NUMBER = 7
"""Number of the newest schema; a store with a higher one is left alone."""
FIRST_SCHEMA = 7
"""The first that is kept; those below were never released, and are not opened."""

NAMING = {
    "ix": "ix_%(table_name)s_%(column_0_N_name)s",
    "uq": "uq_%(table_name)s_%(column_0_N_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_N_name)s",
    "pk": "pk_%(table_name)s",
}
SQLModel.metadata.naming_convention = NAMING

BigInt = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def big(default: Any = ..., **options: Any) -> Any:
    """Return a 64 bit integer column on either database."""
    return Field(default, sa_type=BigInt, **options)


class StoredRow(SQLModel):
    """What every row is: written and read as its table says, so nothing is built to validate it."""

    model_config = {"defer_build": True}


class MetaRow(StoredRow, table=True):
    """One row: what kind of store this is and when it was last checked whole."""

    __tablename__ = "meta"
    __table_args__ = (sa.CheckConstraint("id = 1", name="only_one"),)
    id: int = big(1, primary_key=True)
    schema_number: int = big()
    workshop_zone: str
    currency: str
    demo: str = ""
    checked_s: int = big(0)
    checked_seq: int = big(0)
    seal: str


class ChainHeadRow(StoredRow, table=True):
    """One row: the last act, its hash, the next number for a code, and what all rows add up to.

    Locked by every writer (see `stockroom.store.sums`).
    """

    __tablename__ = "chain_head"
    __table_args__ = (sa.CheckConstraint("id = 1", name="only_one"),)
    id: int = big(1, primary_key=True)
    seq: int = big()
    hash: str
    next_number: int = big()
    touches: int = big()
    rows_sum: str
    clients_sum: str
    seal: str


class ActRow(StoredRow, table=True):
    """An act; only ever added."""

    __tablename__ = "act"
    __table_args__ = (sa.CheckConstraint("seq > 0", name="seq"),)
    seq: int = big(primary_key=True, sa_column_kwargs={"autoincrement": False})
    key: str = Field(unique=True)
    kind: str = Field(index=True)
    occurred_s: int = big()
    recorded_s: int = big()
    actor: str
    reason: str
    undoes: int | None = big(None, unique=True, foreign_key="act.seq")
    ask: str
    format: int = big()
    payload: str
    prev: str
    hash: str


class TouchRow(StoredRow, table=True):
    """A record as it was before an act touched it; only ever added."""

    __tablename__ = "touch"
    __table_args__ = (sa.Index("ix_touch_record", "kind", "record_key", "act"),)
    act: int = big(primary_key=True, foreign_key="act.seq")
    n: int = big(primary_key=True)
    kind: str
    record_key: str
    before: str | None = None
    seal: str


class MovementRow(StoredRow, table=True):
    """So much of a unit came, went or changed place; only ever added."""

    __tablename__ = "movement"
    act: int = big(primary_key=True, foreign_key="act.seq")
    n: int = big(primary_key=True)
    unit: str = Field(index=True)
    lot: str = Field(index=True)
    kind: str
    qty: int = big()
    place_from: str | None = None
    place_to: str | None = None
    cost_cents: int = big(0)
    seal: str


class ClientRow(StoredRow, table=True):
    """A customer's own words on a job; outside the chain, so that they can be erased."""

    __tablename__ = "client"
    job: str = Field(primary_key=True)
    seal: str
    reference: str


class SourceFileRow(StoredRow, table=True):
    """A file as it came, byte for byte (compressed); only ever added."""

    __tablename__ = "source_file"
    sha256: str = Field(primary_key=True)
    name: str
    size: int = big()
    data: bytes


class BlockRow(StoredRow, table=True):
    """A month of readings of one import; only ever added."""

    __tablename__ = "block"
    import_code: str = Field(primary_key=True)
    month: str = Field(primary_key=True)
    place: str = Field(index=True)
    from_s: int = big()
    to_s: int = big()
    n: int = big()
    sha256: str
    data: bytes


class Sealed(StoredRow):
    """What every table of records has beside their fields: a seal over the row."""

    seal: str


def row_of(record: type[Record]) -> type[Sealed]:
    """Return the table class of a kind of record: a column for each of its fields."""
    known = about(record)
    space: dict[str, Any] = {
        "__module__": __name__,
        "__doc__": record.__doc__,
        "__tablename__": record.table,
        "__annotations__": {name: _python_type(one) for name, one in known.items()},
        **{name: _column(record, name, one) for name, one in known.items()},
    }
    if record.unique:
        space["__table_args__"] = (sa.UniqueConstraint(*record.unique),)
    row: type[Sealed] = new_class(
        f"{record.__name__}StoredRow", (Sealed,), {"table": True}, lambda body: body.update(space)
    )
    return row


def _python_type(known: About) -> Any:
    """Days are kept as text."""
    kept = known.holds if known.holds in (int, bool) else str
    return kept | None if known.optional else kept


def _column(record: type[Record], name: str, known: About) -> Any:
    """A column that says what its field does; where it is not the key, a pointer has an index."""
    options: dict[str, Any] = {"index": known.indexed or bool(known.points_to)}
    if name == record.key_field:
        options = {"primary_key": True, "sa_column_kwargs": {"autoincrement": False}}
    if known.points_to:
        other = RECORD_OF_KIND[known.points_to]
        options["foreign_key"] = f"{other.table}.{other.key_field}"
    if known.holds is int:
        options["sa_type"] = BigInt
    return Field(None if known.optional else ..., **options)


ROW_OF: dict[type[Any], type[Sealed]] = {record: row_of(record) for record in RECORDS}
"""The class of the rows in which each kind of record stands."""

ONLY_ADDED = ("act", "touch", "movement", "source_file", "block")
"""Tables that refuse UPDATE, DELETE and TRUNCATE."""
