"""What came damaged and its supplier was not told of yet."""

from collections.abc import Iterator
from datetime import date

from stockroom.core.figures import Notice
from stockroom.core.records import Order
from stockroom.desk.reckoning import Reckoning
from stockroom.units import day_text


def notices(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    """Yield each damage that must be told to a supplier by a day."""
    for order in reckoning.records.all(Order):
        if not order.damaged or order.noticed_on is not None or order.notice_by is None:
            continue
        late = order.notice_by < today
        by = "at once; the day to be told was" if late else "by"
        material = reckoning.materials[order.material]
        yield Notice(
            order.material,
            f"Tell {order.supplier or 'the supplier'} {by} {day_text(order.notice_by, today)}: "
            f"{order.damaged} of {order.count} {material.name} came damaged",
            f"Order {order.code}. Keep what came with its packing, and take pictures. When it is "
            f"told: stockroom order notice {order.code}.",
            "bad" if late else "ask",
            "material",
        )
