"""The order list as lines of text; pure, nothing is read here."""

from typing import TYPE_CHECKING

from rich.cells import cell_len

from stockroom.core.wording import kept_back_text
from stockroom.text import safe
from tui.today.lines import coming_row, material_word, to_order_rows
from tui.words import Row, Target, columns, cut_line, note, say, sections, wrapped

if TYPE_CHECKING:
    from stockroom.desk.stock.views import OrderDesk

NAME, HERE, TOLD = 28, 30, 14
"""Cells of a material's name, of how many are here, and of the number it is told at."""
WHAT_KEYS_DO = "Enter orders it; i shows it day by day; t sets the number to be told at."


def order_rows(found: "OrderDesk", width: int, side: int = 60) -> list[Row]:
    """Return what to order, what is on its way, and each material with its number."""
    wanted = to_order_rows(
        found.lacking, found.reorder, found.today, width, side, planned=found.planned
    )
    coming = [coming_row(order, found.materials, found.today, width) for order in found.coming]
    watched = _watched_rows(found, width, side)
    return sections(
        ("To order", wanted or _none("Nothing is to be ordered in the coming four weeks.")),
        ("On its way", coming or _none("Nothing was ordered that has not come.")),
        ("Materials, and when to tell you", watched or _none("There is no material yet.")),
    )


def _none(text: str) -> list[Row]:
    return [note(say(text, "dim"))]


def _watched_rows(found: "OrderDesk", width: int, side: int) -> list[Row]:
    rows: list[Row] = []
    room = width - NAME - HERE - TOLD - 6
    beside = all(cell_len(safe(material.supplier)) <= room for material, _ in found.watched)
    for material, stock in found.watched:
        told = "never told" if material.tell_below is None else f"told below {material.tell_below}"
        kept_back = kept_back_text(stock.held, stock.past)
        here = f"{material_word(material, stock.have)} here"
        if kept_back and cell_len(f"{here}, {kept_back}") <= HERE:
            here, kept_back = f"{here}, {kept_back}", ""
        cells = columns(
            [
                (safe(material.name), NAME, ""),
                (here, HERE, ""),
                (told, TOLD, "dim"),
                (safe(material.supplier) if beside else "", max(0, room), "dim"),
            ]
        )
        lines = [cut_line(cells, width)]
        sender = f"  from {safe(material.supplier)}" if material.supplier and not beside else ""
        if sender or kept_back:
            room_left = max(0, width - NAME - 2)
            second = columns([(sender, NAME, "dim"), (kept_back, room_left, "dim")])
            lines.append(cut_line(second, width))
        rows.append(
            Row(
                tuple(lines),
                key=f"material {material.code}",
                target=Target("order-new", material.code),
                detail=(
                    say(safe(material.name), "strong"),
                    say(f"from {safe(material.supplier) or 'a supplier not written down'}"),
                    *wrapped(WHAT_KEYS_DO, side, "dim"),
                ),
                material=material.code,
            )
        )
    return rows
