"""What a measured white, and the time a roll was open, say for or against a print."""

from dataclasses import dataclass

from stockroom.core.constants import WHITE_RECENT
from stockroom.core.freshness.drift import Quantity, Telling
from stockroom.core.freshness.standing import Judgement
from stockroom.core.freshness.ways import Counted
from stockroom.core.reason import Reason


@dataclass(frozen=True, slots=True)
class WhiteSeen:
    """The measured patch of a roll that decides, as a verdict needs it.

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
    at_least : bool
        Whether the control was a roll, which ages too: its own drift is `own` or more.
    watch, act : float
        The limits.
    at : (int, int)
        When it was measured (s UTC), and the act that wrote it down.
    days_before : int
        How many days before the print it was measured.
    odd : bool
        Whether it goes with none of the others.
    label_days, median_days : float
        The whole life of the label, and that which the white tells (days of label life).
    tells : bool
        Whether enough was measured for that.
    word : bool
        Whether a person's word lengthens its life.
    """

    judgement: Judgement
    quantity: Quantity
    telling: Telling
    raw: float
    process: float
    own: float
    at_least: bool
    watch: float
    act: float
    at: tuple[int, int]
    days_before: int
    odd: bool
    label_days: float
    median_days: float
    tells: bool
    word: bool


def white_reasons(seen: WhiteSeen | None, *, settled: bool, off: bool) -> list[Reason]:
    """Return what the patch that decides says.

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
        told = "white shared" if seen.at_least else "white unexplained"
        kind = "white odd" if seen.odd else told
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
    return reasons


def life_reasons(counted: Counted | None, label_days: float, *, own: bool) -> list[Reason]:
    """Return that the white shortens a life, or lengthens it by a person's word.

    Parameters
    ----------
    counted : Counted or None
        The life it counts as having come with by its white; None where the label stands.
    label_days : float
        The life it came with by its label, days.
    own : bool
        Whether a patch of this very roll was measured; else the others of its emulsion tell.
    """
    if counted is None:
        return []
    if counted.word:
        return [Reason("white word", "notes", {})]
    if counted.likely >= label_days:
        return []
    figures = {"label_days": label_days, "days": max(0.0, counted.likely), "own": own}
    return [Reason("white shortens", "notes", figures)]
