"""Papers to print and files to take along: labels, the day sheet to tick, the calendar."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from stockroom.core.order_wording import units_text
from stockroom.core.records import CAUSES, RECORD_OF_KIND, Material, Order, Place, Unit
from stockroom.core.wording import cut_text, dated, unit_size_text
from stockroom.desk.climate.pull_out import Outing
from stockroom.desk.climate.warming_text import (
    at_text,
    cautions,
    out_now_text,
    out_text,
    ready_text,
)
from stockroom.desk.cutting.cards import CardView
from stockroom.desk.day import LOOK_AHEAD_DAYS, PrintLine, Return, Today, reckon_today, take_out
from stockroom.desk.lookup import find_any
from stockroom.desk.orders.ordering import Reorder
from stockroom.desk.orders.plan import PlannedOrder, planned_orders
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.documents.calendar import Entry, calendar_ics
from stockroom.documents.labels import Label, labels_pdf, labels_text
from stockroom.documents.lists import OrderLine, day_sheet_pdf, order_list_csv, order_list_text
from stockroom.errors import BadValueError
from stockroom.units import count_of, day_text, days_text, size_text

BLANK_LINES = 6
"""Empty lines at the foot of a day sheet (our choice)."""
CALENDAR_DAYS, MOST_DAYS = 30, 366
"""How many days ahead a calendar runs if not told, and at most (our choice)."""
PUT_BACK_S = 900
"""How long putting a roll back takes in a calendar, s (our choice)."""


def labels_of(desk: Desk, codes: Sequence[str]) -> list[Label]:
    """Return the labels of some units and places; of all in stock, and all places, if none named.

    Raises
    ------
    UnknownCodeError
        Where nothing carries a code.
    """
    with reckoned(desk) as reckoning:
        records = (
            [find_any(reckoning.view, code) for code in codes]
            if codes
            else [*reckoning.units.values(), *reckoning.places.values()]
        )
        return [_label(reckoning, record) for record in records]


def brought_by(desk: Desk, seq: int) -> list[str]:
    """Return the codes of the units and places that an act brought into the books.

    Parameters
    ----------
    seq : int
        The act's number.

    Raises
    ------
    BadValueError
        Where there is no such act, or it brought nothing that carries a label.
    """
    with desk.reading() as view:
        born = [
            touch.key
            for touch in view.touches(seq)
            if touch.before is None
            and touch.kind in (Unit.kind, Place.kind)
            and view.get(RECORD_OF_KIND[touch.kind], touch.key) is not None
        ]
    if not born:
        raise BadValueError(
            f"Act {seq} brought nothing that carries a label.",
            try_="Its number stands on the trail: stockroom undo --list.",
        )
    return born


def _label(reckoning: Reckoning, record: object) -> Label:
    if isinstance(record, Unit):
        lot = reckoning.lot_of(record)
        ends = f"label date {lot.label_date.isoformat()}" if lot.label_date else "no label date"
        lines: tuple[str, ...] = (f"batch {lot.number}", unit_size_text(record), ends)
        if record.is_offcut:
            lines = (*lines, f"cut from {record.parent}")
        named = dict.fromkeys(
            reckoning.jobs[put.job].name for put in reckoning.put_bys if put.unit == record.code
        )
        if named:
            lines = (f"for {', '.join(named)}", *lines)
        return Label(record.code, reckoning.material_of(record).name, lines)
    if isinstance(record, Place):
        set_to = record.set_point_centi_c
        shown = () if set_to is None else (f"set to {set_to / 100:g} °C",)
        return Label(record.code, record.name, (record.place_kind, *shown))
    raise BadValueError(
        "Labels are for units and places.", try_="Name one of those, or leave --code out."
    )


def label_sheet(
    desk: Desk,
    codes: Sequence[str],
    *,
    start: int = 0,
    each_dmm: tuple[int, int] | None = None,
) -> tuple[bytes, int]:
    """Return a PDF of labels with QR codes, on sheets or one a page, and how many there are."""
    labels = labels_of(desk, codes)
    if not labels:
        raise BadValueError("There is nothing to label yet.", try_="Receive something first.")
    return labels_pdf(labels, start=start, each_dmm=each_dmm), len(labels)


def label_text(desk: Desk, codes: Sequence[str]) -> str:
    """Return labels as plain text."""
    return labels_text(labels_of(desk, codes))


def day_sheet(desk: Desk, on: date | None = None) -> bytes:
    """Return the day's sheet as PDF: every act to tick, with room for the time it happened."""
    with reckoned(desk, on) as reckoning:
        found = reckon_today(reckoning, on or desk.today())
    day = found.day
    groups: list[tuple[str, list[tuple[str, str]]]] = [
        (
            "Take out, shut in its bag",
            [(o.unit.code, _out_line(o, desk.zone, day)) for o in found.take_out],
        ),
        (
            "Out to warm",
            [
                (w.unit.code, f"{w.place.name}: {out_now_text(w, found.now_s, desk.zone)}")
                for w in found.out_now
            ],
        ),
        (
            "Put back",
            [(b.unit.code, _back_line(b, desk.zone, day)) for b in found.put_back],
        ),
        (
            "Print",
            [
                (
                    line.answers.best.roll.unit.code if line.answers.best else "",
                    f"{line.job.name}, {line.job.to_print} x "
                    f"{size_text(line.job.width_dmm, line.job.height_dmm)}, "
                    f"{day_text(line.job.print_on, day)}; good / lost, metres used",
                )
                for line in found.prints
                if line.job.print_on <= day + timedelta(days=LOOK_AHEAD_DAYS)
            ],
        ),
        (
            "Cut by card: tick as planned, or write what differed",
            [(card.card.code, _cut_line(card)) for card in found.cards if not card.gone],
        ),
        (
            "Record: tick how it came out, and write the time",
            [(code, text) for code, text in _to_record(found)],
        ),
        (
            "Arriving",
            [
                (o.code, f"{o.to_come} x {found.materials[o.material].name} {cut_text(o)}".rstrip())
                for o in found.arrivals
            ],
        ),
    ]
    groups.append(("Anything else: which, what, how much", [("", "")] * BLANK_LINES))
    title = f"Day sheet, {day_text(day, day).removesuffix(', today')}"
    return day_sheet_pdf(title, [group for group in groups if group[1]])


def _to_record(found: Today) -> Iterator[tuple[str, str]]:
    """What may be recorded on the day: each print due, and the next stage of what is on the bench.

    A box for good, and one for each cause of a loss.
    """
    for line in found.prints:
        if line.job.print_on <= found.day + timedelta(days=1):
            yield line.job.code, _ticks(line.job.name, "print", line.job.to_print)
    for decision in found.work:
        for stage, number in decision.at:
            if stage in CAUSES and stage != "print":
                yield decision.job.code, _ticks(decision.job.name, stage, number)


def _ticks(name: str, stage: str, number: int) -> str:
    causes = "  ".join(f"[__]{cause}" for cause in CAUSES[stage])  # type: ignore[index]
    return f"{name}, {number} to {stage}:  [__]good  lost to:  {causes}"


def _cut_line(card: CardView) -> str:
    """What the day sheet says of a card: from what, and a box for each part that broke."""
    numbers = "  ".join(f"[__]{part.number}" for part in card.layout.parts)
    kind = "offcut" if card.unit.is_offcut else "sheet"
    what = f"{card.material.name}, {kind} {card.unit.code}, {card.place}"
    return f"{what}:  [__]as planned  broken:  {numbers}"


def _out_line(item: Outing, zone: str, day: date) -> str:
    """What the day sheet says of a roll to take out: by when, for what, and when it is ready."""
    when = out_text(item, zone, day)
    out = when if item.at_once else f"by {when}"
    parts = (ready_text(item, zone), *(text.rstrip(".") for text in cautions(item, zone)))
    return "; ".join((f"{item.place.name}, {out}, for {item.job.name}", *filter(None, parts)))


def _back_line(item: Return, zone: str, day: date) -> str:
    when = at_text(item.by_s, zone, day)
    return f"from {item.place.name} to {item.back_to.name}, by {when}"


def calendar_file(desk: Desk, days: int = CALENDAR_DAYS, on: date | None = None) -> bytes:
    """Return what is to be done in the coming days as a calendar file (iCalendar).

    Parameters
    ----------
    days : int
        How far ahead.
    on : date, optional
        Reason as if it were this day.

    Raises
    ------
    BadValueError
        Where the days cannot be, or nothing is to be done in them.
    """
    if not 0 <= days <= MOST_DAYS:
        raise BadValueError(f"A calendar runs from 0 to {MOST_DAYS} days ahead, not {days}.")
    day = on or desk.today()
    with reckoned(desk, on) as reckoning:
        found = reckon_today(reckoning, day)
        outings = take_out(reckoning, found.prints, found.put_back, day, days)
        planned = planned_orders(reckoning, day)
        reasoned_s = reckoning.now_s
    last = day + timedelta(days=days)
    entries = [
        *(_out_entry(item, desk.zone) for item in outings),
        *(_back_entry(item) for item in found.put_back),
        *_order_entries(found, last, planned),
        *(
            Entry("arrives", (order.code,), f"Arriving: {_coming(order, found)}",
                  day=order.expected_on)
            for order in found.arrivals
            if order.expected_on is not None and order.expected_on <= last
        ),
    ]  # fmt: skip
    return calendar_ics(entries, reasoned_s)


def _out_entry(item: Outing, zone: str) -> Entry:
    ready = ready_text(item, zone)
    shut = "" if item.unit.is_open else "Shut in its bag."
    lines = (shut, f"{ready[:1].upper()}{ready[1:]}." if ready else "")
    return Entry(
        "take out", (item.unit.code, item.job.code),
        f"Take out roll {item.unit.code} for {item.job.name}",
        (*lines, *cautions(item, zone)), item.out_s, item.ready_s,
        where=item.place.name, alarm=True,
    )  # fmt: skip


def _back_entry(item: Return) -> Entry:
    return Entry(
        "put back", (item.unit.code,), f"Put back roll {item.unit.code}",
        (
            f"From {item.place.name} to {item.back_to.name}.",
            f"Each day out costs {days_text(item.life_a_day)} of its life.",
        ),
        item.by_s, item.by_s + PUT_BACK_S, where=item.back_to.name, alarm=True,
    )  # fmt: skip


def _order_entries(
    found: Today, last: date, planned: Sequence[PlannedOrder]
) -> Iterator[Entry]:  # fmt: skip
    """Days to order by: each material's earliest, by the plan, a booked print, or its number."""
    told = {short.material.code for short in found.reorder}
    sooner = {
        item.material.code: item
        for item in planned
        if item.order_by is not None
        and item.order_by <= last
        and item.material.code not in told
        and not any(
            line.material.code == item.material.code
            and line.order_rolls
            and line.order_by is not None
            and line.order_by < item.order_by
            for line in found.prints
        )
    }
    for item in sooner.values():
        yield Entry(
            "order by", (item.material.code,), f"Order {units_text(item.line)}",
            (item.sentence, _supplier(item.material)), day=item.order_by,
        )  # fmt: skip
    for line in found.prints:
        if line.material.code in sooner:
            continue
        if not line.order_rolls or line.order_by is None or line.order_by > last:
            continue
        late = line.order_by < found.day
        due = f"To come in time it was due {dated(line.order_by)}." if late else ""
        rolls = count_of(line.order_rolls, "roll")
        title = f"Order {rolls} of {line.material.name} for {line.job.name}"
        on = max(line.order_by, found.day)
        yield Entry("order by", (line.job.code,), title, (due, _supplier(line.material)), day=on)
    for short in found.reorder:
        material = short.material
        why = f"{short.have} here, {short.coming} on the way, below {material.tell_below}."
        title = f"Order {short.quantity} of {material.name}"
        yield Entry("order by", (material.code,), title, (why, _supplier(material)), day=found.day)


def _supplier(material: Material) -> str:
    return f"From {material.supplier}." if material.supplier else ""


def _coming(order: Order, found: Today) -> str:
    name = f"{order.to_come} x {found.materials[order.material].name} {cut_text(order)}".rstrip()
    return f"{name} from {order.supplier}" if order.supplier else name


def order_paper(
    wanted: Sequence[Reorder], lacking: Sequence[PrintLine] = (), *, csv: bool = False
) -> str:
    """Return the order list by supplier, as plain text or as CSV whose cells start no formula.

    Parameters
    ----------
    wanted : sequence of Reorder
        What is below its number.
    lacking : sequence of PrintLine
        The booked prints that paper must be ordered for.
    """
    lines = [
        OrderLine(
            material=line.material.name,
            supplier=line.material.supplier,
            quantity_text=str(line.quantity),
            reason=f"{line.have} here, {line.coming} on the way, below {line.material.tell_below}",
            code=line.material.code,
        )
        for line in wanted
    ]
    lines += [
        OrderLine(
            material=line.material.name,
            supplier=line.material.supplier,
            quantity_text=str(line.order_rolls),
            reason=f"for {line.job.name}, {dated(line.job.print_on)}"
            + (f"; order by {dated(line.order_by)}" if line.order_by else ""),
            code=line.material.code,
        )
        for line in lacking
    ]
    return order_list_csv(lines) if csv else order_list_text(lines)
