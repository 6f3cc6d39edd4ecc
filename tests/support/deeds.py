"""Random acts of every kind, chosen by a seed or by a search for a history that fails."""

import hashlib
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from typing import Any, Protocol, TypeVar

import numpy as np
import sqlalchemy as sa

from stockroom.core.card import Card
from stockroom.core.climate.readings import Readings
from stockroom.core.craft import Build, Piece
from stockroom.core.model import (
    RECORDS,
    Import,
    Job,
    Lot,
    Material,
    Order,
    Place,
    PutBy,
    Unit,
)
from stockroom.core.record import Record
from stockroom.core.traits import FAMILIES, FORMS
from stockroom.desk.work import attempts, builds, jobs, booking
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk.cutting import one_cut
from stockroom.desk.cutting.cards import accept_cuts, cut_card, drop_cards
from stockroom.desk.cutting.sheets import CutsSaid, plan_cuts
from stockroom.desk.cutting.one_cut import Part
from stockroom.desk.lookup import everything
from stockroom.desk.stock.receiving import Delivery
from stockroom.desk.session import Decision, Desk, Done
from stockroom.errors import RefusedError, StockroomError
from stockroom.store import blocks
from stockroom.store.view import HEAD
from support.studio import DAY_S, Clock

T = TypeVar("T")
FIRST_DAY = date(2026, 3, 2)


class Chooser(Protocol):
    """Whoever decides what is done next."""

    def one(self, items: Sequence[T]) -> T:
        """Return one of the items."""

    def number(self, low: int, high: int) -> int:
        """Return a number from low to high, both included."""


class Seeded:
    """Decides by a seed: the same on the same books."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)

    def one(self, items: Sequence[T]) -> T:
        return self.rng.choice(items)

    def number(self, low: int, high: int) -> int:
        return self.rng.randint(low, high)


@dataclass
class Doer:
    """One person at a desk, with a clock and a way to decide."""

    desk: Desk
    clock: Clock
    choose: Chooser
    name: str = "a"
    count: int = 0

    def do(self, kind: str) -> Done:
        """Do something of a kind; the key is new, and the same in the same history."""
        return self.decide(kind)()

    def decide(self, kind: str) -> "Act":
        """Decide what to do of a kind, and leave it at that."""
        self.count += 1
        self.clock.on(seconds=self.choose.number(0, 2 * DAY_S))
        return DEEDS[kind](self, f"{self.name}-{self.count}")

    def tries(self, kind: str) -> Done | StockroomError:
        """Do something of a kind, or return why not."""
        try:
            return self.do(kind)
        except StockroomError as error:
            return error

    def some(self, record: type[Any], *conditions: Callable[[Any], bool]) -> Any:
        """Return one of the records of a kind that meet the conditions, if any does."""
        with self.desk.reading() as view:
            found = [x for x in everything(view, record) if all(meets(x) for meets in conditions)]
        if not found:
            raise RefusedError(f"There is no such {record.kind}.")
        return self.choose.one(found)

    def amount(self, unit: Unit) -> int:
        """Return an amount of a unit: part of it, all of it, or more than is there."""
        whole = max(1, unit.amount)
        return self.choose.one([1, max(1, whole // 3), whole, whole + 7])

    def happened_s(self) -> int | None:
        """Return that it happened now, or some days ago."""
        days = self.choose.one([0, 0, 1, 9])
        return self.clock.now_s - days * DAY_S if days else None

    def last_seq(self) -> int:
        """Return the number of the last act."""
        return head(self.desk)[0]


Act = Callable[[], Done]
"""An act that is decided but not yet done; called again, it is a repeat of itself."""
Deed = Callable[[Doer, str], Act]
DEEDS: dict[str, Deed] = {}
"""A way to do something of each kind."""


def deed(kind: str) -> Callable[[Deed], Deed]:
    def keep(do: Deed) -> Deed:
        DEEDS[kind] = do
        return do

    return keep


def _alive(unit: Unit) -> bool:
    return unit.state == "in stock"


def _measured(record: Unit | Material) -> bool:
    return record.form != "counted"


@deed("material")
def _material(do: Doer, key: str) -> Act:
    form, family = do.choose.one(tuple(FORMS)), do.choose.one(tuple(FAMILIES))
    name = f"Stuff {do.choose.number(1, 12)}"
    return partial(
        defining.define_material,
        do.desk,
        name,
        family,
        form,
        width_dmm=6_100,
        length_dmm=30_000,
        key=key,
    )


@deed("material again")
def _change_material(do: Doer, key: str) -> Act:
    material = do.some(Material)
    name = do.choose.one([material.name, f"Stuff {do.choose.number(1, 12)}"])
    return partial(
        defining.change_material,
        do.desk,
        material.code,
        name=name,
        lead_days=do.choose.number(0, 40),
        key=key,
    )


@deed("terms")
def _change_terms(do: Doer, key: str) -> Act:
    price = do.choose.number(50, 90)
    return partial(
        defining.change_terms, do.desk, do.some(Material).code,
        order_minimum=do.choose.number(1, 9), order_cost_cents=9_000,
        breaks=[f"6={price}", f"12={price - 10}"], key=key,
        closed=[(date(2026, 12, 21), date(2027, 1, do.choose.number(1, 9)))],
    )  # fmt: skip


@deed("place")
def _place(do: Doer, key: str) -> Act:
    return partial(
        defining.define_place, do.desk, f"Rack {do.choose.number(1, 6)}", "rack", key=key
    )


@deed("receive")
def _receive(do: Doer, key: str) -> Act:
    material = do.some(Material)
    packed = material.form in ("sheet", "counted")
    delivery = Delivery(
        material=material.code,
        place=do.some(Place).code,
        units=1 if packed else do.choose.number(1, 2),
        count=do.choose.number(1, 4) if packed else 1,
        width_dmm=None if material.width_dmm else 7_000,
        length_dmm=None if material.length_dmm else 20_000,
        number=do.choose.one(["unknown", "E-1", "E-2"]),
        label_date=do.choose.one([None, FIRST_DAY + timedelta(days=400)]),
        price_cents=do.choose.one([None, 0, 9_999]),
    )
    return partial(receiving.receive, do.desk, delivery, happened_s=do.happened_s(), key=key)


@deed("take in")
def _take_in(do: Doer, key: str) -> Act:
    delivery = Delivery(
        material="Listed profile",
        place="Listed rack",
        units=do.choose.number(1, 2),
        length_dmm=30_000,
        price_cents=700,
    )

    def build(decision: Decision) -> dict[str, Any]:
        places = {p.name: p for p in everything(decision.view, Place)}
        materials = {m.name: m for m in everything(decision.view, Material)}
        place = places.get("Listed rack") or Place(code=decision.head.born(), name="Listed rack")
        material = materials.get("Listed profile") or Material(
            code=decision.head.born(), name="Listed profile", family="profile", form="length"
        )
        lots, units = receiving.lines(decision, delivery, material, place)
        return {
            "materials": [] if material.name in materials else [material.plain()],
            "places": [] if place.name in places else [place.plain()],
            "lots": lots,
            "units": units,
        }

    return partial(do.desk.act, "take in", {"list": key}, build, key=key)


@deed("move")
def _move(do: Doer, key: str) -> Act:
    units = [do.some(Unit).code for _ in range(do.choose.number(1, 2))]
    return partial(
        handling.move, do.desk, units, do.some(Place).code, happened_s=do.happened_s(), key=key
    )


@deed("open")
def _open(do: Doer, key: str) -> Act:
    return partial(
        handling.open_unit, do.desk, do.some(Unit).code, happened_s=do.happened_s(), key=key
    )


@deed("rebag")
def _rebag(do: Doer, key: str) -> Act:
    return partial(handling.rebag, do.desk, do.some(Unit).code, key=key)


@deed("use")
def _use(do: Doer, key: str) -> Act:
    unit = do.some(Unit)
    if do.choose.one([True, False]):
        job = do.some(Job).code
        return partial(handling.use, do.desk, unit.code, do.amount(unit), job=job, good=1, key=key)
    return partial(
        handling.use, do.desk, unit.code, do.amount(unit), happened_s=do.happened_s(), key=key
    )


@deed("lose")
def _lose(do: Doer, key: str) -> Act:
    unit = do.some(Unit, _alive)
    if do.choose.one([True, False]):
        job = do.some(Job).code
        return partial(
            handling.lose,
            do.desk,
            unit.code,
            do.amount(unit),
            "scratch",
            job=job,
            prints=1,
            key=key,
        )
    amount = do.choose.one([None, do.amount(unit)])
    return partial(handling.lose, do.desk, unit.code, amount, "dented core", key=key)


@deed("discard")
def _discard(do: Doer, key: str) -> Act:
    unit = do.some(Unit, _alive)
    return partial(
        handling.discard, do.desk, unit.code, do.choose.one([None, do.amount(unit)]), key=key
    )


@deed("return")
def _return(do: Doer, key: str) -> Act:
    unit = do.some(Unit, _alive)
    return partial(handling.return_unit, do.desk, unit.code, do.amount(unit), key=key)


@deed("count")
def _count(do: Doer, key: str) -> Act:
    unit = do.some(Unit)
    amount = do.choose.one([0, unit.amount // 2, unit.amount, unit.amount + 11])
    return partial(counting.count, do.desk, unit.code, amount, reason="counted", key=key)


@deed("batch")
def _batch(do: Doer, key: str) -> Act:
    day = FIRST_DAY + timedelta(days=do.choose.number(100, 700))
    return partial(counting.amend_batch, do.desk, do.some(Lot).code, label_date=day, key=key)


@deed("hold")
def _hold(do: Doer, key: str) -> Act:
    if do.choose.one([True, False]):
        return partial(
            handling.hold, do.desk, do.some(Lot).code, "a complaint", batch=True, key=key
        )
    return partial(handling.hold, do.desk, do.some(Unit).code, "dented", key=key)


@deed("release")
def _release(do: Doer, key: str) -> Act:
    if do.choose.one([True, False]):
        return partial(handling.release, do.desk, do.some(Lot).code, batch=True, key=key)
    return partial(handling.release, do.desk, do.some(Unit).code, key=key)


@deed("cut")
def _cut(do: Doer, key: str) -> Act:
    unit = do.some(Unit, _measured)
    length = unit.length_dmm
    take = do.choose.one([max(2, length // 4), max(2, unit.amount)])
    side = take if unit.form != "sheet" else length
    parts = [Part(max(1, unit.width_dmm), max(1, side // 3))]
    offcuts = [Part(max(1, unit.width_dmm), max(1, side // 2))]
    job = do.some(Job).code if do.choose.one([True, False]) else None
    return partial(
        one_cut.cut,
        do.desk,
        unit.code,
        pieces=do.choose.one([(), parts]),
        offcuts=do.choose.one([(), offcuts, [*offcuts, *offcuts]]),
        take_dmm=None if unit.form == "sheet" else take,
        job=job,
        key=key,
    )


@deed("put by")
def _put_by(do: Doer, key: str) -> Act:
    unit = do.some(Unit, _alive)
    job = do.some(Job, lambda job: job.state == "booked")
    return partial(
        booking.put_by, do.desk, unit.code, job.code, do.choose.one([None, do.amount(unit)]), key=key
    )


@deed("let go")
def _let_go(do: Doer, key: str) -> Act:
    return partial(booking.let_go, do.desk, do.some(PutBy, lambda put: put.open).code, key=key)


@deed("strip")
def _strip(do: Doer, key: str) -> Act:
    unit, result = do.some(Unit).code, do.choose.one(["clean", "yellow", "unsure"])

    def build(decision: Decision) -> dict[str, Any]:
        return {"code": decision.head.born(), "unit": unit, "result": result}

    return partial(
        do.desk.act,
        "strip",
        {"unit": unit, "result": result},
        build,
        happened_s=do.happened_s(),
        key=key,
    )


@deed("book")
def _book(do: Doer, key: str) -> Act:
    return partial(
        booking.book,
        do.desk,
        f"Print {do.choose.number(1, 9)}",
        10_000,
        6_000,
        FIRST_DAY + timedelta(days=do.choose.number(0, 60)),
        do.some(Material).code,
        count=do.choose.number(1, 3),
        key=key,
    )


@deed("close job")
def _close_job(do: Doer, key: str) -> Act:
    job = do.some(Job, lambda job: job.state == "booked")
    return partial(
        booking.close_job, do.desk, job.code, do.choose.one(["done", "cancelled"]), key=key
    )


@deed("order")
def _order(do: Doer, key: str) -> Act:
    material = do.some(Material).code

    def build(decision: Decision) -> dict[str, Any]:
        return {
            "code": decision.head.born(),
            "material": material,
            "count": 2,
            "supplier": "Northlight Papers",
            "ordered_on": decision.today.isoformat(),
            "expected_on": None,
            "price_cents": 5_000,
        }

    return partial(do.desk.act, "order", {"material": material}, build, key=key)


def _of_order(do: Doer, kind: str, key: str, **more: Any) -> Act:
    payload = {"order": do.some(Order, lambda order: order.state == "sent").code, **more}
    return partial(do.desk.act, kind, payload, lambda _decision: payload, key=key)


@deed("receive an order")
def _receive_order(do: Doer, key: str) -> Act:
    order = do.some(Order, lambda order: order.state == "sent")
    delivery = Delivery(
        material=order.material,
        place=do.some(Place).code,
        width_dmm=7_000,
        length_dmm=20_000,
        price_cents=order.price_cents,
        order=order.code,
    )
    return partial(receiving.receive, do.desk, delivery, key=key)


@deed("close order")
def _close_order(do: Doer, key: str) -> Act:
    return _of_order(do, "close order", key)


@deed("spell")
def _spell(do: Doer, key: str) -> Act:
    place, now_s = do.some(Place).code, do.clock.now_s

    def build(decision: Decision) -> dict[str, Any]:
        return {
            "code": decision.head.born(),
            "place": place,
            "last_right_s": now_s - DAY_S,
            "last_right_centi_c": 400,
            "found_s": now_s,
            "highest_centi_c": 1_900,
            "now_centi_c": 1_500,
        }

    return partial(do.desk.act, "spell", {"place": place}, build, key=key)


@deed("spell word")
def _spell_word(do: Doer, key: str) -> Act:
    place, now_s = do.some(Place).code, do.clock.now_s

    def build(decision: Decision) -> dict[str, Any]:
        return {
            "code": decision.head.born(),
            "place": place,
            "from_s": now_s - DAY_S,
            "to_s": now_s,
            "cause": "power cut",
        }

    return partial(do.desk.act, "spell word", {"place": place}, build, key=key)


@deed("readings")
def _readings(do: Doer, key: str) -> Act:
    place = do.some(Place).code
    t_s = do.clock.now_s - np.arange(do.choose.number(2, 6), 0, -1) * 9 * DAY_S
    log = Readings.of(t_s, np.linspace(3.9, 4.4, len(t_s)))
    data = "\n".join(str(t) for t in t_s.tolist()).encode()

    def build(decision: Decision) -> dict[str, Any]:
        code, sha256 = decision.head.born(), hashlib.sha256(data).hexdigest()
        rows = blocks.blocks_of(log, place, code)
        blocks.write_source(decision.head, sha256, "log.csv", data)
        blocks.write_blocks(decision.head, rows)
        return {
            "import": {
                "code": code,
                "place": place,
                "name": "log.csv",
                "sha256": sha256,
                "readings": len(log),
                "from_s": int(t_s[0]),
                "to_s": int(t_s[-1]),
            },
            "blocks": {row["month"]: row["sha256"] for row in rows},
        }

    return partial(do.desk.act, "readings", {"place": place, "at": int(t_s[0])}, build, key=key)


@deed("withdraw")
def _withdraw(do: Doer, key: str) -> Act:
    payload = {"import": do.some(Import, lambda item: not item.withdrawn).code}
    return partial(do.desk.act, "withdraw", payload, lambda _decision: payload, key=key)


def _plainly(do: Doer, kind: str, key: str, payload: dict[str, Any], *, born: bool) -> Act:
    def build(decision: Decision) -> dict[str, Any]:
        return {**payload, **({"code": decision.head.born()} if born else {})}

    return partial(do.desk.act, kind, payload, build, happened_s=do.happened_s(), key=key)


@deed("patch")
def _patch(do: Doer, key: str) -> Act:
    drift = do.choose.number(0, 1_900)
    payload = {
        "unit": do.some(Unit).code,
        "b_milli": -2_500 + drift,
        "instrument": "Bench spectro",
        "measuring": do.choose.one(["M0", "M1"]),
        "control": do.choose.one([None, "strip A"]),
        "control_b_milli": -2_400,
    }
    return _plainly(do, "patch", key, payload, born=True)


@deed("white word")
def _white_word(do: Doer, key: str) -> Act:
    payload = {"unit": do.some(Unit).code, "most_days": 900, "why": "whites are clean"}
    return _plainly(do, "white word", key, payload, born=True)


@deed("warm table")
def _warm_table(do: Doer, key: str) -> Act:
    material, count = do.some(Material).code, do.choose.number(0, 3)

    def build(decision: Decision) -> dict[str, Any]:
        rows = [
            {
                "code": decision.head.born(),
                "width_dmm": 10_160,
                "length_dmm": 304_800,
                "from_centi_c": 500 * n,
                "minutes": 540 - 60 * n,
            }
            for n in range(count)
        ]
        return {"material": material, "rows": rows, "source": "data sheet"}

    return partial(do.desk.act, "warm table", {"material": material, "n": count}, build, key=key)


@deed("probe run")
def _probe_run(do: Doer, key: str) -> Act:
    payload = {
        "unit": do.some(Unit).code,
        "h_milli": 4_200,
        "low_milli": 3_900,
        "high_milli": 4_500,
        "rms_milli_k": 120,
        "file": "probe.csv",
    }
    return _plainly(do, "probe run", key, payload, born=True)


@deed("winding")
def _winding(do: Doer, key: str) -> Act:
    payload = {
        "material": do.some(Material).code,
        "length_dmm": 300_000,
        "length_plus_minus_dmm": 1_000,
        "outer_dmm": 1_307,
        "outer_plus_minus_dmm": 5,
        "core_dmm": 890,
        "core_plus_minus_dmm": 5,
    }
    return _plainly(do, "winding", key, payload, born=True)


@deed("fault")
def _fault(do: Doer, key: str) -> Act:
    start = do.choose.number(0, 90_000)
    payload = {"unit": do.some(Unit).code, "from_dmm": start, "to_dmm": start + 40, "what": "gel"}
    return _plainly(do, "fault", key, payload, born=True)


@deed("surface")
def _surface(do: Doer, key: str) -> Act:
    payload = {
        "unit": do.some(Unit).code,
        "mask_back": do.choose.one(["on", "lifted", "off"]),
        "grade": do.choose.one(["face", "back", "jig"]),
    }
    return _plainly(do, "surface", key, payload, born=False)


@deed("retime")
def _retime(do: Doer, key: str) -> Act:
    seq = do.choose.number(1, do.last_seq())
    at_s = do.clock.now_s - do.choose.number(0, 30) * DAY_S
    return partial(counting.retime, do.desk, seq, at_s, reason="written down late", key=key)


@deed("undo")
def _undo(do: Doer, key: str) -> Act:
    last = do.last_seq()
    return partial(counting.undo, do.desk, last - do.choose.number(0, min(4, last - 1)), key=key)


@deed("redo")
def _redo(do: Doer, key: str) -> Act:
    undone = [line.act.seq for line in counting.trail(do.desk, 40) if line.act.kind == "undo"]
    if not undone:
        raise RefusedError("Nothing was taken back.")
    return partial(counting.undo, do.desk, do.choose.one(undone), key=key)


def records(desk: Desk) -> dict[tuple[str, str], Record]:
    """Return every record that stands in a store."""
    with desk.reading() as view:
        return {(item.kind, item.key): item for kind in RECORDS for item in everything(view, kind)}


def head(desk: Desk) -> tuple[int, str, int]:
    """Return the end of a store's chain: number, hash, and the next number for a code."""
    with desk.reading() as view:
        row = view.connection.execute(sa.select(HEAD)).one()
    return row.seq, row.hash, row.next_number


@deed("build")
def _build(do: Doer, key: str) -> Act:
    families = {"sheet": "sheet", "face film": "film", "board": "board", "profile": "profile"}
    layers = []
    for part, family in families.items():
        try:
            material = do.some(Material, lambda item, family=family: item.family == family).code
        except RefusedError:
            continue
        layers.append(builds.LayerSaid(part, material))  # type: ignore[arg-type]
    name = f"Build {do.choose.number(1, 3)}"
    with do.desk.reading() as view:
        known = [item.name for item in everything(view, Build) if not item.retired]
    if name in known:
        return partial(
            builds.change_build, do.desk, name, looks=do.choose.one([True, False]), key=key
        )
    return partial(builds.define_build, do.desk, name, layers, key=key)


@deed("retire build")
def _retire_build(do: Doer, key: str) -> Act:
    build = do.some(Build)
    return partial(builds.retire_build, do.desk, build.code, again=build.retired, key=key)


@deed("take in jobs")
def _take_in_jobs(do: Doer, key: str) -> Act:
    paper = do.some(Material, lambda item: item.family == "paper").code
    with do.desk.reading() as view:
        offered = [item.code for item in everything(view, Build) if not item.retired]
    rows = [
        jobs.JobSaid(
            name=f"Listed {number}",
            width_dmm=4_000,
            height_dmm=3_000,
            material=paper,
            count=do.choose.number(1, 2),
            series=do.choose.one([True, False]),
            build=do.choose.one([None, *offered]),
            client=do.choose.one([None, "A. Person"]),
            print_on=FIRST_DAY + timedelta(days=do.choose.number(0, 60)),
        )
        for number in range(do.choose.number(1, 2))
    ]
    return partial(jobs.take_in_jobs, do.desk, rows, key=key)


@deed("change job")
def _change_job(do: Doer, key: str) -> Act:
    job = do.some(Job)
    said = jobs.JobSaid(
        count=do.choose.number(1, 4), certainty=do.choose.one(["maybe", "likely", "sure"])
    )
    return partial(jobs.change_job, do.desk, job.code, said, key=key)


def _tried(do: Doer, key: str, *, good: bool) -> Act:
    job = do.some(Job, lambda job: job.state == "booked")
    with do.desk.reading() as view:
        waiting = [item.code for item in view.having(Piece, "job", job.code)]
    said = do.choose.one([job.code, *waiting])
    return partial(attempts.record, do.desk, said, good=good, happened_s=do.happened_s(), key=key)


@deed("try")
def _try(do: Doer, key: str) -> Act:
    return _tried(do, key, good=True)


@deed("try again")
def _try_again(do: Doer, key: str) -> Act:
    return _tried(do, key, good=False)


@deed("damage")
def _damage(do: Doer, key: str) -> Act:
    piece = do.some(Piece)
    return partial(attempts.record, do.desk, piece.code, good=False, stage="damage", key=key)


@deed("confirm order")
def _confirm_order(do: Doer, key: str) -> Act:
    day = FIRST_DAY + timedelta(days=do.choose.number(1, 90))
    fields = {"confirmed_on": FIRST_DAY.isoformat(), "expected_on": day.isoformat()}
    return _of_order(do, "confirm order", key, fields=fields)


@deed("claim order")
def _claim_order(do: Doer, key: str) -> Act:
    fields = {"damaged": do.choose.number(1, 2), "notice_by": FIRST_DAY.isoformat()}
    return _of_order(do, "claim order", key, fields=fields)


@deed("credit order")
def _credit_order(do: Doer, key: str) -> Act:
    return _of_order(do, "credit order", key, fields={"credit_cents": 900})


@deed("plan cuts")
def _plan_cuts(do: Doer, key: str) -> Act:
    job = do.some(Job, lambda job: job.state == "booked" and job.build is not None)
    works = plan_cuts(do.desk, CutsSaid(jobs=(job.code,), effort=1))
    if not works:
        raise RefusedError("Nothing is to be cut.")
    return partial(accept_cuts, do.desk, do.choose.one(works), key=key)


def _open_card(do: Doer) -> Card:
    card: Card = do.some(Card, lambda card: card.state == "open")
    return card


@deed("drop cards")
def _drop_cards(do: Doer, key: str) -> Act:
    return partial(drop_cards, do.desk, [_open_card(do).code], key=key)


@deed("cut by card")
def _cut_by_card(do: Doer, key: str) -> Act:
    broken = do.choose.one([(), (1,)])
    return partial(
        cut_card, do.desk, _open_card(do).code, broken=broken, happened_s=do.happened_s(), key=key
    )
