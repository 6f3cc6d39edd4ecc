"""Bench cards: a cut plan accepted, a card cut as planned or as it really came out, or dropped."""

import json
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from stockroom.core.cutting.edges import Trims
from stockroom.core.cutting.tree import Cut, Node, cuts, from_plain, lying, plain
from stockroom.core.records import Card, Job, Lot, Material, Place, PutBy, Unit
from stockroom.desk.cutting.sheets import (
    CutsSaid,
    CutWork,
    PlannedCard,
    Wanted,
    cuts_wanted,
    plan_cuts,
)
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import Reckoning, reckoned
from stockroom.desk.session import Decision, Desk, Done
from stockroom.errors import BadValueError, RefusedError
from stockroom.store.view import StoreView
from stockroom.text import safe
from stockroom.units import LONGEST_DMM, size_dmm, size_text

NOTHING_TO_CUT = "Nothing more is to be planned for this work."


@dataclass(frozen=True, slots=True)
class CardPart:
    """One part of a card that is kept: a piece for a job, or an offcut.

    Attributes
    ----------
    number : int
        From 1, in the order in which the parts come off.
    what : str
        Piece or offcut.
    job, part : str
        For which job, and which layer of its pieces; "" for an offcut.
    x_dmm, y_dmm, width_dmm, height_dmm : int
        Where it lies on the whole blank, and how large it is.
    """

    number: int
    what: str
    job: str
    part: str
    x_dmm: int
    y_dmm: int
    width_dmm: int
    height_dmm: int
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Layout:
    """How one blank is cut: its trims, its tree of cuts, and what it is cut with.

    Attributes
    ----------
    width_dmm, height_dmm : int
        The whole blank as it lies.
    tree : Cut or Part
    """

    width_dmm: int
    height_dmm: int
    trims: Trims
    tree: Node
    kerf_dmm: int

    @property
    def parts(self) -> tuple[CardPart, ...]:
        """What is kept of it, numbered as it comes off."""
        found: list[CardPart] = []
        begin = (self.trims.left_dmm, self.trims.bottom_dmm)
        for lain in lying(self.tree, self.kerf_dmm, *begin):
            part = lain.part
            if part.what == "waste":
                continue
            job, _, layer = part.code.partition("/")
            found.append(
                CardPart(
                    len(found) + 1, part.what, job, layer, lain.x_dmm, lain.y_dmm,
                    part.width_dmm, part.height_dmm, part.turned,
                )
            )  # fmt: skip
        return tuple(found)

    @property
    def cuts(self) -> tuple[Cut, ...]:
        """Its cuts in the order in which they are made, the trims of the edges not among them."""
        return tuple(cuts(self.tree))


def layout_of(planned: PlannedCard, kerf_dmm: int) -> Layout:
    """Return how a planned card is cut."""
    blank = planned.cut.blank
    return Layout(
        blank.width_dmm, blank.height_dmm, planned.cut.trims, planned.cut.tree, kerf_dmm
    )  # fmt: skip


def kept_layout(card: Card) -> Layout:
    """Return how a card in the books is cut."""
    kept = json.loads(card.cuts)
    wide, high = kept["size"]
    return Layout(wide, high, Trims(*kept["trims"]), from_plain(kept["tree"]), kept["kerf"])


def _as_kept(layout: Layout) -> str:
    trims = layout.trims
    return json.dumps(
        {
            "kerf": layout.kerf_dmm,
            "size": [layout.width_dmm, layout.height_dmm],
            "tree": plain(layout.tree),
            "trims": [trims.left_dmm, trims.bottom_dmm, trims.right_dmm, trims.top_dmm],
        },
        separators=(",", ":"),
    )


@dataclass(frozen=True, slots=True, eq=False)
class CardView:
    """A card with all that is told of it.

    Attributes
    ----------
    unit, material : Unit, Material
    place : str
        Where the sheet or offcut stands.
    jobs : mapping of str to str
        Names of the jobs on it, by code.
    gone : str
        Why it can no longer be cut by; "" where it can.
    """

    card: Card
    layout: Layout
    unit: Unit
    material: Material
    place: str
    jobs: Mapping[str, str]
    gone: str = ""

    def name_of(self, part: CardPart) -> str:
        """Return what a part is: for which job and layer, or an offcut to keep."""
        if part.what != "piece":
            return "offcut to keep"
        return f"{self.jobs.get(part.job, part.job)}, {part.part}"


def accept_cuts(desk: Desk, work: CutWork, *, key: str | None = None) -> Done:
    """Accept a plan: a bench card for each blank in stock, which is put by for its jobs.

    What was put by before of this material for these jobs is free again. What must be bought
    first is not on any card: it is planned anew when it is there.

    Parameters
    ----------
    work : CutWork
        As it was planned.

    Raises
    ------
    RefusedError
        Where there is nothing in stock to be cut by it, or where stock has changed since it was
        planned.
    """
    cards = [card for card in work.cards if card.unit is not None]
    if not cards:
        raise RefusedError(
            f"There is nothing of {work.material.name} in stock to cut these pieces from.",
            try_="Order it first; what is to be bought stands in the plan.",
        )
    kerf = work.saw.kerf_dmm

    def build(decision: Decision) -> dict[str, Any]:
        _cards_as_planned(decision.view, work)
        _wanted_as_planned(desk, work)
        rows, promises = [], []
        plan = ""
        for planned in cards:
            assert planned.unit is not None
            unit = _as_planned(decision.view, planned.unit)
            layout = layout_of(planned, kerf)
            code = decision.head.born()
            plan = plan or code
            rows.append(
                {
                    "code": code,
                    "plan": plan,
                    "material": work.material.code,
                    "unit": unit.code,
                    "cuts": _as_kept(layout),
                }
            )
            promises += [
                {"code": decision.head.born(), "unit": unit.code, "job": job, "qty": qty}
                for job, qty in _shares(layout, unit)
            ]
        return {
            "cards": rows,
            "promises": promises,
            "let_go": [put.code for put in work.replaces if _is_open(decision.view, put)],
        }

    return desk.act("plan cuts", _accepted(work), build, key=key)


def _accepted(work: CutWork) -> dict[str, Any]:
    """What is asked where a plan is accepted: how each blank in stock is cut."""
    kerf = work.saw.kerf_dmm
    cards = [card for card in work.cards if card.unit is not None]
    return {
        "material": work.material.code,
        "cards": [[card.cut.blank.code, _as_kept(layout_of(card, kerf))] for card in cards],
    }


@dataclass(frozen=True, slots=True)
class Accepted:
    """Plans that were accepted as one: the plans, the acts, and the cards that came of them.

    Of a command that stands already there are no plans: they were of before.
    """

    works: tuple[CutWork, ...]
    done: tuple[Done, ...]
    cards: tuple[CardView, ...]


def accept_planned(desk: Desk, said: CutsSaid, *, key: str | None = None) -> Accepted:
    """Plan open work and accept what can be cut from stock: an act for each material, all as one.

    Raises
    ------
    RefusedError
        Where nothing is to be cut, or nothing in stock can be; as `accept_cuts` for any of them.
    """
    request = {"accept": {**asdict(said), "upto": said.upto and said.upto.isoformat()}}
    done, works = desk.done_before(request, key), []
    if done is None:
        works = plan_cuts(desk, said)
        if not works:
            raise RefusedError(NOTHING_TO_CUT, try_="Look at the plan: stockroom cuts plan.")
        if not any(card.unit is not None for work in works for card in work.cards):
            raise RefusedError(
                "Nothing in stock can be cut for this work.",
                try_="Look at the plan: stockroom cuts plan.",
            )
    with desk.deciding():  # the cards are read before they stand: no trouble can deny them then
        if done is None:
            done = accept_all_cuts(desk, works, request, key=key)
        return Accepted(tuple(works), done, cards_of(desk, done))


def accept_all_cuts(
    desk: Desk, works: Sequence[CutWork], request: Mapping[str, Any], *, key: str | None = None
) -> tuple[Done, ...]:
    """Accept plans as one: an act for each of which something is in stock, all of them or none."""
    ready = [work for work in works if any(card.unit is not None for card in work.cards)]
    return desk.as_one(
        request, lambda _decision: [accept_cuts(desk, work) for work in ready], key=key
    )


def cards_of(desk: Desk, done: Iterable[Done]) -> tuple[CardView, ...]:
    """Return the cards that acts brought forth, also where they stood already."""
    with reckoned(desk) as reckoning:
        return tuple(
            card_view(reckoning, find_card(reckoning.view, touch.key))
            for one in done
            for touch in reckoning.view.touches(one.seq)
            if touch.kind == Card.kind and touch.before is None
        )


def _cards_as_planned(view: StoreView, work: CutWork) -> None:
    """Refuse a plan where cards of its material came or went since: its pieces may be on them."""
    now = {
        card.code
        for card in view.having(Card, "material", work.material.code)
        if card.state == "open" and _in_stock(view, card.unit)
    }
    if now != work.carded:
        raise RefusedError(
            f"Bench cards of {work.material.name} came or went since this was planned.",
            "Its pieces may be on one of them by now.",
            "Plan again.",
        )


def _wanted_as_planned(desk: Desk, work: CutWork) -> None:
    """Refuse a plan whose pieces are wanted no more, or in another size or number."""

    def told(wanted: Iterable[Wanted]) -> set[tuple[object, ...]]:
        return {(item.code, item.width_dmm, item.height_dmm, item.count) for item in wanted}

    with reckoned(desk) as reckoning:
        jobs = [reckoning.jobs.get(code) for code in sorted({i.job.code for i in work.wanted})]
        open_ = [job for job in jobs if job is not None and job.state == "booked"]
        now = [
            item
            for item in cuts_wanted(reckoning, open_)
            if item.layer.material == work.material.code
        ]
    if told(now) != told(work.wanted):
        raise RefusedError(
            f"What is to be cut of {work.material.name} changed since this was planned.",
            "A job was changed or closed, or pieces were made or cut meanwhile.",
            "Plan again.",
        )


def _in_stock(view: StoreView, code: str) -> bool:
    unit = view.get(Unit, code)
    return unit is not None and unit.state == "in stock"


def _as_planned(view: StoreView, planned: Unit) -> Unit:
    """The unit as it stands now, if a plan made before still holds for it."""
    unit = find(view, Unit, planned.code)
    size = (planned.width_dmm, planned.length_dmm)
    if unit.state != "in stock" or (unit.width_dmm, unit.length_dmm) != size:
        raise RefusedError(
            f"{unit.code} is no longer as it was when this was planned.",
            f"It is {unit.state}.",
            "Plan again.",
        )
    return unit


def _is_open(view: StoreView, put: PutBy) -> bool:
    now = view.get(PutBy, put.code)
    return now is not None and now.open


def _shares(layout: Layout, unit: Unit) -> list[tuple[str, int]]:
    """The whole sheet, shared by the jobs on it in the measure of their pieces, dmm2."""
    areas: dict[str, int] = {}
    for part in layout.parts:
        if part.what == "piece":
            areas[part.job] = areas.get(part.job, 0) + part.width_dmm * part.height_dmm
    jobs = sorted(areas, key=lambda job: (areas[job], job))
    whole, total, given = unit.measure, sum(areas.values()), 0
    shares = []
    for job in jobs[:-1]:
        share = whole * areas[job] // total
        shares.append((job, share))
        given += share
    return [*shares, (jobs[-1], whole - given)]


def find_card(view: StoreView, said: str) -> Card:
    """Return a card by its code.

    Raises
    ------
    UnknownCodeError
        Where there is none.
    """
    return find(view, Card, said)


def card_view(reckoning: Reckoning, card: Card) -> CardView:
    """Return a card with all that is told of it."""
    unit = reckoning.unit(card.unit)
    assert unit is not None
    layout = kept_layout(card)
    jobs = {
        part.job: reckoning.jobs[part.job].name
        for part in layout.parts
        if part.job in reckoning.jobs
    }
    gone = ""
    if card.state != "open":
        gone = "it is cut" if card.state == "cut" else "it was dropped"
    elif unit.state != "in stock":
        gone = f"{unit.code} is {unit.state}"
    return CardView(
        card, layout, unit, reckoning.materials[card.material],
        reckoning.places[unit.place].name, jobs, gone,
    )  # fmt: skip


def cards(desk: Desk, *, every: bool = False) -> list[CardView]:
    """Return the open cards by code; with `every`, those that are cut or dropped too."""
    with reckoned(desk) as reckoning:
        return cards_in(reckoning, every=every)


def cards_in(reckoning: Reckoning, *, every: bool = False) -> list[CardView]:
    """Return the open cards of a reckoning by code; with `every`, all."""
    return [
        card_view(reckoning, card)
        for card in reckoning.records.all(Card)
        if every or card.state == "open"
    ]


def one_card(desk: Desk, said: str) -> CardView:
    """Return one card by its code.

    Raises
    ------
    UnknownCodeError
        Where there is none.
    """
    with reckoned(desk) as reckoning:
        return card_view(reckoning, find_card(reckoning.view, said))


def cut_card(
    desk: Desk,
    said: str,
    *,
    broken: Sequence[int] = (),
    sizes: Mapping[int, tuple[int, int]] | None = None,
    place: str | None = None,
    happened_s: int | None = None,
    key: str | None = None,
) -> Done:
    """Record that a card was cut: as planned, or with what differed.

    Each piece becomes a unit of its own, put by for its job; each offcut a unit with its parent
    and batch. A piece that came out smaller than planned serves its job no more: it is kept as an
    offcut, and told. All of it is one act.

    Parameters
    ----------
    said : str
        The card's code.
    broken : sequence of int
        Numbers of parts that broke: they are lost.
    sizes : mapping of int to (int, int), optional
        True sizes (dmm) of parts that came out otherwise than planned.
    place : str, optional
        Where what was cut stands; where the sheet stood, if left out.

    Raises
    ------
    RefusedError
        Where the card is not open, or its sheet is gone.
    BadValueError
        Where a number is not on the card, or a size cannot be.
    """
    true_sizes = dict(sizes or {})
    small: list[tuple[str, CardPart]] = []

    def build(decision: Decision) -> dict[str, Any]:
        card = find_card(decision.view, said)
        unit = find(decision.view, Unit, card.unit)
        _still_to_cut(card, unit)
        layout = kept_layout(card)
        _on_the_card(layout, [*broken, *true_sizes], card)
        _can_be(layout, true_sizes)
        held = unit.held or find(decision.view, Lot, unit.lot).held
        stands = find(decision.view, Place, place).code if place else unit.place
        children, promises, lost = [], [], []
        small.clear()
        for part in layout.parts:
            wide, high = true_sizes.get(part.number, (part.width_dmm, part.height_dmm))
            if part.number in broken:
                lost.append(wide * high)
                continue
            code = decision.head.born()
            children.append(
                {
                    "code": code,
                    "place": stands,
                    "width_dmm": wide,
                    "length_dmm": high,
                    "factory_edges": 0,
                    "condition": "open",
                }
            )
            if part.what == "piece" and _too_small(part, (wide, high)):
                small.append((code, part))
            elif part.what == "piece" and not held and _wants(decision.view, part.job):
                put = decision.head.born()
                promises.append(
                    {"code": put, "unit": code, "job": part.job, "qty": wide * high}
                )  # fmt: skip
        return {
            "card": card.code,
            "unit": unit.code,
            "take": 1,
            "children": children,
            "pieces": [],
            "lost": lost,
            "promises": promises,
            "let_go": _puts_of(decision.view, layout, unit),
        }

    request = {
        "card": said,
        "broken": sorted(broken),
        "sizes": [[number, *size] for number, size in sorted(true_sizes.items())],
        "place": place,
    }
    done = desk.act("cut", request, build, happened_s=happened_s, key=key)
    notes = [
        f"Part {part.number} is smaller than its job wants, so {code} is a free offcut; "
        "the piece is to be cut again."
        for code, part in small
    ]
    return replace(done, notes=(*done.notes, *notes))


def _too_small(part: CardPart, size: tuple[int, int]) -> bool:
    """Whether a piece came out smaller than planned, whichever way it was measured."""
    planned = sorted((part.width_dmm, part.height_dmm))
    return any(dmm < want for dmm, want in zip(sorted(size), planned, strict=True))


def _can_be(layout: Layout, sizes: Mapping[int, tuple[int, int]]) -> None:
    """Refuse true sizes that cannot have come off the blank, as it lies on the card."""
    whole = f"a {size_text(layout.width_dmm, layout.height_dmm)} sheet, as it lies on the card"
    for number, (wide, high) in sorted(sizes.items()):
        if wide > layout.width_dmm or high > layout.height_dmm:
            raise BadValueError(
                f"Part {number} cannot be {size_text(wide, high)}.",
                f"It comes off {whole}.",
                "Tell its width across the card first, then its height.",
            )
    areas = {part.number: part.width_dmm * part.height_dmm for part in layout.parts}
    areas |= {number: wide * high for number, (wide, high) in sizes.items()}
    over = sum(areas.values()) - layout.width_dmm * layout.height_dmm
    if sizes and over > 0:
        told = ", ".join(f"{n} = {size_text(*size)}" for n, size in sorted(sizes.items()))
        raise BadValueError(
            f"The parts together are larger than the sheet with {told}.",
            f"They come off {whole}; {over / 1e8:.2f} m² is too much.",
            "Measure again, and tell the true size of what came out smaller too.",
        )


def _still_to_cut(card: Card, unit: Unit) -> None:
    if card.state != "open":
        was = "is cut already" if card.state == "cut" else "was dropped"
        raise RefusedError(
            f"Card {card.code} {was}.",
            try_="If that is wrong, take the act back: stockroom undo --list.",
        )
    if unit.state != "in stock":
        raise RefusedError(
            f"{unit.code}, which card {card.code} cuts, is {unit.state}.",
            "It was taken for something else since.",
            f"Drop the card and plan again: stockroom cuts drop {card.code}.",
        )


def _on_the_card(layout: Layout, numbers: Sequence[int], card: Card) -> None:
    known = {part.number for part in layout.parts}
    for number in numbers:
        if number not in known:
            raise BadValueError(
                f"Card {card.code} has no part {number}.",
                f"Its parts are numbered 1 to {len(known)}, as on the card.",
            )


def _wants(view: StoreView, job: str) -> bool:
    found = view.get(Job, job)
    return found is not None and found.state == "booked"


def _puts_of(
    view: StoreView, layout: Layout, unit: Unit, taken: Collection[str] = ()
) -> list[str]:  # fmt: skip
    """What was put by for a card: of each job on it, the share that it was given.

    Several cards may cut sheets of one stack alike; what was `taken` is another card's.
    """
    waiting = _shares(layout, unit)
    found = []
    for put in sorted(view.put_bys(unit.code), key=lambda item: item.code):
        if put.code not in taken and (put.job, put.qty) in waiting:
            waiting.remove((put.job, put.qty))
            found.append(put.code)
    return found


def drop_cards(desk: Desk, said: Sequence[str], *, key: str | None = None) -> Done:
    """Drop cards: nothing is cut by them, and what was put by for them is free again.

    Parameters
    ----------
    said : sequence of str
        Their codes.

    Raises
    ------
    RefusedError
        Where one is not open.
    """
    if not said:
        raise BadValueError("Which cards?", try_="Name at least one by its code.")

    def build(decision: Decision) -> dict[str, Any]:
        codes: list[str] = []
        puts: list[str] = []
        for name in dict.fromkeys(said):
            card = find_card(decision.view, name)
            if card.state != "open":
                was = "is cut already" if card.state == "cut" else "was dropped before"
                raise RefusedError(f"Card {card.code} {was}.", try_="Leave it out.")
            unit = find(decision.view, Unit, card.unit)
            codes.append(card.code)
            puts += _puts_of(decision.view, kept_layout(card), unit, puts)
        return {"cards": codes, "let_go": puts}

    return desk.act("drop cards", {"cards": list(said)}, build, key=key)


def part_sizes(said: Sequence[str]) -> dict[int, tuple[int, int]]:
    """Read true sizes of parts as they are typed: NUMBER=WIDTHxHEIGHT (mm).

    >>> part_sizes(["2=620x415"])
    {2: (6200, 4150)}
    """
    found = {}
    for text in said:
        number, equals, size = text.partition("=")
        if not (number.strip().isdigit() and equals):
            raise BadValueError(
                f"{safe(text, length=40)!r} tells no size.",
                "A size names the number of the part, as on the card.",
                "Type it like 2=620x415.",
            )
        wide, high = size_dmm(size)
        if not (0 < wide <= LONGEST_DMM and 0 < high <= LONGEST_DMM):
            raise BadValueError(f"{safe(size, length=30)!r} cannot be a size.")
        found[int(number)] = (wide, high)
    return found
