"""All that is to be cut, looked at once: plans, open cards, the offcut shelf."""

from collections.abc import Callable, Collection
from dataclasses import dataclass
from datetime import date

from stockroom import settings
from stockroom.desk.cutting.cards import CardView, cards
from stockroom.desk.cutting.offcuts import ShelfOffcut, shelf
from stockroom.desk.cutting.sheets import CUT_EFFORT, CutsSaid, CutWork, plan_cuts
from stockroom.desk.session import Desk


@dataclass(frozen=True, slots=True, eq=False)
class CutBoard:
    """Plans of open work, bench cards to cut, and the offcut shelf."""

    works: tuple[CutWork, ...]
    cards: tuple[CardView, ...]
    shelf: tuple[ShelfOffcut, ...]


def cut_board(
    desk: Desk,
    on: date | None = None,
    effort: int = CUT_EFFORT,
    without: Collection[str] = (),
) -> CutBoard:
    """Return what is to be cut, planned with some effort, and what stands on the shelf.

    Parameters
    ----------
    on : date, optional
        Reason as if it were this day.
    effort : int
        Steps of the search.
    without : collection of str
        Codes of units that are not cut.
    """
    return CutBoard(
        tuple(plan_cuts(desk, saw_said(effort, without), on=on)),
        tuple(cards(desk)),
        tuple(shelf(desk, on=on)),
    )


def better_cuts(
    desk: Desk, on: date | None, spent: Callable[[], float], without: Collection[str] = ()
) -> tuple[CutWork, ...]:
    """Return plans of the full effort, or the best so far where they are stopped.

    Parameters
    ----------
    on : date or None
    spent : callable
        Ends the search where it returns 1.
    without : collection of str
        Codes of units that are not cut.
    """
    return tuple(plan_cuts(desk, saw_said(CUT_EFFORT, without), on=on, spent=spent))


def saw_said(effort: int, without: Collection[str] = ()) -> CutsSaid:
    """Return how work is planned where nobody says, with the saw of the settings file."""
    limits = settings.saw_limits()
    return CutsSaid(
        without=tuple(sorted(without)),
        longest_dmm=limits.get("longest_dmm"),
        narrowest_dmm=limits.get("narrowest_dmm", 0),
        effort=effort,
    )
