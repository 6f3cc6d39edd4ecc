"""Figures of small goods: what kind, how many, good to when, open for how long."""

from collections.abc import Iterator
from datetime import date

from stockroom.core.figures import Figure, Input, Notice, of_label
from stockroom.core.records import Unit
from stockroom.desk.figures.lasting import last_day, opened, opened_too_long
from stockroom.desk.reckoning import Reckoning

GROUP = "Small goods"


def figures(reckoning: Reckoning, unit: Unit, today: date) -> Iterator[Figure]:
    """Yield the figures of a small good in stock."""
    material = reckoning.material_of(unit)
    if not material.traits.small_good:
        return
    if material.goods_kind:
        yield Figure(
            GROUP, "Kind", material.goods_kind, "As you wrote it down for this material.",
            (of_label("Kind of good", material.goods_kind),),
        )  # fmt: skip
    if unit.shape.counted:
        below = material.tell_below
        told = "never" if below is None else f"below {below}"
        yield Figure(
            GROUP,
            "Count",
            f"{unit.count} left",
            "What came and was found, less what was used, lost, thrown away or sent back.",
            (
                Input("Told", told, "your own, for all of this material"),
                Input("Batch", reckoning.lot_of(unit).number, "as booked"),
            ),
        )
    yield last_day(reckoning, unit, today, GROUP)
    yield from opened(reckoning, unit, today, GROUP)


def notices(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    """Yield opened goods whose life once opened is over."""
    for material in reckoning.materials.values():
        if material.traits.small_good:
            yield from opened_too_long(reckoning, material, today)
