"""The console's commands, put together once for all that the tests run of them."""

import typer.main

_put_together = typer.main.get_command
_made: dict[tuple[int, int], object] = {}


def kept(app: typer.Typer) -> object:
    """Return the commands of an application: as they were made before, unless more came since."""
    state = id(app), len(app.registered_commands)
    if state not in _made:
        _made[state] = _put_together(app)
    return _made[state]


def keep_commands() -> None:
    """Have this process put the commands together once: it takes longer than many a command."""
    typer.main.get_command = kept  # type: ignore[assignment]
