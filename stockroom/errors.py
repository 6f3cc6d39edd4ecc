"""What can go wrong, as one tree of errors that say what happened, why, and what to try.

::

    StockroomError                      never raised itself
    ├── InputError                      exit 2: what was given cannot be read
    │   ├── BadValueError               a number, date, name or size that cannot be
    │   ├── UnknownCodeError            nothing answers to that code or name; nearest ones named
    │   └── ImportProblem               a file that cannot be taken in; carries the rows
    ├── RefusedError                    exit 1: a rule of the books says no; nothing was changed
    │   ├── UndoRefusedError            a later act stands on the one to be undone
    │   ├── OrderedMeanwhileError       the same was ordered since a person looked
    │   └── KeyReusedError              the same key came with another payload
    ├── PlanFaultyError                 exit 3: a cut plan that its checker did not pass
    └── StoreError                      exit 3: trouble with the store
        ├── StoreMissingError           there is no store where one was asked for
        ├── StoreNewerError             written by a newer version of the program
        ├── StoreEarlyError             made by a version that was never released
        ├── StoreDamagedError           a row or the chain does not agree with itself
        ├── StoreUnwritableError        read-only, full disk, or locked for too long
        └── CommitUnknownError          the connection was lost while it was written for good
"""

from collections.abc import Sequence
from dataclasses import dataclass


class StockroomError(Exception):
    """The root: what happened, why, and what to try, each a sentence for a person.

    Parameters
    ----------
    what : str
        What happened.
    why : str
        The reason, if there is one to tell.
    try_ : str
        What to do next.
    """

    title = "Something went wrong"
    exit_code = 3

    def __init__(self, what: str, why: str = "", try_: str = "") -> None:
        super().__init__(what)
        self.what = what
        self.why = why
        self.try_ = try_

    def __str__(self) -> str:
        return " ".join(part for part in (self.what, self.why, self.try_) if part)


class InputError(StockroomError):
    """What a person or a file gave cannot be read; nothing was stored."""

    title = "Cannot read that"
    exit_code = 2


class BadValueError(InputError):
    """Raised for a number, date, name or size outside what can be."""


class UnknownCodeError(InputError):
    """Raised when no unit, place, lot, job or material answers to a code or name.

    Parameters
    ----------
    what, why, try_ : str
        As in `StockroomError`.
    nearest : sequence of str
        Codes or names that are close to the one given, nearest first.
    """

    title = "Not in the books"

    def __init__(
        self, what: str, why: str = "", try_: str = "", *, nearest: Sequence[str] = ()
    ) -> None:
        super().__init__(what, why, try_)
        self.nearest = tuple(nearest)


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong with a file: the line it is on (1 is the first; 0 for the whole file)."""

    line: int
    what: str
    column: str = ""
    value: str = ""

    def __str__(self) -> str:
        where = f"line {self.line}: " if self.line else ""
        return f"{where}{self.what}"


class ImportProblem(InputError):  # noqa: N818 - a file's problem, named as people say it
    """Raised when a file cannot be taken in; carries the problems by row, nothing is stored."""

    title = "The file was not taken in"

    def __init__(
        self, what: str, why: str = "", try_: str = "", *, problems: Sequence[Problem] = ()
    ) -> None:
        super().__init__(what, why, try_)
        self.problems = tuple(problems)


class RefusedError(StockroomError):
    """Raised when a rule of the books says no; nothing was changed."""

    title = "Refused"
    exit_code = 1


class UndoRefusedError(RefusedError):
    """Raised when a later act stands on the one to be undone; that act is named."""

    title = "Cannot undo yet"


class OrderedMeanwhileError(RefusedError):
    """Raised when somebody ordered the same since a person looked; `orders` are all that stand."""

    orders: frozenset[str] = frozenset()


class KeyReusedError(RefusedError):
    """Raised when a key that is in the books comes again with another payload."""

    title = "Already used"


class PlanFaultyError(StockroomError):
    """Raised for a cut plan that did not pass its checker: nothing of it is told."""

    title = "A cut plan is not sound"


class StoreError(StockroomError):
    """Trouble with the store itself; what was acknowledged before is still there."""

    title = "Trouble with the store"
    exit_code = 3


class StoreMissingError(StoreError):
    """Raised when there is no store where one was asked for."""


class StoreNewerError(StoreError):
    """Raised when the store was written by a newer version of the program; it is not touched."""


class StoreEarlyError(StoreError):
    """Raised when the store was made by a version that was never released; it is not touched."""


class StoreDamagedError(StoreError):
    """Raised when a row or the chain does not agree with itself; no figure is shown from it."""


HEALING = (
    "Run, with the same --store: stockroom backup NEW-FILE; then stockroom restore NEW-FILE "
    "--store NEW-STORE, which makes every row anew from the acts, and go on with that one. Where "
    "the backup is refused, restore the last one."
)
"""What to try where rows are not what the acts make them."""


class StoreUnwritableError(StoreError):
    """Raised when the store cannot be written: read-only, full disk, or locked for too long."""


class CommitUnknownError(StoreError):
    """Raised when a connection is lost between the wish to commit and the answer."""

    title = "Not known yet"
