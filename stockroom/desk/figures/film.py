"""Figures of mounting film: its day, where it may stand, what a loading takes, faults, bonds."""

from collections.abc import Iterator
from datetime import date

from stockroom.core.care import band_text, care_input
from stockroom.core.figures import Figure, Input, Notice, of_label
from stockroom.core.film import bond_times, clear_run, faults_ahead, loading_takes, too_cold, webs
from stockroom.core.records import Material, Unit
from stockroom.core.verdict import is_cold
from stockroom.core.wording import film_place_text
from stockroom.desk.condition.surfaces import faults_of, length_come_dmm
from stockroom.desk.figures.lasting import last_day, opened, opened_too_long
from stockroom.desk.figures.standing import Standing, standing
from stockroom.desk.reckoning import Reckoning
from stockroom.units import m_text

GROUP = "Film"
FAULTS = "Faults of the roll"
NEVER_COLD = "never in a cold store by default"


def figures(reckoning: Reckoning, unit: Unit, today: date) -> Iterator[Figure]:
    """Yield the figures of film in stock, and the faults of a roll of paper where any is known."""
    material = reckoning.material_of(unit)
    if material.traits.adhesive:
        yield last_day(reckoning, unit, today, GROUP)
        yield from opened(reckoning, unit, today, GROUP)
        stands = standing(reckoning, unit.place)
        yield _kept(reckoning, unit, material, stands)
        yield from _for_use(material, stands, reckoning.places[unit.place].name)
        if unit.shape.wound:
            yield from _lengths(unit, material)
        yield _bond(material)
    if unit.shape.wound and material.traits.on_core:
        yield from _faults(reckoning, unit, material)


def _kept(reckoning: Reckoning, unit: Unit, material: Material, stands: Standing | None) -> Figure:
    place = reckoning.places[unit.place]
    band = material.band_low_centi_c is not None or material.band_high_centi_c is not None
    temp_c = None if stands is None else stands.temp_c
    wrong = film_place_text(material, place.name, temp_c, cold=is_cold(place))
    where = f"{place.name}, {'not known how warm' if stands is None else stands.text}"
    may = f"kept between {band_text(material)}" if band else NEVER_COLD
    inputs = [
        Input("Stands in", where, stands.source if stands else "neither logged nor set"),
        of_label("Kept between", band_text(material))
        if band
        else Input("Kept between", "no band written down", "material care, at the console"),
    ]
    return Figure(
        GROUP,
        "Kept",
        f"{may}; stands in {where}",
        "Its own sheet's band against the air it stands in: the last reading of a day, else the "
        "set-point. Without a band of its own film is never kept in a cold store.",
        tuple(inputs),
        ("ask" if stands is None else "bad") if wrong else "",
    )


def _for_use(material: Material, stands: Standing | None, place: str) -> Iterator[Figure]:
    if material.use_least_centi_c is None:
        return
    least_c = material.use_least_centi_c / 100
    text = f"not below {least_c:g} °C"
    cold = None if stands is None else too_cold(stands.temp_c, least_c)
    if stands is not None:
        text += f"; {place} is at {stands.text}{', too cold' if cold else ''}"
    yield Figure(
        GROUP,
        "To be used",
        text,
        "The least temperature on its own sheet against the air of the room it stands in.",
        (
            of_label("Not used below", f"{least_c:g} °C"),
            Input(
                "Room", "not known" if stands is None else stands.text,
                "" if stands is None else stands.source,
            ),
        ),
        "ask" if cold else "",
    )  # fmt: skip


def _lengths(unit: Unit, material: Material) -> Iterator[Figure]:
    leader, tail = material.leader_dmm, material.tail_dmm
    lost_dmm = loading_takes(0, leader or 0, tail or 0)
    told = leader is not None or tail is not None
    text = f"{m_text(max(0, unit.remaining_dmm - lost_dmm))} in one loading"
    if not told:
        text += ", leader and tail not written down"
    yield Figure(
        GROUP,
        "Usable length",
        text,
        "What is left, less a leader threaded before the first piece and a tail run out behind "
        "the last; each further loading takes both again.",
        (
            Input("Left", m_text(unit.remaining_dmm), "in the books"),
            _of_loading("Leader", leader),
            _of_loading("Tail", tail),
        ),
    )
    if material.liners is not None:
        wound = webs(material.liners, unit.remaining_dmm)
        word = {0: "none", 1: "one", 2: "two"}[wound.liners]
        text = word
        if wound.liners:
            text += f"; {m_text(wound.waste_dmm)} to wind up for what is left"
        yield Figure(
            GROUP,
            "Liners",
            text,
            "Each liner is as long as the film that is run.",
            (
                of_label("Liners", str(wound.liners)),
                Input("Left", m_text(unit.remaining_dmm), "in the books"),
            ),
        )


def _of_loading(name: str, dmm: int | None) -> Input:
    if dmm is None:
        return Input(name, "not written down; counted as nothing", "material add, at the console")
    return of_label(name, m_text(dmm))


def _bond(material: Material) -> Figure:
    times = bond_times(material.trim_after_h, material.full_bond_h, material.bond_source or "")
    text = f"no trimming before {times.trim_after_h:g} h"
    if times.full_after_h is None:
        text += "; when it is full, its own sheet must say"
    else:
        text += f", full after {times.full_after_h:g} h"
    inputs = [Input("From", times.source, "as written down for this material")]
    if material.trim_after_h is None:
        inputs.append(care_input(material, "trim_after_h"))
    return Figure(
        GROUP,
        "Bond",
        text,
        "Hours after mounting by the film's own sheet; without it 24 h before trimming, common "
        "practice, and no more is promised. No other film's sheet stands in. As a caution, not a "
        "permission: the film's own sheet rules.",
        tuple(inputs),
    )


def _faults(reckoning: Reckoning, unit: Unit, material: Material) -> Iterator[Figure]:
    known = faults_of(reckoning, unit)
    if not known and not material.traits.adhesive:
        return
    came_dmm = length_come_dmm(reckoning.view, unit)
    spans = [(fault.from_dmm, fault.to_dmm, fault.what) for fault in known]
    left_dmm = unit.remaining_dmm
    ahead = faults_ahead(spans, came_dmm, left_dmm, left_dmm)
    run = clear_run(spans, came_dmm, left_dmm, min(material.tail_dmm or 0, left_dmm))
    if not ahead:
        text = "none known in what is left"
    else:
        first = ", ".join(
            f"{fault.what} {_where(fault.begins_dmm, fault.ends_dmm)}" for fault in ahead[:3]
        )
        more = f" and {len(ahead) - 3} more" if len(ahead) > 3 else ""
        text = f"{first}{more}"
        if run.longest_dmm:
            text += f"; longest clear run {m_text(run.longest_dmm)}"
            text += f", from {m_text(run.longest_begins_dmm)} on" if run.longest_begins_dmm else ""
        else:
            text += "; no clear run is left"
    yield Figure(
        GROUP if material.traits.adhesive else FAULTS,
        "Faults ahead",
        text,
        "Each fault lies at its distance from the outer end of the roll as it came; from it goes "
        "what has been drawn off since, outermost first. Distances are told from the end as it "
        "is now.",
        (
            Input("Came with", m_text(came_dmm), "as booked, what was found since counted in"),
            Input("Left", m_text(left_dmm), "in the books"),
            *(
                Input(
                    f"{fault.what} at",
                    f"{m_text(fault.from_dmm)} to {m_text(fault.to_dmm)}",
                    f"written down with act {fault.act}",
                )
                for fault in known
            ),
        ),
        "ask" if ahead else "",
        "fault" if material.traits.white_judged else "examine",
    )


def _where(begins_dmm: int, ends_dmm: int) -> str:
    if begins_dmm == ends_dmm:
        return f"at {m_text(begins_dmm)}"
    return f"from {m_text(begins_dmm)} to {m_text(ends_dmm)}"


def notices(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    """Yield film in the cold or outside its band, in too cold a room, or open for too long."""
    for material in reckoning.materials.values():
        if not material.traits.adhesive:
            continue
        airs: dict[str, Standing | None] = {}
        for unit in reckoning.units_of(material.code):
            if unit.place not in airs:
                airs[unit.place] = standing(reckoning, unit.place)
            yield from _badly_placed(reckoning, unit, material, airs[unit.place])
        yield from opened_too_long(reckoning, material, today)


def _badly_placed(
    reckoning: Reckoning, unit: Unit, material: Material, stands: Standing | None
) -> Iterator[Notice]:
    place = reckoning.places[unit.place]
    temp_c = None if stands is None else stands.temp_c
    wrong = film_place_text(material, place.name, temp_c, cold=is_cold(place))
    if wrong and (stands is not None or is_cold(place)):
        what = f"Film {unit.code}, {material.name}, stands in {place.name}"
        yield Notice(unit.code, what, wrong, "ask" if stands is None else "bad", "move")
    elif stands is not None and material.use_least_centi_c is not None:
        least_c = material.use_least_centi_c / 100
        if too_cold(stands.temp_c, least_c):
            yield Notice(
                unit.code,
                f"Film {unit.code}, {material.name}, is too cold to be used",
                f"{place.name} is at {stands.text} ({stands.source}); its sheet says not below "
                f"{least_c:g} °C.",
            )
