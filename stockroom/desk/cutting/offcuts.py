"""The offcut shelf: where each stands, what work it suits, and which are not worth their space."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from stockroom import clock
from stockroom.core.cutting.request import Blank, CutPiece
from stockroom.core.cutting.worth import LeftoverRule, Worth
from stockroom.core.records import Grade, Job, Material, Unit
from stockroom.desk.condition.surfaces import Faces, faces_of
from stockroom.desk.cutting.from_lists import SIZE
from stockroom.desk.cutting.one_cut import face_reasons
from stockroom.desk.cutting.sheets import (
    RECENT_DAYS,
    Wanted,
    cuts_wanted,
    full_size,
    is_cut_piece,
    known_work,
    laid,
    open_cards,
)
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Desk
from stockroom.desk.work.spoilage import DMM2_PER_M2
from stockroom.units import day_text, mm_text, size_text

SPACE_CENTS = 300
"""What keeping 1 m2 of sheet in a rack costs a year, in hundredths of the workshop's money (our
choice: floor at 120 a m2 and year, 40 m2 of sheet standing on each; put your own in its place)."""
LONGEST_WAIT_YEARS = 3.0
"""An offcut that waits longer for work is let go where no price is known (our choice)."""
LEAST_SPAN_DAYS = 90
"""The pace of work is told from no shorter a time (our choice)."""
SHELF = f"""
    unit=unit.code material=material.name width_mm=unit.width_dmm/10 height_mm=unit.length_dmm/10
    place mask_front=faces.surface?.mask_front mask_back=faces.surface?.mask_back looked_over
    seen_on put_by card?
    suits[](job=job.code name=job.name part {SIZE})
    fits ahead wait_years worth_cents space_cents let_go?
"""
"""An offcut on the shelf as plain data."""


@dataclass(frozen=True, slots=True, eq=False)
class ShelfOffcut:
    """An offcut on the shelf.

    Attributes
    ----------
    seen_on : date
        The last day that anybody had it in hand.
    put_by : tuple of str
        Names of the jobs that it is put by for.
    card : str
        The bench card that cuts it; "" where none does.
    suits : tuple of Wanted
        Booked work that can still be cut from it, soonest first.
    fits, ahead : int
        How many pieces of the last year's and booked work fit in it; how many other offcuts would
        be taken first.
    wait_years : float or None
        How long it waits for its turn at that pace; None where nothing fits.
    worth_cents, space_cents : float or None
        What it saves once used, and what its space costs until then; None where not known.
    let_go : str
        Why it is not worth its space; "" where it is, or where it is promised.
    """

    unit: Unit
    material: Material
    place: str
    faces: Faces
    seen_on: date
    put_by: tuple[str, ...]
    card: str
    suits: tuple[Wanted, ...]
    fits: int
    ahead: int
    wait_years: float | None
    worth_cents: float | None
    space_cents: float | None
    let_go: str

    @property
    def looked_over(self) -> bool:
        """Whether it was looked over itself, not only the sheet it was cut from."""
        return self.faces.surface is not None and self.faces.own

    @property
    def size_dmm(self) -> tuple[int, int]:
        """Its width and height."""
        return self.unit.width_dmm, self.unit.length_dmm


def shelf(
    desk: Desk,
    *,
    material: str | None = None,
    space_cents: int = SPACE_CENTS,
    on: date | None = None,
) -> list[ShelfOffcut]:
    """Return the offcuts of sheets and boards, by material, the largest first.

    Parameters
    ----------
    material : str, optional
        Of one material only.
    space_cents : int
        What keeping 1 m2 of sheet costs a year.
    on : date, optional
        Reason as if it were this day.

    Notes
    -----
    An offcut waits ``(ahead + 1) / pace`` years, where the pace is how many pieces that fit in it
    were made in the last year or are booked, a year, and ahead counts the offcuts that are smaller
    or older and take one of those pieces too. It is let go where it is smaller than the least that
    a cut plan keeps, where it is a year old and nothing that it is good for fits, or where its
    space until its turn costs more than it saves. Promised ones are kept.
    """
    found: list[ShelfOffcut] = []
    with reckoned(desk, on) as reckoning:
        today = on or desk.today()
        only = find(reckoning.view, Material, material).code if material else None
        for stuff in sorted(reckoning.materials.values(), key=lambda item: (item.name, item.code)):
            if only in (None, stuff.code) and stuff.shape.flat:
                found += _of(reckoning, stuff, space_cents, today)
    return found


def _of(
    reckoning: Reckoning, material: Material, space_cents: int, today: date
) -> Iterator[ShelfOffcut]:
    units = [
        unit
        for unit in reckoning.units_of(material.code)
        if unit.shape.flat and unit.is_offcut and not is_cut_piece(reckoning, unit)
    ]
    if not units:
        return
    wanted = [
        item
        for item in cuts_wanted(reckoning, _booked(reckoning))
        if item.layer.material == material.code
    ]
    work = known_work(reckoning, material, today)
    uses = sorted({use_of_piece(piece) for piece in work})
    years = _years(reckoning, today)
    worth = _worth(material, work)
    cards = {card.unit: card.code for card in open_cards(reckoning)}
    ordered = sorted(units, key=lambda unit: (unit.measure, unit.received_s, unit.code))
    for unit in reversed(ordered):
        faces = faces_of(reckoning, unit)
        jobs = [put.job for put in reckoning.put_bys if put.unit == unit.code]
        names = dict.fromkeys(reckoning.jobs[job].name for job in jobs)
        size = laid(unit)
        barred = _barred(reckoning, unit, uses, today)
        fitting = [
            piece for piece in work if use_of_piece(piece) not in barred and piece.fits(*size)
        ]
        ahead = sum(
            any(piece.fits(*laid(other)) for piece in fitting)
            for other in ordered[: ordered.index(unit)]
        )
        fits = sum(piece.count for piece in fitting)
        wait = (ahead + 1) * years / fits if fits else None
        saves = None if worth is None else float(worth.of(*size))
        space = None if wait is None else space_cents * unit.measure / DMM2_PER_M2 * wait
        free = not (names or unit.code in cards or unit.held)
        why = _why_go(reckoning, unit, barred, wait, saves, space, today)
        yield ShelfOffcut(
            unit, material, reckoning.places[unit.place].name, faces,
            _seen_on(reckoning, unit, faces), tuple(names), cards.get(unit.code, ""),
            _suits(reckoning, unit, wanted, today) if free else (),
            fits, ahead, wait, saves, space, why if free else "",
        )  # fmt: skip


def use_of_piece(piece: CutPiece) -> Grade:
    """Return what the surface of a piece of known work must be good for."""
    return "face" if piece.code.endswith("/sheet") else "back"


def _barred(
    reckoning: Reckoning, unit: Unit, uses: Sequence[Grade], today: date
) -> tuple[Grade, ...]:
    """For which uses its faces are no good, the chipped corners it can do without left out."""
    return tuple(
        use
        for use in uses
        if any(
            reason.weight == "bars" for reason in face_reasons(reckoning, unit, (1, 1), use, today)
        )
    )


def _years(reckoning: Reckoning, today: date) -> float:
    """The time that the known work spans: from a year ago, or the first job since, to the last."""
    since = today - timedelta(days=RECENT_DAYS)
    days = [job.print_on for job in reckoning.jobs.values() if job.print_on >= since]
    span = (max([today, *days]) - min([today, *days])).days
    return max(LEAST_SPAN_DAYS, span) / RECENT_DAYS


def _booked(reckoning: Reckoning) -> list[Job]:
    jobs = [job for job in reckoning.jobs.values() if job.state == "booked"]
    return sorted(jobs, key=lambda job: (job.print_on, job.code))


def _worth(material: Material, work: Sequence[CutPiece]) -> Worth | None:
    """What leftovers of it are worth, in cents; None where its price or size is not known."""
    size = full_size(material)
    if size is None or not material.price_cents:
        return None
    return Worth(LeftoverRule(), work, [Blank("sheet", *size, None, material.price_cents)])


def _seen_on(reckoning: Reckoning, unit: Unit, faces: Faces) -> date:
    """The day of its last act or look; of its birth where neither is known."""
    act = reckoning.view.act(unit.last_act)
    last_s = max(
        unit.received_s,
        act.occurred_s if act is not None else 0,
        faces.surface.seen_s if faces.own and faces.surface is not None else 0,
    )
    return clock.local_date(last_s, reckoning.zone)


def _suits(
    reckoning: Reckoning, unit: Unit, wanted: Sequence[Wanted], today: date
) -> tuple[Wanted, ...]:
    """Booked work that can be cut from it as it lies, its faces good for it."""
    size = laid(unit)
    found = []
    for item in wanted:
        ways = [(item.width_dmm, item.height_dmm)]
        if item.may_turn:
            ways.append((item.height_dmm, item.width_dmm))
        for lies in ways:
            if lies[0] > size[0] or lies[1] > size[1]:
                continue
            reasons = face_reasons(reckoning, unit, lies, item.use, today)
            if not any(reason.weight == "bars" for reason in reasons):
                found.append(item)
                break
    return tuple(found)


def _why_go(
    reckoning: Reckoning,
    unit: Unit,
    barred: Sequence[Grade],
    wait: float | None,
    saves: float | None,
    space: float | None,
    today: date,
) -> str:
    """Why an offcut is not worth its space; "" where it is."""
    rule = LeftoverRule()
    if not rule.usable(*laid(unit)):
        least = f"{mm_text(rule.least_side_dmm)} a side and {rule.least_area_dmm2 / DMM2_PER_M2:g}"
        return f"smaller than {least} m2, the least that is kept"
    if not reckoning.good_on(unit, today):
        return "past its day"
    if wait is None:
        days = (today - clock.local_date(unit.received_s, reckoning.zone)).days
        if days < RECENT_DAYS:
            return ""
        but = f", no good for a {' or a '.join(barred)}" if barred else ""
        return f"here for {days} days{but}; nothing made in the last year or booked fits in it"
    if saves is not None and space is not None:
        if space > saves:
            return f"its space costs {space / 100:.2f} until its turn, it saves {saves / 100:.2f}"
        return ""
    return f"it waits {wait:.0f} years for its turn" if wait > LONGEST_WAIT_YEARS else ""


def shelf_lines(offcuts: Sequence[ShelfOffcut], today: date) -> Iterator[str]:
    """Yield the shelf in words, a line or two each, and then which to let go."""
    if not offcuts:
        yield "No offcuts on the shelf."
        return
    last = ""
    for item in offcuts:
        if item.material.name != last:
            last = item.material.name
            yield last
        yield f"  {item.unit.code}  {size_text(*item.size_dmm)}, {item.place}{faces_text(item)}"
        yield f"    {use_text(item)}; last seen {day_text(item.seen_on, today)}"
    going = [item for item in offcuts if item.let_go]
    if going:
        yield "To let go, since keeping them is worth less than their space:"
        for item in going:
            yield f"  {item.unit.code}  {size_text(*item.size_dmm)}, {item.place}: {item.let_go}"


def faces_text(item: ShelfOffcut) -> str:
    """Return what is known of an acrylic offcut's masks, to follow its place; "" for a board."""
    surface = item.faces.surface
    if item.material.traits.stuff != "acrylic":
        return ""
    if surface is None:
        return ", masks not looked at"
    on = surface.mask_front == surface.mask_back == "on"
    masks = "both masks on" if on else (
        f"masks: front {surface.mask_front}, back {surface.mask_back}"
    )  # fmt: skip
    return f", {masks}" if item.faces.own else f", {masks} when it was a sheet"


def use_text(item: ShelfOffcut) -> str:
    """Return what an offcut is kept for."""
    if item.card:
        return f"Cut by card {item.card}"
    if item.put_by:
        return f"Put by for {', '.join(item.put_by)}"
    if item.unit.held:
        return f"On hold: {item.unit.held}"
    if item.suits:
        names = list(dict.fromkeys(wanted.job.name for wanted in item.suits))
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        return f"Suits {', '.join(names[:3])}{more}"
    if item.wait_years is None:
        return "Suits nothing known"
    return f"Suits no booked work; {item.fits} pieces of last year's and booked work fit"
