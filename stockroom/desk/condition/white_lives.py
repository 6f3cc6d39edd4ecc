"""What measured whites say of the rolls in stock: their readings with ages, and what counts."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from stockroom.core.care import WHITE_LIMITS, white_limits
from stockroom.core.climate.visits import Journey, age
from stockroom.core.constants import SHOP_RULE_LIFE, WHITE_REACH
from stockroom.core.freshness.drift import Series, WhiteReading
from stockroom.core.freshness.label import LabelLife
from stockroom.core.freshness.standing import Limits, Standing, standing
from stockroom.core.freshness.ways import Counted, ways_of
from stockroom.core.freshness.white import Paper, WhiteLife, decided, white_lives
from stockroom.core.patches import is_code
from stockroom.core.records import Material, Patch, Unit, WhiteWord
from stockroom.core.white_reasons import WhiteSeen
from stockroom.desk.inventory import Inventory


@dataclass(frozen=True, slots=True, eq=False)
class White:
    """What the white of one roll says, and what of it counts.

    Attributes
    ----------
    life : WhiteLife
        Of its whole life, days of label life.
    label_days, before_days : float
        The label's whole life, and what of it had gone when the roll came.
    counted : Counted or None
        The life it counts as having come with; None where the label stands.
    word : WhiteWord or None
        The last word given on it.
    standing : Standing or None
        What its patches ask for; None without any.
    limits : mapping
        By quantity, from where a drift is watched and from where one stops.
    """

    life: WhiteLife
    label_days: float
    before_days: float
    counted: Counted | None
    word: WhiteWord | None
    standing: Standing | None
    limits: Limits

    def word_days(self) -> int:
        """Return the whole life on which a word may be given now, days."""
        ages = [drift.reading.age_days for drift in self.life.drifts if drift.counts]
        return int(min(self.life.median_days, WHITE_REACH.value * max(ages, default=0.0)))

    def seen(self, on: Callable[[int], date], day: date) -> WhiteSeen | None:
        """Return the patch that decides as a verdict on a day needs it; None without one.

        `on` tells the day of an instant.
        """
        if self.standing is None:
            return None
        lead = self.standing.lead
        watch, act = self.limits[lead.reading.series.quantity]
        return WhiteSeen(
            judgement=self.standing.judgement,
            quantity=lead.reading.series.quantity,
            telling=lead.telling,
            raw=lead.raw,
            process=lead.process,
            own=lead.own,
            at_least=lead.at_least,
            watch=watch,
            act=act,
            at=lead.reading.at,
            days_before=max(0, (day - on(lead.reading.at_s)).days),
            odd=lead.reading.key in self.life.odd,
            label_days=self.label_days,
            median_days=self.life.median_days,
            tells=self.life.tells,
            word=self.counted is not None and self.counted.word,
        )


class WhiteLives:
    """What is known of the whites of all rolls, reckoned when it is asked for.

    Parameters
    ----------
    inventory : Inventory
        What is read once.
    """

    def __init__(self, inventory: Inventory) -> None:
        self.inventory = inventory
        self._patches: dict[str, list[Patch]] = {}
        self._materials: dict[str, list[str]] = {}
        self._lots: set[str] = set()
        for patch in inventory.records.all(Patch):
            if (unit := inventory.unit(patch.unit)) is None:
                continue
            if patch.unit not in self._patches:
                material = inventory.material_of(unit).code
                self._materials.setdefault(material, []).append(patch.unit)
                self._lots.add(unit.lot)
            self._patches.setdefault(patch.unit, []).append(patch)
        words = sorted(inventory.records.all(WhiteWord), key=lambda word: word.at_s)
        self._words = {word.unit: word for word in words}
        self._found: dict[str, dict[str, White]] = {}

    def patches(self, unit: Unit) -> list[Patch]:
        """Return a roll's patches in order of time."""
        return sorted(self._patches.get(unit.code, ()), key=lambda item: (item.at_s, item.code))

    def measured(self) -> Iterable[Unit]:
        """Yield the rolls of which a patch was measured."""
        for code in self._patches:
            if (unit := self.inventory.unit(code)) is not None:
                yield unit

    def of(self, unit: Unit) -> White | None:
        """Return what the white of a roll says; None where neither it nor its emulsion has any."""
        if unit.lot not in self._lots:
            return None
        material = self.inventory.material_of(unit)
        if material.code not in self._found:
            self._found[material.code] = self._of_material(material)
        return self._found[material.code].get(unit.code)

    def counted(self, unit: Unit) -> Counted | None:
        """Return the life a roll counts as having come with by its white; None: the label's."""
        found = self.of(unit)
        return None if found is None else found.counted

    def _of_material(self, material: Material) -> dict[str, White]:
        codes = dict.fromkeys(self._materials[material.code])
        for unit in self.inventory.units_of(material.code):
            if unit.lot in self._lots and unit.shape.wound:
                codes.setdefault(unit.code)
        units = [found for code in codes if (found := self.inventory.unit(code)) is not None]
        readings = self._readings(units)
        limits = limits_of(material)
        acts = {quantity: act for quantity, (_, act) in limits.items()}
        wholes = {unit.code: whole_life(material, self.inventory.label_of(unit)) for unit in units}
        papers = tuple((unit.code, unit.lot, material.code, wholes[unit.code][0]) for unit in units)
        made_of = (tuple(readings), papers, tuple(acts.items()))
        kept = self.inventory.memory.whites.get(material.code)
        if kept is None or kept[0] != made_of:
            heard = self.inventory.memory.heard
            lives = white_lives([Paper(*paper, acts) for paper in papers], readings, heard)
            kept = (made_of, lives)
            self.inventory.memory.whites[material.code] = kept
        return {
            unit.code: self._white(unit, limits, kept[1][unit.code], wholes[unit.code])
            for unit in units
            if unit.code in kept[1]
        }

    def _white(
        self, unit: Unit, limits: Limits, life: WhiteLife, whole: tuple[float, float]
    ) -> White:
        label_days, before_days = whole
        word = self._words.get(unit.code)
        stands = standing(life.drifts, life.odd, limits)
        told = decided(
            life,
            label_days,
            None if word is None else float(word.most_days),
            None if stands is None else stands.over_days,
            None if stands is None else stands.sound_days,
        )
        counted = None
        if told is not None:
            likely, low, high = (days - before_days for days in (told.likely, told.low, told.high))
            counted = Counted(likely, low, high, told.word)
        return White(life, label_days, before_days, counted, word, stands, limits)

    def _readings(self, units: Iterable[Unit]) -> list[WhiteReading]:
        """Every patch of these rolls as a reading of each quantity, with the roll's age then."""
        asked = [(unit, patch) for unit in units for patch in self._patches.get(unit.code, ())]
        ages = self._ages(asked)
        found = []
        for unit, patch in asked:
            for quantity, value, control in (
                ("b*", patch.b_milli, patch.control_b_milli),
                ("density", patch.density_milli, patch.control_density_milli),
            ):
                if value is None:
                    continue
                found.append(
                    WhiteReading(
                        key=f"{patch.code} {quantity}",
                        unit=unit.code,
                        lot=unit.lot,
                        material=self.inventory.material_of(unit).code,
                        at_s=patch.at_s,
                        age_days=ages[patch.code],
                        value=value / 1_000,
                        series=Series(
                            quantity,  # type: ignore[arg-type]
                            patch.instrument,
                            patch.measuring,
                            patch.backing,
                        ),
                        control=patch.control or "",
                        control_value=None if control is None else control / 1_000,
                        spots=patch.spots,
                        act=patch.act,
                        control_ages=is_code(patch.control or ""),
                    )
                )
        return found

    def _ages(self, asked: list[tuple[Unit, Patch]]) -> dict[str, float]:
        """The effective age of a roll at each of its patches, days of label life."""
        inventory, memory = self.inventory, self.inventory.memory
        known: dict[str, float] = {}
        unknown = []
        for unit, patch in asked:
            material, label = inventory.material_of(unit), inventory.label_of(unit)
            until_s = min(patch.at_s, inventory.aged_s)
            visits = tuple(
                visit._replace(to_s=min(visit.to_s, until_s))
                for visit in inventory.visits(unit)
                if visit.from_s < until_s
            )
            stamps = tuple(inventory.airs.stamp(visit.place)[:1] for visit in visits)
            made_of = (visits, stamps, label, material.energy_j_mol, unit.arrived_warm)
            kept = memory.patch_ages.get(patch.code)
            if kept is not None and kept[0] == made_of:
                known[patch.code] = kept[1]
                continue
            ways = ways_of(label, material.energy_j_mol, arrived_warm=unit.arrived_warm)
            came_s = visits[0].from_s if visits else until_s
            journey = Journey(ways.fresh(label, came_s), visits, ways.rules, ways.budgets(label))
            unknown.append((unit, patch, made_of, journey))
        airs = {
            visit.place: inventory.airs.air(visit.place)
            for _, _, (visits, *_), _ in unknown
            for visit in visits
        }
        aged = age([journey for _, _, _, journey in unknown], airs)
        for (_, patch, made_of, _), found in zip(unknown, aged, strict=True):
            known[patch.code] = float(found.used_days[0])
            memory.patch_ages[patch.code] = (made_of, known[patch.code])
        return {
            patch.code: known[patch.code]
            + whole_life(inventory.material_of(unit), inventory.label_of(unit))[1]
            for unit, patch in asked
        }


def limits_of(material: Material) -> Limits:
    """Return from where a drift of each quantity is watched, and from where one stops."""
    return {quantity: white_limits(material, quantity) for quantity in WHITE_LIMITS}


def whole_life(material: Material, label: LabelLife) -> tuple[float, float]:
    """Return the whole life a label gives, and what of it had gone on arrival, days of label life.

    Where the label tells no whole life, it counts from the day the roll came.

    >>> from datetime import date
    >>> paper = Material(code="1", name="Satin", family="paper", form="roll", label_life_days=730)
    >>> whole_life(paper, LabelLife(600.0, "made on", False, date(2027, 1, 1), ()))
    (730.0, 130.0)
    """
    whole = float(material.label_life_days or 0)
    if whole <= 0 or whole < label.days:
        whole = label.days if label.days > 0 else SHOP_RULE_LIFE.value
    return whole, max(0.0, whole - label.days)
