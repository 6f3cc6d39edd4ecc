"""Whether the machine's clock can be right, held against the last act of the books."""

import sqlalchemy as sa
from sqlalchemy.engine import Connection

from stockroom import clock
from stockroom.errors import RefusedError
from stockroom.store.engine import reading
from stockroom.store.mapping import ACT
from stockroom.times import FIRST_YEAR, LAST_YEAR, in_trade
from stockroom.units import SECONDS_PER_DAY

BEHIND_S = SECONDS_PER_DAY
"""How far before the last act a clock may stand, s: clocks of machines differ (our choice)."""
AHEAD_S = 3_653 * SECONDS_PER_DAY
"""How long after the last act it may stand, s: no shop rests for ten years (our choice)."""
TRY = "Set the machine's clock; where it is right, give --clock-is-right."


def see_clock(connection: Connection, now_s: int, zone: str, *, is_right: bool) -> None:
    """Refuse an act by a clock that can hardly be right, unless a person says that it is.

    Parameters
    ----------
    connection : Connection
        An open transaction that holds the head of the chain.
    now_s : int
        What the clock says, s UTC.
    zone : str
        The workshop's.
    is_right : bool
        Whether a person said so.

    Raises
    ------
    RefusedError
        Where it stands more than a day before the last act, or ten years after it; whatever a
        person says, where it stands outside the days of the trade.
    """
    see_trade(now_s, zone)
    doubt = "" if is_right else _doubt(connection, now_s, zone)
    if doubt:
        raise RefusedError(doubt, "An act is dated by the clock, and ages follow the dates.", TRY)


def see_trade(now_s: int, zone: str) -> None:
    """Refuse a clock by which nothing can be reckoned, or raise `RefusedError`."""
    if not in_trade(clock.local_date(now_s, zone)):
        raise RefusedError(
            f"The clock says {clock.moment_text(now_s, zone)}.",
            f"Nothing is reckoned before {FIRST_YEAR} or after {LAST_YEAR}.",
            "Set the machine's clock.",
        )


def clock_warning(engine: sa.Engine, now_s: int, zone: str, *, reckons: bool = True) -> str:
    """Return what is odd about the clock for one who only reads; "" where nothing is.

    Raises
    ------
    RefusedError
        Where it stands outside the days of the trade, and days are reckoned.
    """
    if reckons:
        see_trade(now_s, zone)
    with reading(engine) as connection:
        doubt = _doubt(connection, now_s, zone)
    return doubt and f"{doubt} Figures are as of that day. {TRY}"


def _doubt(connection: Connection, now_s: int, zone: str) -> str:
    query = sa.select(ACT.c.seq, ACT.c.recorded_s).order_by(ACT.c.seq.desc()).limit(1)
    last = connection.execute(query).first()
    if last is None or -BEHIND_S <= now_s - last.recorded_s <= AHEAD_S:
        return ""
    much = "before" if now_s < last.recorded_s else "more than ten years after"
    return (
        f"The clock says {clock.moment_text(now_s, zone)}, {much} the last act "
        f"({last.seq}, of {clock.moment_text(last.recorded_s, zone)})."
    )
