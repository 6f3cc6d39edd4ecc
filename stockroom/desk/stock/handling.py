"""Handling stock: move, open, re-bag, use, lose, discard, return, hold and release."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from stockroom import clock
from stockroom.core.records import MOST_PRINTS, Job, Lot, Material, Place, Unit
from stockroom.core.verdict import is_cold
from stockroom.core.wording import film_place_text
from stockroom.desk.lookup import find
from stockroom.desk.session import Decision, Desk, Done, decided
from stockroom.desk.stock.amounts import could_be_on_it
from stockroom.errors import BadValueError, RefusedError
from stockroom.text import safe
from stockroom.units import LONGEST_DMM, UNITS


def move(
    desk: Desk,
    units: Sequence[str],
    place: str,
    *,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Stand units at another place, from the time it happened.

    Film in the cold, or outside its band, is moved all the same, and that is said.
    """
    if not units:
        raise BadValueError("No unit was named.", try_="Scan or type at least one code.")

    def build(decision: Decision) -> dict[str, Any]:
        found = {unit.code: unit for unit in (find(decision.view, Unit, code) for code in units)}
        to = find(decision.view, Place, place)
        of_material: dict[str, list[str]] = {}
        for unit in found.values():
            material = find(decision.view, Lot, unit.lot).material
            of_material.setdefault(material, []).append(unit.code)
        for code, moved in of_material.items():
            decision.notes += film_notes(find(decision.view, Material, code), moved, to)
        return {"units": list(found), "place": to.code}

    request = {"units": list(units), "place": place}
    return desk.act("move", request, build, happened_s=happened_s, key=key)


def film_notes(material: Material, units: Sequence[str], place: Place) -> list[str]:
    """Return what must be said where film comes to stand in the cold, or outside its band."""
    if not material.traits.adhesive:
        return []
    set_to = place.set_point_centi_c
    temp_c = None if set_to is None else set_to / 100
    said = film_place_text(material, place.name, temp_c, cold=is_cold(place))
    return [f"{', '.join(units)}: {said}"] if said else []


@decided
def open_unit(
    desk: Desk, unit: str, *, happened_s: int | None = None, key: str | None = None
) -> Done:
    """Open a unit's bag or box; that it is still too cold for it is said, never refused.

    Raises
    ------
    RefusedError
        Where it is open already; an earlier opening, told late, is taken.
    """

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Unit, unit)
        since_s = found.reopened_s or found.opened_s
        late = since_s is not None and happened_s is not None and happened_s < since_s
        if found.is_open and not late:
            since = f", since {clock.moment_text(since_s, decision.zone)}" if since_s else ""
            raise RefusedError(
                f"{found.code} is open already{since}.",
                try_="Look at the code; where it was shut meanwhile, re-bag it first.",
            )
        return {"unit": found.code}

    done = desk.act("open", {"unit": unit}, build, happened_s=happened_s, key=key)
    whole = [
        f"All {touch.after.count} of {touch.key} count as opened; goods taken in one by one each "
        "have a day of their own."
        for touch in done.changes.touches
        if isinstance(touch.after, Unit) and touch.after.shape.counted and touch.after.count > 1
    ]
    return replace(done, notes=(*done.notes, *whole, *_too_soon_notes(desk, done)))


def _too_soon_notes(desk: Desk, done: Done) -> tuple[str, ...]:
    """What must be said of an opening that came too soon; nothing where it was safe."""
    from stockroom.desk.climate.pull_out import open_too_soon, rounded_up_s
    from stockroom.desk.climate.warming_text import opened_cold_text
    from stockroom.desk.reckoning import reckoned

    opened = [touch.after for touch in done.changes.touches if isinstance(touch.after, Unit)]
    if not opened:
        return ()
    with reckoned(desk) as reckoning:
        notes = []
        for unit in opened:
            warming = open_too_soon(reckoning, unit, done.occurred_s)
            if warming is not None:
                safe_s = None if warming.safe_s is None else rounded_up_s(warming.safe_s)
                notes.append(opened_cold_text(warming, safe_s, reckoning.now_s, desk.zone))
    return tuple(notes)


def rebag(desk: Desk, unit: str, *, happened_s: int | None = None, key: str | None = None) -> Done:
    """Put a unit back into its bag."""

    def build(decision: Decision) -> dict[str, Any]:
        return {"unit": find(decision.view, Unit, unit).code}

    return desk.act("rebag", {"unit": unit}, build, happened_s=happened_s, key=key)


def use(
    desk: Desk,
    unit: str,
    amount: int,
    *,
    job: str | None = None,
    good: int = 0,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Use an amount of a unit (dmm of a roll or length; a number of sheets or goods).

    Parameters
    ----------
    desk, unit
        Where, and of what.
    amount : int
        How much. More than the books hold is booked all the same, with what was found; but not
        more than can ever have been on it.
    job : str, optional
        For which job.
    good : int
        How many good prints of the job came of it.
    """
    return _draw(desk, "use", unit, amount, happened_s, key, job=job, good=good)


def lose(
    desk: Desk,
    unit: str,
    amount: int | None,
    cause: str,
    *,
    job: str | None = None,
    prints: int = 0,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Lose an amount of a unit, or all of it, to a cause."""
    return _draw(
        desk,
        "lose",
        unit,
        amount,
        happened_s,
        key,
        job=job,
        prints=prints,
        cause=safe(cause) or "other",
    )


def discard(
    desk: Desk,
    unit: str,
    amount: int | None = None,
    *,
    reason: str = "",
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Throw away an amount of a unit, or all of it."""
    return _draw(desk, "discard", unit, amount, happened_s, key, reason=reason)


def return_unit(
    desk: Desk,
    unit: str,
    amount: int | None = None,
    *,
    reason: str = "",
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Send an amount of a unit, or all of it, back to its supplier or owner."""
    return _draw(desk, "return", unit, amount, happened_s, key, reason=reason)


def hold(
    desk: Desk,
    said: str,
    why: str,
    *,
    batch: bool = False,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Keep a unit, or a whole batch, out of use."""
    why = safe(why)
    if not why:
        raise BadValueError("A hold needs a reason.", try_="Say why in a few words.")

    def build(decision: Decision) -> dict[str, Any]:
        return {**_unit_or_lot(decision, said, batch), "why": why}

    request = {"of": said, "batch": batch, "why": why}
    return desk.act("hold", request, build, reason=why, happened_s=happened_s, key=key)


def release(
    desk: Desk,
    said: str,
    *,
    batch: bool = False,
    reason: str = "",
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Let a unit, or a whole batch, be used again."""

    def build(decision: Decision) -> dict[str, Any]:
        if batch:
            lot, unit = find(decision.view, Lot, said), None
        else:
            unit = find(decision.view, Unit, said)
            lot = find(decision.view, Lot, unit.lot)
        if not (lot if unit is None else unit).held:
            raise RefusedError(
                f"{said} is not on hold{', but its batch is' if lot.held else ''}.",
                try_=f"Release the batch: stockroom release {lot.number} --batch."
                if lot.held
                else "",
            )
        return _unit_or_lot(decision, said, batch)

    request = {"of": said, "batch": batch}
    return desk.act("release", request, build, reason=reason, happened_s=happened_s, key=key)


def _unit_or_lot(decision: Decision, said: str, batch: bool) -> dict[str, str]:
    if batch:
        return {"lot": find(decision.view, Lot, said).code}
    return {"unit": find(decision.view, Unit, said).code}


def _draw(
    desk: Desk,
    kind: str,
    unit: str,
    amount: int | None,
    happened_s: int | None,
    key: str | None,
    *,
    reason: str = "",
    **more: Any,
) -> Done:
    if amount is not None:
        UNITS[""].check(amount, "Amount", least=1, most=LONGEST_DMM)
    UNITS[""].check(more.get("good", 0) + more.get("prints", 0), "Prints", most=MOST_PRINTS)

    def build(decision: Decision) -> dict[str, Any]:
        found = find(decision.view, Unit, unit)
        if amount is None and not found.amount:
            raise RefusedError(
                f"Nothing is left of {found.code}: it is {found.state}.",
                try_="Look at the code; if some is there after all, count it first.",
            )
        taken = found.amount if amount is None else amount
        could_be_on_it(decision, found, taken)
        payload = {"unit": found.code, "amount": taken, **more}
        if more.get("job"):
            job = find(decision.view, Job, more["job"])
            if job.build and more.get("good", 0) + more.get("prints", 0):
                raise RefusedError(
                    f"{job.name} is made after a build, and its prints are recorded one by one.",
                    "Only so is it known where each piece stands.",
                    f"Record it: stockroom print {job.code} --good, or --lost CAUSE.",
                )
            payload["job"] = job.code
        return payload

    request = {"unit": unit, "amount": amount, **more}
    return desk.act(kind, request, build, happened_s=happened_s, key=key, reason=reason)
