"""What a measured white moved by since its emulsion's first patch, the process taken out."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from stockroom.units import SECONDS_PER_DAY

Quantity = Literal["b*", "density"]
Telling = Literal["baseline", "counts", "no control", "control unknown"]


class Series(NamedTuple):
    """What makes two readings comparable: only those alike in all of it ever are."""

    quantity: Quantity
    instrument: str
    measuring: str
    backing: str


@dataclass(frozen=True, slots=True)
class WhiteReading:
    """One processed, unexposed patch, and the control of the same run.

    Attributes
    ----------
    key, unit, lot, material : str
        Its own code; the roll, its emulsion and its paper.
    at_s : int
        When, s UTC.
    age_days : float
        The roll's effective age then, days of label life.
    value : float
        b* or blue density of the patch.
    control : str
        What served as the control; "" for none.
    control_value : float or None
        The same quantity of the control.
    spots : int
        Places averaged.
    act : int
        The act that wrote it down: of two of one second, the later counts as later.
    control_ages : bool
        Whether the control is another roll, which yellows with time as this one does.
    """

    key: str
    unit: str
    lot: str
    material: str
    at_s: int
    age_days: float
    value: float
    series: Series
    control: str = ""
    control_value: float | None = None
    spots: int = 1
    act: int = 0
    control_ages: bool = False

    @property
    def at(self) -> tuple[int, int]:
        """What readings are put in order of time by."""
        return self.at_s, self.act


@dataclass(frozen=True, slots=True)
class Drift:
    """One reading against the emulsion's first patch.

    Attributes
    ----------
    reading, base : WhiteReading
        The reading, and the emulsion's first patch of that series.
    telling : str
        Whether it counts, and if not why: without a control, or with one that nothing ties to the
        baseline's, nobody can tell paper from chemistry.
    raw : float
        Patch less first patch.
    process : float
        What the control moved by meanwhile: that is the process.
    own : float
        Raw less process: what the paper itself did.
    at_least : bool
        Whether a roll served as control somewhere between: it ages too, and hides as much of what
        this paper did, which is then `own` or more.
    """

    reading: WhiteReading
    base: WhiteReading
    telling: Telling
    raw: float
    process: float = 0.0
    at_least: bool = False

    @property
    def own(self) -> float:
        """What the paper itself did."""
        return self.raw - self.process

    @property
    def counts(self) -> bool:
        """Whether it says something of the paper."""
        return self.telling in ("baseline", "counts")


def own_drift(readings: Iterable[WhiteReading]) -> list[Drift]:
    """Return each reading against its emulsion's first patch, the process taken out.

    ``own = (patch - first patch) - (control - first control)``, in one series only. The first
    patch with a control is the emulsion's baseline. A control that is not the baseline's is tied
    to it where both were measured within a day; otherwise the reading counts for nothing. Where
    the control is a roll, its own ageing is in what it moved by.

    Parameters
    ----------
    readings : iterable of WhiteReading
        Of any rolls, in any order.

    Returns
    -------
    list of Drift
        In order of time.
    """
    ordered = sorted(readings, key=lambda item: (*item.at, item.key))
    process = _process(ordered)
    bases: dict[tuple[str, Series], WhiteReading] = {}
    for item in ordered:
        if item.control_value is not None:
            bases.setdefault((item.lot, item.series), item)
    found = []
    for item in ordered:
        base = bases.get((item.lot, item.series), item)
        raw = item.value - base.value
        if item.control_value is None:
            found.append(Drift(item, base, "no control", raw))
        elif item is base:
            found.append(Drift(item, base, "baseline", 0.0))
        elif item.key in process and base.key in process and _tied(process, item, base):
            moved = process[item.key].offset - process[base.key].offset
            aged = process[item.key].aged or process[base.key].aged
            found.append(Drift(item, base, "counts", raw, moved, aged))
        else:
            found.append(Drift(item, base, "control unknown", raw))
    return found


class _Process(NamedTuple):
    """How far the process stood from where a chain of controls began.

    `aged` says whether a roll served as a control on the way, so that its ageing is in it.
    """

    chain: int
    offset: float
    aged: bool = False


def _tied(process: Mapping[str, _Process], item: WhiteReading, base: WhiteReading) -> bool:
    return process[item.key].chain == process[base.key].chain


def _process(ordered: Sequence[WhiteReading]) -> dict[str, _Process]:
    """Return for each reading with a control how far the process stood then.

    A control counts from its own first value. One that comes later is tied to another that was
    measured within a day of its first time; untied, it begins a chain of its own.
    """
    first: dict[tuple[Series, str], tuple[float, _Process]] = {}
    seen: dict[Series, list[tuple[int, str, _Process]]] = {}
    found: dict[str, _Process] = {}
    chains = 0
    for item in ordered:
        if item.control_value is None:
            continue
        about = (item.series, item.control)
        if about not in first:
            near = [
                (at_s, stood)
                for at_s, name, stood in seen.get(item.series, ())
                if name != item.control and item.at_s - at_s <= SECONDS_PER_DAY
            ]
            if near:
                begins = near[-1][1]
            else:
                chains += 1
                begins = _Process(chains, 0.0, False)
            first[about] = (item.control_value, begins)
        value, begins = first[about]
        moved = item.control_value - value
        aged = begins.aged or (item.control_ages and moved != 0)
        stood = _Process(begins.chain, begins.offset + moved, aged)
        found[item.key] = stood
        seen.setdefault(item.series, []).append((item.at_s, item.control, stood))
    return found
