"""A folder of logger files for a scheduler: what is new is taken in, each file as one act."""

import os
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from stockroom.core.records import Place
from stockroom.desk.climate.readings import TakenIn, take_in_readings, was_taken_in
from stockroom.desk.lookup import everything, find
from stockroom.desk.session import Desk
from stockroom.errors import ImportProblem, InputError, RefusedError, UnknownCodeError
from stockroom.plain_files import read_plain
from stockroom.text import nearest, safe

if TYPE_CHECKING:
    from stockroom.intake.log_columns import Unit

SETTLED_AFTER_S = 10
"""A file changed less than this long ago may still be written, s (our choice)."""
UNFINISHED = (".part", ".tmp")
"""Endings of files that somebody is still writing (common practice)."""


@dataclass(frozen=True, slots=True)
class FileTaken:
    """A file of the folder that was taken in: its path within the folder, and for which place."""

    path: str
    place_name: str
    taken: TakenIn


@dataclass(frozen=True, slots=True)
class Skipped:
    """A file of the folder that was left alone, and why."""

    path: str
    why: str


@dataclass(frozen=True, slots=True)
class Refused:
    """A file or folder that could not be taken in, and what was wrong with it."""

    path: str
    error: InputError | RefusedError


@dataclass(slots=True)
class FolderRun:
    """What came of one run over a folder, each list in order of name."""

    taken: list[FileTaken] = field(default_factory=list)
    skipped: list[Skipped] = field(default_factory=list)
    refused: list[Refused] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class _Run:
    """One run: where, how files are read, and what came of it so far."""

    desk: Desk
    root: Path
    day_first: bool | None
    zone: str | None
    unit: "Unit | None"
    found: FolderRun

    def shown(self, path: Path) -> str:
        return safe(path.relative_to(self.root))

    def skip(self, path: Path, why: str) -> None:
        self.found.skipped.append(Skipped(self.shown(path), why))

    def refuse(self, path: Path, error: InputError | RefusedError) -> None:
        self.found.refused.append(Refused(self.shown(path), error))


def take_in_folder(
    desk: Desk,
    folder: Path,
    *,
    place: str | None = None,
    day_first: bool | None = None,
    zone: str | None = None,
    unit: "Unit | None" = None,
) -> FolderRun:
    """Take in what is new in a folder of logger files, in order of name, each as one act.

    Left alone are files that stand already, files that a person withdrew or undid, hidden ones,
    unfinished ones (by ending, or changed within the last ten seconds), links out of the folder,
    and folders deeper down. A file that cannot be taken in does not stop the others.

    Parameters
    ----------
    folder : Path
        The folder.
    place : str or None
        Code or name of the place that all files in the folder are of; None where each folder
        within it is named as a place (code or whole name, in any case) and holds that one's files.
    day_first, zone, unit
        As in `take_in_readings`, for all files.

    Returns
    -------
    FolderRun

    Raises
    ------
    InputError
        Where the folder cannot be read, or `place` is unknown.
    StoreError
        On trouble with the store; files taken in before it stay.
    """
    run = _Run(desk, folder.resolve(), day_first, zone, unit, FolderRun())
    with desk.reading() as view:
        places = everything(view, Place)
        only = find(view, Place, place) if place is not None else None
    for path in _listed(run.root):
        if _left_alone(run, path):
            continue
        if only is not None:
            _file(run, path, only)
        elif not path.is_dir():
            run.refuse(path, _no_place_for_file(path))
        elif (named := _place_named(path.name, places)) is None:
            run.refuse(path, _no_such_place(path, places))
        else:
            _folder_of(run, path, named)
    return run.found


def _folder_of(run: _Run, folder: Path, place: Place) -> None:
    try:
        listed = _listed(folder)
    except InputError as error:
        run.refuse(folder, error)
        return
    for path in listed:
        if not _left_alone(run, path):
            _file(run, path, place)


def _file(run: _Run, path: Path, place: Place) -> None:
    """Take in one file, if it is new and whole."""
    from stockroom.intake.files import sha256_hex

    if path.is_dir():
        run.skip(path, "a folder within")
        return
    try:
        data = read_plain(path)
        if _still_written(run, path):
            run.skip(path, "changed just now")
            return
        with run.desk.reading() as view:
            before = was_taken_in(view, place.code, sha256_hex(data))
        if before:
            run.skip(path, before)
            return
        taken = take_in_readings(
            run.desk, place.code, data, path.name,
            day_first=run.day_first, zone=run.zone, unit=run.unit, anew=False,
        )  # fmt: skip
    except (InputError, RefusedError) as error:
        run.refuse(path, error)
        return
    if taken.done.repeated:  # another run was quicker
        run.skip(path, "taken in before")
    else:
        run.found.taken.append(FileTaken(run.shown(path), place.name, taken))


def _left_alone(run: _Run, path: Path) -> bool:
    """Leave out, with a word why, what is not ours to read, or not yet."""
    if path.name.startswith("."):
        why = "hidden"
    elif path.is_symlink() and not _leads_to(path).is_relative_to(run.root):
        why = "leads out of the folder"
    elif path.suffix.lower() in UNFINISHED:
        why = "unfinished"
    elif _still_written(run, path) and not path.is_dir():
        why = "changed just now"
    else:
        return False
    run.skip(path, why)
    return True


def _leads_to(path: Path) -> Path:
    return Path(os.path.realpath(path))  # a link that leads round in a circle raises nothing here


def _still_written(run: _Run, path: Path) -> bool:
    """Whether a file was changed so lately, by its own time, that it may not be whole yet."""
    try:
        return abs(run.desk.now_s() - path.stat().st_mtime) < SETTLED_AFTER_S
    except (OSError, ValueError):
        return False  # reading it says what is wrong


def _listed(folder: Path) -> list[Path]:
    """What lies in a folder, by name."""
    try:
        return sorted(folder.iterdir(), key=lambda path: path.name)
    except OSError as error:
        raise ImportProblem(
            f"The folder {safe(folder.name, length=80)} cannot be read.",
            f"The system says: {safe(error.strerror or error)}.",
            "Look at its name and its rights.",
        ) from error


def _place_named(name: str, places: list[Place]) -> Place | None:
    """The place of just this code or name; a beginning is not enough where nobody looks on."""
    wanted = safe(name).casefold()
    for place in places:
        if place.code == wanted:
            return place
    return next((place for place in places if place.name.casefold() == wanted), None)


def _no_such_place(path: Path, places: list[Place]) -> UnknownCodeError:
    name = safe(path.name, length=80)
    close = nearest(name, [place.name for place in places])
    return UnknownCodeError(
        f"No place is called {name!r}, so its files were left alone.",
        "A folder within is named as the place that was logged: its code or its whole name.",
        f"Did you mean {', '.join(close)}?" if close else "See: stockroom place list.",
        nearest=close,
    )


def _no_place_for_file(path: Path) -> InputError:
    return ImportProblem(
        f"{safe(path.name, length=80)} lies beside the folders of the places.",
        "So nothing says which place it is of.",
        "Move it into its place's folder, or give --place for all files here.",
    )
