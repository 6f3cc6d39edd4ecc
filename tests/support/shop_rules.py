"""Plain ways of ordering to measure the plan against: a rule of thumb, textbook, netting."""

from math import sqrt

import numpy as np

from stockroom.core.supply.learn import coming_of, lead_of, yields_of
from stockroom.core.supply.lines import SAFETY_FACTOR, reorder_point
from stockroom.core.supply.state import DAYS_PER_YEAR, Buy, State, Ware

A_MONTH = 30.0


def thumb(state: State) -> list[Buy]:
    """Order a month's use when less is there than a month's use and that of the lead time.

    Parameters
    ----------
    state : State

    Returns
    -------
    list of Buy
    """
    prints, mounts = yields_of(state.losses)
    found = []
    for ware in state.wares:
        coming = coming_of(state, ware.code)
        mean = coming.use(prints, mounts)[0] if coming is not None else 0.0
        if _there(state, ware) < mean * (lead_of(ware.lead_days).mean + A_MONTH):
            found.append(Buy(ware.code, ware.legal(round(mean * A_MONTH / ware.capacity))))
    return found


def economic_quantity(a_year: float, order_cost: float, holding_a_year: float) -> float:
    """Return Harris's economic order quantity: the root of 2 x use x order cost / holding.

    Parameters
    ----------
    a_year : float
        Use in a year.
    order_cost : float
        Of one order.
    holding_a_year : float
        Cost of holding one for a year, above 0.

    >>> round(economic_quantity(1300, 8, 0.225), 4)
    304.0468
    """
    return sqrt(2 * a_year * order_cost / holding_a_year)


def textbook(state: State) -> list[Buy]:
    """Order the economic quantity at the classical reorder point, from the history's mean use.

    The reorder point is mean use over lead time and review, and a safety stock of
    `SAFETY_FACTOR` standard deviations of it; the quantity is Harris's square root. Neither known
    work nor expiry is looked at.

    Parameters
    ----------
    state : State

    Returns
    -------
    list of Buy
    """
    prints, mounts = yields_of(state.losses)
    found = []
    for ware in state.wares:
        coming = coming_of(state, ware.code)
        if coming is None:
            continue
        mean, variance = coming.use(prints, mounts)
        lead = lead_of(ware.lead_days)
        if _there(state, ware) <= reorder_point(mean, variance, lead, state.review_days):
            found.append(Buy(ware.code, ware.legal(_economic_units(state, ware, mean))))
    return found


def netting(state: State) -> list[Buy]:
    """Subtract what known jobs need with their losses, and the mean of others, from what is there.

    Until the next order could come: lead time and review. Stock that goes off before counts for
    nothing; a safety stock of `SAFETY_FACTOR` standard deviations of the work that is not known
    yet is kept. The quantity is the economic one, or what is lacking where that is more.

    Parameters
    ----------
    state : State

    Returns
    -------
    list of Buy
    """
    prints, mounts = yields_of(state.losses)
    found = []
    for ware in state.wares:
        lead = lead_of(ware.lead_days)
        days = lead.mean + state.review_days
        usable = _there(state, ware, off_after=state.day + days)
        needed = 0.0
        for job in state.work:
            if job.start - state.day < days:
                mount_tries = (job.to_print + job.to_mount) / mounts.mean
                again = mount_tries - job.to_print - job.to_mount
                print_tries = (job.to_print + again) / prints.pass_probability(job.area_m2)
                needed += print_tries * job.per_print.get(ware.code, 0.0)
                needed += mount_tries * job.per_mount.get(ware.code, 0.0)
        coming = coming_of(state, ware.code)
        mean = 0.0
        if coming is not None:
            mean, variance = coming.use(prints, mounts)
            open_for = float((coming.weight * np.maximum(0.0, days - coming.notice)).sum())
            lead_spread = mean * lead.mean * lead.spread
            needed += mean * open_for
            needed += SAFETY_FACTOR * sqrt(variance * open_for + lead_spread**2)
        if needed > usable:
            lacking = -int(-(needed - usable) // ware.capacity)
            units = max(lacking, _economic_units(state, ware, mean))
            found.append(Buy(ware.code, ware.legal(units)))
    return found


def _economic_units(state: State, ware: Ware, per_day: float) -> int:
    a_year = per_day * DAYS_PER_YEAR / ware.capacity
    holding = max(1e-9, ware.cost * state.holding_rate)
    return max(1, round(economic_quantity(a_year, ware.order_cost, holding)))


def _there(state: State, ware: Ware, off_after: float | None = None) -> float:
    """Stock and what is on its way; without stock that is off by a day."""
    ordered = sum(order.units for order in state.on_order if order.ware == ware.code)
    held = sum(
        one.left
        for one in state.stock
        if one.ware == ware.code and (off_after is None or one.off_on > off_after)
    )
    return held + ordered * ware.capacity
