"""Papers to print: labels of units and places, and the day sheet to tick."""

from collections.abc import Sequence
from datetime import date, timedelta

from stockroom.core.model import Place, Unit
from stockroom.core.wording import unit_size_text
from stockroom.desk.day import LOOK_AHEAD_DAYS, reckon_today
from stockroom.desk.lookup import find_any
from stockroom.desk.ordering import Reorder
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.documents.labels import Label, labels_pdf, labels_text
from stockroom.documents.lists import OrderLine, day_sheet_pdf, order_list_csv, order_list_text
from stockroom.errors import BadValueError
from stockroom.units import day_text, size_text

BLANK_LINES = 6
"""Empty lines at the foot of a day sheet (our choice)."""


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


def _label(reckoning: Reckoning, record: object) -> Label:
    if isinstance(record, Unit):
        lot = reckoning.lot_of(record)
        ends = f"label date {lot.label_date.isoformat()}" if lot.label_date else "no label date"
        lines: tuple[str, ...] = (f"batch {lot.number}", unit_size_text(record), ends)
        if record.is_offcut:
            lines = (*lines, f"cut from {record.parent}")
        return Label(record.code, reckoning.material_of(record).name, lines)
    if isinstance(record, Place):
        set_to = record.set_point_centi_c
        shown = () if set_to is None else (f"set to {set_to / 100:g} °C",)
        return Label(record.code, record.name, (record.place_kind, *shown))
    raise BadValueError(
        "Labels are for units and places.", try_="Name one of those, or leave --code out."
    )


def label_sheet(desk: Desk, codes: Sequence[str], *, start: int = 0) -> tuple[bytes, int]:
    """Return a PDF of labels with QR codes, and how many there are."""
    labels = labels_of(desk, codes)
    if not labels:
        raise BadValueError("There is nothing to label yet.", try_="Receive something first.")
    return labels_pdf(labels, start=start), len(labels)


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
            "Take out, still sealed",
            [
                (o.unit.code, f"{o.place.name}, by {day_text(o.by, day)}, for {o.job.name}")
                for o in found.take_out
            ],
        ),
        (
            "Put back",
            [(b.unit.code, f"from {b.place.name} to {b.back_to.name}") for b in found.put_back],
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
            "Arriving",
            [(o.code, f"{o.count} x {found.materials[o.material].name}") for o in found.arrivals],
        ),
    ]
    groups.append(("Anything else: which, what, how much", [("", "")] * BLANK_LINES))
    title = f"Day sheet, {day_text(day, day).removesuffix(', today')}"
    return day_sheet_pdf(title, [group for group in groups if group[1]])


def order_paper(wanted: Sequence[Reorder], *, csv: bool = False) -> str:
    """Return the order list by supplier, as plain text or as CSV whose cells start no formula."""
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
    return order_list_csv(lines) if csv else order_list_text(lines)
