"""Reasons to sentences: the one place where advice is phrased."""

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any

from stockroom.core.care import band_text
from stockroom.core.constants import ROOM_TEMP
from stockroom.core.film import outside_band
from stockroom.core.freshness.ahead import KnownBy
from stockroom.core.freshness.usable_by import UsableBy
from stockroom.core.records import Material, Order, Surface, Try, Unit
from stockroom.core.sheets import LiftCaution
from stockroom.core.verdict import Answer, Reason, Verdict
from stockroom.units import count_of, day_text, days_text, m_text, mm_text, size_text

ANSWERS: dict[Answer, str] = {"yes": "yes", "strip": "run a strip first", "no": "no"}
"""The three answers in words."""
MARKS: dict[Answer, str] = {"yes": "●", "strip": "◐", "no": "○"}
"""A mark of our own for each answer: full, half and empty; never colour alone."""

CAUTION = "As a caution, not a permission; follow local rules and trained practice."
"""Said wherever the work can hurt someone."""

_CAUSE_WORDS = {
    "activation energy": "how strongly warmth ages this paper",
    "sensor": "the logger's accuracy",
    "gaps": "gaps in the log",
    "label temperature": "the unknown temperature of the label's life",
    "warm arrival": "how warm it came",
    "paper white": "what its measured white tells of its life",
    "": "nothing in particular",
}


_AHEAD_WORDS: dict[KnownBy, str] = {
    "set-point": "at its set-point",
    "last year": "as it was there in the last twelve months, season by season",
    "of late": "as it was there in the last days logged",
    "usual room": f"at a usual room's {ROOM_TEMP.value:g} °C, since nothing is known of the place",
}


def lasting_text(seconds: float) -> str:
    """Return how long something lasted.

    >>> lasting_text(900), lasting_text(7_300), lasting_text(150_000)
    ('15 min', '2 h', '42 h')
    """
    return f"{seconds / 60:.0f} min" if seconds < 5_400 else f"{seconds / 3600:.0f} h"


def range_text(usable: UsableBy, place: str) -> list[str]:
    """Return what a usable-by day takes for granted, and what widens its range, widest first.

    Parameters
    ----------
    place : str
        The name of the place where it stands.
    """
    out = ""
    if usable.days_out:
        out = f", but for {days_text(usable.days_out)} out of it, for prints it is put by for"
    lines = [f"It is taken to stay in {place}, {_AHEAD_WORDS[usable.ahead]}{out}."]
    for spread in usable.spreads:
        sides = ((spread.earlier_days, "earlier"), (spread.later_days, "later"))
        told = " to ".join(f"{days_text(days)} {side}" for days, side in sides if days >= 0.5)
        if told:
            lines.append(f"{_CAUSE_WORDS[spread.cause]}: {told}")
    share = percent(usable.filled_share)
    lines.append(f"{share} of all its time since it came rests on set-points or filled gaps")
    return lines


def lift_text(lift: LiftCaution) -> str:
    """Return what a sheet weighs and how many lift it, as a caution."""
    mass = f"{lift.mass_kg:.1f} kg"
    if round(lift.at_thickest_kg, 1) > round(lift.mass_kg, 1):
        mass += f", up to {lift.at_thickest_kg:.1f} kg at its thickest allowed"
    who = "one person may lift it"
    if lift.beyond_two:
        who = "too much for two by hand; take a lifter or more hands"
    elif lift.two_people:
        who = "for two people"
    return (
        f"{mass}: {who} (one lifts {lift.one_person_kg:.1f} kg, two "
        f"{lift.two_person_kg:.1f} kg, by the NIOSH lifting equation). {CAUTION}"
    )


def answer_text(answer: Answer) -> str:
    """Return an answer with its mark.

    >>> answer_text("strip")
    '◐ run a strip first'
    """
    return f"{MARKS[answer]} {ANSWERS[answer]}"


def percent(share: float) -> str:
    """Return a share in per cent, never rounded up to certainty.

    >>> percent(0.934), percent(0.9999), percent(1.0), percent(0.0004)
    ('93 %', 'over 99 %', '100 %', 'under 1 %')
    """
    if 0.99 < share < 1:
        return "over 99 %"
    if 0 < share < 0.01:
        return "under 1 %"
    return f"{int(share * 100 + 1e-9)} %"


def usable_by_text(likely: date, earliest: date, latest: date, today: date) -> str:
    """Return a usable-by day, likely first, then its range.

    >>> usable_by_text(date(2026, 9, 1), date(2026, 7, 1), date(2026, 12, 1), date(2026, 8, 31))
    'Tue 1 Sep 2026, tomorrow (1 Jul 2026 to 1 Dec 2026)'
    """
    return f"{day_text(likely, today)} ({_short(earliest)} to {_short(latest)})"


def _short(day: date) -> str:
    return f"{day.day} {day.strftime('%b %Y')}"


def dated(day: date) -> str:
    return f"{day.strftime('%a')} {_short(day)}"


def kept_back_text(held: int, past: int) -> str:
    """Return how many whole units cannot be used, and why.

    >>> kept_back_text(1, 2), kept_back_text(0, 0)
    ('1 on hold, 2 past their day', '')
    """
    said = (
        (held, f"{held} on hold"),
        (past, f"{past} past {'its' if past == 1 else 'their'} day"),
    )
    return ", ".join(text for count, text in said if count)


def sentence(reason: Reason, today: date) -> str:
    """Return a reason as one sentence."""
    return (_SENTENCES.get(reason.kind) or _OF_FACES[reason.kind])(reason.figures, today)


def because(verdict: Verdict, today: date) -> str:
    """Return the reason that decides, as one sentence."""
    return sentence(verdict.first, today)


def _usable(f: Mapping[str, Any], today: date) -> str:
    if not f["runs_out"] and f["likely"] > today:
        return "Usable for more than 20 years at this rate."
    past = f["likely"] < today
    verb = "Its life likely ran out on" if past else "Usable until likely"
    return f"{verb} {usable_by_text(f['likely'], f['earliest'], f['latest'], today)}."


def _fresh(f: Mapping[str, Any], today: date) -> str:
    text = f"Fresh on the day. {_usable(f, today)}"
    if f["printed"] is not None and f["likely"] > f["printed"]:
        text += f" Past the printed date, {_short(f['printed'])}, that is unproven."
    return text


def _near(f: Mapping[str, Any], today: date) -> str:
    widest = f"What widens it most: {_CAUSE_WORDS[f['cause']]}."
    if f["likely"] < f["day"]:
        return (
            f"The print on {dated(f['day'])} lies past its likely day, but inside the nearer part "
            f"of its range: run a strip. {_usable(f, today)} {widest}"
        )
    return f"The print on {dated(f['day'])} comes close to its day. {_usable(f, today)} {widest}"


def _off(f: Mapping[str, Any], today: date) -> str:
    return f"Its life is used up before the print on {dated(f['day'])}. {_usable(f, today)}"


def _unproven(f: Mapping[str, Any], today: date) -> str:
    return (
        f"The print on {dated(f['day'])} lies past the printed date, {_short(f['printed'])}. "
        "By its stay in the cold it should still be good, but that is unproven."
    )


def _estimated(f: Mapping[str, Any], today: date) -> str:
    return (
        f"It carries no date; a life of {days_text(f['came_with_days'])} from the day it came is "
        f"assumed. {_usable(f, today)}"
    )


def _length(f: Mapping[str, Any]) -> str:
    left = f"{m_text(f['left_dmm'])} left"
    if f["promised_dmm"]:
        left += f", {m_text(f['promised_dmm'])} of it for other jobs"
    return f"{left}, needs {m_text(f['needs_dmm'])}"


def _remakes(count: int) -> str:
    return {0: "no remake", 1: "one remake", 2: "two remakes", 3: "three remakes"}.get(
        count, f"{count} remakes"
    )


def _enough(f: Mapping[str, Any], today: date) -> str:
    return (
        f"{_length(f)}; with room for {_remakes(f['remakes'])} that is enough "
        f"with {percent(f['assurance'])} assurance."
    )


def _few(f: Mapping[str, Any], today: date) -> str:
    also = ""
    if f["siblings"]:
        also = f" With the other rolls of this {f['of']}, {percent(f['together'])}."
    return (
        f"{_length(f)}: room for {_remakes(f['remakes'])}, enough with only "
        f"{percent(f['assurance'])} assurance ({percent(f['asked'])} is asked).{also}"
    )


def _short_roll(f: Mapping[str, Any], today: date) -> str:
    return (
        f"Too short: {_length(f)} and {m_text(f['tail_dmm'])} stay on the core; "
        f"it holds {f['prints']} of {f['count']}."
    )


def _second(f: Mapping[str, Any], today: date) -> str:
    return (
        f"{_length(f)}: it holds {f['prints']} of {f['count']}; the rest goes on another roll of "
        f"this {f['of']}, together enough with {percent(f['together'])} assurance."
    )


def _series(f: Mapping[str, Any], today: date) -> str:
    return (
        f"The series must stay on one emulsion, and this one does not hold it: {_length(f)}; "
        f"with its other rolls {percent(f['together'])} assurance, {percent(f['asked'])} is asked."
    )


def _does_not_fit(f: Mapping[str, Any], today: date) -> str:
    if f["why"] == "too wide":
        return (
            f"Too wide by {mm_text(f['over_dmm'])}: {mm_text(f['printable_dmm'])} of this roll "
            "can be printed across."
        )
    if f["why"] == "too long":
        return f"Longer than the printer's longest print by {mm_text(f['over_dmm'])}."
    return "It goes on this roll only when turned."


def _shown(f: Mapping[str, Any], name: str) -> str:
    """A drift with its sign and quantity."""
    value = f[name]
    return f"b* {value:+.2f}" if f["quantity"] == "b*" else f"density {value:+.3f}"


def _limit(f: Mapping[str, Any], name: str) -> str:
    return _shown(f, name).replace("+", "")


def _drift(f: Mapping[str, Any]) -> str:
    """A patch's drift, the control's taken off."""
    if f["telling"] != "counts":
        return f"{_shown(f, 'raw')} since the emulsion's first patch"
    return (
        f"{_shown(f, 'own')} since the emulsion's first patch, the control's "
        f"{_shown(f, 'process')} taken off"
    )


def _ago(days: int) -> str:
    return "today" if days == 0 else "yesterday" if days == 1 else f"{days_text(days)} before"


_SENTENCES: dict[str, Callable[[Mapping[str, Any], date], str]] = {
    "not in stock": lambda f, _: f"It is not in stock: {f['state']}.",
    "another paper": lambda f, _: f"It is another paper: {f['name']}.",
    "on hold": lambda f, _: f"It is on hold: {f['why']}.",
    "batch on hold": lambda f, _: f"Its batch {f['number']} is on hold: {f['why']}.",
    "not mine": lambda f, _: (
        "It belongs to a customer; use it only for that customer's work."
        if f["owner"] == "customer"
        else "It is here on consignment; using it buys it."
    ),
    "yellow strip": lambda f, _: "A strip of it came out yellow.",
    "clean strip": lambda f, _: (
        f"A strip was clean {_ago(f['age_days'])}; that counts for {days_text(f['holds'])}."
    ),
    "unsure strip": lambda f, _: (
        f"A strip was judged unsure {_ago(f['age_days'])}; run another beside a fresh roll."
    ),
    "undated": lambda f, _: "No date of its own ends it.",
    "in date": lambda f, _: f"Good until {dated(f['ends'])} by its date.",
    "past its date": lambda f, _: f"It expires on {dated(f['ends'])}, before the print.",
    "usable by": _usable,
    "fresh": _fresh,
    "near its day": _near,
    "unproven": _unproven,
    "estimated": _estimated,
    "off": _off,
    "label temperature": lambda f, _: (
        "The temperature its label's life was stated for is not known: read one way it lasts to "
        f"{_short(f['first'])}, the other way to {_short(f['last'])}."
    ),
    "white off": lambda f, _: (
        f"Its white has drifted: {_drift(f)}; the limit to act is {_limit(f, 'act')}."
    ),
    "white odd": lambda f, _: (
        f"Its last patch goes with none before it ({_drift(f)}); it may be false: run a strip, or "
        "measure again."
    ),
    "white unexplained": lambda f, _: (
        f"Its patch moved by {_shown(f, 'raw')}, and no control tells whether that is the paper or "
        "the chemistry; run a strip beside a control."
    ),
    "white shared": lambda f, _: (
        f"Its patch moved by {_shown(f, 'raw')}; its control is a roll, which may have yellowed "
        "with it, so nobody can tell paper from chemistry. Run a strip, or measure beside a "
        "control strip."
    ),
    "white drifts": lambda f, _: (
        f"Its white drifts: {_drift(f)}; watched from {_limit(f, 'watch')}, the limit to act is "
        f"{_limit(f, 'act')}."
    ),
    "white fine": lambda f, _: f"Its white was fine {_ago(f['days_before'])}: {_drift(f)}.",
    "white better": lambda f, _: (
        f"Its measured white is fine ({_drift(f)}) and tells {days_text(f['median_days'])} of life "
        f"where the label gives {days_text(f['label_days'])}; it may count on that by your word."
    ),
    "process drifted": lambda f, _: (
        f"The control of the same run moved by {_shown(f, 'process')}: that is the process, not "
        "this paper. Look at the chemistry before you print."
    ),
    "white shortens": lambda f, _: (
        f"{'Its white' if f['own'] else 'The white of its emulsion'} shortens the life it came "
        f"with from {days_text(f['label_days'])} to {days_text(f['days'])}."
    ),
    "opened too long": lambda f, _: (
        f"It will have been open for {days_text(f['days'])}; once opened it keeps "
        f"{days_text(f['limit'])}."
    ),
    "damp air": lambda f, _: (
        f"Its bag was open in air above {f['limit']:g} % RH for {f['hours']:.0f} h; damp swells "
        "and ages paper, by how much nobody has published."
    ),
    "white word": lambda _f, _: "By your word it counts on its measured white beyond its label.",
    "does not fit": _does_not_fit,
    "too short": _short_roll,
    "needs a second roll": _second,
    "series short": _series,
    "few remakes": _few,
    "long enough": _enough,
    "take out": lambda f, today: (
        f"Take it out of {f['place']} by {day_text(f['by'], today)}, shut in its bag."
    ),
    "arrived warm": lambda f, _: "It came warm; what that cost is in the range.",
    "filled": lambda f, _: (
        f"{percent(f['share'])} of the life it used rests on set-points or filled gaps, "
        "not on readings."
    ),
    "length unsure": lambda f, _: (
        f"Its length is known to about {m_text(f['plus_minus_dmm'])}; measure it first."
    ),
}
"""One phrase per kind of reason."""


_GRADES = {"face": "a face", "back": "a back or a sample", "jig": "jigs"}
_MASKS = {
    "on": "is on all over",
    "lifted": "is lifted at an edge",
    "off": "was taken off",
    "none": "was never there",
}


def mask_text(side: str, mask: str) -> str:
    """Return how the masking of one side is.

    >>> mask_text("back", "lifted")
    'the masking of its back is lifted at an edge'
    """
    return f"the masking of its {side} {_MASKS[mask]}"


def surface_text(surface: Surface, *, graded: bool = True) -> str:
    """Return what a sheet was like when it was looked over; with its grade, or without.

    >>> surface_text(Surface(unit="1", seen_s=0, act=1, mask_back="lifted", chipped="top left"))
    'the masking of its back is lifted at an edge, kept for a face, chipped at top left'
    """
    masks = {"front": surface.mask_front, "back": surface.mask_back}
    odd = [mask_text(side, mask) for side, mask in masks.items() if mask != "on"]
    matte = {"none": "", "both": "matte on both sides"}.get(
        surface.matte, f"its {surface.matte} matte"
    )
    parts = [
        *(odd or ["both masks on"]),
        f"kept for {_GRADES[surface.grade]}" if graded else "",
        f"chipped at {surface.chipped}" if surface.chipped else "no corner chipped",
        matte,
    ]
    return ", ".join(part for part in parts if part)


def _mask_not_on(f: Mapping[str, Any], today: date) -> str:
    seen = f", seen {dated(f['seen_on'])}" if f["seen_on"] else ""
    text = mask_text(f["side"], f["mask"])
    return f"{text[:1].upper()}{text[1:]}{seen}."


def _chipped(f: Mapping[str, Any], today: date) -> str:
    where = " and ".join(f["corners"])
    if f["perhaps"]:
        return f"Perhaps chipped: the sheet it was cut from was, at {where}; look at it first."
    return f"It is chipped at {where}, and the piece would hold that."


def _inherited(f: Mapping[str, Any], today: date) -> str:
    seen = f" on {dated(f['seen_on'])}" if f["seen_on"] else ""
    return (
        f"Nobody has looked it over since it was cut; taken to be as {f['sheet']} was seen{seen}."
    )


_OF_FACES: dict[str, Callable[[Mapping[str, Any], date], str]] = {
    "grade too low": lambda f, _: (
        f"It is kept for {_GRADES[f['grade']]}, not good enough for {_GRADES[f['use']]}."
    ),
    "mask not on": _mask_not_on,
    "chipped corner": _chipped,
    "chip cut away": lambda f, _: (
        f"It is chipped at {' and '.join(f['corners'])}: lay the piece so that this is cut away."
    ),
    "old masking": lambda f, _: (
        f"Its masking has been on for {days_text(f['age_days'])}, more than "
        f"{days_text(f['limit_days'])}: try a corner, old masking may tear or leave glue."
    ),
    "masking age unknown": lambda f, _: (
        "Since when its masking has been on is not known; from about "
        f"{days_text(f['limit_days'])} it may tear or leave glue."
    ),
    "matte side": lambda f, _: (
        f"Its {f['matte']} is matte: the print goes behind its gloss side, the {f['print_behind']}."
    ),
    "no gloss side": lambda f, _: (
        "It is matte on both sides: film does not wet texture, there is no side to mount on."
    ),
    "not looked over": lambda f, _: (
        "Nobody has looked it over since it came; taken to be as it comes, both masks on."
    ),
    "look inherited": _inherited,
}
"""One phrase per kind of reason about a sheet's faces."""


def amount_text(unit: Unit, qty: int) -> str:
    """Return an amount of a unit as a person counts it; `qty` as the books weigh it.

    >>> roll = Unit(code="1", lot="2", form="roll", place="3", width_dmm=12_700)
    >>> amount_text(roll, 12_700 * 29_000)
    '2.9 m'
    """
    if unit.shape.by_length:
        return m_text(qty // max(1, unit.measure))
    if unit.shape.flat:
        count, rest = divmod(qty, max(1, unit.measure))
        if rest or not count:
            return f"{qty / 1e8:.2f} m²"
        return count_of(count, "sheet")
    return str(qty)


def film_place_text(material: Material, place: str, temp_c: float | None, *, cold: bool) -> str:
    """Return what speaks against standing a film at a place; "" for nothing.

    Parameters
    ----------
    material : Material
        The film; its own band counts.
    place : str
        The place's name.
    temp_c : float or None
        How warm it is there, °C.
    cold : bool
        Whether it is a cold store.

    >>> film = Material(code="1", name="Clear film", family="film", form="roll")
    >>> film_place_text(film, "Cold store", 4.0, cold=True).split(";")[0]
    'Cold store is cold'
    >>> film_place_text(film, "Rack A", 20.0, cold=False)
    ''
    """
    low_c, high_c = (
        None if end is None else end / 100
        for end in (material.band_low_centi_c, material.band_high_centi_c)
    )
    if low_c is None and high_c is None:
        if not cold:
            return ""
        return (
            f"{place} is cold; film is never kept in a cold store by default, and no band of its "
            "own is written down."
        )
    if temp_c is None:
        return (
            f"How warm it is in {place} is not known; this film is kept between "
            f"{band_text(material)}."
        )
    if not outside_band(temp_c, low_c, high_c):
        return ""
    return (
        f"{place} is at {temp_c:g} °C; by its own sheet this film is kept between "
        f"{band_text(material)}."
    )


def cut_text(order: Order) -> str:
    """Return to what size an order is cut by its supplier; "" for full sheets, rolls and goods.

    >>> from datetime import date
    >>> cut_text(Order(code="1", material="2", count=4, ordered_on=date(2026, 3, 2),
    ...                width_dmm=12_100, length_dmm=8_100))
    'cut to 1210 x 810 mm'
    """
    if order.width_dmm is None or order.length_dmm is None:
        return ""
    return f"cut to {size_text(order.width_dmm, order.length_dmm)}"


def unit_size_text(unit: Unit) -> str:
    """Return how much of a unit there is, with its size.

    >>> unit_size_text(Unit(code="1", lot="2", form="sheet", place="3", width_dmm=30_500,
    ...                     length_dmm=20_300, count=2))
    '2 sheets of 3050 x 2030 mm'
    """
    about = "about " if unit.plus_minus_dmm else ""
    if unit.shape.wound:
        return f"{about}{m_text(unit.remaining_dmm)}, {mm_text(unit.width_dmm)} wide"
    if unit.shape.bar:
        return f"{about}{m_text(unit.remaining_dmm)}"
    if unit.shape.flat:
        size = size_text(unit.width_dmm, unit.length_dmm)
        return f"{unit.count} sheets of {size}" if unit.count != 1 else size
    return str(unit.count)


def outcome_text(tried: Try) -> str:
    """Return how a try came out, and what a loss destroyed.

    >>> outcome_text(Try(code="1", job="2", stage="print", good=False, at_s=0, act=1,
    ...                  cause="bad print", takes="paper", area_dmm2=1))
    'lost to bad print; destroyed: paper'
    """
    return "good" if tried.good else f"lost to {tried.cause}; destroyed: {tried.takes or 'nothing'}"
