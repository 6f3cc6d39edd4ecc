"""All figures of a unit with what stands behind each, and what one should see in the morning."""

from collections.abc import Callable, Iterator
from datetime import date

from stockroom.core.figures import Figure, Notice
from stockroom.core.records import Unit
from stockroom.desk.figures import (
    claims,
    film,
    fresh,
    goods,
    length,
    opened,
    out_to_warm,
    sheets,
    warm,
    white,
    work,
)
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk

Tells = Callable[[Reckoning, Unit, date], Iterator[Figure]]
Notes = Callable[[Reckoning, date], Iterator[Notice]]

FIGURES: tuple[Tells, ...] = (
    fresh.figures,
    length.figures,
    white.figures,
    opened.figures,
    warm.figures,
    out_to_warm.figures,
    film.figures,
    sheets.figures,
    goods.figures,
)
"""Who tells figures of a unit, in the order in which they are shown."""
NOTICES: tuple[Notes, ...] = (
    work.notices,
    claims.notices,
    out_to_warm.notices,
    white.notices,
    opened.notices,
    film.notices,
    sheets.notices,
    goods.notices,
)
"""Who looks over the stock in the morning."""


def figures_of(reckoning: Reckoning, unit: Unit, today: date) -> tuple[Figure, ...]:
    """Return all figures of a unit; of one that is not in stock only what its white tells."""
    tellers = FIGURES if unit.state == "in stock" else (white.figures,)
    return tuple(figure for tell in tellers for figure in tell(reckoning, unit, today))


def notices_of(reckoning: Reckoning, today: date) -> tuple[Notice, ...]:
    """Return what one should see in the morning, the worst first."""
    order = ("bad", "ask", "good", "")
    found = [notice for look in NOTICES for notice in look(reckoning, today)]
    return tuple(sorted(found, key=lambda notice: order.index(notice.tone)))


def unit_figures(desk: Desk, said: str, on: date | None = None) -> tuple[Unit, tuple[Figure, ...]]:
    """Return a unit and its figures.

    Raises
    ------
    UnknownCodeError
        Where there is none.
    """
    from stockroom.desk.lookup import find

    with reckoned(desk, on) as reckoning:
        unit = find(reckoning.view, Unit, said)
        return unit, figures_of(reckoning, unit, reckoning.today)
