"""What would change: the coming months run many times on the store, and a last buy, in words."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from stockroom.core.climate.ageing import rate
from stockroom.core.constants import ACTIVATION_ENERGY, FLOOR_RATE
from stockroom.core.order_wording import amount_text
from stockroom.core.records import Material
from stockroom.core.supply.future import MOST_VOLUME, Change, Compared, compare
from stockroom.core.supply.last_buy import LastBuys, last_buys
from stockroom.core.supply.state import DAYS_PER_YEAR, LATE_FIXED, LATE_PER_DAY
from stockroom.core.verdict import is_cold
from stockroom.core.wording import percent
from stockroom.desk.lookup import find
from stockroom.desk.orders.plan import state_of_one
from stockroom.desk.orders.state import supply_state
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.errors import BadValueError, RefusedError
from stockroom.text import safe
from stockroom.units import count_of, money_text

DAYS, COURSES = 90, 12
"""Days that count, and courses that are run, where nobody says (our choice: some seconds)."""
MOST_DAYS, MOST_COURSES = 366, 200
LEAST_FACTOR, MOST_FACTOR = 0.1, 10.0
COLD_STORE_C = 5.0
"""Temperature of the cold store where its place names none, °C (our choice)."""
MOST_YEARS = 20.0
_FIGURES = (
    ("late", "late jobs cost"),
    ("expired", "gone off"),
    ("holding", "held"),
    ("ordering", "orders, less what price breaks save"),
    ("total", "all together"),
)


@dataclass(frozen=True, slots=True)
class ChangeSaid:
    """What is asked: factors, degrees, a supplier; as it is where nothing is said.

    Attributes
    ----------
    lead, minimum, volume, losses, care : float
        Factors on lead times, least orders, jobs that come, what is lost, and how much a late job
        counts when orders are placed.
    warmer_c : float
        Degrees by which the cold store is warmer (below 0: colder).
    lost_supplier : str
        Who no longer delivers.
    """

    lead: float = 1.0
    minimum: float = 1.0
    volume: float = 1.0
    losses: float = 1.0
    care: float = 1.0
    warmer_c: float = 0.0
    lost_supplier: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class WhatIf:
    """What was asked, what it means for the engine, and what came of it."""

    said: ChangeSaid
    change: Change
    compared: Compared
    currency: str
    today: date
    seed: int


def what_if(
    desk: Desk,
    said: ChangeSaid,
    *,
    days: int = DAYS,
    courses: int = COURSES,
    on: date | None = None,
    seed: int = 0,
) -> WhatIf:
    """Run the coming months on the store as things are and with a change.

    Parameters
    ----------
    days : int
        Days that count.
    courses : int
        How often they are run, on the same chances each.
    on : date, optional
        Reason as if it were this day.

    Raises
    ------
    BadValueError
        Where nothing is changed, or a figure cannot be.
    RefusedError
        Where no job takes any material yet.
    """
    _checked(said, days, courses)
    with reckoned(desk, on) as reckoning:
        today = on or desk.today()
        change = _change(reckoning, said)
        state = supply_state(reckoning, today)
    if not state.work and not any(row.per_print or row.per_mount for row in state.history):
        raise RefusedError(
            "Too few jobs take any material, so nothing can be run.",
            try_="Book jobs, or take in those of the past.",
        )
    return WhatIf(
        said, change, compare(state, change, days=days, courses=courses, seed=seed),
        desk.currency, today, seed,
    )  # fmt: skip


def _checked(said: ChangeSaid, days: int, courses: int) -> None:
    for name in ("lead", "minimum", "volume", "losses", "care"):
        value = getattr(said, name)
        most = MOST_VOLUME if name == "volume" else MOST_FACTOR
        least = 0.0 if name == "losses" else LEAST_FACTOR
        if not least <= value <= most:
            raise BadValueError(
                f"{name} {value:g} cannot be asked.",
                f"It is a factor from {least:g} to {most:g}; 1 is as things are.",
                "Type it like 1.5.",
            )
    if not -40 <= said.warmer_c <= 40:
        raise BadValueError(
            f"{said.warmer_c:g} °C warmer cannot be asked.", try_="Between -40 and 40."
        )
    if not 1 <= days <= MOST_DAYS or not 2 <= courses <= MOST_COURSES:
        raise BadValueError(
            f"{days} days in {courses} courses cannot be run.",
            f"From 1 to {MOST_DAYS} days, in 2 to {MOST_COURSES} courses.",
        )
    if replace(said, lost_supplier=said.lost_supplier.strip()) == ChangeSaid():
        raise BadValueError(
            "Nothing is changed.",
            "Two runs alike tell nothing.",
            "Name a change, like --lead 1.5 or --lost-supplier NAME.",
        )


def _change(reckoning: Reckoning, said: ChangeSaid) -> Change:
    change = Change(
        lead=said.lead, minimum=said.minimum, volume=said.volume, losses=said.losses, care=said.care
    )
    if said.warmer_c:
        cold = cold_store_c(reckoning)
        change = replace(
            change,
            life=life_factor(cold, cold + said.warmer_c),
            lives_of=frozenset(
                code for code, item in reckoning.materials.items() if item.traits.ages
            ),
        )  # fmt: skip
    wanted = said.lost_supplier.strip().casefold()
    if wanted:
        suppliers = {item.supplier for item in reckoning.materials.values()} - {""}
        exact = {name for name in suppliers if name.casefold() == wanted}
        begin = {name for name in suppliers if name.casefold().startswith(wanted)}
        meant = exact or (begin if len(begin) == 1 else set())
        lost = [code for code, item in reckoning.materials.items() if item.supplier in meant]
        if not lost:
            names = sorted({item.supplier for item in reckoning.materials.values()} - {""})
            raise BadValueError(
                f"No material comes from {safe(said.lost_supplier, length=40)!r}.",
                f"Suppliers are: {', '.join(map(safe, names)) or 'none written down'}.",
                "Name one of them.",
            )
        change = replace(change, lost=frozenset(lost))
    return change


def cold_store_c(reckoning: Reckoning) -> float:
    """Return the temperature of the cold store by its set-point, °C."""
    set_points = [
        place.set_point_centi_c / 100
        for place in reckoning.places.values()
        if is_cold(place) and place.set_point_centi_c is not None
    ]
    return max(set_points, default=COLD_STORE_C)


def life_factor(from_c: float, to_c: float) -> float:
    """Return how much longer paper lasts at another temperature, by the likely ageing rule.

    The rule has a floor: cold slows ageing, and never stops it.

    >>> life_factor(5.0, 5.0), life_factor(5.0, 10.0) < 1 < life_factor(5.0, -18.0)
    (1.0, True)
    """
    energy, floor = ACTIVATION_ENERGY.value, FLOOR_RATE.value
    return rate(from_c, from_c, energy, floor) / rate(to_c, from_c, energy, floor)


def what_if_texts(found: WhatIf) -> Iterator[str]:
    """Yield what a change comes to, in words."""
    one, currency = found.compared, found.currency
    yield (
        f"{_said_text(found.said)}; {one.days} days run {len(one.now)} times on the same chances, "
        "orders placed by the plan twice a week."
    )
    late = [one.late_share(changed=changed) for changed in (False, True)]
    jobs = sum(bill.jobs for bill in one.now) / len(one.now)
    yield (
        f"  Late jobs: {percent(late[0])} as things are, {percent(late[1])} with it "
        f"(of {jobs:.0f} jobs due)."
    )
    for name, called in _FIGURES:
        now, changed = (one.mean(name, changed=changed) for changed in (False, True))
        more, half = one.more(name)
        yield (
            f"  {called[:1].upper()}{called[1:]}: {_money(now, currency)} as things are, "
            f"{_money(changed, currency)} with it ({more:+.0f}, give or take {half:.0f})."
        )
    if found.change.life != 1.0:
        yield f"  Lives of paper change to {percent(found.change.life)} of what they are."
    yield (
        f"  Material that is used is not counted; a late job counts {LATE_FIXED:g} and "
        f"{LATE_PER_DAY:g} a day."
    )


def _said_text(said: ChangeSaid) -> str:
    parts = [
        f"{word} x {value:g}"
        for word, value in (
            ("lead times", said.lead), ("least orders", said.minimum), ("jobs", said.volume),
            ("losses", said.losses), ("care for late jobs", said.care),
        )
        if value != 1.0
    ]  # fmt: skip
    if said.warmer_c:
        parts.append(f"cold store {abs(said.warmer_c):g} °C "
                     f"{'warmer' if said.warmer_c > 0 else 'colder'}")  # fmt: skip
    if said.lost_supplier:
        parts.append(f"nothing more from {safe(said.lost_supplier)}")
    text = ", ".join(parts)
    return f"With {text}"


def _money(value: float, currency: str) -> str:
    return money_text(round(value * 100), currency)


def what_if_value(found: WhatIf) -> dict[str, Any]:
    """Return what a change comes to as plain data."""
    one = found.compared

    def side(changed: bool) -> dict[str, Any]:
        bills = one.changed if changed else one.now
        return {
            "late_share": one.late_share(changed=changed),
            "jobs": sum(bill.jobs for bill in bills),
            "late_jobs": sum(bill.late_jobs for bill in bills),
            **{name: one.mean(name, changed=changed) for name, _ in _FIGURES},
        }

    return {
        "day": found.today,
        "seed": found.seed,
        "days": one.days,
        "courses": len(one.now),
        "asked": _said_text(found.said),
        "life_factor": found.change.life,
        "as_it_is": side(False),
        "changed": side(True),
        "difference": {
            name: dict(zip(("mean", "half_width_95"), one.more(name), strict=True))
            for name, _ in _FIGURES
        },
    }


LAST_BUY = """
    material=material.code name=material.name years freezer_c life_factor=factor
    good_days=found.good_days wanted=found.wanted wanted_while_good=found.covered buys=found.buys
"""
"""A last buy as plain data."""


@dataclass(frozen=True, slots=True, eq=False)
class LastBuyAsked:
    """A material that is no longer made, and what to buy of it."""

    material: Material
    years: float
    freezer_c: float | None
    factor: float
    found: LastBuys
    currency: str


def last_buy(
    desk: Desk,
    material: str,
    *,
    years: float,
    freezer_c: float | None = None,
    on: date | None = None,
    seed: int = 0,
) -> LastBuyAsked:
    """Return how much to buy of a material for the last time.

    Parameters
    ----------
    years : float
        How long it is wanted.
    freezer_c : float, optional
        Temperature at which it is kept, °C; as what is there now, if left out.

    Raises
    ------
    BadValueError
        Where the years or the temperature cannot be, or it does not age with warmth.
    RefusedError
        Where no job takes it.
    """
    if not 0 < years <= MOST_YEARS:
        raise BadValueError(f"{years:g} years cannot be asked.", f"Up to {MOST_YEARS:g} can.")
    if freezer_c is not None and not -40 <= freezer_c <= 10:
        raise BadValueError(
            f"A freezer of {freezer_c:g} °C cannot be asked.", try_="Between -40 and 10."
        )
    with reckoned(desk, on) as reckoning:
        found = find(reckoning.view, Material, material)
        factor = 1.0
        if freezer_c is not None:
            if not found.traits.ages:
                raise BadValueError(
                    f"{found.name} goes by its date, not by warmth.",
                    "A freezer adds nothing to it that anybody could reckon.",
                    "Leave the freezer out.",
                )
            factor = life_factor(cold_store_c(reckoning), freezer_c)
        state = state_of_one(supply_state(reckoning, on or desk.today()), found.code)
    if not state.wares:
        raise RefusedError(
            f"No job takes {found.name}, so nothing tells how much is wanted.",
            try_="Book jobs with it, or take in those of the past.",
        )
    buys = last_buys(
        state, state.wares[0], days=round(years * DAYS_PER_YEAR), life_factor=factor, seed=seed
    )
    return LastBuyAsked(found, years, freezer_c, factor, buys, desk.currency)


def last_buy_texts(asked: LastBuyAsked) -> Iterator[str]:
    """Yield a last buy in words."""
    found, ware = asked.found, asked.found.ware
    kept = "" if asked.freezer_c is None else f", kept at {asked.freezer_c:g} °C"
    good = f"is good for {found.good_days / DAYS_PER_YEAR:.1f} years{kept}, in which "
    if found.good_days >= found.days:
        good = f"keeps as long as that{kept}: "
    yield (
        f"{ware.called}: {amount_text(found.wanted, ware.measure)} are wanted in {asked.years:g} "
        f"years beyond what is there and on its way; what is bought {good}"
        f"{amount_text(found.covered, ware.measure)} of it."
    )
    if asked.material.price_cents is None:
        yield (
            f"  Its price is not known: {ware.cost:.2f} is taken. Tell it: stockroom material "
            "change."
        )
    for buy in found.buys:
        units = count_of(buy.units, ware.unit)
        yield (
            f"  Enough with {percent(buy.level)}: {units}, {_money(buy.cost, asked.currency)} with "
            f"holding; {amount_text(buy.unused, ware.measure)} left over, "
            f"{amount_text(buy.lacking, ware.measure)} lacking on average."
        )
    if asked.freezer_c is not None:
        yield (
            f"  In the freezer it lasts {asked.factor:.1f} times as long by the likely ageing "
            "rule. Nobody vouches for paper past its printed date: run a strip before each use, "
            "and let a roll warm up in its bag."
        )
