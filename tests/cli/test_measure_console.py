"""Rolls by the tape on the console: calibrate with one, count another, with its plus or minus."""

import pytest
from support.studio import Studio

from stockroom.cli import run


def test_a_roll_is_counted_by_its_diameter(
    studio: Studio, capsys: pytest.CaptureFixture[str]
) -> None:
    store = studio.desk.engine.url.render_as_string(hide_password=False)

    def at(*words: str) -> int:
        return run([*words, "--store", store])

    assert at("winding", studio.paper, "--length", "50", "--across", "152.6") == 0
    assert at("count", studio.roll, "--across", "131") == 0
    told = capsys.readouterr()
    assert "from 131.0 mm across; caliper as wound, from one roll of known length" in (
        told.err.replace("\n", " ").replace("  ", " ")
    )
    assert at("unit", "show", studio.roll) == 0
    assert "±" in capsys.readouterr().out
    assert at("count", studio.roll) == 2
    assert "Give either an amount, or --across" in capsys.readouterr().err
    assert at("count", studio.roll, "3", "--across", "131") == 2
