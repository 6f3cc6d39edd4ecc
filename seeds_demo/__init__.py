"""An invented studio to try everything on; its people, suppliers and lots exist nowhere."""

DEMO_NOW_S = 1_772_524_800
"""The demo's clock stands at Tuesday 3 March 2026, nine in the morning in its own zone (s UTC)."""
