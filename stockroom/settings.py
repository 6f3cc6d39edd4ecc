"""Settings in force: flag, then environment, then file, then default."""

import getpass
import os
import tomllib
from dataclasses import dataclass
from pathlib import Path
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from stockroom.errors import BadValueError, ImportProblem
from stockroom.plain_files import is_missing, read_plain
from stockroom.text import safe

ENVIRONMENT = {
    "store": "STOCKROOM_STORE",
    "zone": "STOCKROOM_ZONE",
    "currency": "STOCKROOM_CURRENCY",
    "actor": "STOCKROOM_ACTOR",
}
"""Environment variable of each setting."""


MAX_BYTES = 100_000
"""Largest settings file read, bytes (our choice: it has some dozen lines)."""
MAX_LINE_BYTES = 1_000
"""Longest line of it, bytes (our choice: keys of many parts take the square of their number)."""


@dataclass(frozen=True, slots=True)
class Setting:
    """One value in force and where it came from."""

    name: str
    value: str
    source: str


def settings_file() -> Path:
    """Return the path of the settings file, whether or not it is there."""
    from platformdirs import user_config_path

    return user_config_path("stockroom") / "settings.toml"


def default_store() -> Path:
    """Return the path of the store when nothing names another."""
    from platformdirs import user_data_path

    return user_data_path("stockroom") / "studio.stockroom"


def in_force(flags: dict[str, str | None]) -> dict[str, Setting]:
    """Return each setting's value and source.

    Parameters
    ----------
    flags : dict of str to str or None
        What was given on the command line; None where nothing was.

    Raises
    ------
    BadValueError
        Where the settings file cannot be read, or a zone or currency is none.
    """
    path = settings_file()
    from_file = _read(path)
    defaults = {
        "store": str(default_store()),
        "zone": _local_zone(),
        "currency": "EUR",
        "actor": _user(),
    }
    found = {}
    for name, variable in ENVIRONMENT.items():
        if flags.get(name) == "":
            raise BadValueError(
                f"--{name} is empty.",
                "An empty word is more likely a variable that is not set.",
                f"Give --{name} a value, or leave it out.",
            )
        if flags.get(name):
            found[name] = Setting(name, str(flags[name]), "flag")
        elif os.environ.get(variable):
            found[name] = Setting(name, os.environ[variable], f"environment {variable}")
        elif name in from_file:
            told = from_file[name]
            if not isinstance(told, str) or not told:
                raise _unreadable(path, f"Its {name} is no text.")
            found[name] = Setting(name, told, f"file {path}")
        else:
            found[name] = Setting(name, defaults[name], "default")
    checked_zone(found["zone"].value)
    return found


def keys() -> dict[str, str]:
    """Return keys of the screen that were moved: the table ``keys`` of the settings file.

    Each entry is a key's id and its new key, such as ``"act.strip" = "t"``.
    """
    moved = _read(settings_file()).get("keys", {})
    if not isinstance(moved, dict):
        raise BadValueError(
            "The keys in the settings file are no table.",
            try_='Write [keys], then "act.strip" = "t".',
        )
    return {str(name): str(key) for name, key in moved.items()}


def saw_limits() -> dict[str, int]:
    """Return what the saw can do: the table ``saw`` of the settings file.

    Its entries are ``longest_cut_mm`` and ``narrowest_mm``; either may be left out.

    Returns
    -------
    dict of str to int
        ``longest_dmm`` and ``narrowest_dmm``, those that are told.

    Raises
    ------
    BadValueError
        Where it is no table, names something else, or tells no width.
    """
    told = _read(settings_file()).get("saw", {})
    known = {"longest_cut_mm": "longest_dmm", "narrowest_mm": "narrowest_dmm"}
    found: dict[str, int] = {}
    for name, mm in told.items() if isinstance(told, dict) else [("", told)]:
        if name not in known or isinstance(mm, bool) or not isinstance(mm, int | float) or mm <= 0:
            raise BadValueError(
                "The saw in the settings file is not told as it is read.",
                "It is a table of longest_cut_mm and narrowest_mm, widths in mm.",
                "Write [saw], then longest_cut_mm = 3100.",
            )
        found[known[name]] = round(mm * 10)
    return found


def checked_zone(zone: str) -> str:
    """Return the name of a time zone that exists, or raise `BadValueError`."""
    try:
        ZoneInfo(zone)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        raise BadValueError(
            f"{safe(zone, length=40)!r} is no time zone.",
            "A name such as Europe/Berlin is wanted.",
            "Look at STOCKROOM_ZONE and the settings file.",
        ) from error
    return zone


def _read(path: Path) -> dict[str, object]:
    try:
        data = read_plain(path, most_bytes=MAX_BYTES)
        if max(map(len, data.split(b"\n"))) > MAX_LINE_BYTES:
            raise ValueError("A line in it is too long")
        return tomllib.loads(data.decode())
    except ImportProblem as error:
        if is_missing(error):
            return {}
        raise _unreadable(path, f"{error.what} {error.why}") from error
    except RecursionError as error:
        raise _unreadable(path, "It is nested too deep.") from error
    except ValueError as error:
        raise _unreadable(path, f"{safe(error)}.") from error


def _unreadable(path: Path, why: str) -> BadValueError:
    return BadValueError(
        f"The settings file {safe(path)} cannot be read.", why, "Mend it, or move it away."
    )


def _user() -> str:
    try:
        return safe(getpass.getuser()) or "someone"
    except (KeyError, OSError):
        return "someone"


def _local_zone() -> str:
    """The machine's own zone, by its IANA name; UTC where it does not say."""
    name = os.environ.get("TZ", "")
    if not name:
        link = Path("/etc/localtime")
        parts = link.resolve().parts if link.is_symlink() else ()
        name = "/".join(parts[parts.index("zoneinfo") + 1 :]) if "zoneinfo" in parts else "UTC"
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return "UTC"
    return name
