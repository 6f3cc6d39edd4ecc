"""Paper whites as they are measured: patches written down, and a word on one."""

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import sqlalchemy as sa

from stockroom.core.act_wording import patch_cautions
from stockroom.core.constants import WHITE_REACH
from stockroom.core.patches import QUANTITIES, Quantity, by_time, is_code
from stockroom.core.records import Backing, Measuring, Patch, Unit
from stockroom.core.records.asked import check_fields
from stockroom.desk.lookup import find, material_of
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Decision, Desk, Done, not_before_it_came
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.mapping import table_of
from stockroom.store.view import StoreView
from stockroom.text import safe
from stockroom.units import UNITS, days_text, number

Typed = Decimal | float
Colour = tuple[Decimal | None, Decimal | None, Decimal | None]
"""L*, a*, b* as typed: all three, b* alone, or none."""
LIMITS: dict[str, tuple[str, str, str]] = {
    "l": ("L*", "0", "105"),
    "a": ("a*", "-60", "60"),
    "b": ("b*", "-60", "60"),
    "density": ("density", "-0.2", "4"),
}
"""What a patch or control can measure (our choice: any paper and any fault of it lies within)."""
MOST_SPOTS = 100
"""Most places averaged to one patch (our choice)."""
_PATCH = table_of(Patch)


def note_patch(
    desk: Desk,
    unit: str,
    *,
    l: Typed | None = None,  # noqa: E741 - as the standard names it
    a: Typed | None = None,
    b: Typed | None = None,
    density: Typed | None = None,
    instrument: str,
    measuring: Measuring,
    backing: Backing,
    spots: int = 1,
    control: str | None = None,
    control_l: Typed | None = None,
    control_a: Typed | None = None,
    control_b: Typed | None = None,
    control_density: Typed | None = None,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Write down a processed, unexposed patch of a roll of paper, as it was measured.

    Parameters
    ----------
    desk, unit
        Where, and of which roll.
    l, a, b, density : Decimal or float, optional
        CIELAB, and blue density; b* or density at least. Kept in thousandths.
    instrument : str
        What it was measured with. It is spelled as one that was used before, where only capitals
        differ, since patches of another instrument are never compared.
    measuring : str
        One of `MEASURING`.
    backing : str
        One of `BACKINGS`.
    spots : int
        Places that were averaged.
    control : str, optional
        What was measured beside it in the same run: another roll's code, or a strip's own name.
    control_l, control_a, control_b, control_density : Decimal or float, optional
        The same of the control.

    Raises
    ------
    RefusedError
        Where it is no roll of paper, or the control is that roll itself or no roll of paper.
    BadValueError
        Where nothing, or something that cannot be, was measured; where patch and control cannot
        be compared.
    """
    own = _thousandths("patch", l, a, b, density)
    others = _thousandths("control", control_l, control_a, control_b, control_density)
    named = safe(control or "", length=60)
    lacking = _lacking(own, others, named)
    by = safe(instrument or "", length=60)
    if not by:
        raise BadValueError(
            "What was it measured with?",
            "Patches are compared only where the instrument is the same.",
            "Name the instrument.",
        )
    check_fields(Patch, {"measuring": measuring, "backing": backing})
    if not 1 <= spots <= MOST_SPOTS:
        raise BadValueError(f"Between 1 and {MOST_SPOTS} spots can be averaged.")
    measured = {
        **{f"{name}_milli": value for name, value in own.items()},
        **{f"control_{name}_milli": value for name, value in others.items()},
        "measuring": measuring,
        "backing": backing,
        "spots": spots,
    }

    def build(decision: Decision) -> dict[str, Any]:
        roll = paper_roll(decision.view, unit)
        return {
            **measured,
            "code": decision.head.born(),
            "unit": roll.code,
            "instrument": _spelled(decision.view, "instrument", by),
            "control": _control(decision, roll, named, happened_s),
        }

    request = {"unit": unit, "instrument": by, "control": named, **measured}
    done = desk.act("patch", request, build, happened_s=happened_s, key=key)
    said = patch_cautions(control=bool(named), measuring=measuring, lacking=lacking)
    return replace(done, notes=(*done.notes, *said))


def trust_white(desk: Desk, unit: str, why: str, *, most_days: int, key: str | None = None) -> Done:
    """Let a roll count on its measured white beyond its label, on a person's word.

    Parameters
    ----------
    desk, unit
        Where, and which roll of paper.
    why : str
        Why, in a few words.
    most_days : int
        The whole life that counts by this word, days at the label's condition: no more than its
        white shows now (`shown_life`).

    Raises
    ------
    RefusedError
        Where it is no roll of paper, or its white does not show so much.
    BadValueError
        Where no reason is given, or the life cannot be.
    """
    reason = safe(why)
    if not reason:
        raise BadValueError("A word on a white needs a reason.", try_="Say why in a few words.")
    UNITS["days"].check(most_days, "Life", least=1)

    def build(decision: Decision) -> dict[str, Any]:
        roll = paper_roll(decision.view, unit)
        _, shown_days = shown_life(desk, roll.code)
        if most_days > shown_days:
            raise RefusedError(
                f"The white of {roll.code} shows no {most_days} days of life.",
                f"It shows {shown_days} days now.",
                "Give your word on what it shows, or measure again.",
            )
        return {
            "code": decision.head.born(),
            "unit": roll.code,
            "most_days": most_days,
            "why": reason,
        }

    request = {"unit": unit, "most_days": most_days, "why": reason}
    return desk.act("white word", request, build, reason=reason, key=key)


def shown_life(desk: Desk, said: str) -> tuple[Unit, int]:
    """Return a roll, and the whole life its white shows, days, on which a word may be given.

    That is its likely life, but no more than half as much again as the age at its last patch.

    Raises
    ------
    RefusedError
        Where its white does not show more life than its label, or its last patch is in doubt.
    """
    with reckoned(desk) as reckoning:
        unit = paper_roll(reckoning.view, said)
        found = reckoning.whites.of(unit)
        if found is None or not found.life.tells:
            raise RefusedError(
                f"Too little of the white of {unit.code} was measured.",
                "A word stands on measured patches.",
                "Measure a patch and a control of the same run.",
            )
        if found.standing is not None and found.standing.judgement in ("act", "ask"):
            raise RefusedError(
                f"The last patch of {unit.code} speaks against it.",
                "A word cannot go against what was measured last.",
                "Run a strip, or measure again.",
            )
        if found.life.median_days <= found.label_days:
            raise RefusedError(
                f"The white of {unit.code} shows no more life than its label.",
                "There is nothing to give a word on.",
            )
        most_days = found.word_days()
        if most_days <= found.label_days:
            raise RefusedError(
                f"The white of {unit.code} was not measured long enough.",
                f"A word carries to {days_text(most_days)}, {WHITE_REACH.value:g} times the age at "
                f"its last patch; its label gives {days_text(found.label_days)}.",
                "Measure it again when it is older.",
            )
        return unit, most_days


def colour_of(text: str) -> Colour:
    """Return L*, a*, b* from three typed numbers; one number alone is b*, and no text is none.

    Raises
    ------
    BadValueError
        Where it is none of these.

    >>> colour_of("94.1 -0.3 -2.15")
    (Decimal('94.1'), Decimal('-0.3'), Decimal('-2.15'))
    >>> colour_of("94,1; -0,3; -2,15") == colour_of("94.1, -0.3, -2.15")
    True
    >>> colour_of("-2,15")
    (None, None, Decimal('-2.15'))
    """
    spaced = text.replace(";", " ").replace("\u2212", "-")
    parts = re.sub(r",(?=\s|$)", " ", spaced).split()
    if not parts:
        return None, None, None
    if len(parts) not in (1, 3):
        raise BadValueError(
            f"{safe(text, length=40)!r} is no colour.",
            "L*, a* and b* are wanted, or b* alone.",
            "Type it like 94.1 -0.3 -2.15, or -2.15.",
        )
    values = [number(part, "a number of L* a* b*") for part in parts]
    return (None, None, values[0]) if len(values) == 1 else (values[0], values[1], values[2])


def density_of(text: str) -> Decimal | None:
    """Return a typed density; None where nothing is typed."""
    return number(text, "a density") if text.strip() else None


def patches_of(reckoning: Reckoning, unit: Unit) -> list[Patch]:
    """Return a roll's patches in order of time."""
    return reckoning.whites.patches(unit)


def patches_of_emulsion(reckoning: Reckoning, unit: Unit) -> list[Patch]:
    """Return the patches of all rolls of a roll's emulsion, in order of time."""
    found = [
        patch
        for patch in reckoning.records.all(Patch)
        if (other := reckoning.unit(patch.unit)) is not None and other.lot == unit.lot
    ]
    return sorted(found, key=by_time)


@dataclass(frozen=True, slots=True)
class Usual:
    """How a patch was measured the last time: what a form begins with."""

    instrument: str = ""
    measuring: Measuring = "unknown"
    backing: Backing = "white"
    spots: int = 1
    control: str = ""
    quantity: Quantity = "b"


def usual_patch(reckoning: Reckoning, unit: Unit) -> Usual:
    """Return how this roll was measured last, else one of its emulsion, else any roll.

    A control that is this roll itself, or a roll that is gone, is left out.
    """
    patches = sorted(reckoning.records.all(Patch), key=by_time)
    of_roll = [patch for patch in patches if patch.unit == unit.code]
    last = (of_roll or patches_of_emulsion(reckoning, unit) or patches)[-1:]
    if not last:
        return Usual()
    (patch,) = last
    other = reckoning.unit(patch.control or "")
    gone = other is not None and other.state != "in stock"
    return Usual(
        patch.instrument,
        patch.measuring,
        patch.backing,
        patch.spots,
        "" if patch.control in (None, unit.code) or gone else patch.control,
        "density" if patch.b_milli is None else "b",
    )


def _thousandths(whose: str, *values: Typed | None) -> dict[str, int | None]:
    """Measured values by name, in thousandths, or raise where one cannot be."""
    found: dict[str, int | None] = {}
    for (field, (name, low, high)), value in zip(LIMITS.items(), values, strict=True):
        exact = None if value is None else Decimal(str(value))
        if exact is not None and not (exact.is_finite() and Decimal(low) <= exact <= Decimal(high)):
            raise BadValueError(
                f"The {whose} cannot have {name} {safe(value, length=30)}.",
                f"The {name} of a paper white lies between {low} and {high}.",
                "Look at the decimal point, and at what was measured.",
            )
        found[field] = None if exact is None else round(exact * 1_000)
    return found


def _lacking(
    own: dict[str, int | None], others: dict[str, int | None], named: str
) -> tuple[str, ...]:
    """What of a patch its control lacks, or raise where the two cannot be compared."""
    has = [name for field, name in QUANTITIES.items() if own[field] is not None]
    if not has:
        raise BadValueError(
            "Nothing was measured that tells a white.",
            "It is told by b* or by density.",
            "Give b*, L* a* b*, or the density.",
        )
    beside = [name for field, name in QUANTITIES.items() if others[field] is not None]
    measured = any(value is not None for value in others.values())
    if measured and not named:
        raise BadValueError(
            "The control needs a name.",
            "Only what the same control showed before can be compared.",
            "Give the code of the roll, or the strip's own name.",
        )
    if named and not measured:
        raise BadValueError(
            f"Nothing was measured of the control {named}.",
            "Its name alone tells nothing.",
            "Measure it too, or leave its name out.",
        )
    if named and not set(has) & set(beside):
        shown = " and ".join(beside) or "neither b* nor density"
        raise BadValueError(
            "The patch and its control cannot be compared.",
            f"The patch has {' and '.join(has)}, the control {shown}.",
            "Measure the same of both.",
        )
    return tuple(name for name in has if named and name not in beside)


def paper_roll(view: StoreView, said: str) -> Unit:
    """Return a roll whose white is judged, by its code."""
    found = find(view, Unit, said)
    if not (found.shape.wound and material_of(view, found).traits.white_judged):
        raise RefusedError(
            f"{found.code} is no roll of paper.",
            "A white is measured on a processed patch of a roll of paper.",
            "Look at the code.",
        )
    return found


def _control(decision: Decision, roll: Unit, named: str, happened_s: int | None) -> str | None:
    """What a control is called in the books: a roll's code, or a strip's own name."""
    if not named:
        return None
    if not is_code(named):
        return _spelled(decision.view, "control", named)
    other = paper_roll(decision.view, named)
    if other.code == roll.code:
        raise RefusedError(
            f"{roll.code} cannot be its own control.",
            "What chemistry did to one roll shows only on another.",
            "Measure another roll of the same run, or a control strip.",
        )
    if happened_s is not None:
        not_before_it_came(decision, [other.code], happened_s)
    return other.code


def _spelled(view: StoreView, field: str, text: str) -> str:
    """A name as it was first spelled, where only capitals differ."""
    column, first = _PATCH.c[field], sa.func.min(_PATCH.c.act)
    query = sa.select(column).where(column.is_not(None)).group_by(column).order_by(first)
    used = [str(name) for name in view.connection.execute(query).scalars()]
    if text in used:
        return text
    return next((name for name in used if name.casefold() == text.casefold()), text)
