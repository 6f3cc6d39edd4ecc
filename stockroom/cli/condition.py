"""Commands on condition: look over a sheet or board, write down a fault in a roll."""

from typing import TYPE_CHECKING, Any

import typer

from stockroom.cli.base import app
from stockroom.core.records import CORNERS, GRADES, MASKINGS, MATTES

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done


@app.act("look-over", short_help="Write down what a sheet or board is like.")
def look_over(
    desk: "Desk",
    code: str,
    mask_front: str = typer.Option(None, help=f"Its front mask: {', '.join(MASKINGS)}."),
    mask_back: str = typer.Option(None, help=f"Its back mask: {', '.join(MASKINGS)}."),
    grade: str = typer.Option(None, help=f"What it is good for: {', '.join(GRADES)}."),
    chipped: str = typer.Option(None, help=f"Chipped corners: {', '.join(CORNERS)}; or none."),
    matte: str = typer.Option(None, help=f"Which side is matte: {', '.join(MATTES)}."),
    **when: Any,
) -> "Done":
    """Example:  stockroom look-over 10436 --mask-back lifted --grade back --chipped 'top left'

    What is left out stays as it was. The front is the side that the viewer sees.
    """
    from stockroom.desk.condition import surfaces

    return surfaces.look_over(
        desk,
        code,
        mask_front=mask_front,  # type: ignore[arg-type]
        mask_back=mask_back,  # type: ignore[arg-type]
        grade=grade,  # type: ignore[arg-type]
        chipped=chipped,
        matte=matte,  # type: ignore[arg-type]
        **when,
    )


@app.act("fault", short_help="Write down a fault in a roll of film or paper.")
def fault(
    desk: "Desk",
    code: str,
    what: str = typer.Option(..., help="What it is, such as a gel, a crease, a splice."),
    from_: str = typer.Option(..., "--from", help="Where it begins, m from the roll's start."),
    to: str = typer.Option(None, help="Where it ends, m; where it begins, if left out."),
    **when: Any,
) -> "Done":
    """Example:  stockroom fault 10305 --from 3.2 --to 3.25 --what gel

    Distances count from the outer end of the roll as it was delivered.
    """
    from stockroom.desk.condition import surfaces
    from stockroom.desk.condition.surfaces import distance_dmm

    begins = distance_dmm(from_)
    ends = distance_dmm(to) if to else begins
    return surfaces.note_fault(desk, code, begins, ends, what, **when)
