"""What a measured white, and the time a roll was open, say for or against a print."""

from dataclasses import dataclass

from stockroom.core.facts import WHITE_RECENT
from stockroom.core.freshness.white import Judgement, Quantity, Telling
from stockroom.core.reason import Reason


@dataclass(frozen=True, slots=True)
class WhiteSeen:
    """The last measured patch of a roll, as a verdict needs it.

    Attributes
    ----------
    judgement : str
        What it asks for.
    quantity : str
        b* or density; all drifts and limits are in it.
    telling : str
        Whether it counts, and if not why.
    raw, process, own : float
        What the patch moved by, what the control did, and what is the paper's own.
    watch, act : float
        The limits.
    days_before : int
        How many days before the print it was measured.
    odd : bool
        Whether it goes with none of the others.
    label_days, median_days : float
        The whole life of the label, and that which the white tells (days of label life).
    tells : bool
        Whether enough was measured for that.
    shortens, word : bool
        Whether the white shortens its life, or a person's word lengthens it.
    """

    judgement: Judgement
    quantity: Quantity
    telling: Telling
    raw: float
    process: float
    own: float
    watch: float
    act: float
    days_before: int
    odd: bool
    label_days: float
    median_days: float
    tells: bool
    shortens: bool
    word: bool


def white_reasons(seen: WhiteSeen | None, *, settled: bool, off: bool) -> list[Reason]:
    """Return what the last patch says.

    Own drift at the act limit forbids; a patch that goes with none of the others, or has drifted
    without a control to tell paper from chemistry, wants a strip; a control that moved is the
    process. A white that is better than the label only says so: a person's word is wanted.

    Parameters
    ----------
    seen : WhiteSeen or None
    settled : bool
        Whether a clean strip judged since then counts: it answers what a patch only asks.
    off : bool
        Whether the roll is past its day.
    """
    if seen is None:
        return []
    figures = {name: getattr(seen, name) for name in WhiteSeen.__slots__}
    reasons = []
    if seen.judgement == "act":
        reasons.append(Reason("white off", "bars", figures))
    elif seen.judgement == "ask" and not settled:
        kind = "white odd" if seen.odd else "white unexplained"
        reasons.append(Reason(kind, "asks", figures))
    elif seen.judgement == "watch":
        reasons.append(Reason("white drifts", "warns", figures))
    elif seen.judgement == "fine" and seen.telling in ("baseline", "counts"):
        if seen.telling == "counts" and 0 <= seen.days_before <= WHITE_RECENT.value:
            reasons.append(Reason("white fine", "backs", figures))
        if off and seen.tells and seen.median_days > seen.label_days and not seen.word:
            reasons.append(Reason("white better", "notes", figures))
    if seen.telling == "counts" and abs(seen.process) >= seen.watch:
        reasons.append(Reason("process drifted", "warns", figures))
    if seen.shortens:
        reasons.append(Reason("white shortens", "notes", figures))
    if seen.word:
        reasons.append(Reason("white word", "notes", figures))
    return reasons
