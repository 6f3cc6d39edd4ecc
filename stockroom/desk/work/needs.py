"""What booked work still needs of each material, what is there for it, and by when to order."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from stockroom.core.constants import ASSURANCE
from stockroom.core.losses import Tries
from stockroom.core.making.chain import State, draws_needed
from stockroom.core.making.needs import Draw, Need, total_need
from stockroom.core.making.sizes import Takes, TooLarge, roll_rules, takes
from stockroom.core.records import PARTS, Job, Material, Order, Part, Unit
from stockroom.desk.orders.ordering import Reorder
from stockroom.desk.reckoning import Reckoning
from stockroom.desk.work.attempts import pieces_of, recipe_for
from stockroom.desk.work.drawing import in_hand
from stockroom.desk.work.spoilage import DMM2_PER_M2, learned_of, loss_shares


@dataclass(frozen=True, slots=True, eq=False)
class PartNeed:
    """What one job still needs for one part of its pieces.

    Attributes
    ----------
    job, part : Job, str
    material : Material or None
        None where the build leaves it open.
    tries : Tries
        How often it is still taken, as chances.
    takes : Takes or TooLarge or None
        What each takes; None where the material is open, or comes from outside.
    put_by : int
        How much of the material is put by for the job, in the measure of `takes`; where two parts
        are of one material, told with the first.
    """

    job: Job
    part: Part
    material: Material | None
    tries: Tries
    takes: Takes | TooLarge | None
    put_by: int = 0

    @property
    def draw(self) -> Draw | None:
        """How often how much; None where that cannot be told."""
        if not isinstance(self.takes, Takes):
            return None
        return Draw(self.tries, self.takes.amount)

    @property
    def once(self) -> int:
        """What loading a roll takes on top, once for the job."""
        if not isinstance(self.takes, Takes) or not self.tries.quantile(ASSURANCE.value):
            return 0
        return self.takes.leader_dmm

    @property
    def times_likely(self) -> int:
        """How often it is taken, as likely more as fewer."""
        return self.tries.quantile(0.5)

    @property
    def times_enough(self) -> int:
        """How often it is taken at most, with the asked assurance."""
        return self.tries.quantile(ASSURANCE.value)

    def amount(self, tries: float) -> int:
        """Return how much so many tries take, the loading with them."""
        if not isinstance(self.takes, Takes):
            return 0
        return round(tries * self.takes.amount) + self.once


def states_of(reckoning: Reckoning, job: Job) -> dict[State, int]:
    """Return where the pieces of a job stand in the steps of its recipe, and how many."""
    recipe = recipe_for(reckoning, job)
    pieces = pieces_of(reckoning, job)
    states: dict[State, int] = {}
    for piece in pieces:
        state = recipe.state(piece.stage, in_hand(reckoning, recipe, piece))
        states[state] = states.get(state, 0) + 1
    only_counted = 0 if recipe.build is not None else max(0, job.good - len(pieces))
    begin = recipe.state("print", ())
    states[begin] = states.get(begin, 0) + max(0, job.count - len(pieces) - only_counted)
    return states


def job_needs(reckoning: Reckoning, job: Job) -> list[PartNeed]:
    """Return what a job still needs, part by part, front to back.

    Exact, from the stage of each piece and what is known of the losses; nothing for a job that
    is done or cancelled.
    """
    if job.state != "booked":
        return []
    recipe = recipe_for(reckoning, job)
    chain = recipe.chain(loss_shares(reckoning))
    states = states_of(reckoning, job)
    area_m2 = job.area_dmm2 / DMM2_PER_M2
    yields = learned_of(reckoning).yields_for(area_m2)
    put = _put_by(reckoning, job)
    found = []
    for part in recipe.parts:
        tries = draws_needed(chain, states, PARTS.index(part), area_m2, yields)
        layer = recipe.layer(part)
        code = job.material if part == "paper" else layer.material if layer is not None else None
        material = reckoning.materials.get(code or "")
        if part == "paper" and not job.printed_here:
            material = None
        taken = None
        if material is not None:
            count = max(1, sum(states.values()))
            taken = takes(material, layer, job.width_dmm, job.height_dmm, count)
        held = put.pop(material.code, 0) if material is not None else 0
        found.append(PartNeed(job, part, material, tries, taken, held))
    return found


def _put_by(reckoning: Reckoning, job: Job) -> dict[str, int]:
    """How much of each material is put by for a job: dmm, or thousandths of full sheets."""
    found: dict[str, int] = {}
    for put in reckoning.put_bys:
        unit = reckoning.units.get(put.unit)
        if put.job == job.code and unit is not None:
            material = reckoning.material_of(unit)
            amount = put.qty // max(1, unit.measure)
            if unit.shape.flat:
                full = material.whole_qty
                amount = 1_000 * put.qty // full if full else 1_000 * amount
            found[material.code] = found.get(material.code, 0) + amount
    return found


def sure_jobs(reckoning: Reckoning) -> list[Job]:
    """Return the booked jobs that are sure, soonest first."""
    booked = [job for job in reckoning.jobs.values() if job.state == "booked" and job.sure]
    return sorted(booked, key=lambda job: (job.print_on, job.code))


@dataclass(frozen=True, slots=True, eq=False)
class MaterialNeed:
    """What all sure work still needs of one material, and what is there for it.

    Amounts are dmm of a roll or bar, thousandths of full sheets, or pieces of goods.

    Attributes
    ----------
    parts : tuple of PartNeed
        The jobs that need it, soonest first.
    need : Need
        Their total, as a distribution.
    usable : int
        What may be used on the day of the last of them, ours and not on hold.
    coming : int
        What is on its way and due by then.
    short_on : date or None
        The first day on which it is not enough with the asked assurance; None where it is.
    order_by : date or None
        The last day to order so that it comes in time; None where the lead time is not known.
    whole : int
        What one full roll, bar or sheet gives.
    quantity : int
        How many to order for all of them; 0 for none.
    """

    material: Material
    parts: tuple[PartNeed, ...]
    need: Need
    usable: int
    coming: int
    short_on: date | None
    order_by: date | None
    whole: int
    quantity: int

    @property
    def measure(self) -> str:
        """In what its amounts are told."""
        return next((p.takes.measure for p in self.parts if isinstance(p.takes, Takes)), "length")

    @property
    def likely(self) -> int:
        """What it is as likely to be above as below."""
        return self.need.quantile(0.5)

    @property
    def safe(self) -> int:
        """What is enough with the asked assurance."""
        return self.need.quantile(ASSURANCE.value)

    @property
    def put_by(self) -> int:
        """What of it is put by already."""
        return sum(part.put_by for part in self.parts)

    @property
    def spoken_for(self) -> int:
        """What sure work needs beyond what is put by."""
        return max(0, self.safe - self.put_by)

    @property
    def assurance(self) -> float:
        """The chance that what is there and coming is enough."""
        return self.need.cdf(self.usable + self.coming)


def material_needs(
    reckoning: Reckoning, today: date, only: str | None = None, upto: date | None = None
) -> list[MaterialNeed]:
    """Return what sure work needs of each material, what is soonest to be ordered first.

    Parameters
    ----------
    today : date
        No order can be made before it.
    only : str, optional
        The code of one material.
    upto : date, optional
        Only work to be printed by this day.
    """
    by_material: dict[str, list[PartNeed]] = {}
    for job in sure_jobs(reckoning):
        if upto is not None and job.print_on > upto:
            continue
        for part in job_needs(reckoning, job):
            if part.material is not None and part.draw is not None:
                by_material.setdefault(part.material.code, []).append(part)
    found = [
        _of_material(reckoning, reckoning.materials[code], parts, today)
        for code, parts in by_material.items()
        if only is None or code == only
    ]
    return sorted(
        found,
        key=lambda item: (item.order_by or item.short_on or date.max, item.material.name),
    )


def _total(parts: Iterable[PartNeed]) -> Need:
    parts = list(parts)
    draws = [part.draw for part in parts if part.draw is not None]
    total = total_need(draws)
    once = sum(part.once for part in parts)
    return Need(total.least + once, total.step, total.pmf, total.mean + once)


def _of_material(
    reckoning: Reckoning, material: Material, parts: list[PartNeed], today: date
) -> MaterialNeed:
    days = sorted({max(part.job.print_on, today) for part in parts})
    least = min((p.takes.amount for p in parts if isinstance(p.takes, Takes)), default=0)
    whole = max((p.takes.whole for p in parts if isinstance(p.takes, Takes)), default=0)
    whole = _in_whole_draws(whole, parts) if material.shape.wound else whole

    def there(day: date) -> tuple[int, int]:
        return usable_on(reckoning, material, parts, day), coming_by(
            reckoning, material, whole, day
        )

    def enough(day: date) -> bool:
        due = [part for part in parts if max(part.job.print_on, today) <= day]
        return sum(there(day)) >= _total(due).quantile(ASSURANCE.value)

    need = _total(parts)
    usable, coming = there(days[-1])
    short_on = next((day for day in days if not enough(day)), None)
    order_by, quantity = None, 0
    if short_on is not None:
        ahead = material.lead_days
        if ahead is not None:
            order_by = max(today, short_on - timedelta(days=ahead + material.traits.out_days))
        lacking = max(least, need.quantile(ASSURANCE.value) - usable - coming)
        number = max(1, -(-lacking // whole)) if whole else 1
        multiple = max(1, material.order_multiple)
        quantity = -(-number // multiple) * multiple
    return MaterialNeed(
        material, tuple(parts), need, usable, coming, short_on, order_by, whole, quantity
    )


def usable_on(
    reckoning: Reckoning, material: Material, parts: Sequence[PartNeed], day: date
) -> int:
    """Return how much of a material may be used on a day for some jobs.

    Of a roll what lies between its leader and its tail, in whole draws of the job that takes
    most, since what remains is too short for one more; a full sheet whole, an offcut as the
    largest piece of these jobs that it takes; nothing that is on hold, a customer's, or past its
    day.
    """
    total = 0
    for unit in reckoning.units_of(material.code):
        lot = reckoning.lot_of(unit)
        if unit.held or lot.held or lot.owner == "customer" or not reckoning.good_on(unit, day):
            continue
        total += _gives(material, unit, parts)
    return total


def _gives(material: Material, unit: Unit, parts: Sequence[PartNeed]) -> int:
    if unit.shape.wound:
        rules = roll_rules(material)
        leader = 0 if unit.is_open else rules.leader_dmm
        return _in_whole_draws(max(0, unit.remaining_dmm - rules.tail_dmm - leader), parts)
    if unit.shape.bar:
        return unit.remaining_dmm
    if unit.shape.counted:
        return unit.count
    if unit.measure >= material.whole_qty:
        return 1_000 * unit.count
    best = 0
    for part in parts:
        if not isinstance(part.takes, Takes) or part.takes.amount <= best:
            continue
        short, long_ = sorted((part.job.width_dmm, part.job.height_dmm))
        if short <= min(unit.width_dmm, unit.length_dmm) and long_ <= max(
            unit.width_dmm, unit.length_dmm
        ):
            best = part.takes.amount
    return best * unit.count


def _in_whole_draws(length: int, parts: Sequence[PartNeed]) -> int:
    """What a roll of a length gives the job that takes most of what goes on it; 0 for none."""
    going = [
        (part.amount(part.tries.mean), part.takes.amount)
        for part in parts
        if isinstance(part.takes, Takes) and 0 < part.takes.amount <= length
    ]
    step = max(going)[1] if going else 0
    return length // step * step if step else 0


def coming_by(reckoning: Reckoning, material: Material, whole: int, day: date) -> int:
    """Return how much of a material is on its way and expected by a day."""
    return sum(
        whole * order.to_come
        for order in reckoning.records.all(Order)
        if order.state == "sent"
        and order.material == material.code
        and order.width_dmm is None
        and order.expected_on is not None
        and order.expected_on <= day
    )


def needed_orders(
    reckoning: Reckoning, today: date, listed: Sequence[Reorder]
) -> list[MaterialNeed]:
    """Return the materials that sure work runs short of, beyond what is on the order list."""
    ordered = {line.material.code: line.quantity for line in listed}
    return [
        item
        for item in material_needs(reckoning, today)
        if item.quantity > ordered.get(item.material.code, 0)
    ]
