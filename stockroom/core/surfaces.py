"""The faces of a sheet: masking, grade, corners, matte side, and whether it is good for a face."""

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from stockroom.core.facts import MASKING_AGE
from stockroom.core.verdict import Reason, Weight
from stockroom.errors import BadValueError

Masking = Literal["on", "lifted", "off", "none"]
"""On all over; lifted at an edge; taken off; came without."""
Grade = Literal["face", "back", "jig"]
"""Good for a face; for a back or a sample; only for jigs."""
Matte = Literal["none", "front", "back", "both"]

CORNERS = {"tl": "top left", "tr": "top right", "bl": "bottom left", "br": "bottom right"}
"""The corners, seen from the front."""
_RANK: dict[Grade, int] = {"face": 0, "back": 1, "jig": 2}
_KNOWN: dict[str, Collection[str]] = {
    "mask_front": ("on", "lifted", "off", "none"),
    "mask_back": ("on", "lifted", "off", "none"),
    "grade": tuple(_RANK),
    "matte": ("none", "front", "back", "both"),
}


@dataclass(frozen=True, slots=True)
class Surface:
    """What the faces of a sheet or offcut were when last looked at.

    Attributes
    ----------
    mask_front, mask_back : str
        The masking of each face.
    grade : str
        What it is good for.
    chipped : str
        Its chipped corners, such as ``tl br``.
    matte : str
        Which face is matte; the other is gloss.
    seen_on : date or None
        The day a person last looked.

    Raises
    ------
    BadValueError
        Where one is not a word known.
    """

    mask_front: Masking = "on"
    mask_back: Masking = "on"
    grade: Grade = "face"
    chipped: str = ""
    matte: Matte = "none"
    seen_on: date | None = None

    def __post_init__(self) -> None:
        for name, known in _KNOWN.items():
            if getattr(self, name) not in known:
                raise BadValueError(
                    f"{getattr(self, name)!r} is no {name.replace('_', ' ')}.",
                    f"Known are {', '.join(known)}.",
                )
        corners(self.chipped)


def corners(text: str) -> tuple[str, ...]:
    """Return the corners named in a text, short or in full, each once, top left first.

    Raises
    ------
    BadValueError
        Where one is not tl, tr, bl or br.

    >>> corners("br tl br")
    ('tl', 'br')
    >>> corners("bottom right, top left")
    ('tl', 'br')
    """
    plain = " ".join(text.lower().replace(",", " ").split())
    for short, full in CORNERS.items():
        plain = plain.replace(full, short)
    named = plain.split()
    for corner in named:
        if corner not in CORNERS:
            raise BadValueError(
                f"{corner[:20]!r} is not a corner.", "The corners are tl, tr, bl and br."
            )
    return tuple(corner for corner in CORNERS if corner in named)


def corner_names(named: Collection[str]) -> str:
    """Return corners in full, for a person.

    >>> corner_names(("tl", "br"))
    'top left, bottom right'
    """
    return ", ".join(full for short, full in CORNERS.items() if short in named)


def good_for_face(
    surface: Surface,
    today: date,
    masked_since: date | None,
    limit_days: int = round(MASKING_AGE.value),
    keeps_corners: str = "tl tr bl br",
) -> list[Reason]:
    """Return what speaks against a sheet for a face, and what to know; it is good if none bars.

    A face wants the grade for it, both masks on all over, a gloss side to mount on, and no
    chipped corner that is not cut away. Old masking is a caution.

    Parameters
    ----------
    surface : Surface
        The sheet or offcut.
    today : date
        The day asked about.
    masked_since : date or None
        Since when the masking has been on: when it was made or came; None where not known.
    limit_days : int
        Masking older than this is cautioned about.
    keeps_corners : str
        Which corners of it the piece will hold; the others are cut away.

    >>> [(r.kind, r.weight) for r in good_for_face(Surface("on", "lifted"), date(2026, 3, 1),
    ...                                            date(2026, 1, 1))]
    [('mask not on', 'bars')]
    """
    return good_for("face", surface, today, masked_since, limit_days, keeps_corners)


def good_for(
    use: Grade,
    surface: Surface,
    today: date,
    masked_since: date | None,
    limit_days: int = round(MASKING_AGE.value),
    keeps_corners: str = "tl tr bl br",
) -> list[Reason]:
    """Return what speaks against a sheet for a use, and what to know, as `good_for_face` does.

    A back is warned of where a face is barred, save that its grade must do; a jig takes anything.
    """
    if use == "jig":
        return []
    reasons: list[Reason] = []
    weight: Weight = "bars" if use == "face" else "warns"
    if _RANK[surface.grade] > _RANK[use]:
        reasons.append(Reason("grade too low", "bars", {"grade": surface.grade, "use": use}))
    masks: dict[str, Masking] = {"front": surface.mask_front, "back": surface.mask_back}
    for side, mask in masks.items():
        if mask != "on":
            figures = {"side": side, "mask": mask, "seen_on": surface.seen_on}
            reasons.append(Reason("mask not on", weight, figures))
    reasons += _chips(surface, weight, keeps_corners)
    if {"on", "lifted"} & set(masks.values()):
        reasons += _masking_age(today, masked_since, limit_days)
    if use == "face":
        reasons += _matte(surface.matte)
    return reasons


def barred(reasons: Collection[Reason]) -> bool:
    """Return whether one of the reasons bars the use."""
    return any(reason.weight == "bars" for reason in reasons)


def of_offcut(parent: Surface, keeps_corners: str) -> Surface:
    """Return the faces of an offcut: its parent's masks, grade and matte side, its own corners.

    Parameters
    ----------
    parent : Surface
        The sheet it was cut from.
    keeps_corners : str
        Which of the parent's corners it still holds, named as on the parent; the offcut lies
        the same way round.

    >>> of_offcut(Surface(chipped="tl br"), "tr br").chipped
    'br'
    """
    held = corners(keeps_corners)
    left = (corner for corner in corners(parent.chipped) if corner in held)
    return replace(parent, chipped=" ".join(left))


def _chips(surface: Surface, weight: Weight, keeps_corners: str) -> list[Reason]:
    held = corners(keeps_corners)
    chipped = corners(surface.chipped)
    on_it = tuple(corner for corner in chipped if corner in held)
    away = tuple(corner for corner in chipped if corner not in held)
    reasons = [Reason("chipped corner", weight, {"corners": on_it})] if on_it else []
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
