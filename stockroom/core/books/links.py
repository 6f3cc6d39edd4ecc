"""Which records point to which: what an undo must not pull from under another record."""

from collections.abc import Sequence

from stockroom.core.books.chain import Act
from stockroom.core.books.draft import Draft
from stockroom.core.model import RECORD_OF_KIND, Material, Place, PutBy, Unit
from stockroom.core.record import Record
from stockroom.errors import UndoRefusedError

POINTS_TO: dict[str, dict[str, str]] = {
    "lot": {"material": "material"},
    "unit": {"lot": "lot", "place": "place"},
    "stay": {"unit": "unit", "place": "place"},
    "job": {"material": "material", "build": "build"},
    "put_by": {"unit": "unit", "job": "job"},
    "order": {"material": "material"},
    "strip": {"unit": "unit"},
    "spell": {"place": "place"},
    "spell_word": {"place": "place"},
    "import": {"place": "place"},
    "patch": {"unit": "unit"},
    "white_word": {"unit": "unit"},
    "warm_time": {"material": "material"},
    "probe_run": {"unit": "unit"},
    "winding": {"material": "material"},
    "fault": {"unit": "unit"},
    "surface": {"unit": "unit"},
    "layer": {"build": "build", "material": "material", "instead": "material"},
    "loss_rule": {"build": "build"},
    "piece": {"job": "job"},
    "card": {"material": "material", "unit": "unit"},
    "try": {"job": "job", "piece": "piece"},
    "used": {
        "attempt": "try",
        "job": "job",
        "piece": "piece",
        "unit": "unit",
        "lot": "lot",
        "material": "material",
    },
}
"""For each kind of record its fields that hold another record's code, and of which kind."""

NAMED: tuple[type[Record], ...] = (Material, Place)
"""Kinds of record of which no two may have one name."""

_WORDS = {
    "lot": "a batch",
    "put_by": "stock put by",
    "spell": "a warm spell",
    "spell_word": "a word on a warm spell",
    "import": "a logger file",
    "unit": "a unit",
    "patch": "a white patch",
    "white_word": "a word on a white",
    "warm_time": "a warm-up time",
    "probe_run": "a probe run",
    "winding": "a measured roll",
    "surface": "a look at a sheet",
    "loss_rule": "a rule of loss",
    "used": "what went into a piece",
    "card": "a bench card",
}


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
        if isinstance(record, NAMED):
            _its_name_is_free(draft, what, record)
        if isinstance(record, Unit | PutBy):
            units[record.unit if isinstance(record, PutBy) else record.code] = None
    for code in units:
        _not_promised_twice(draft, what, code, target.seq)


def _nothing_hangs_on(draft: Draft, what: str, kind: str, key: str) -> None:
    for other, fields in POINTS_TO.items():
        for field in (field for field, pointed in fields.items() if pointed == kind):
            for record in draft.view.having(RECORD_OF_KIND[other], field, key):
                now = draft.get(type(record), record.key)
                if now is not None and getattr(now, field) == key:
                    raise _refused(draft, what, _stamp(now), f"{_word(other)} stands on it")


def _what_it_needs_is_there(draft: Draft, what: str, record: Record) -> None:
    for field, kind in POINTS_TO.get(record.kind, {}).items():
        key = getattr(record, field)
        if key is not None and draft.get(RECORD_OF_KIND[kind], key) is None:
            by = draft.view.last_touch(kind, key)
            word = "batch" if kind == "lot" else kind
            raise _refused(draft, what, by, f"the {word} it needs is gone")


def _its_name_is_free(draft: Draft, what: str, record: Record) -> None:
    name = record.name  # type: ignore[attr-defined]
    for other in draft.view.having(type(record), "name", name):
        now = draft.get(type(other), other.key)
        if now is not None and now.key != record.key and now.name == name:  # type: ignore[attr-defined]
            raise _refused(draft, what, _stamp(now), f"another {record.kind} has its name")


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


def _stamp(record: Record) -> int:
    """The last act that stands on a record."""
    stamp: int = record.last_act  # type: ignore[attr-defined]
    return stamp


def _word(kind: str) -> str:
    return _WORDS.get(kind, f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}")


def _refused(draft: Draft, what: str, by: int, why: str) -> UndoRefusedError:
    act = draft.view.act(by)
    named = f"act {by} ({act.kind})" if act else f"act {by}"
    return UndoRefusedError(
        f"{what} cannot be undone yet.",
        f"Since {named}, {why}.",
        f"Undo {named} first.",
    )
