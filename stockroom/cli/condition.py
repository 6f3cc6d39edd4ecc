"""Commands on condition: look over a sheet or board, write down a fault in a roll."""

import typer

from stockroom.cli.base import HAPPENED, KEY, app, at_desk, happened, told
from stockroom.core.condition import CORNERS, GRADES, MASKINGS, MATTES


@app.command("look-over", short_help="Write down what a sheet or board is like.")
def look_over(
    code: str,
    mask_front: str = typer.Option(None, help=f"Its front mask: {', '.join(MASKINGS)}."),
    mask_back: str = typer.Option(None, help=f"Its back mask: {', '.join(MASKINGS)}."),
    grade: str = typer.Option(None, help=f"What it is good for: {', '.join(GRADES)}."),
    chipped: str = typer.Option(None, help=f"Chipped corners: {', '.join(CORNERS)}; or none."),
    matte: str = typer.Option(None, help=f"Which side is matte: {', '.join(MATTES)}."),
    happened_: str = HAPPENED,
    key: str = KEY,
) -> None:
    """Example:  stockroom look-over 10436 --mask-back lifted --grade back --chipped 'top left'

    What is left out stays as it was. The front is the side that the viewer sees.
    """
    from stockroom.desk.condition import surfaces

    with at_desk() as desk:
        told(
            surfaces.look_over(
                desk,
                code,
                mask_front=mask_front,  # type: ignore[arg-type]
                mask_back=mask_back,  # type: ignore[arg-type]
                grade=grade,  # type: ignore[arg-type]
                chipped=chipped,
                matte=matte,  # type: ignore[arg-type]
                happened_s=happened(desk, happened_),
                key=key,
            )
        )


@app.command("fault", short_help="Write down a fault in a roll of film or paper.")
def fault(
    code: str,
    what: str = typer.Option(..., help="What it is, such as a gel, a crease, a splice."),
    from_: str = typer.Option(..., "--from", help="Where it begins, m from the roll's start."),
    to: str = typer.Option(None, help="Where it ends, m; where it begins, if left out."),
    happened_: str = HAPPENED,
    key: str = KEY,
) -> None:
    """Example:  stockroom fault 10305 --from 3.2 --to 3.25 --what gel

    Distances count from the outer end of the roll as it was delivered.
    """
    from stockroom.desk.condition import surfaces
    from stockroom.desk.condition.surfaces import distance_dmm

    with at_desk() as desk:
        begins = distance_dmm(from_)
        ends = distance_dmm(to) if to else begins
        at = happened(desk, happened_)
        told(surfaces.note_fault(desk, code, begins, ends, what, happened_s=at, key=key))
