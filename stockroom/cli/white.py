"""Commands on paper white: write down a measured patch, list those of a roll."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import typer

from stockroom.cli.base import HAPPENED, KEY, answer, app, at_desk, at_reckoning, happened, told
from stockroom.core.records import BACKINGS, MEASURING
from stockroom.errors import BadValueError
from stockroom.picking import picked

if TYPE_CHECKING:
    from stockroom.core.patches import Apart
    from stockroom.desk.condition.whites import Colour
    from stockroom.desk.session import Desk, Done


@app.command("patch", short_help="Write down a measured white patch of a roll of paper.")
def patch(
    code: str = typer.Argument(..., metavar="UNIT"),
    b: str = typer.Option(None, "--b", help="Its b*."),
    lab: str = typer.Option(None, help="Its L* a* b*, like '94.1 -0.3 -2.15'."),
    density: str = typer.Option(None, help="Its blue density."),
    instrument: str = typer.Option(None, help="What it was measured with."),
    measuring: str = typer.Option("unknown", help=f"Condition: {', '.join(MEASURING)}."),
    backing: str = typer.Option(
        "white", help=f"What lay under it: {', '.join(BACKINGS)} (more of itself)."
    ),
    spots: int = typer.Option(1, help="Places averaged."),
    control: str = typer.Option(None, help="Control of that run: a roll's code, a strip's name."),
    control_b: str = typer.Option(None, help="The control's b*."),
    control_lab: str = typer.Option(None, help="The control's L* a* b*."),
    control_density: str = typer.Option(None, help="The control's blue density."),
    list_: bool = typer.Option(False, "--list", help="List the patches of this roll."),
    happened_: str = HAPPENED,
    key: str = KEY,
) -> None:
    """Example:  stockroom patch 10143 --b -2.15 --instrument 'Bench spectro' --measuring M1
    --control 'strip A' --control-b -2.40

    A patch is processed and unexposed. Without a control of the same run nobody can tell paper
    from chemistry. Patches of another instrument, condition or backing are never compared.

    Processing chemistry: wear gloves, see to ventilation. As a caution, not a permission; follow
    local rules and trained practice.
    """
    from stockroom.desk.condition import whites

    measured = (b, lab, density, control, control_b, control_lab, control_density)
    if list_:
        if any(item is not None for item in measured):
            raise BadValueError(
                "A list writes nothing down.", try_="Leave --list out, or what was measured."
            )
        _list(code)
        return
    own, other = _colour(b, lab, "--lab"), _colour(control_b, control_lab, "--control-lab")
    with at_desk() as desk:
        told(
            whites.note_patch(
                desk,
                code,
                l=own[0],
                a=own[1],
                b=own[2],
                density=whites.density_of(density or ""),
                instrument=instrument or "",
                measuring=measuring,  # type: ignore[arg-type]
                backing=backing,  # type: ignore[arg-type]
                spots=spots,
                control=control,
                control_l=other[0],
                control_a=other[1],
                control_b=other[2],
                control_density=whites.density_of(control_density or ""),
                happened_s=happened(desk, happened_),
                key=key,
            )
        )


@app.act("trust-white", short_help="Let a roll count on its measured white.")
def trust_white(
    desk: "Desk",
    code: str = typer.Argument(..., metavar="UNIT"),
    why: str = typer.Option(..., help="Why, in a few words."),
    key: str = KEY,
) -> "Done":
    """Example:  stockroom trust-white 10143 --why 'strips and whites are clean'

    A measured white shortens a life at once. It lengthens it beyond the label only by this word,
    and never beyond what it shows now.
    """
    from stockroom.desk.condition.whites import shown_life
    from stockroom.desk.condition.whites import trust_white as trust

    unit, most_days = shown_life(desk, code)
    return trust(desk, unit.code, why, most_days=most_days, key=key)


def _colour(b: str | None, lab: str | None, option: str) -> "Colour":
    """What was measured by `--b` or by `--lab`, which holds b* too."""
    from stockroom.desk.condition.whites import colour_of
    from stockroom.units import number

    if b is not None and lab is not None:
        raise BadValueError(
            "b* was given twice.", f"It is in {option} already.", "Give one of the two."
        )
    if b is not None:
        return None, None, number(b, "a b*")
    return colour_of(lab or "")


def _list(code: str) -> None:
    """List the patches of a roll, each against the first."""
    from stockroom import clock
    from stockroom.core.act_wording import patch_text
    from stockroom.core.patches import apart
    from stockroom.core.records import Unit
    from stockroom.desk.condition.whites import patches_of
    from stockroom.desk.lookup import find

    with at_reckoning() as (desk, reckoning):
        unit = find(reckoning.view, Unit, code)
        name = reckoning.material_of(unit).name
        found, zone = apart(patches_of(reckoning, unit)), desk.zone

    def lines() -> Iterator[str]:
        if not found:
            yield f"No patch of {unit.code} is written down yet."
            return
        yield f"White patches of {unit.code}, {name}"
        for item in found:
            when = clock.moment_text(item.patch.at_s, zone)
            by = f"{item.patch.instrument}, {patch_text(item.patch)}"
            yield f"  {when}: {by}: {apart_text(item, first=item is found[0])}"
        if len(found) > 1:
            yield "Compared as measured: what the chemistry moved is still in it."

    value = {
        "unit": unit.code,
        "patches": [
            {
                **item.patch.plain(),
                "compared": not item.why_not and item is not found[0],
                **picked(item, "why_not? delta_e_2000 delta_b delta_density"),
            }
            for item in found
        ],
    }
    answer("stockroom.patches/1", value, lines())


def apart_text(item: "Apart", *, first: bool) -> str:
    """Return how far a patch lies from the first one.

    >>> from stockroom.core.records import Patch
    >>> from stockroom.core.patches import Apart
    >>> patch = Patch(code="1", unit="2", at_s=0, act=1, instrument="Spectro")
    >>> apart_text(Apart(patch, "", 0.2143, 0.25), first=False)
    'b* +0.25, CIEDE2000 0.21 from the first'
    >>> apart_text(Apart(patch, "another backing"), first=False)
    'not compared: another backing'
    """
    if first:
        return "the first"
    if item.why_not:
        return f"not compared: {item.why_not}"
    parts = [
        f"b* {item.delta_b:+.2f}" if item.delta_b is not None else "",
        f"density {item.delta_density:+.3f}" if item.delta_density is not None else "",
        f"CIEDE2000 {item.delta_e_2000:.2f}" if item.delta_e_2000 is not None else "",
    ]
    return f"{', '.join(part for part in parts if part)} from the first"
