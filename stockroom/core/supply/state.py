"""What a plan of orders rests on: materials, stock, what is on its way, work, losses, history.

Days are whole numbers, counted from any one day. Amounts are in the material's own unit: metres
of a roll, full sheets, pieces; money in any one currency.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

Amounts = Mapping[str, float]
"""Amounts by the code of a material."""

DAYS_PER_YEAR = 365.0
REVIEW_DAYS = 3.5
"""Days until orders are looked at again where nothing is said (our choice: twice a week)."""
LATE_FIXED, LATE_PER_DAY = 250.0, 60.0
"""What a late job costs, and each day of it, where nothing is said (our choice)."""
HOLDING_RATE = 0.22
"""Cost of a year's holding as a part of a thing's value, where nothing is said (common practice:
20 to 30 %)."""


@dataclass(frozen=True, slots=True)
class PriceBreak:
    """From so many units on, each costs this."""

    least: int
    cost: float


@dataclass(frozen=True, slots=True)
class Ware:
    """A material as it is bought.

    Attributes
    ----------
    capacity : float
        What one unit (a roll, a sheet) holds.
    cost : float
        Price of one unit.
    order_cost : float
        What an order costs whatever its size: freight, work.
    minimum, multiple : int
        Fewest units in an order, and the step.
    lead_days, life_days : tuple of float
        What deliveries took, and how long they were good for when they came. An empty life means
        that it does not go off.
    remnant : float
        Less than this left of a unit is thrown away.
    contiguous : bool
        Whether each print or mount comes from one unit, as from a roll.
    price_breaks : tuple of PriceBreak
        Cheaper from so many on, fewest first.
    closed : tuple of (int, int)
        First and last days on which the supplier takes no order.
    warm_loss : float
        Days of life that warmth takes beyond the calendar, for each day in store, on average.
    unit, measure : str
        What one is called (roll, sheet), and what its content is measured in (m, or nothing).
    name : str
        What people call it; its code where it is empty.
    """

    code: str
    capacity: float
    cost: float
    order_cost: float
    minimum: int = 1
    multiple: int = 1
    lead_days: tuple[float, ...] = ()
    life_days: tuple[float, ...] = ()
    remnant: float = 0.0
    contiguous: bool = False
    price_breaks: tuple[PriceBreak, ...] = ()
    closed: tuple[tuple[int, int], ...] = ()
    warm_loss: float = 0.0
    unit: str = "unit"
    measure: str = ""
    name: str = ""

    @property
    def called(self) -> str:
        """What people call it: its name, or its code."""
        return self.name or self.code

    def price(self, units: int) -> float:
        """Return the price of one unit where so many are ordered."""
        found = self.cost
        for step in self.price_breaks:
            if units >= step.least:
                found = step.cost
        return found

    def legal(self, units: int) -> int:
        """Return the fewest units, at least so many, that an order may have.

        >>> Ware("a", 1, 1, 1, minimum=6, multiple=4).legal(7)
        8
        """
        step = max(1, self.multiple)
        return -(-max(units, self.minimum, 1) // step) * step

    def open_on(self, day: float) -> float:
        """Return the first day, from a day on, on which the supplier takes orders.

        >>> Ware("a", 1, 1, 1, closed=((10, 19), (20, 21))).open_on(12)
        22
        """
        for first, last in sorted(self.closed):
            if first <= day < last + 1:
                day = last + 1
        return day

    def open_before(self, day: int) -> int:
        """Return the last day, up to a day, on which the supplier takes orders.

        >>> Ware("a", 1, 1, 1, closed=((10, 19), (20, 21))).open_before(21)
        9
        """
        for first, last in sorted(self.closed, reverse=True):
            if first <= day <= last:
                day = first - 1
        return day


@dataclass(frozen=True, slots=True)
class Held:
    """One unit in stock: what is left of it, the first day on which it is off, and its lot.

    Without a lot nobody knows whether it is of one with another.
    """

    ware: str
    left: float
    off_on: float = float("inf")
    lot: str = ""


@dataclass(frozen=True, slots=True)
class OnOrder:
    """Units on their way: how many, ordered when; the day the supplier names, if one is known."""

    ware: str
    units: int
    placed: int
    expected: int | None = None


@dataclass(frozen=True, slots=True)
class Work:
    """A job that is known, as far as it is still to do.

    Attributes
    ----------
    due, start : int
        When it must be finished, and the first day on which it may be worked on.
    to_print, to_mount : int
        Pieces that wait for a good print, and pieces that hold one.
    area_m2 : float
        Of one piece.
    per_print, per_mount : mapping of str to float
        What each try takes of each material.
    known : int
        The day on which it became known.
    one_lot : bool
        Whether all its prints must come from one lot, as a series from one emulsion.
    mounted : bool
        Whether its pieces are mounted, and may be lost there.
    name : str
        What people call it; its code where it is empty.
    """

    code: str
    due: int
    start: int
    to_print: int
    to_mount: int
    area_m2: float
    per_print: Amounts
    per_mount: Amounts
    known: int = 0
    one_lot: bool = False
    mounted: bool = True
    name: str = ""


@dataclass(frozen=True, slots=True)
class Losses:
    """What was counted: area printed and prints lost, mounts that were good and those lost."""

    printed_m2: float = 0.0
    prints_lost: int = 0
    mounts_good: int = 0
    mounts_lost: int = 0


@dataclass(frozen=True, slots=True)
class State:
    """All that a plan of orders rests on, on one day.

    Attributes
    ----------
    wares : tuple of Ware
    stock : tuple of Held
    on_order : tuple of OnOrder
    work : tuple of Work
    history : tuple of Work
        Jobs of the past as they were when they became known; also those still open.
    history_days : float
        How long a time the history tells of.
    holding_rate : float
        A year's holding as a part of a thing's value.
    late_fixed, late_per_day : float
        What a late job costs, and each day of it.
    review_days : float
        When orders are looked at again.
    """

    day: int
    wares: tuple[Ware, ...]
    stock: tuple[Held, ...] = ()
    on_order: tuple[OnOrder, ...] = ()
    work: tuple[Work, ...] = ()
    losses: Losses = Losses()
    history: tuple[Work, ...] = ()
    history_days: float = 0.0
    holding_rate: float = HOLDING_RATE
    late_fixed: float = LATE_FIXED
    late_per_day: float = LATE_PER_DAY
    review_days: float = REVIEW_DAYS


@dataclass(frozen=True, slots=True)
class Buy:
    """So many units of a material, to be ordered today."""

    ware: str
    units: int


def apart(state: State) -> Iterator[tuple[Ware, State]]:
    """Return each material with what concerns it alone of a state: one pass over all rows.

    Yields
    ------
    (Ware, State)
        In the order of the state's materials.
    """
    stock: dict[str, list[Held]] = {}
    on_order: dict[str, list[OnOrder]] = {}
    work: dict[str, list[Work]] = {}
    history: dict[str, list[Work]] = {}
    for held in state.stock:
        stock.setdefault(held.ware, []).append(held)
    for order in state.on_order:
        on_order.setdefault(order.ware, []).append(order)
    for jobs, by_ware in ((state.work, work), (state.history, history)):
        for job in jobs:
            for code in {**job.per_print, **job.per_mount}:
                by_ware.setdefault(code, []).append(job)
    for ware in state.wares:
        yield (
            ware,
            replace(
                state,
                wares=(ware,),
                stock=tuple(stock.get(ware.code, ())),
                on_order=tuple(on_order.get(ware.code, ())),
                work=tuple(work.get(ware.code, ())),
                history=tuple(history.get(ware.code, ())),
            ),
        )
