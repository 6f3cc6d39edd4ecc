"""What a shop's own tries teach about its losses, and spells of the same loss in a row."""

from bisect import bisect_left
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from stockroom.core.constants import (
    BACK_PRIOR_LOST,
    BACK_PRIOR_PIECES,
    SIZE_CLASS_PIECES,
    SIZE_CLASSES,
    TRIES_KEPT_A_WEEK,
)
from stockroom.core.making.chain import Yields
from stockroom.core.yields import MountYield, PrintYield, above_zero

TryKind = Literal["print", "mount", "back"]

DAY_S = 86_400
UNTOLD = ("", "other")
"""Causes that do not say whether two losses are alike."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How one try came out.

    Attributes
    ----------
    at_s : int
        When, seconds since 1970.
    kind : str
        "print", "mount" or "back".
    area_m2 : float
        Area of the piece, m2.
    good : bool
        Whether it came out good.
    cause : str
        Why it was lost, where that was told.

    Raises
    ------
    BadValueError
        Where the area is not above zero.
    """

    at_s: int
    kind: TryKind
    area_m2: float
    good: bool
    cause: str = ""

    def __post_init__(self) -> None:
        above_zero(self.area_m2, "area of a piece")


@dataclass(frozen=True, slots=True)
class Count:
    """Tries as counted, old ones in full."""

    good: int = 0
    lost: int = 0

    @property
    def tried(self) -> int:
        """Good and lost together."""
        return self.good + self.lost

    def __add__(self, other: "Count") -> "Count":
        return Count(self.good + other.good, self.lost + other.lost)


Counts = tuple[Count, ...]
"""One count for each class of size, small to large."""


@dataclass(frozen=True, slots=True)
class Learned:
    """What is known of the losses, with the counts behind it.

    Attributes
    ----------
    prints : PrintYield
        Spoiling defects a square metre: each spoilt print counts as one.
    mounts : tuple of MountYield
        Face mounts, one for each class of size.
    backs : MountYield
        Backings of all sizes.
    print_counts, mount_counts, back_counts : tuple of Count
        Tries by class of size.
    """

    prints: PrintYield
    mounts: tuple[MountYield, ...]
    backs: MountYield
    print_counts: Counts
    mount_counts: Counts
    back_counts: Counts

    def yields_for(self, area_m2: float) -> Yields:
        """Return what is known for pieces of an area, m2."""
        return Yields(self.prints, self.mounts[size_class(area_m2)], self.backs)

    def count(self, kind: TryKind, area_m2: float | None = None) -> Count:
        """Return the tries of a kind, of all sizes or of the class of one area, m2."""
        counts = {
            "print": self.print_counts,
            "mount": self.mount_counts,
            "back": self.back_counts,
        }[kind]
        return sum(counts, start=Count()) if area_m2 is None else counts[size_class(area_m2)]


@dataclass(frozen=True, slots=True)
class BadSpell:
    """Tries of one kind lost in a row, all with the same cause, and none good since.

    Attributes
    ----------
    kind, cause : str
        What was tried and why it was lost.
    lost : int
        How many in a row, two or more.
    area_m2 : float
        Their area together, m2.
    from_s, to_s : int
        First and last of them, seconds since 1970.
    """

    kind: TryKind
    cause: str
    lost: int
    area_m2: float
    from_s: int
    to_s: int


def size_class(area_m2: float) -> int:
    """Return 0 for a small piece, 1 for a medium and 2 for a large one.

    >>> [size_class(area_m2) for area_m2 in (0.5, 0.51, 1.5, 3.1)]
    [0, 1, 1, 2]
    """
    return bisect_left([limit.value for limit in SIZE_CLASSES], area_m2)


def learned(outcomes: Iterable[Outcome], now_s: int) -> Learned:
    """Return what tries teach, on top of what is held before any.

    A spoilt print counts as one defect on its area, a good one as none on its own (gamma
    update). Mounts of all sizes update one prior; scaled down to ten pieces it is where each
    class of size begins, so that size matters only as far as its own counts show it. Backings
    are counted together. Every count fades a little with its age in days, so that what is known
    stands still within a day (UTC).

    Parameters
    ----------
    outcomes : iterable of Outcome
        Tries, in any order.
    now_s : int
        Now, seconds since 1970; a try that is said to be later counts as of now.

    >>> spoilt = [Outcome(0, "print", 3.125, False)] * 6 + [Outcome(0, "print", 3.125, True)]
    >>> round(learned(spoilt, 0).prints.mean_per_m2, 4)
    0.2169
    """
    tried = list(outcomes)
    today = now_s // DAY_S
    weighed = [(o, TRIES_KEPT_A_WEEK.value ** (max(0, today - o.at_s // DAY_S) / 7)) for o in tried]
    prints = [(o, weight) for o, weight in weighed if o.kind == "print"]
    return Learned(
        PrintYield().updated(
            sum(weight for o, weight in prints if not o.good),
            sum(weight * o.area_m2 for o, weight in prints),
        ),
        _by_class([(o, weight) for o, weight in weighed if o.kind == "mount"]),
        _updated(
            MountYield(
                (1 - BACK_PRIOR_LOST.value) * BACK_PRIOR_PIECES.value,
                BACK_PRIOR_LOST.value * BACK_PRIOR_PIECES.value,
            ),
            [(o, weight) for o, weight in weighed if o.kind == "back"],
        ),
        *(_counts(o for o in tried if o.kind == kind) for kind in ("print", "mount", "back")),
    )


def _by_class(mounts: list[tuple[Outcome, float]]) -> tuple[MountYield, ...]:
    """Each class of size on top of what all sizes together say, worth ten pieces."""
    pooled = _updated(MountYield(), mounts)
    pieces, counted = SIZE_CLASS_PIECES.value, pooled.good + pooled.lost
    begin = MountYield(pieces * pooled.good / counted, pieces * pooled.lost / counted)
    return tuple(
        _updated(begin, [(o, weight) for o, weight in mounts if size_class(o.area_m2) == number])
        for number in range(len(SIZE_CLASSES) + 1)
    )


def _updated(known: MountYield, weighed: list[tuple[Outcome, float]]) -> MountYield:
    return known.updated(
        sum(weight for o, weight in weighed if o.good),
        sum(weight for o, weight in weighed if not o.good),
    )


def _counts(outcomes: Iterable[Outcome]) -> Counts:
    counts = [Count()] * (len(SIZE_CLASSES) + 1)
    for outcome in outcomes:
        counts[size_class(outcome.area_m2)] += Count(int(outcome.good), int(not outcome.good))
    return tuple(counts)


def bad_spell(outcomes: Iterable[Outcome]) -> BadSpell | None:
    """Return the latest spell of losses alike that goes on, or None.

    A spell is two or more tries of one kind, the last of that kind, lost with the same cause:
    time to stop, clean and run a clear strip. A good try of the kind ends it, and so does
    another cause; a cause that was not told, or "other", makes none.

    Parameters
    ----------
    outcomes : iterable of Outcome
        Tries, in any order; those of the same second stand in the order given.

    >>> dust = [Outcome(at_s, "mount", 0.8, False, "dust") for at_s in (0, 3600)]
    >>> spell = bad_spell(dust)
    >>> spell.lost, spell.cause
    (2, 'dust')
    """
    spells: dict[TryKind, BadSpell | None] = {}
    for outcome in sorted(outcomes, key=lambda outcome: outcome.at_s):
        kind, cause, at_s = outcome.kind, outcome.cause, outcome.at_s
        before = spells.get(kind)
        if outcome.good or cause in UNTOLD:
            spells[kind] = None
        elif before is None or before.cause != cause:
            spells[kind] = BadSpell(kind, cause, 1, outcome.area_m2, at_s, at_s)
        else:
            area_m2 = before.area_m2 + outcome.area_m2
            spells[kind] = BadSpell(kind, cause, before.lost + 1, area_m2, before.from_s, at_s)
    going = [spell for spell in spells.values() if spell is not None and spell.lost > 1]
    return max(going, key=lambda spell: (spell.to_s, spell.lost), default=None)
