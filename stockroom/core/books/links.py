"""Which records point to which: what an undo must not pull from under another record."""

from collections.abc import Sequence

from stockroom.core.books.chain import Act
from stockroom.core.books.draft import Draft
from stockroom.core.records import RECORD_OF_KIND, RECORDS, PutBy, Unit
from stockroom.core.records.base import Record, pointers
from stockroom.errors import UndoRefusedError


def see_that_it_stands(draft: Draft, target: Act, touched: Sequence[tuple[str, str]]) -> None:
    """See that records put back as they were leave none hanging and promise nothing twice.

    Parameters
    ----------
    draft : Draft
        The undoing, all its records put back.
    target : Act
        The act being taken back.
    touched : sequence of (kind, key)
        The records that were put back.

    Raises
    ------
    UndoRefusedError
        Where another record stands on one that would go, needs one that is gone, has the same
        name, or is promised the same stock; the act to undo first is named.
    """
    what = f"Act {target.seq} ({target.kind})"
    units: dict[str, None] = {}
    for kind, key in touched:
        record = draft.get(RECORD_OF_KIND[kind], key)
        if record is None:
            _nothing_hangs_on(draft, what, kind, key)
            continue
        _what_it_needs_is_there(draft, what, record)
        _its_name_is_free(draft, what, record)
        if isinstance(record, Unit | PutBy):
            units[record.unit if isinstance(record, PutBy) else record.code] = None
    for code in units:
        _not_promised_twice(draft, what, code, target.seq)


def _nothing_hangs_on(draft: Draft, what: str, kind: str, key: str) -> None:
    for other in RECORDS:
        for field in (field for field, pointed in pointers(other).items() if pointed == kind):
            for record in draft.view.having(other, field, key):
                now = draft.get(type(record), record.key)
                if now is not None and getattr(now, field) == key:
                    raise _refused(draft, what, now.last_act, f"{other.told} stands on it")


def _what_it_needs_is_there(draft: Draft, what: str, record: Record) -> None:
    for field, kind in pointers(type(record)).items():
        key, needed = getattr(record, field), RECORD_OF_KIND[kind]
        if key is not None and draft.get(needed, key) is None:
            by = draft.view.last_touch(kind, key)
            raise _refused(draft, what, by, f"the {needed.noun} it needs is gone")


def _its_name_is_free(draft: Draft, what: str, record: Record) -> None:
    if not record.unique:
        return
    first, *more = record.unique
    for other in draft.view.having(type(record), first, getattr(record, first)):
        now = draft.get(type(other), other.key)
        if (
            now is not None
            and now.key != record.key
            and all(getattr(now, field) == getattr(record, field) for field in (first, *more))
        ):
            raise _refused(draft, what, now.last_act, f"another {record.noun} has its name")


def _not_promised_twice(draft: Draft, what: str, code: str, seq: int) -> None:
    """A fact may leave less than was promised; an undo must not promise more than stood then.

    Where nothing later stands on the unit or its promises, they are again as they were before the
    act that is taken back.
    """
    puts = draft.put_bys(code)
    unit = draft.get(Unit, code)
    if not puts or unit is None:
        return
    later = max(unit.last_act, *(put.last_act for put in puts))
    now = sum(put.qty for put in puts)
    before = sum(put.qty for put in draft.view.put_bys(code))
    too_much = now > unit.qty and now > before and later > seq
    if unit.state != "in stock" or too_much:
        raise _refused(draft, what, later, f"{code} is put by, and there would not be enough")


def _refused(draft: Draft, what: str, by: int, why: str) -> UndoRefusedError:
    act = draft.view.act(by)
    named = f"act {by} ({act.kind})" if act else f"act {by}"
    return UndoRefusedError(
        f"{what} cannot be undone yet.",
        f"Since {named}, {why}.",
        f"Undo {named} first.",
    )
