"""The order list as lines of text; pure, nothing is read here."""

from typing import TYPE_CHECKING

from stockroom.text import safe
from tui.present import coming_row, material_word, reorder_row
from tui.words import BLANK, Row, Target, columns, head, note, say, wrapped

if TYPE_CHECKING:
    from stockroom.desk.pictures import OrderDesk


def order_rows(found: "OrderDesk", width: int, side: int = 60) -> list[Row]:
    """Return what to order, what is on its way, and each material with its number."""
    rows: list[Row] = [head("To order")]
    rows += [reorder_row(line, found.today, width, side) for line in found.reorder]
    if not found.reorder:
        rows.append(note(say("Nothing is below its number.", "dim")))
    rows += [note(BLANK), head("On its way")]
    rows += [coming_row(order, found.materials, found.today, width) for order in found.coming]
    if not found.coming:
        rows.append(note(say("Nothing was ordered that has not come.", "dim")))
    rows += [note(BLANK), head("Materials, and when to tell you")]
    for material, have, held in found.watched:
        told = "never told" if material.tell_below is None else f"told below {material.tell_below}"
        kept = f", {held} on hold" if held else ""
        cells = columns(
            [
                (safe(material.name), 28, ""),
                (f"{material_word(material, have)} here{kept}", 22, ""),
                (told, 14, "dim"),
                (safe(material.supplier), max(4, width - 70), "dim"),
            ]
        )
        rows.append(
            Row(
                (cells,),
                key=f"material {material.code}",
                target=Target("order-new", material.code),
                detail=(
                    say(safe(material.name), "strong"),
                    say(f"from {safe(material.supplier) or 'a supplier not written down'}"),
                    *wrapped("Enter orders it; t sets the number to be told at.", side, "dim"),
                ),
                material=material.code,
            )
        )
    if not found.watched:
        rows.append(note(say("There is no material yet.", "dim")))
    return rows
