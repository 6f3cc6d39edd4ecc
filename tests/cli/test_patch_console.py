"""At the console a patch is written down in one line, and patches are listed with their like."""

import json
from pathlib import Path

import pytest
from support.studio import Studio

from stockroom.cli import run
from stockroom.core.wording import CAUTION

BENCH = ("--instrument", "Bench spectro", "--measuring", "M1")


@pytest.fixture
def at(studio: Studio, tmp_path: Path):
    """Run a command on the small studio's store."""
    store = str(tmp_path / "studio.stockroom")

    def call(*words: str) -> int:
        return run([*words, "--store", store])

    return call


def shown(capsys: pytest.CaptureFixture[str]) -> str:
    return " ".join(capsys.readouterr().out.split())


def test_a_patch_with_its_control_is_told_in_one_line(at, studio, capsys) -> None:
    assert at("patch", studio.roll, "--lab", "94.1 -0.3 -2.15", *BENCH, "--spots", "4",
              "--control", "strip A", "--control-b", "-2.40") == 0  # fmt: skip
    told = shown(capsys)
    assert (
        f"White patch of {studio.roll}: L* 94.10 a* -0.30 b* -2.15 (M1, white backing), "
        "control strip A b* -2.40." in told
    )
    assert "Nobody can tell" not in told
    assert at("patch", studio.roll, "--density", "0,087", "--instrument", "Meter") == 0
    told = shown(capsys)
    assert "density 0.087 (condition unknown, white backing), no control" in told
    assert "Nobody can tell paper from chemistry: measure a control of the same run." in told
    assert "compared only with others of unknown condition" in told


def test_what_is_wrong_is_said_with_its_exit_code(at, studio, capsys) -> None:
    for words, code, said in (
        (("--b", "-2.15"), 2, "What was it measured with?"),
        ((), 2, "Nothing was measured"),
        (("--b", "-2", "--lab", "94 0 -2", *BENCH), 2, "It is in --lab already"),
        (("--lab", "94 0", *BENCH), 2, "L*, a* and b* are wanted"),
        (("--b", "x", *BENCH), 2, "'x' is not a b*"),
        (("--b", "-2", *BENCH, "--control", "A", "--control-density", "0.1"), 2,
         "The patch has b*, the control density."),
        (("--b", "-2", *BENCH, "--control", studio.roll, "--control-b", "-2"), 1,
         "cannot be its own control"),
        (("--list", "--b", "-2"), 2, "A list writes nothing down"),
        (("--b", "-2", "--instrument", "x", "--happened", "2026-01-01T09:00"), 1, "came on"),
    ):  # fmt: skip
        assert at("patch", studio.roll, *words) == code
        assert said in " ".join(capsys.readouterr().err.split())
    assert at("patch", studio.pack, "--b", "-2", *BENCH) == 1
    assert "no roll of paper" in capsys.readouterr().err
    assert at("patch", studio.roll, "--list") == 0
    assert f"No patch of {studio.roll} is written down yet." in capsys.readouterr().out


def test_the_list_compares_what_was_measured_alike(at, studio, now, capsys) -> None:
    assert at("patch", studio.roll, "--lab", "95 0 0", *BENCH) == 0
    assert at("patch", studio.roll, "--lab", "95 0 2", *BENCH) == 0
    assert at("patch", studio.roll, "--lab", "95 0 2", *BENCH[:2], "--measuring", "M0") == 0
    assert at("patch", studio.second_roll, "--b", "-1", *BENCH) == 0
    capsys.readouterr()
    assert at("patch", studio.roll, "--list") == 0
    told = shown(capsys)
    assert "(M1, white backing), no control: the first" in told
    assert "b* +2.00, CIEDE2000 1.91 from the first" in told
    assert "(M0, white backing), no control: not compared: another measuring condition" in told
    assert "what the chemistry moved is still in it" in told
    assert "-1.00" not in told
    assert at("patch", studio.roll, "--list", "--json") == 0
    told_json = json.loads(capsys.readouterr().out)
    assert (told_json["format"], told_json["unit"]) == ("stockroom.patches/1", studio.roll)
    first, second, third = told_json["patches"]
    assert (first["compared"], first["why_not"], first["b_milli"]) == (False, None, 0)
    assert (second["compared"], second["delta_b"]) == (True, 2.0)
    assert second["delta_e_2000"] == pytest.approx(1.9139, abs=5e-5)
    assert (third["compared"], third["delta_b"], third["delta_e_2000"]) == (False, None, None)
    assert third["why_not"] == "another measuring condition"


def test_the_help_begins_with_an_example_and_warns_of_chemistry(capsys) -> None:
    assert run(["patch", "--help"]) == 0
    told = shown(capsys)
    assert told.split("Example: ")[1].startswith("stockroom patch 10143 --b -2.15")
    assert f"Processing chemistry: wear gloves, see to ventilation. {CAUTION}" in told
