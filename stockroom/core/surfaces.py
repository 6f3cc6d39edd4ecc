"""The faces of a sheet: masking, grade, corners, matte side, and whether it is good for a face."""

from collections.abc import Collection
from dataclasses import replace
from datetime import date

from stockroom.core.constants import MASKING_AGE
from stockroom.core.records import CORNERS, Grade, Masking, Matte, Surface
from stockroom.core.verdict import Reason, Weight
from stockroom.errors import BadValueError

SHORT_CORNERS = {"tl": "top left", "tr": "top right", "bl": "bottom left", "br": "bottom right"}
"""The corners as they may be typed, seen from the front."""
ALL_CORNERS = ", ".join(CORNERS)
_RANK: dict[Grade, int] = {"face": 0, "back": 1, "jig": 2}


def corners(text: str) -> tuple[str, ...]:
    """Return the corners named in a text, short or in full, each once, top left first.

    Raises
    ------
    BadValueError
        Where one is none of the four.

    >>> corners("br tl br")
    ('top left', 'bottom right')
    >>> corners("bottom right, top left")
    ('top left', 'bottom right')
    """
    plain = " ".join(text.lower().replace(",", " ").split())
    for short, full in SHORT_CORNERS.items():
        plain = plain.replace(full, short)
    named = plain.split()
    for corner in named:
        if corner not in SHORT_CORNERS:
            raise BadValueError(
                f"{corner[:20]!r} is not a corner.",
                f"The corners are {ALL_CORNERS}.",
                "Type them in full, or as tl, tr, bl, br.",
            )
    return tuple(full for short, full in SHORT_CORNERS.items() if short in named)


def corner_text(named: Collection[str]) -> str:
    """Return corners as they are kept: in full, top left first, separated by commas.

    >>> corner_text(("bottom right", "top left"))
    'top left, bottom right'
    """
    return ", ".join(corner for corner in CORNERS if corner in named)


def corners_held(piece_dmm: tuple[int, int], unit_dmm: tuple[int, int], chipped: str = "") -> str:
    """Return which corners of a sheet a piece holds where it lies best: away from chips.

    Parameters
    ----------
    piece_dmm, unit_dmm : (int, int)
        Width and height of both, as the piece lies.
    chipped : str
        The sheet's chipped corners.

    >>> corners_held((6_200, 4_200), (10_000, 6_000), "top left")
    'top right'
    >>> corners_held((10_000, 4_200), (10_000, 6_000), "top left")
    'bottom left, bottom right'
    """
    wide, high = (piece >= unit for piece, unit in zip(piece_dmm, unit_dmm, strict=True))
    bad = corners(chipped)
    ways = [
        tuple(
            corner
            for corner in CORNERS
            if (high or corner.startswith(row)) and (wide or corner.endswith(side))
        )
        for row in ("top", "bottom")
        for side in ("left", "right")
    ]
    return corner_text(min(ways, key=lambda held: sum(corner in bad for corner in held)))


def good_for(
    use: Grade,
    surface: Surface | None,
    today: date,
    masked_since: date | None,
    limit_days: int = round(MASKING_AGE.value),
    keeps_corners: str = ALL_CORNERS,
    *,
    seen_on: date | None = None,
    own: bool = True,
) -> list[Reason]:
    """Return what speaks against a sheet for a use, and what to know; it is good if none bars.

    A face wants the grade for it, both masks on all over, a gloss side to mount on, and no
    chipped corner that is not cut away. Old masking is a caution. A back is warned of where a
    face is barred, save that its grade must do; a jig takes anything.

    Parameters
    ----------
    surface : Surface or None
        The sheet or offcut when it was last looked over; None where nobody has: it is taken to
        be as it comes, and that is said.
    today : date
        The day asked about.
    masked_since : date or None
        Since when the masking has been on: when it was made or came; None where not known.
    limit_days : int
        Masking older than this is cautioned about.
    keeps_corners : str
        Which corners of it the piece will hold; the others are cut away.
    seen_on : date or None
        The day it was looked over.
    own : bool
        Whether that look was of this very piece, not of the sheet it was cut from. Where not, it
        is not known which corners it kept: a chip is only perhaps on it.

    >>> look = Surface(unit="1", seen_s=0, act=1, mask_back="lifted")
    >>> [(r.kind, r.weight) for r in good_for("face", look, date(2026, 3, 1), date(2026, 1, 1))]
    [('mask not on', 'bars')]
    """
    if use == "jig":
        return []
    reasons: list[Reason] = []
    weight: Weight = "bars" if use == "face" else "warns"
    if surface is None:
        if use == "face":
            reasons.append(Reason("not looked over", "warns", {}))
        return reasons + _masking_age(today, masked_since, limit_days)
    if _RANK[surface.grade] > _RANK[use]:
        reasons.append(Reason("grade too low", "bars", {"grade": surface.grade, "use": use}))
    masks: dict[str, Masking] = {"front": surface.mask_front, "back": surface.mask_back}
    for side, mask in masks.items():
        if mask != "on":
            figures = {"side": side, "mask": mask, "seen_on": seen_on}
            reasons.append(Reason("mask not on", weight, figures))
    reasons += _chips(surface, weight if own else "warns", keeps_corners, perhaps=not own)
    if use == "face" and not own:
        figures = {"sheet": surface.unit, "seen_on": seen_on}
        reasons.append(Reason("look inherited", "warns", figures))
    if {"on", "lifted"} & set(masks.values()):
        reasons += _masking_age(today, masked_since, limit_days)
    if use == "face":
        reasons += _matte(surface.matte)
    return reasons


def barred(reasons: Collection[Reason]) -> bool:
    """Return whether one of the reasons bars the use."""
    return any(reason.weight == "bars" for reason in reasons)


def of_offcut(parent: Surface, keeps_corners: str = ALL_CORNERS) -> Surface:
    """Return the faces of an offcut: its parent's masks, grade and matte side, its own corners.

    The unit named in it stays the parent, which is what was looked at.

    Parameters
    ----------
    parent : Surface
        The sheet it was cut from.
    keeps_corners : str
        Which of the parent's corners it still holds, named as on the parent; the offcut lies
        the same way round. All of them where that is not known.

    >>> sheet = Surface(unit="1", seen_s=0, act=1, chipped="top left, bottom right")
    >>> of_offcut(sheet, "top right, bottom right").chipped
    'bottom right'
    """
    held = corners(keeps_corners)
    left = [corner for corner in corners(parent.chipped) if corner in held]
    return replace(parent, chipped=corner_text(left))


def _chips(surface: Surface, weight: Weight, keeps_corners: str, *, perhaps: bool) -> list[Reason]:
    held = corners(keeps_corners)
    chipped = corners(surface.chipped)
    on_it = tuple(corner for corner in chipped if corner in held or perhaps)
    away = tuple(corner for corner in chipped if corner not in on_it)
    figures = {"corners": on_it, "perhaps": perhaps}
    reasons = [Reason("chipped corner", weight, figures)] if on_it else []
    return reasons + ([Reason("chip cut away", "notes", {"corners": away})] if away else [])


def _masking_age(today: date, masked_since: date | None, limit_days: int) -> list[Reason]:
    if masked_since is None:
        return [Reason("masking age unknown", "notes", {"limit_days": limit_days})]
    age_days = (today - masked_since).days
    if age_days <= limit_days:
        return []
    figures = {"age_days": age_days, "limit_days": limit_days}
    return [Reason("old masking", "warns", figures)]


def _matte(matte: Matte) -> list[Reason]:
    if matte == "none":
        return []
    if matte == "both":
        return [Reason("no gloss side", "bars", {})]
    # the film wets gloss, not texture: the print goes behind the gloss side
    gloss = "back" if matte == "front" else "front"
    return [Reason("matte side", "notes", {"matte": matte, "print_behind": gloss})]
