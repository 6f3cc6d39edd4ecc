"""Files written whole or not at all."""

from pathlib import Path

from stockroom.errors import StoreUnwritableError
from stockroom.text import safe


def write_whole(path: Path, data: bytes, *, replace: bool = False) -> None:
    """Write a file whole or not at all; one that is there is left alone, unless told to replace.

    Raises
    ------
    StoreUnwritableError
        Where it is there already, or its folder cannot be written to.
    """
    part = path.with_name(path.name + ".part")
    try:
        if path.exists() and not replace:
            raise StoreUnwritableError(
                f"{safe(path)} is there already.", try_="Name another file, or remove that one."
            )
        part.write_bytes(data)
        part.replace(path)
    except OSError as error:
        raise StoreUnwritableError(
            f"{safe(path)} cannot be written.", f"{error.strerror}.", "Name another folder."
        ) from error
    finally:
        part.unlink(missing_ok=True)
