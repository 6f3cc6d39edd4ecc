"""Pictures draw what they are given, keys hold their rules, colours have contrast."""

import pytest
from support.lines import plain
from textual.color import Color
from textual.theme import Theme

from tui import screens
from tui.climate.picture import Trace, climate_picture, thin
from tui.keys import KEYS, checked_keymap
from tui.shared.picture import Canvas, Curve, axis, bar, life_picture
from tui.shared.list_screen import Framed
from tui.theme import DARK, LIGHT
from tui.words import shorten, wrap

DAY = 86_400.0


def curve(limit: float = 100.0) -> Curve:
    """A life half used after fifty days, at an even rate."""
    days = [float(day) for day in range(51)]
    at = tuple(day * DAY for day in days)
    return Curve(
        at, tuple(days), tuple(day * 0.8 for day in days), tuple(day * 1.2 for day in days),
        50 * DAY, (100 * DAY, 80 * DAY, 130 * DAY), limit, ((60 * DAY, "Salt flats"),),
    )  # fmt: skip


def test_used_life_rises_to_the_limit_on_the_likely_day() -> None:
    lines = [plain(line) for line in life_picture(curve(), 60, 8)]
    assert len(lines) == 8
    assert all(len(line) == 60 for line in lines)
    assert "100 days of life" in lines[0]
    assert "▾" in lines[0]
    assert "░" in "".join(lines)
    assert "┊" in "".join(lines)
    firsts = [
        min(x for x, char in enumerate(line) if "⠀" < char <= "⣿")
        for line in lines[1:]
        if any("⠀" < char <= "⣿" for char in line)
    ]
    assert firsts == sorted(firsts, reverse=True)


def test_a_life_that_ran_out_is_drawn_too() -> None:
    from dataclasses import replace

    gone = replace(curve(limit=30.0), ends_s=(30 * DAY, 25 * DAY, 40 * DAY))
    assert len(life_picture(gone, 60, 8)) == 8


def test_a_picture_marks_what_lies_outside_the_limits() -> None:
    pairs: list[tuple[float, float] | None] = [(4.0, 4.2)] * 40 + [(12.0, 14.0)] * 10 + [None] * 20
    silent = [False] * 25 + [True] * 10
    trace = Trace(pairs, 1.0, 8.0, 4.0, silent, [0, 1, 3] + [0] * 32)
    lines = [plain(line) for line in climate_picture(trace, 44, 9)]
    assert len(lines) == 10
    assert lines[0].count("!") == 5
    for label in ("8.0 °C", "1.0 °C", "4.0 °C"):
        assert any(line.strip().startswith(label) for line in lines)
    assert all(line[-10:] == "░" * 10 for line in lines[:9])
    assert lines[9] == "   rises  ▁▃" + " " * 32
    assert climate_picture(Trace([None] * 8, 1.0, 8.0), 44, 9) == []


def test_thinning_keeps_the_extremes() -> None:
    times = [float(second) for second in range(1000)]
    values = [4.0] * 1000
    values[517] = 16.3
    thinned = thin(times, values, 0, 1000, 70)
    assert max(pair[1] for pair in thinned if pair) == 16.3
    assert thin([], [], 0, 1, 3) == [None, None, None]


def test_bars_and_axes_stay_within_their_width() -> None:
    assert bar(-1, 5) == "     "
    assert bar(7, 5) == "█████"
    marks = [(float(at), f"label {at}") for at in range(20)]
    assert len(axis(marks, 0, 19, 40)) <= 40
    canvas = Canvas(4, 2)
    canvas.dot(-1, 0)
    canvas.dot(99, 99)
    canvas.line(-5, -5, 50, 50)
    assert [len(plain(line)) for line in canvas.lines()] == [4, 4]


def test_sentences_are_cut_where_they_can_be() -> None:
    assert shorten("One. Two three four five six seven.", 12) == "One. Two …"
    assert wrap("", 10) == [""]
    assert wrap("x" * 25, 10) == ["x" * 10, "x" * 10, "x" * 5]


def test_no_key_is_a_digit_and_small_letters_never_go_elsewhere() -> None:
    for key in KEYS.values():
        assert not any(name.isdigit() for name in key.keys.split(",")), key.id
        if key.id.startswith("go."):
            assert key.keys.isupper()
        if key.id.startswith("act."):
            assert key.keys.islower()
    assert checked_keymap({"act.strip": "3", "nothing": "x", "act.use": "U,8"})[0] == {}


@pytest.mark.parametrize("name", sorted(screens._SCREENS))
def test_footers_name_keys_that_exist(name: str) -> None:
    module, kind = screens._SCREENS[name]
    import importlib

    found = getattr(importlib.import_module(f"tui.{module}"), kind)
    assert found.TELLS or name in ("help", "form", "readings")
    if issubclass(found, Framed):
        assert all(id_ in KEYS for id_ in found.FOOT)
        assert "screen.back" in found.FOOT or name == "today"


@pytest.mark.parametrize("theme", [DARK, LIGHT], ids=["dark", "light"])
def test_every_role_can_be_read_on_every_ground(theme: Theme) -> None:
    roles = [theme.foreground, theme.primary, theme.secondary, theme.success, theme.warning,
             theme.error, theme.variables["quiet"]]  # fmt: skip
    grounds = [theme.background, theme.surface, theme.panel, theme.variables["line-cursor"]]
    for role in roles:
        for ground in grounds:
            contrast = _contrast(Color.parse(role or ""), Color.parse(ground or ""))
            assert contrast >= 4.5, f"{role} on {ground}: {contrast:.1f}"


def _contrast(one: Color, other: Color) -> float:
    """WCAG 2.2, contrast ratio from relative luminance (published)."""
    bright, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (bright + 0.05) / (dark + 0.05)


def _luminance(color: Color) -> float:
    parts = [
        value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4
        for value in (color.r / 255, color.g / 255, color.b / 255)
    ]
    return 0.2126 * parts[0] + 0.7152 * parts[1] + 0.0722 * parts[2]
