"""The yellowing of paper along its life, and what a few measured drifts say of that life."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from stockroom.core.climate.course import Floats
from stockroom.core.constants import (
    WHITE_EXPONENT,
    WHITE_EXPONENT_SD,
    WHITE_LIFE_SD_EMULSION,
    WHITE_LIFE_SD_MATERIAL,
    WHITE_LIFE_SD_ROLL,
    WHITE_START_SHARE,
    WHITE_TAIL_DEGREES,
    WHITE_TAIL_SCALE,
)

LIFE_SD = float(
    np.sqrt(
        WHITE_LIFE_SD_MATERIAL.value**2
        + WHITE_LIFE_SD_EMULSION.value**2
        + WHITE_LIFE_SD_ROLL.value**2
    )
)
"""Sd of the logarithm of a roll's life about the label's, before anything was measured."""

LN_LIFE = np.linspace(-2.6, 1.3, 101)
"""Grid of the logarithm of life over the label's: from a thirteenth of it to nearly four times."""
EXPONENT = np.linspace(0.3, 2.4, 13)
"""Grid of the exponent of growth: from a quick start to a late one (our choice)."""

_NU = WHITE_TAIL_DEGREES.value
_NODES = np.linspace(-4, 4, 11)
_SETTLE = 6
"""Rounds of weighing after which a start hardly moves; the nodes cover what is left."""
_AT_ONCE = 8
"""Readings multiplied before a logarithm is taken: quick, and far from overflow."""


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Drifts measured from one baseline, all in one unit.

    Attributes
    ----------
    drift : array of n
        Each reading less the baseline, the process taken out of both; the baseline's own is 0.
    age_days : array of n
        The effective age at each, days of label life.
    base_age_days : float
        The effective age of the paper on which the baseline was read.
    sd : float
        Noise of one such reading, patch and control together.
    act : float
        The drift at which life is over.
    """

    drift: Floats
    age_days: Floats
    base_age_days: float
    sd: float
    act: float


@dataclass(frozen=True, slots=True, eq=False)
class Heard:
    """What the readings of one roll say, on the grid of life and exponent.

    Attributes
    ----------
    log_chance : array of 101 x 13
        Logarithm of the chance of the readings; a constant is left out.
    fitted, unsure : tuple of arrays of 101 x 13 x n
        For each track the drift expected at each reading, and that for its start only (variance).
    """

    log_chance: Floats
    fitted: tuple[Floats, ...]
    unsure: tuple[Floats, ...]


def risen(age_days: Floats, label_days: float, act: float) -> Floats:
    """Return the yellowing b(a) - b0 = D (a / L)^p on the grid, shape 101 x 13 x n."""
    with np.errstate(divide="ignore"):
        ln_age = np.log(np.maximum(age_days, 0.0) / label_days)
    rise: Floats = act * np.exp(EXPONENT[:, None] * (ln_age - LN_LIFE[:, None, None]))
    return rise


def hear(tracks: Sequence[Track], counted: Sequence[Floats], label_days: float) -> Heard:
    """Return the chance of the readings of a roll at each life and exponent.

    Parameters
    ----------
    tracks : sequence of Track
    counted : sequence of arrays of n
        For each track, 1 for a reading that counts and 0 for one left out.
    label_days : float
        The label's whole life.

    Notes
    -----
    A drift is a difference of four readings; two of them, the baseline's, are in every drift of a
    track. So the start b0 of each track is free: the baseline is one reading like the others,
    and b0 is integrated out. Readings scatter by Student's t; the integral runs over 13 nodes
    about the start that iterated weights find, spaced by its own width.
    """
    log_chance = np.zeros((len(LN_LIFE), len(EXPONENT)))
    fitted, unsure = [], []
    for track, counts in zip(tracks, counted, strict=True):
        rise = risen(track.age_days, label_days, track.act)
        rise -= risen(np.array([track.base_age_days]), label_days, track.act)
        start, width, log_track = _start_removed(track, track.drift - rise, counts)
        log_chance += log_track
        fitted.append(rise + start[..., None])
        unsure.append(np.broadcast_to(width[..., None] ** 2, rise.shape))
    return Heard(log_chance, tuple(fitted), tuple(unsure))


def _start_removed(track: Track, over: Floats, counts: Floats) -> tuple[Floats, Floats, Floats]:
    """Start, its width, and the logarithm of the chance with the start integrated out."""
    prior = 1 / (WHITE_START_SHARE.value * track.act) ** 2
    start = np.median(over[..., counts > 0], axis=-1) if counts.any() else np.zeros(over.shape[:2])
    for _ in range(_SETTLE):
        pull = counts * tail_weight((over - start[..., None]) / track.sd) / track.sd**2
        start = (pull * over).sum(axis=-1) / (pull.sum(axis=-1) + prior)
    pull = counts * tail_weight((over - start[..., None]) / track.sd) / track.sd**2
    width = 1 / np.sqrt(pull.sum(axis=-1) + prior)
    nodes = start[..., None] + width[..., None] * _NODES
    log_node = -0.5 * prior * nodes**2
    used = np.flatnonzero(counts)
    for some in np.split(used, range(_AT_ONCE, len(used), _AT_ONCE)):
        product = np.ones_like(nodes)
        for reading in some:
            off = over[..., reading, None] - nodes
            off *= off
            off *= 1 / (_NU * track.sd**2)
            off += 1
            product *= off
        log_node -= (_NU + 1) / 2 * np.log(product)
    top = log_node.max(axis=-1, keepdims=True)
    log_track: Floats = top[..., 0] + np.log(np.exp(log_node - top).sum(axis=-1) * width)
    return start, width, log_track


def tail_weight(off: Floats) -> Floats:
    """Return the weight Student's t gives a reading so many sd off: (nu + 1) / (nu + off^2)."""
    weight: Floats = (_NU + 1) / (_NU + off**2)
    return weight


def posterior(heard: Heard, ln_mean: float, ln_sd: float) -> Floats:
    """Return the chance of each life and exponent (101 x 13, sum 1), given the prior of ln life."""
    log_p = _log_posterior(heard, ln_mean, ln_sd)
    chance: Floats = np.exp(log_p - log_p.max())
    chance /= chance.sum()
    return chance


def log_evidence(heard: Heard) -> float:
    """Return the logarithm of the chance of the readings, whatever the life, but for a constant."""
    log_p = _log_posterior(heard, 0.0, LIFE_SD)
    top = float(log_p.max())
    return top + float(np.log(np.exp(log_p - top).sum()))


def _log_posterior(heard: Heard, ln_mean: float, ln_sd: float) -> Floats:
    """The prior of ln life has Student's tails: rolls do come that were spoilt on the way."""
    off = (LN_LIFE[:, None] - ln_mean) / (ln_sd * WHITE_TAIL_SCALE.value)
    log_p: Floats = heard.log_chance - (_NU + 1) / 2 * np.log1p(off**2 / _NU)
    log_p = log_p - 0.5 * ((EXPONENT - WHITE_EXPONENT.value) / WHITE_EXPONENT_SD.value) ** 2
    return log_p


def quantiles(chance: Floats, levels: Sequence[float]) -> Floats:
    """Return quantiles of ln(life / label's life), cells spread evenly over their width."""
    edges = np.concatenate([[0.0], np.cumsum(chance.sum(axis=1))])
    half = (LN_LIFE[1] - LN_LIFE[0]) / 2
    found: Floats = np.interp(levels, edges, np.append(LN_LIFE - half, LN_LIFE[-1] + half))
    return found


def expected(heard: Heard, chance: Floats) -> list[tuple[Floats, Floats]]:
    """Return for each track the drift expected at each reading, and the variance of that."""
    out = []
    for fitted, unsure in zip(heard.fitted, heard.unsure, strict=True):
        mean = np.einsum("lp,lpn->n", chance, fitted)
        spread = np.einsum("lp,lpn->n", chance, (fitted - mean) ** 2 + unsure)
        out.append((mean, spread))
    return out
