"""The command on rolls measured across: one of known length tells the caliper as wound."""

from typing import TYPE_CHECKING, Any

import typer

from stockroom.cli.base import app

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done


@app.act("winding", short_help="A roll of known length, measured across.")
def winding(
    desk: "Desk",
    of: str = typer.Argument(..., metavar="MATERIAL"),
    length: str = typer.Option(..., help="What is wound on it, m."),
    across: str = typer.Option(..., help="Across the roll, mm."),
    core: str = typer.Option(None, help="Across its core, mm; the material's own if left out."),
    about: str = typer.Option(None, help="The length may be off by so much, m."),
    across_about: str = typer.Option(None, help="Across may be off by so much, mm; 0.5."),
    unit: str = typer.Option(None, help="Which roll it was."),
    **when: Any,
) -> "Done":
    """Example:  stockroom winding 'Satin colour paper 127' --length 50 --across 152.4

    From then on 'stockroom count UNIT --across 131' tells the length of any roll of it.
    """
    from stockroom.desk.condition.diameter import MEASURED_TO_DMM, note_winding
    from stockroom.units import length_dmm

    return note_winding(
        desk,
        of,
        length_dmm=length_dmm(length, "m"),
        outer_dmm=length_dmm(across, "mm"),
        core_dmm=length_dmm(core, "mm") if core else None,
        length_plus_minus_dmm=length_dmm(about, "m") if about else 0,
        outer_plus_minus_dmm=(length_dmm(across_about, "mm") if across_about else MEASURED_TO_DMM),
        unit=unit,
        **when,
    )
