"""A field is described once: its option, how it is read, its limits and its words follow."""

from dataclasses import dataclass
from typing import Annotated, Any, ClassVar

import pytest
import typer
from typer.testing import CliRunner

from stockroom.cli.options import asks, shares, stored
from stockroom.core.records.asked import Asked, asked, check_fields
from stockroom.core.records.base import Record
from stockroom.errors import BadValueError

SPREADS = ("roller", "spray")


@dataclass(frozen=True, slots=True, kw_only=True)
class Glue(Record):
    """A record that nothing else knows of."""

    kind: ClassVar[str] = "glue"
    code: str
    spread: Annotated[str, Asked("Spread", ("add",), words=SPREADS)] = "roller"
    film_um: Annotated[int | None, Asked("Dry film", ("add", "care"), least=1, most=400)] = None
    open_h: Annotated[int | None, Asked("Open for", ("care",), most=48)] = None
    low_centi_c: Annotated[
        int | None, Asked("Used at", ("care",), below="high_centi_c", both=True, option="--used-at")
    ] = None
    high_centi_c: Annotated[int | None, Asked("Used at")] = None
    laid_gsm: Annotated[int | None, Asked("Laid on", ("care",), unit="g/m²", most=400)] = None
    last_act: int = 0


def _typed(by: str, *words: str) -> tuple[int, str, dict[str, Any]]:
    """Return the exit code and output of a command that asks for glue's fields, and what it got."""
    app, got = typer.Typer(), {}

    @app.command()
    @asks(Glue, by)
    def command(code: str, key: str = typer.Option(None), **typed: Any) -> None:
        got.update(stored(Glue, typed), code=code)

    done = CliRunner().invoke(app, list(words))
    return done.exit_code, done.output, got


def test_options_follow_from_the_fields_in_their_order() -> None:
    code, told, _ = _typed("care", "--help")
    assert code == 0
    options = [
        "--film",
        "Dry film, mm.",
        "--open",
        "Open for, h.",
        "--used-at",
        "LOW HIGH",
        "--key",
    ]
    places = [told.index(word) for word in options]
    assert places == sorted(places)
    assert "--spread" not in told, "another command asks for it"


def test_what_is_typed_is_stored_in_the_units_of_the_fields() -> None:
    _, _, got = _typed("care", "G1", "--film", "0,12", "--open", "8", "--used-at", "15.5", "25 °C")
    assert got == {
        "code": "G1", "film_um": 120, "open_h": 8, "low_centi_c": 1_550, "high_centi_c": 2_500,
    }  # fmt: skip
    assert _typed("care", "G1")[2] == {"code": "G1"}, "what is not told is left out"
    assert _typed("add", "G1")[2] == {"code": "G1", "spread": "roller"}, "added as usual"


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"film_um": 0}, "Dry film: 0 mm cannot be. It must be above zero and at most 0.4 mm."),
        ({"laid_gsm": 401}, "Laid on: 401 g/m² cannot be. It must be from 0 to 400 g/m²."),
        ({"open_h": 49}, "Open for: 49 h cannot be. It must be from 0 to 48 h."),
        ({"spread": "brush"}, "Spread: 'brush' is not known. It is one of: roller, spray."),
        ({"low_centi_c": 2_000, "high_centi_c": 2_000}, "Used at: 20 °C is not below 20 °C."),
    ],
)
def test_what_cannot_be_is_refused_in_words(told: dict[str, Any], said: str) -> None:
    with pytest.raises(BadValueError) as refused:
        check_fields(Glue, told)
    assert said in str(refused.value)


def test_what_can_be_passes() -> None:
    check_fields(Glue, {"spread": "spray", "film_um": 400, "low_centi_c": 1_000, "other": 3})
    fields = ["spread", "film_um", "open_h", "low_centi_c", "high_centi_c", "laid_gsm"]
    assert list(asked(Glue)) == fields


def test_shared_options_stand_between_what_is_needed_and_the_rest() -> None:
    app, got = typer.Typer(), {}

    def read(desk: object, size: str = typer.Option("A4"), count: int = typer.Option(1)) -> str:
        return f"{count} of {size}"

    @app.command()
    @shares(read, "count")
    def command(
        name: str,
        size: str = typer.Option(...),
        key: str = typer.Option(None),
        **typed: Any,
    ) -> None:
        got.update(name=name, told=read(None, size, **typed))

    done = CliRunner().invoke(app, ["x", "--size", "A3", "--count", "2"])
    assert done.exit_code == 0, done.output
    assert got == {"name": "x", "told": "2 of A3"}
    shown = CliRunner().invoke(app, ["--help"]).output
    assert shown.index("--size") < shown.index("--count") < shown.index("--key")
