"""Mounting film: when a bond may be trimmed, where the roll's faults lie, what a loading takes."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from stockroom.core.constants import FILM_TRIM_AFTER
from stockroom.core.geometry import not_negative
from stockroom.errors import BadValueError

TRIM_SOURCE = f"no trimming before {FILM_TRIM_AFTER.value:g} h, common practice"

Fault = tuple[int, int, str]
"""From where, to where, what: dmm from the outer end of the roll as it came; equal is a spot."""


@dataclass(frozen=True, slots=True)
class BondTimes:
    """Hours after mounting from which a piece may be trimmed, and has its full bond.

    `full_after_h` is None where the film's own sheet gives no figure: there is none to guess.
    """

    trim_after_h: float
    full_after_h: float | None
    source: str


@dataclass(frozen=True, slots=True)
class FaultAhead:
    """A fault in the next length: how far from here it begins and ends, dmm."""

    begins_dmm: int
    """0 where it lies under the cut."""
    ends_dmm: int
    what: str


@dataclass(frozen=True, slots=True)
class ClearRun:
    """Where a roll is clear of known faults from here on, dmm.

    Attributes
    ----------
    longest_dmm, longest_begins_dmm : int
        The longest clear stretch, and how far from here it begins.
    """

    longest_dmm: int
    longest_begins_dmm: int


@dataclass(frozen=True, slots=True)
class Webs:
    """What comes off a film as it is used: so many liners, and their length to wind up."""

    liners: int
    waste_dmm: int


def bond_times(
    own_trim_h: float | None = None, own_full_h: float | None = None, own_source: str = ""
) -> BondTimes:
    """Return the times of a bond: the film's own sheet, else 24 h before trimming and no more.

    No other film's sheet stands in. Where the own sheet gives only the full bond, trimming waits
    for the 24 h or for the full bond, whichever comes first.

    Parameters
    ----------
    own_trim_h, own_full_h : float, optional
        As the film's own sheet says, hours.
    own_source : str
        Which sheet; wanted with a figure.

    Raises
    ------
    BadValueError
        Where a figure comes without its sheet, is below zero, or the full bond comes before
        trimming.

    >>> bond_times().trim_after_h, bond_times().full_after_h
    (24.0, None)
    >>> bond_times(own_full_h=72, own_source="sheet of 2024").source
    'no trimming before 24 h, common practice; full bond: sheet of 2024'
    """
    for hours in (own_trim_h, own_full_h):
        if hours is not None and not 0 <= hours < math.inf:
            raise BadValueError(f"{hours:g} h is not a time.", "It must be zero or more.")
    source = own_source.strip()
    if own_trim_h is None and own_full_h is None:
        return BondTimes(FILM_TRIM_AFTER.value, None, TRIM_SOURCE)
    if not source:
        raise BadValueError(
            "These bond times come without a source.",
            f"Only the film's own sheet counts; without it, {TRIM_SOURCE}.",
            "Name the sheet and its date.",
        )
    if own_trim_h is None:
        return _full_alone(own_full_h, source)
    if own_full_h is not None and own_full_h < own_trim_h:
        raise BadValueError(
            f"A full bond after {own_full_h:g} h comes before trimming at {own_trim_h:g} h.",
            "The two may stand the wrong way round.",
        )
    return BondTimes(own_trim_h, own_full_h, source)


def _full_alone(full_h: float | None, source: str) -> BondTimes:
    if full_h is not None and full_h < FILM_TRIM_AFTER.value:
        return BondTimes(full_h, full_h, source)
    return BondTimes(FILM_TRIM_AFTER.value, full_h, f"{TRIM_SOURCE}; full bond: {source}")


def faults_ahead(
    faults: Sequence[Fault], received_dmm: int, remaining_dmm: int, take_dmm: int
) -> list[FaultAhead]:
    """Return the known faults in the next length of a roll, the nearest first.

    Parameters
    ----------
    faults : sequence of (from_dmm, to_dmm, what)
        The roll's log; a fault that only touches an end of the length does not lie in it, but a
        spot at the very outer end is told: nothing tells on which side of the cut it lies.
    received_dmm : int
        Length as delivered, with what was found since.
    remaining_dmm : int
        Length left; it is drawn from the outer end, so "here" is what has gone from there.
    take_dmm : int
        The next length; beyond the end of the roll nothing is looked for.

    Raises
    ------
    BadValueError
        Where more is left than came, a length is below zero, or a fault ends before it begins.

    >>> faults_ahead([(95_000, 96_000, "crease")], 300_000, 210_000, 20_000)
    [FaultAhead(begins_dmm=5000, ends_dmm=6000, what='crease')]
    """
    here_dmm = _gone(received_dmm, remaining_dmm)
    not_negative(take_dmm, "length to take")
    for from_dmm, to_dmm, what in faults:
        if not 0 <= from_dmm <= to_dmm:
            raise BadValueError(
                f"The fault {what} does not lie on a roll.",
                "It begins before the roll, or ends before it begins.",
                "Count both distances from the outer end of the roll as it came.",
            )
    end_dmm = here_dmm + min(take_dmm, remaining_dmm)
    if end_dmm == here_dmm:
        return []
    return [
        FaultAhead(max(0, from_dmm - here_dmm), to_dmm - here_dmm, what)
        for from_dmm, to_dmm, what in sorted(faults)
        if from_dmm < end_dmm and (to_dmm > here_dmm or from_dmm == to_dmm == here_dmm)
    ]


def clear_run(
    faults: Sequence[Fault],
    received_dmm: int,
    remaining_dmm: int,
    tail_dmm: int = 0,
) -> ClearRun:
    """Return the longest clear stretch of a roll.

    A stretch may begin or end just at a spot.

    Parameters
    ----------
    faults, received_dmm, remaining_dmm
        As in `faults_ahead`.
    tail_dmm : int
        Kept back at the core.

    >>> clear_run([(95_000, 96_000, "crease")], 300_000, 210_000, 5_000)
    ClearRun(longest_dmm=199000, longest_begins_dmm=6000)
    """
    not_negative(tail_dmm, "tail")
    free_dmm = max(0, remaining_dmm - tail_dmm)
    stretches = []
    begins_dmm = 0
    for fault in faults_ahead(faults, received_dmm, remaining_dmm, free_dmm):
        stretches.append((begins_dmm, fault.begins_dmm - begins_dmm))
        begins_dmm = max(begins_dmm, fault.ends_dmm)
    stretches.append((begins_dmm, free_dmm - begins_dmm))
    longest = max(stretches, key=lambda stretch: stretch[1])
    return ClearRun(longest[1], longest[0]) if longest[1] > 0 else ClearRun(0, 0)


def loading_takes(need_dmm: int, leader_dmm: int, tail_dmm: int, loadings: int = 1) -> int:
    """Return what a length of film takes with all its loadings, dmm.

    Each loading threads a leader before the first piece and runs a tail out of the nip behind
    the last; what stays on the core at the very end is not in it.

    >>> loading_takes(30_000, 6_000, 4_000, 2)
    50000
    """
    not_negative(need_dmm, "length needed")
    not_negative(leader_dmm, "leader")
    not_negative(tail_dmm, "tail")
    not_negative(loadings, "number of loadings")
    return need_dmm + loadings * (leader_dmm + tail_dmm)


def webs(liners: int, run_dmm: int) -> Webs:
    """Return the liner to be wound up for a run of film: its length, once for each liner.

    A film without liners winds up nothing.

    >>> webs(2, 30_000).waste_dmm
    60000
    """
    if liners not in (0, 1, 2):
        raise BadValueError(
            f"A mounting film does not have {liners} liners.", "It has none, one or two."
        )
    not_negative(run_dmm, "length of the run")
    return Webs(liners, liners * run_dmm)


def too_cold(room_c: float, least_c: float | None) -> bool | None:
    """Return whether a room is colder than a film wants; None where its sheet names no least.

    >>> too_cold(16.5, 18), too_cold(18, 18), too_cold(16.5, None)
    (True, False, None)
    """
    return None if least_c is None else _degrees(room_c) < _degrees(least_c)


def outside_band(temp_c: float, low_c: float | None, high_c: float | None) -> float:
    """Return by how many K a temperature is outside a band: below zero too cold, 0 inside.

    Raises
    ------
    BadValueError
        Where the band's ends stand the wrong way round, or one is no number.

    >>> outside_band(16.5, 18, 24), outside_band(20, 18, 24), outside_band(27, None, 24)
    (-1.5, 0.0, 3.0)
    """
    _degrees(temp_c)
    low_c = -math.inf if low_c is None else _degrees(low_c)
    high_c = math.inf if high_c is None else _degrees(high_c)
    if low_c > high_c:
        raise BadValueError(
            f"A band from {low_c:g} to {high_c:g} °C holds nothing.",
            "Its ends may stand the wrong way round.",
        )
    return float(temp_c - min(max(temp_c, low_c), high_c))


def _gone(received_dmm: int, remaining_dmm: int) -> int:
    not_negative(remaining_dmm, "length left")
    if remaining_dmm > received_dmm:
        raise BadValueError(
            "More is left on this roll than came.",
            "Where its faults lie cannot be told.",
            "Count what was found with what came.",
        )
    return received_dmm - remaining_dmm


def _degrees(temp_c: float) -> float:
    if not math.isfinite(temp_c):
        raise BadValueError(f"{temp_c:g} °C is not a temperature.")
    return temp_c
