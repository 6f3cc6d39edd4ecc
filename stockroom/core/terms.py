"""On which terms a supplier sells: price breaks and closed days, as they are typed and kept."""

from collections.abc import Sequence
from datetime import date
from itertools import pairwise

from stockroom.core.records import Material
from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.units import LARGEST_CENTS, cents

MOST_BREAKS, MOST_CLOSED = 20, 40
"""Most price breaks and closed times of one material (our choice)."""
MOST_UNITS = 100_000
"""Most units that a price break begins at (our choice)."""


def breaks_kept(said: Sequence[str]) -> str:
    """Return price breaks as they are kept, from how they are typed: FROM=PRICE.

    Raises
    ------
    BadValueError
        Where one cannot be read, or they are out of order: more must not cost more each.

    >>> breaks_kept(["6=112.50", "12=98"])
    '6=11250 12=9800'
    """
    found: list[tuple[int, int]] = []
    for text in said:
        least, equals, price = text.partition("=")
        if not (equals and least.strip().isascii() and least.strip().isdigit()):
            raise BadValueError(
                f"{safe(text, length=40)!r} is no price break.",
                "It names from how many on which price holds for each.",
                "Type it like 12=98.00.",
            )
        found.append((int(least), cents(price)))
    found.sort()
    for (fewer, dear), (more, cheap) in pairwise(found):
        if fewer == more or cheap >= dear:
            raise BadValueError(
                f"The price breaks are out of order: {fewer} at {dear / 100:.2f}, {more} at "
                f"{cheap / 100:.2f}.",
                "Each further break must begin at more and cost less.",
                "Look at the supplier's list.",
            )
    if len(found) > MOST_BREAKS or any(
        not (1 < least <= MOST_UNITS and 0 <= price <= LARGEST_CENTS) for least, price in found
    ):
        raise BadValueError(
            "These price breaks cannot be.",
            f"At most {MOST_BREAKS}, from 2 units on.",
            "Look at the numbers.",
        )
    return " ".join(f"{least}={price}" for least, price in found)


def breaks_of(kept: str | None) -> list[tuple[int, int]]:
    """Return price breaks: from how many on, and cents for each; fewest first.

    >>> breaks_of("6=11250 12=9800")
    [(6, 11250), (12, 9800)]
    """
    pairs = (text.partition("=") for text in (kept or "").split())
    return [(int(least), int(price)) for least, _, price in pairs]


def closed_kept(said: Sequence[tuple[date, date]]) -> str:
    """Return closed times, first and last day each, as they are kept.

    Raises
    ------
    BadValueError
        Where one ends before it begins, or there are too many.

    >>> closed_kept([(date(2026, 12, 21), date(2027, 1, 6))])
    '2026-12-21..2027-01-06'
    """
    for first, last in said:
        if last < first:
            raise BadValueError(
                f"Closed from {first.isoformat()} to {last.isoformat()} ends before it begins.",
                try_="Type the first day, two dots, the last: 2026-12-21..2027-01-06.",
            )
    if len(said) > MOST_CLOSED:
        raise BadValueError(f"At most {MOST_CLOSED} closed times are kept.", try_="Join them.")
    return " ".join(f"{first.isoformat()}..{last.isoformat()}" for first, last in sorted(said))


def closed_of(kept: str | None) -> list[tuple[date, date]]:
    """Return closed times, soonest first.

    >>> closed_of("2026-12-21..2027-01-06")
    [(datetime.date(2026, 12, 21), datetime.date(2027, 1, 6))]
    """
    pairs = (text.split("..") for text in (kept or "").split())
    return [(date.fromisoformat(first), date.fromisoformat(last)) for first, last in pairs]


def terms_text(material: Material) -> str:
    """Return on which terms a material is sold, in words.

    >>> terms_text(Material(code="1", name="Cast", family="sheet", form="sheet", order_minimum=6,
    ...                     order_cost_cents=9_000, price_breaks="12=9800", price_cents=11_800))
    'Cast: 118.00 each, from 12 on 98.00; at least 6, an order costs 90.00.'
    """
    price = "price not known"
    if material.price_cents is not None:
        price = f"{material.price_cents / 100:.2f} each"
    price += "".join(
        f", from {least} on {cents_ / 100:.2f}"
        for least, cents_ in breaks_of(material.price_breaks)
    )
    said = [f"at least {material.order_minimum or 1}"]
    if material.order_multiple > 1:
        said.append(f"in multiples of {material.order_multiple}")
    if material.order_cost_cents is not None:
        said.append(f"an order costs {material.order_cost_cents / 100:.2f}")
    said += [
        f"closed {first.isoformat()} to {last.isoformat()}"
        for first, last in closed_of(material.closed_days)
    ]
    return f"{material.name}: {price}; {', '.join(said)}."
