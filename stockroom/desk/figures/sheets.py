"""Figures of sheets and boards: faces, masking, mass, thickness, settling, movement."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from stockroom import clock
from stockroom.core.care import care_input, own_or_ours
from stockroom.core.constants import (
    ACRYLIC_DENSITY,
    ACRYLIC_EXPANSION,
    COMPOSITE_EXPANSION,
    MASKING_AGE,
    MOVEMENT_HUMIDITY,
    MOVEMENT_RISE,
    SHEET_THICKNESS_SLACK,
)
from stockroom.core.expansion import (
    MOISTURE_WORDS,
    Air,
    Settling,
    large,
    movement,
    settles_on,
    settling,
)
from stockroom.core.figures import Figure, Input, Notice, Tone, of_constant, of_label
from stockroom.core.records import Material, Unit
from stockroom.core.sheets import COMPOSITE_KG_M2, LIFT_SOURCE, lift_of, thickest_um
from stockroom.core.surfaces import barred
from stockroom.core.wording import CAUTION, dated, sentence, surface_text
from stockroom.desk.condition.surfaces import Faces, faces_of
from stockroom.desk.figures.lasting import last_day
from stockroom.desk.figures.standing import Standing, standing
from stockroom.desk.reckoning import Reckoning
from stockroom.units import SECONDS_PER_DAY, day_text, days_text, mm_text, size_text

GROUP = "Sheet"
SIDES = ("front", "back")


def figures(reckoning: Reckoning, unit: Unit, today: date) -> Iterator[Figure]:
    """Yield the figures of sheets and boards in stock."""
    material = reckoning.material_of(unit)
    if not (material.traits.rigid and unit.shape.flat):
        return
    faces = faces_of(reckoning, unit)
    yield _faces(faces, material, unit, today)
    yield _masking(faces, today)
    yield from _thickness(material)
    yield from _mass(material, unit)
    yield from _settling(reckoning, unit, material, today)
    yield from _movement(material, unit)
    if reckoning.last_day(unit).ends is not None:
        yield last_day(reckoning, unit, today, GROUP)


def _faces(faces: Faces, material: Material, unit: Unit, today: date) -> Figure:
    use = material.traits.use
    reasons = faces.reasons(use, today)
    if faces.surface is None:
        text = "not looked over since it came; taken as it comes, both masks on"
    else:
        # kept for a face is what nobody said otherwise of: beside "not for a face" it misleads
        misleads = barred(reasons) and faces.surface.grade == use
        text = surface_text(faces.surface, graded=not misleads)
        if not faces.own:
            text = f"perhaps, as {faces.surface.unit} that it was cut from: {text}"
        if faces.seen_on is not None:
            text += f"; seen on {dated(faces.seen_on)}"
    tone: Tone = "good"
    if barred(reasons):
        text += f"; not for a {use}"
        tone = "bad"
    elif any(reason.weight == "warns" for reason in reasons):
        tone = "ask"
    seen = "the last look" if faces.surface is not None else "as sheets come"
    inputs = [
        Input(f"For a {use}", sentence(reason, today), seen)
        for reason in reasons
        if reason.kind not in ("old masking", "masking age unknown")
    ]
    return Figure(
        GROUP,
        "Faces",
        text,
        "As a person saw it last. A face wants the grade for it, both masks on all over, a gloss "
        "side to mount on, and no chipped corner that is not cut away; a back wants the grade. An "
        "offcut that nobody looked over is taken to be as its sheet was.",
        tuple(inputs) or (Input(f"For a {use}", "nothing speaks against it", seen),),
        tone,
        "examine",
    )


def _masking(faces: Faces, today: date) -> Figure:
    limit_days = round(MASKING_AGE.value)
    since = faces.masked_since
    masks = ("on", "on")
    if faces.surface is not None:
        masks = (faces.surface.mask_front, faces.surface.mask_back)
    tone: Tone = ""
    on = [side for side, mask in zip(SIDES, masks, strict=True) if mask in ("on", "lifted")]
    where = "on" if len(on) == len(SIDES) else f"only on its {', '.join(on)},"
    if not on:
        text = "none on it"
    elif since is None:
        text = "not known since when"
    else:
        age_days = max(0, (today - since).days)
        text = f"{where} for {days_text(age_days)}"
        if age_days > limit_days:
            text += "; old masking may tear or leave glue, try a corner"
            tone = "ask"
    inputs = [of_constant("Cautioned from", MASKING_AGE)]
    if since is not None:
        inputs.insert(0, Input("On since", dated(since), "made, or else came, on that day"))
    return Figure(
        GROUP,
        "Masking",
        text,
        "Days since the sheet was made, or else came. Light and warmth set its glue sooner.",
        tuple(inputs),
        tone,
    )


def _thickness(material: Material) -> Iterator[Figure]:
    nominal_um = material.thickness_um
    if nominal_um is None:
        return
    nominal = of_label("Nominal", f"{nominal_um / 1000:g} mm")
    if material.traits.stuff != "acrylic":
        how = "As written down; no norm's allowance is known for this board."
        yield Figure(GROUP, "Thickness", f"{nominal_um / 1000:g} mm nominal", how, (nominal,))
        return
    fixed, share = SHEET_THICKNESS_SLACK
    largest = f"{thickest_um(nominal_um) / 1000:g} mm"
    how = "Nominal, and at most t + 0.4 mm + 0.1 t by the norm for cast sheet."
    if material.sheet_process == "extruded":
        how += " Extruded sheet is held closer; the cast figure is then on the safe side."
    yield Figure(
        GROUP,
        "Thickness",
        f"{nominal_um / 1000:g} mm nominal, {largest} at its largest",
        how,
        (nominal, of_constant("Fixed part", fixed), of_constant("Share of t", share)),
    )


def _mass(material: Material, unit: Unit) -> Iterator[Figure]:
    lift = lift_of(material, unit.width_dmm, unit.length_dmm)
    if lift is None:
        return
    text = f"{lift.mass_kg:.1f} kg{' each' if unit.count > 1 else ''}"
    if round(lift.at_thickest_kg, 1) > round(lift.mass_kg, 1):
        text += f", {lift.at_thickest_kg:.1f} kg at its largest thickness"
    who = "; one person may lift it"
    if lift.beyond_two:
        who = "; a lifter, or more hands than two"
    elif lift.two_people:
        who = "; two people"
    if material.traits.stuff == "acrylic":
        weighed = of_constant("Weighed as cast acrylic", ACRYLIC_DENSITY)
    else:
        known = ", ".join(f"{um // 1000} mm {kg:g}" for um, kg in COMPOSITE_KG_M2.items())
        weighed = Input("Weighed as aluminium composite, kg/m²", known, "makers' data, secondary")
    yield Figure(
        GROUP,
        "Mass",
        f"{text}{who}",
        "Size times thickness times density; judged at the largest thickness the norm allows. "
        f"{CAUTION}",
        (
            Input("Size", size_text(unit.width_dmm, unit.length_dmm), "in the books"),
            weighed,
            Input("One person", f"{lift.one_person_kg:.1f} kg", LIFT_SOURCE),
            Input("Two people", f"{lift.two_person_kg:.1f} kg", LIFT_SOURCE),
        ),
        "ask" if lift.two_people else "",
    )


@dataclass(frozen=True, slots=True)
class _Left:
    """A climate it left for the one it stands in now.

    Attributes
    ----------
    on : date
        When.
    before, after : Standing or None
        The air there then, and here now; None where not known.
    found : Settling or None
        Whether the two are worth letting it stand; None where they are not, or not known.
    rest : date
        The day from which it has stood long enough, if so.
    """

    on: date
    before: Standing | None
    after: Standing | None
    found: Settling | None
    rest: date

    @property
    def known(self) -> bool:
        """Whether both airs are known."""
        return self.before is not None and self.after is not None

    @property
    def weight(self) -> int:
        """What is told of two that rest on one day: the temperature first."""
        if self.found is None:
            return 1
        return 3 if "temperature" in self.found.why else 2 if "humidity" in self.found.why else 0


def _settling(
    reckoning: Reckoning, unit: Unit, material: Material, today: date
) -> Iterator[Figure]:
    left = _climates_left(reckoning, unit, material, today)
    if not left:
        return
    how = (
        "From each air it stood in, these last days, to the air it stands in now; the longest wait "
        "counts. 5 K, or moisture that moves it by 1 mm a metre, is worth letting it stand. For "
        f"the temperature that is days; moisture takes weeks, {MOISTURE_WORDS}."
    )
    wants = [item for item in left if item.found or not item.known]
    moved = max(wants, key=lambda item: (item.rest, item.weight), default=left[0])
    before, after, found, rest = moved.before, moved.after, moved.found, moved.rest
    inputs = (
        Input("Moved on", dated(moved.on), "as booked"),
        *_airs(before, after),
        care_input(material, "settle_days"),
    )
    tone: Tone = ""
    if before is None or after is None:
        if today >= rest:
            return
        tone = "ask"
        text = f"let it stand to {day_text(rest, today)}: the air it came from is not known"
    elif found is None:
        text = "at rest: it was moved between like climates"
    elif today < rest:
        tone = "ask"
        text = f"stand it until {day_text(rest, today)}: {_why(found, before, after)}"
    else:
        stood = days_text((today - moved.on).days)
        text = f"has stood {stood}, {days_text(found.days)} were wanted"
        if "temperature" not in found.why:
            text += "; moisture moves it for weeks"
    yield Figure(GROUP, "Settling", text, how, inputs, tone)


def _climates_left(
    reckoning: Reckoning, unit: Unit, material: Material, today: date
) -> list[_Left]:
    """The climate it left last, and before that each it left so lately that it may still settle.

    Latest first.
    """
    stays = reckoning.stays_of(unit)
    if not stays:
        return []
    # an offcut stands where its sheet stood: cutting moves nothing
    came = [
        stay
        for index, stay in enumerate(stays)
        if not index or stays[index - 1].place != stay.place
    ]
    after = standing(reckoning, came[-1].place)
    left: list[_Left] = []
    for index in reversed(range(len(came))):
        on = clock.local_date(came[index].from_s, reckoning.zone)
        rest = settles_on(on, material.settle_days)
        if left and today >= rest:
            break
        before = None
        if index:
            before = standing(reckoning, came[index - 1].place, came[index].from_s)
        found = None
        if before is not None and after is not None:
            found = settling(material.family, before.air, after.air, material.settle_days)
        left.append(_Left(on, before, after, found, rest))
    return left


def _airs(before: Standing | None, after: Standing | None) -> Iterator[Input]:
    for name, air in (("Stood before in", before), ("Stands now in", after)):
        if air is None:
            yield Input(name, "air not known", "neither logged nor set")
        else:
            yield Input(name, f"{air.place}, {air.text}", air.source)


def _why(found: Settling, before: Standing, after: Standing) -> str:
    parts = []
    if "temperature" in found.why:
        parts.append(f"from {before.temp_c:.1f} to {after.temp_c:.1f} °C")
    if "humidity" in found.why:
        parts.append(f"from {before.humidity_pct:.0f} to {after.humidity_pct:.0f} % RH, for weeks")
    if "humidity unknown" in found.why:
        parts.append("the humidity of one place is not known")
    return ", ".join(parts)


def _movement(material: Material, unit: Unit) -> Iterator[Figure]:
    if not large(unit.width_dmm, unit.length_dmm):
        return
    dry, wet = MOVEMENT_HUMIDITY
    rise = MOVEMENT_RISE
    moved = movement(
        material.family, unit.width_dmm, unit.length_dmm,
        Air(20.0, dry.value), Air(20.0 + rise.value, wet.value),
    )  # fmt: skip
    if moved is None:
        return
    side = mm_text(max(unit.width_dmm, unit.length_dmm))
    text = f"its {side} side grows by {moved.thermal_mm:.1f} mm for {rise.value:g} K"
    inputs = [of_constant("Warmer by", rise)]
    if material.traits.stuff == "acrylic":
        text += (
            f" ({moved.thermal_low_mm:.1f} to {moved.thermal_high_mm:.1f}), and by "
            f"{moved.moisture_mm:.1f} mm from {dry.value:g} to {wet.value:g} % RH over weeks"
        )
        inputs += [of_constant("Expansion", ACRYLIC_EXPANSION), of_constant("Drier end", dry)]
        inputs += [of_constant("Damper end", wet), Input("Moisture", MOISTURE_WORDS, "makers")]
    else:
        inputs.append(of_constant("Expansion", COMPOSITE_EXPANSION))
    yield Figure(
        GROUP,
        "Movement",
        text,
        "Length times rise times rate, and for acrylic what moisture adds once it is at rest. A "
        "caution on large work: leave it room in frame and fixings.",
        tuple(inputs),
    )


def notices(reckoning: Reckoning, today: date) -> Iterator[Notice]:
    """Yield sheets moved so lately, between climates so unlike, that they still settle."""
    for material in reckoning.materials.values():
        if not material.traits.rigid:
            continue
        wanted = round(own_or_ours(material, "settle_days"))
        since_s = reckoning.now_s - (wanted + 1) * SECONDS_PER_DAY
        for unit in reckoning.units_of(material.code):
            own = reckoning.records.stays.get(unit.code, ())
            if not own or own[-1].from_s < since_s:
                continue
            yield from _still_settles(reckoning, unit, material, today)


def _still_settles(
    reckoning: Reckoning, unit: Unit, material: Material, today: date
) -> Iterator[Notice]:
    for moved in _climates_left(reckoning, unit, material, today):
        before, after, found = moved.before, moved.after, moved.found
        if before is None or after is None or found is None or today >= moved.rest:
            continue
        if found.why == ("humidity unknown",):
            continue
        yield Notice(
            unit.code,
            f"{unit.code}, {material.name}, still settles until {day_text(moved.rest, today)}",
            f"Moved from {before.place} to {after.place}: {_why(found, before, after)}.",
        )
        return
