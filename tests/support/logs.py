"""Logger files for the small studio's cold store."""

from datetime import UTC, datetime

import numpy as np

from support.studio import DAY_S, MONDAY_S

START_S = MONDAY_S
"""When the studio's logs begin, s UTC."""


def log(days: float, spell: tuple[float, float, float] | None = None, step_s: int = 900) -> bytes:
    """A log from the studio's first morning on, 4 °C, with a spell (start day, hours, °C)."""
    t = np.arange(START_S, START_S + int(days * DAY_S) + 1, step_s)
    temp = np.full(len(t), 4.0)
    if spell:
        start, hours, warm = spell
        begin = START_S + start * DAY_S
        temp[(t >= begin) & (t < begin + hours * 3600)] = warm
    lines = [
        f"{datetime.fromtimestamp(int(at), UTC).isoformat()},{value:.1f}"
        for at, value in zip(t, temp, strict=True)
    ]
    return ("time,temperature °C\n" + "\n".join(lines) + "\n").encode()
