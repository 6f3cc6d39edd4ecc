"""The cold store's logger file: eight months of quarter hours, two warm spells and a gap."""

import csv
import io
from datetime import UTC, datetime, timedelta

import numpy as np

STEP = timedelta(minutes=15)
START = datetime(2025, 6, 20, 0, 0, tzinfo=UTC)
END = datetime(2026, 3, 3, 7, 45, tzinfo=UTC)
SEED = 20260303

SPELLS = (
    (datetime(2025, 11, 8, 6, 0, tzinfo=UTC), 46.0, 19.0),
    (datetime(2026, 2, 28, 14, 0, tzinfo=UTC), 40.0, 15.5),
)
"""Start, hours, and the temperature (°C) that the air went to."""
GAP = (datetime(2026, 1, 14, 3, 0, tzinfo=UTC), 29.0)
"""Start and hours of a stretch without readings: the logger's battery."""
REWARM_H = 3.0
"""Time constant with which the air follows, hours."""


def logger_file() -> bytes:
    """Return the file as the logger writes it: ISO times in UTC, °C, %RH."""
    random = np.random.default_rng(SEED)
    count = int((END - START) / STEP) + 1
    hours = np.arange(count) * (STEP.total_seconds() / 3600)
    temp_c = 4.0 + 0.5 * np.sin(hours * 2 * np.pi / 1.1) + 0.2 * np.sin(hours * 2 * np.pi / 24)
    temp_c += random.normal(0, 0.12, count)
    for start, length_h, warm_c in SPELLS:
        since = hours - (start - START).total_seconds() / 3600
        rise = 1 - np.exp(-np.clip(since, 0, length_h) / REWARM_H)
        fall = np.exp(-np.clip(since - length_h, 0, None) / REWARM_H)
        temp_c += np.where(since > 0, (warm_c - 4.0) * rise * fall, 0.0)
    rh_pct = np.clip(52 + random.normal(0, 2, count) - (temp_c - 4) * 0.8, 20, 90)
    gap_start, gap_h = GAP
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow(["time UTC", "temperature °C", "humidity %"])
    for index in range(count):
        at = START + index * STEP
        if gap_start <= at < gap_start + timedelta(hours=gap_h):
            continue
        rows.writerow(
            [at.strftime("%Y-%m-%dT%H:%M:%SZ"), f"{temp_c[index]:.1f}", f"{rh_pct[index]:.0f}"]
        )
    return text.getvalue().encode()
