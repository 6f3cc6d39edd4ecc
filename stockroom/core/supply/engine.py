"""A workshop run day by day: jobs printed and mounted, stock used up, expired, ordered.

All that is left to chance stands in the `Course` beforehand, so that every way of ordering meets
the same jobs, losses, deliveries and warm spells (common random numbers).
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from math import inf

from stockroom.core.supply.state import (
    DAYS_PER_YEAR,
    HOLDING_RATE,
    LATE_FIXED,
    LATE_PER_DAY,
    Amounts,
    Buy,
    Held,
    Losses,
    OnOrder,
    State,
    Ware,
    Work,
)

Policy = Callable[[State], Sequence[Buy]]
"""What is ordered today, from what is known today."""

_ROUNDING = 1e-9


@dataclass(frozen=True, slots=True)
class Attempts:
    """What befalls each piece of a job, drawn beforehand: which of its tries come out good.

    Attributes
    ----------
    prints, mounts : tuple of int
        A piece each: bit n is set where its try number n is good.
    """

    prints: tuple[int, ...]
    mounts: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Course:
    """All that befalls a workshop, whatever is ordered.

    Attributes
    ----------
    wares : tuple of Ware
        With their deliveries before day 0.
    days : int
        The course runs from day 0 to the day before this one.
    counted_from, counted_to : int
        Costs of these days, and jobs due on them, count; the last one does not.
    jobs : tuple of Work
        In the order in which they become known; those known before day 0 are history, and open on
        day 0 where they start then or later.
    attempts : mapping of str to Attempts
        By job.
    lead_days, life_days : mapping of str to tuple
        By ware, of an order placed on each day; no life where a ware does not go off.
    warm : mapping of int to float
        Days on which warmth takes so many days of life from stock that ages with warmth.
    ages_warm : frozenset of str
        These wares.
    stock : tuple of Held
        On day 0.
    losses : Losses
        Counted before day 0.
    history_days : float
        How long before day 0 history begins.
    history_warm : float
        Days of life that warmth took before day 0.
    review_on : tuple of int
        Days of the week, 0 to 6, on which orders are looked at.
    coming : tuple of (int, OnOrder)
        What is on its way on day 0, and the day on which each comes.
    """

    wares: tuple[Ware, ...]
    days: int
    counted_from: int
    counted_to: int
    jobs: tuple[Work, ...]
    attempts: Mapping[str, Attempts]
    lead_days: Mapping[str, tuple[int, ...]]
    life_days: Mapping[str, tuple[float, ...]]
    warm: Mapping[int, float]
    ages_warm: frozenset[str]
    stock: tuple[Held, ...]
    losses: Losses = field(default_factory=Losses)
    history_days: float = 0.0
    history_warm: float = 0.0
    holding_rate: float = HOLDING_RATE
    late_fixed: float = LATE_FIXED
    late_per_day: float = LATE_PER_DAY
    review_on: tuple[int, ...] = (0, 3)
    coming: tuple[tuple[int, OnOrder], ...] = ()


@dataclass(slots=True)
class WareBill:
    """What one ware cost: orders, value held over time, gone off, thrown away as remnants."""

    ordering: float = 0.0
    holding: float = 0.0
    expired: float = 0.0
    scrapped: float = 0.0

    @property
    def total(self) -> float:
        """All of it together."""
        return self.ordering + self.holding + self.expired + self.scrapped


@dataclass(slots=True)
class Bill:
    """What a course cost while it counted, without the material that was used.

    Attributes
    ----------
    wares : mapping of str to WareBill
    late : float
        What late jobs cost.
    jobs, late_jobs : int
        Jobs that were due, and those finished later than with endless material.
    """

    wares: dict[str, WareBill]
    late: float = 0.0
    jobs: int = 0
    late_jobs: int = 0

    @property
    def ordering(self) -> float:
        """Orders placed."""
        return sum(ware.ordering for ware in self.wares.values())

    @property
    def holding(self) -> float:
        """Value held over time."""
        return sum(ware.holding for ware in self.wares.values())

    @property
    def expired(self) -> float:
        """What went off."""
        return sum(ware.expired for ware in self.wares.values())

    @property
    def scrapped(self) -> float:
        """Remnants thrown away."""
        return sum(ware.scrapped for ware in self.wares.values())

    @property
    def total(self) -> float:
        """All of it together."""
        return self.late + sum(ware.total for ware in self.wares.values())


@dataclass(slots=True)
class StockItem:
    """A roll, or a stack of sheets of one delivery."""

    left: float
    off_on: float


@dataclass(slots=True)
class PieceInWork:
    """One piece of a job: its number, how often it was printed and mounted, if it is printed."""

    number: int
    prints: int = 0
    mounts: int = 0
    printed: bool = False


@dataclass(slots=True)
class Open:
    """A job in work, with the pieces that are still to finish."""

    job: Work
    pieces: list[PieceInWork] = field(default_factory=list)


class Workshop:
    """A course as it is lived through.

    Parameters
    ----------
    endless : frozenset of str
        Wares that never run out: with all of them, how late the jobs' own losses alone make them.

    Attributes
    ----------
    stock : mapping of str to list of StockItem
        Soonest off first.
    finished : mapping of str to int
        By job, the day on which its last piece was mounted.
    uses : list of (int, str, float, str)
        What was taken: day, ware, amount, job.
    waits : list of (int, str, str)
        What a piece waited for: day, ware, job.
    """

    def __init__(self, course: Course, *, endless: frozenset[str] = frozenset()) -> None:
        self.course = course
        self.endless = endless
        self.day = 0
        self.wares = {ware.code: ware for ware in course.wares}
        self.stock: dict[str, list[StockItem]] = {code: [] for code in self.wares}
        for held in course.stock:
            self._put(held.ware, StockItem(held.left, held.off_on))
        self.on_order: list[tuple[int, OnOrder]] = list(course.coming)
        self.known = 0
        self.open: list[Open] = []
        self.finished: dict[str, int] = {}
        self.losses = course.losses
        self.leads = {ware.code: list(ware.lead_days) for ware in course.wares}
        self.lives = {ware.code: list(ware.life_days) for ware in course.wares}
        self.bill = Bill({code: WareBill() for code in self.wares})
        self.uses: list[tuple[int, str, float, str]] = []
        self.waits: list[tuple[int, str, str]] = []

    def copy(self, endless: frozenset[str] | None = None) -> "Workshop":
        """Return the same workshop, to be lived on apart, with other endless wares if told."""
        other = Workshop(self.course, endless=self.endless if endless is None else endless)
        other.day, other.known, other.losses = self.day, self.known, self.losses
        other.stock = {
            code: [StockItem(unit.left, unit.off_on) for unit in units]
            for code, units in self.stock.items()
        }
        other.on_order = list(self.on_order)
        other.open = [
            Open(
                one.job, [PieceInWork(p.number, p.prints, p.mounts, p.printed) for p in one.pieces]
            )
            for one in self.open
        ]
        other.finished = dict(self.finished)
        other.leads = {code: list(days) for code, days in self.leads.items()}
        other.lives = {code: list(days) for code, days in self.lives.items()}
        other.bill = replace(
            self.bill, wares={code: replace(bill) for code, bill in self.bill.wares.items()}
        )
        return other

    def run(self, policy: Policy | None = None, until: int | None = None) -> None:
        """Live on to a day (the course's end), ordering as a policy says."""
        end = self.course.days if until is None else until
        while self.day < end:
            self.begin_day()
            if policy is not None and self.day % 7 in self.course.review_on:
                for buy in policy(self.state()):
                    self.place(buy)
            self.work_day()

    def begin_day(self) -> None:
        """Let jobs become known, deliveries arrive, warmth and age take their part."""
        jobs, day, course = self.course.jobs, self.day, self.course
        fresh = False
        while self.known < len(jobs) and jobs[self.known].known <= day:
            job = jobs[self.known]
            self.known += 1
            if job.start >= 0:
                pieces = [PieceInWork(number) for number in range(job.to_print)]
                held = range(job.to_print, job.to_print + job.to_mount)
                pieces += [PieceInWork(number, printed=True) for number in held]
                self.open.append(Open(job, pieces))
                fresh = True
        if fresh:
            self.open.sort(key=lambda one: (one.job.due, one.job.code))
        for item in [item for item in self.on_order if item[0] <= day]:
            self.on_order.remove(item)
            self._arrive(item[1])
        taken = course.warm.get(day, 0.0)
        for code, units in self.stock.items():
            if taken and code in course.ages_warm:
                for unit in units:
                    unit.off_on -= taken
            while units and units[0].off_on <= day:
                unit = units.pop(0)
                if self.counts:
                    self.bill.wares[code].expired += self.value(code, unit.left)

    @property
    def counts(self) -> bool:
        """Whether today's costs count."""
        return self.course.counted_from <= self.day < self.course.counted_to

    def value(self, code: str, amount: float) -> float:
        """Return what an amount of a ware cost."""
        ware = self.wares[code]
        return ware.cost * amount / ware.capacity

    def _put(self, code: str, unit: StockItem) -> None:
        units = self.stock[code]
        units.append(unit)
        units.sort(key=lambda one: (one.off_on, one.left))

    def _arrive(self, order: OnOrder) -> None:
        ware, day = self.wares[order.ware], self.day
        life = self.course.life_days.get(ware.code)
        off_on = inf
        if life:
            drawn = life[max(0, order.placed)]
            off_on = day + drawn
            self.lives[ware.code].append(drawn)
        self.leads[ware.code].append(float(day - order.placed))
        if ware.contiguous:
            for _ in range(order.units):
                self._put(ware.code, StockItem(ware.capacity, off_on))
        else:
            self._put(ware.code, StockItem(ware.capacity * order.units, off_on))

    def state(self) -> State:
        """Return what is known this morning."""
        course = self.course
        taken = course.history_warm + sum(
            lost for day, lost in course.warm.items() if day <= self.day
        )
        warm_loss = taken / (course.history_days + self.day + 1)
        work = []
        for one in self.open:
            held = sum(piece.printed for piece in one.pieces)
            work.append(replace(one.job, to_print=len(one.pieces) - held, to_mount=held))
        return State(
            day=self.day,
            wares=tuple(
                replace(
                    ware,
                    lead_days=tuple(self.leads[ware.code]),
                    life_days=tuple(self.lives[ware.code]),
                    warm_loss=warm_loss if ware.code in course.ages_warm else 0.0,
                )
                for ware in course.wares
            ),
            stock=tuple(
                Held(code, unit.left, unit.off_on)
                for code, units in self.stock.items()
                for unit in units
            ),
            on_order=tuple(order for _, order in self.on_order),
            work=tuple(work),
            losses=self.losses,
            history=course.jobs[: self.known],
            history_days=course.history_days + self.day,
            holding_rate=course.holding_rate,
            late_fixed=course.late_fixed,
            late_per_day=course.late_per_day,
            review_days=7 / len(course.review_on),
        )

    def place(self, buy: Buy) -> None:
        """Order so many units, or the fewest above that the supplier sells."""
        ware = self.wares[buy.ware]
        units = ware.legal(buy.units)
        arrives = self.day + self.course.lead_days[ware.code][self.day]
        self.on_order.append((arrives, OnOrder(ware.code, units, self.day)))
        if self.counts:
            bill = self.bill.wares[ware.code]
            bill.ordering += ware.order_cost + units * (ware.price(units) - ware.cost)

    def work_day(self) -> None:
        """Print or mount each piece that can be, once a day; then the day ends."""
        for one in list(self.open):
            if one.job.start > self.day:
                continue
            for piece in one.pieces:
                self._try(one.job, piece)
            one.pieces = [piece for piece in one.pieces if piece.mounts >= 0]
            if not one.pieces:
                self.open.remove(one)
                self.finished[one.job.code] = self.day
        if self.counts:
            a_day = self.course.holding_rate / DAYS_PER_YEAR
            for code, units in self.stock.items():
                left = sum(unit.left for unit in units)
                self.bill.wares[code].holding += self.value(code, left) * a_day
        self.day += 1

    def _try(self, job: Work, piece: PieceInWork) -> None:
        attempts, losses = self.course.attempts[job.code], self.losses
        if not piece.printed:
            if not self._take(job.per_print, job.code):
                return
            good = bool(attempts.prints[piece.number] >> piece.prints & 1)
            piece.prints += 1
            piece.printed = good
            self.losses = replace(
                losses,
                printed_m2=losses.printed_m2 + job.area_m2,
                prints_lost=losses.prints_lost + (not good),
            )
            return
        if not self._take(job.per_mount, job.code):
            return
        good = bool(attempts.mounts[piece.number] >> piece.mounts & 1)
        self.losses = replace(
            losses,
            mounts_good=losses.mounts_good + good,
            mounts_lost=losses.mounts_lost + (not good),
        )
        piece.printed = False
        piece.mounts = -1 if good else piece.mounts + 1

    def _take(self, amounts: Amounts, job: str) -> bool:
        """Take what one try needs, all of it or nothing."""
        mine = [(code, amount) for code, amount in amounts.items() if code not in self.endless]
        lacking = [code for code, amount in mine if not self._there(code, amount)]
        if lacking:
            self.waits += [(self.day, code, job) for code in lacking]
            return False
        for code, amount in mine:
            self._use(code, amount)
        self.uses += [(self.day, code, amount, job) for code, amount in amounts.items()]
        return True

    def _there(self, code: str, amount: float) -> bool:
        units = self.stock[code]
        if self.wares[code].contiguous:
            return any(unit.left >= amount - _ROUNDING for unit in units)
        return sum(unit.left for unit in units) >= amount - _ROUNDING

    def _use(self, code: str, amount: float) -> None:
        """Take from what is off soonest; a remnant that is too short is thrown away."""
        ware, units = self.wares[code], self.stock[code]
        for unit in list(units):
            if ware.contiguous and unit.left < amount - _ROUNDING:
                continue
            taken = min(amount, unit.left)
            unit.left -= taken
            amount -= taken
            if unit.left < max(ware.remnant, _ROUNDING):
                units.remove(unit)
                if self.counts:
                    self.bill.wares[code].scrapped += self.value(code, unit.left)
            if amount <= _ROUNDING:
                return


def unhindered(course: Course) -> Workshop:
    """Return the workshop at the end of a course with endless material."""
    shop = Workshop(course, endless=frozenset(ware.code for ware in course.wares))
    shop.run()
    return shop


def endless_finish(course: Course) -> dict[str, int]:
    """Return by job the day on which it would be finished with endless material."""
    return unhindered(course).finished


def lived(course: Course, policy: Policy, endless: Mapping[str, int]) -> tuple[Bill, Workshop]:
    """Return what a course costs with a way of ordering, and the workshop at its end.

    Parameters
    ----------
    policy : callable
    endless : mapping of str to int
        As `endless_finish` returns it. A job is late where it is finished after its due day and
        after this day; one that is not finished counts as finished when the course ends.
    """
    shop = Workshop(course)
    shop.run(policy)
    for job in course.jobs:
        if not course.counted_from <= job.due < course.counted_to or job.start < 0:
            continue
        shop.bill.jobs += 1
        done = shop.finished.get(job.code, course.days)
        late = done - max(job.due, endless.get(job.code, course.days))
        if late > 0:
            shop.bill.late_jobs += 1
            shop.bill.late += course.late_fixed + course.late_per_day * late
    return shop.bill, shop
