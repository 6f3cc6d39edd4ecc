"""Our own two looks, dark and light, and the styles that all screens share."""

from textual.theme import Theme

LEAST_WIDTH, LEAST_HEIGHT = 80, 24
"""Smallest window in which the screens fit, cells."""
WIDE = 110
"""From this width on the text stands beside the list, cells."""

DARK = Theme(
    name="bench-dark",
    primary="#9cc2b5",
    secondary="#c8b68a",
    accent="#9cc2b5",
    foreground="#dcdcd4",
    background="#15191b",
    surface="#1c2224",
    panel="#263033",
    success="#a5cf94",
    warning="#e3b85f",
    error="#f09a86",
    dark=True,
    variables={
        "quiet": "#a7b2b0",
        "line-cursor": "#2f3e3e",
        "line-cursor-away": "#232c2e",
        "input-selection-background": "#47605c",
    },
)
LIGHT = Theme(
    name="bench-light",
    primary="#245c50",
    secondary="#6d5617",
    accent="#245c50",
    foreground="#22292b",
    background="#f6f4ee",
    surface="#eeebe2",
    panel="#e0dcd0",
    success="#2c6320",
    warning="#7a5000",
    error="#9b2c17",
    dark=False,
    variables={
        "quiet": "#515b59",
        "line-cursor": "#d3ddd6",
        "line-cursor-away": "#e6e6de",
        "input-selection-background": "#b6cbc4",
    },
)

CSS = """
Screen { background: $background; color: $foreground; layers: base over; }
#bar { height: 1; background: $panel; color: $foreground; padding: 0 1; }
#body { height: 1fr; }
Lines { height: 1fr; width: 1fr; background: $background; }
#detail { display: none; width: 2fr; border-left: solid $panel; padding: 0 0 0 1; }
#list { width: 3fr; }
.wide #detail { display: block; }
.page #detail { display: none; }
#filter { display: none; height: 1; border: none; background: $surface; padding: 0 1; }
#filter.on { display: block; }
#status { height: auto; max-height: 3; min-height: 1; padding: 0 1; background: $surface; }
#foot { height: 1; background: $panel; padding: 0 1; }
#small { layer: over; display: none; width: 100%; height: 100%; padding: 1 2;
    background: $background; dock: top; }
.small #small { display: block; }
#ask { height: 1fr; overflow-y: auto; padding: 1 0 0 0; }
.field { height: 1; width: 1fr; margin: 0 1; }
.field .label { width: 21; color: $quiet; }
.field Input { width: 30; height: 1; border: none; padding: 0; background: $surface; }
.field Input:focus { background: $line-cursor; border: none; }
.field Pick { width: 30; height: 1; background: $surface; }
.field Pick:focus { background: $line-cursor; }
.field .hint { width: 1fr; height: 1; color: $quiet; padding: 0 0 0 1; text-wrap: nowrap;
    text-overflow: ellipsis; }
#use { width: 1fr; margin: 0 0 0 1; }
.wide .field Input, .wide .field Pick { width: 48; }
.field .mark { width: 2; }
#press { height: 1; width: auto; margin: 1 1 0 3; padding: 0 1; background: $surface; }
#press:focus { background: $line-cursor; text-style: bold; }
#told { height: 1fr; margin: 1 1 0 1; }
StripScreen { align: center middle; background: $background 60%; }
StripScreen > Static { width: 60; height: auto; padding: 1 2; background: $panel; }
"""
