"""What hindsight would have cost: orders by a dynamic programme that knows all, and a bound.

Both are yardsticks of a way of ordering, run on a `Course`; nothing here is of use without one.
"""

from bisect import bisect_left
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from math import inf

import numpy as np

from stockroom.core.supply.engine import Course, Policy, unhindered
from stockroom.core.supply.state import DAYS_PER_YEAR, Buy, State, Ware, Work

MOST_SIZES = 16
"""Sizes of an order that hindsight chooses from at most, from the minimum on (our choice)."""
_ROUNDING = 1e-9

Use = tuple[int, float]
Stack = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class _Reached:
    """A day on which a ware runs out: the cheapest way to it that was found."""

    cost: float
    at: int
    stock: Stack
    orders: tuple[tuple[int, int], ...]


def clairvoyant(course: Course) -> Policy:
    """Return the policy that knows the whole course beforehand.

    Its orders come from a dynamic programme for each ware over the days on which it runs out: of
    ways that run out on the same use the cheapest is kept. Each order is placed on the latest day
    from which it arrives in time.
    """
    shop = unhindered(course)
    uses: dict[str, list[Use]] = {ware.code: [] for ware in course.wares}
    for day, code, amount, _ in shop.uses:
        uses[code].append((day, amount))
    plan: dict[int, list[Buy]] = {}
    for ware in course.wares:
        for day, units in _Hindsight(course, ware, uses[ware.code]).orders():
            plan.setdefault(day, []).append(Buy(ware.code, units))

    def policy(state: State) -> list[Buy]:
        return plan.get(state.day, [])

    return policy


class _Hindsight:
    """The dynamic programme for one ware."""

    def __init__(self, course: Course, ware: Ware, uses: list[Use]) -> None:
        self.course, self.ware, self.uses = course, ware, uses
        self.unit_cost = ware.cost / ware.capacity
        self.holding = self.unit_cost * course.holding_rate / DAYS_PER_YEAR
        leads = course.lead_days[ware.code]
        self.placing = sorted(
            (day + leads[day], day) for day in range(course.days) if day % 7 in course.review_on
        )
        warm = course.warm if ware.code in course.ages_warm else {}
        self.warm = sorted(warm.items())

    def orders(self) -> tuple[tuple[int, int], ...]:
        """Return the days and units of the cheapest way."""
        held = [(one.left, one.off_on) for one in self.course.stock if one.ware == self.ware.code]
        stock = tuple(sorted(held, key=lambda unit: (unit[1], unit[0])))
        first = self._until_out(_Reached(0.0, 0, stock, ()), 0)
        best: _Reached | None = None
        queue = {first.at: first}
        while queue:
            at = min(queue)
            here = queue.pop(at)
            if at >= len(self.uses):
                if best is None or here.cost < best.cost:
                    best = here
                continue
            for after in self._after(here):
                known = queue.get(after.at)
                if known is None or after.cost < known.cost:
                    queue[after.at] = after
        return best.orders if best is not None else ()

    def _after(self, here: _Reached) -> list[_Reached]:
        """Return where each size of an order leads that arrives before the stock is out."""
        ware, out_on = self.ware, self.uses[here.at][0]
        index = bisect_left(self.placing, (out_on + 1, -1)) - 1
        if index < 0:
            index = 0
        arrives, placed = self.placing[index]
        life = self.course.life_days.get(ware.code)
        off_on = inf if not life else arrives + life[placed]
        off_on -= sum(taken for day, taken in self.warm if arrives < day <= out_on)
        waits = max(0, out_on - arrives)
        found = []
        units = ware.legal(1)
        for _ in range(MOST_SIZES):
            if ware.contiguous:
                new: Stack = tuple((ware.capacity, off_on) for _ in range(units))
            else:
                new = ((ware.capacity * units, off_on),)
            stock = tuple(sorted((*here.stock, *new), key=lambda unit: (unit[1], unit[0])))
            price = ware.price(units)
            cost = here.cost + self._counted(placed) * (
                ware.order_cost + units * (price - ware.cost)
            )
            cost += self._counted(arrives) * self.holding * ware.capacity * units * waits
            reached = _Reached(cost, here.at, stock, (*here.orders, (placed, units)))
            after = self._until_out(reached, max(arrives, out_on))
            if after.at > here.at:
                found.append(after)
            if after.at >= len(self.uses):
                break
            units += max(1, ware.multiple)
        return found

    def _counted(self, day: int) -> bool:
        return self.course.counted_from <= day < self.course.counted_to

    def _until_out(self, begin: _Reached, day: int) -> _Reached:
        """Use the stock as the workshop does, until a use finds nothing; with what that costs."""
        ware, cost = self.ware, begin.cost
        units = [list(unit) for unit in begin.stock]
        left = sum(unit[0] for unit in units)
        warm = [one for one in self.warm if one[0] > day]
        at = begin.at
        while at < len(self.uses):
            use_day, amount = self.uses[at]
            use_day = max(use_day, day)
            while day < use_day:
                cost += self._counted(day) * self.holding * left
                day += 1
                if warm and warm[0][0] == day:
                    for unit in units:
                        unit[1] -= warm[0][1]
                    warm.pop(0)
                while units and units[0][1] <= day:
                    gone = units.pop(0)[0]
                    cost += self._counted(day) * self.unit_cost * gone
                    left -= gone
            lacking = amount
            if ware.contiguous:
                fit = [one for one in units if one[0] >= amount - _ROUNDING]
                if not fit:
                    break
                fit[0][0] -= amount
                if fit[0][0] < max(ware.remnant, _ROUNDING):
                    units.remove(fit[0])
                    cost += self._counted(day) * self.unit_cost * fit[0][0]
                    left -= fit[0][0]
            else:
                if left < amount - _ROUNDING:
                    break
                while lacking > _ROUNDING:
                    taken = min(lacking, units[0][0])
                    units[0][0] -= taken
                    lacking -= taken
                    if units[0][0] <= _ROUNDING:
                        units.pop(0)
            left -= amount
            at += 1
        return _Reached(cost, at, tuple((unit[0], unit[1]) for unit in units), begin.orders)


def lower_bound(course: Course, endless: Mapping[str, int]) -> float:
    """Return a cost that no way of ordering can be under on a course.

    For each ware alone: orders arrive on any day, of any size, nothing goes off or is thrown
    away; each use is either held for, from an order before it, or waits for the next. Waiting is
    free up to the job's slack; then the job costs what its being late costs, of which each ware,
    and of each ware each use, bears an equal part. What the first stock covers costs nothing
    (Wagner and Whitin 1958, with waiting).

    Parameters
    ----------
    course : Course
    endless : mapping of str to int
        As `engine.endless_finish` returns it.
    """
    shop = unhindered(course)
    return sum(
        _ware_bound(course, ware, [use for use in shop.uses if use[1] == ware.code], endless)
        for ware in course.wares
    )


def _ware_bound(
    course: Course, ware: Ware, uses: list[tuple[int, str, float, str]], endless: Mapping[str, int]
) -> float:
    there = sum(one.left for one in course.stock if one.ware == ware.code)
    waiting = []
    for use in uses:
        if there >= use[2]:
            there -= use[2]
        elif course.counted_from <= use[0] < course.counted_to:
            waiting.append(use)
    if not waiting:
        return 0.0
    jobs = {job.code: job for job in course.jobs}
    often = Counter(use[3] for use in waiting)
    days = np.array([use[0] for use in waiting], float)
    held = np.array([use[2] for use in waiting]) * (
        ware.cost / ware.capacity * course.holding_rate / DAYS_PER_YEAR
    )
    done = np.array([max(jobs[use[3]].due, endless.get(use[3], 0)) - use[0] for use in waiting])
    slack = np.maximum(0, done)
    part = np.array([_part(course, jobs[use[3]], often[use[3]]) for use in waiting])
    free_until = max(
        [day + course.lead_days[ware.code][day] for day in range(course.counted_from)], default=-1
    )
    number = len(waiting)
    least = np.full(number + 1, inf)
    least[0] = 0.0
    with_order = np.full(number, inf)
    for at in range(number + 1):
        if at:
            # Served up to here by the order that arrives on the day of use j: held from then on.
            first = np.arange(at)
            since = np.maximum(0.0, days[at - 1] - days[:at]) * held[at - 1]
            with_order[:at] += since
            least[at] = with_order[first].min()
        if at < number:
            late = days[at] - days[:at] - slack[:at]
            cost = np.where(late > 0, course.late_fixed + course.late_per_day * late, 0.0)
            waited = np.concatenate([np.cumsum((cost * part[:at])[::-1])[::-1], [0.0]])
            fixed = 0.0 if days[at] <= free_until else ware.order_cost
            with_order[at] = (least[: at + 1] + waited).min() + fixed
    return float(least[number])


def _part(course: Course, job: Work, times: int) -> float:
    """What part of a job's lateness one use of one ware bears."""
    counted = course.counted_from <= job.due < course.counted_to
    return counted / (len(job.per_print) + len(job.per_mount)) / times
