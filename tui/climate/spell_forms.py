"""Forms about warm spells: log one that no logger saw, and name the cause of one."""

from typing import TYPE_CHECKING

from stockroom.clock import moment_text
from stockroom.core.records import Place
from stockroom.desk.climate import spells
from stockroom.desk.climate.spells import CAUSES
from stockroom.desk.lookup import find
from stockroom.desk.stock.views import choices
from stockroom.errors import BadValueError, StockroomError
from stockroom.text import safe
from stockroom.times import instant_of
from stockroom.units import centi_c
from tui.climate.lines import celsius, limits_text
from tui.forms import Field, Form, Values
from tui.stock.acts import happened

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from tui.words import Target


def warm_form(desk: "Desk", target: "Target") -> Form:
    """Log a warm spell by hand."""
    found = choices(desk)
    limited = [place for place in found.places if place.high_centi_c is not None]
    if not limited:
        raise BadValueError(
            "No place has limits, so nothing can be outside of them.",
            try_="At the console: stockroom place change NAME --high 8.",
        )
    places = {place.code: place for place in limited}

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        place = places[values["place"]]
        if not values["right"].strip():
            raise BadValueError(
                "When was it last seen right?",
                "From then on the worst is assumed.",
                "Type it like yesterday 18:00.",
            )
        return spells.log_excursion(
            desk,
            place.code,
            last_right_s=instant_of(values["right"], desk.now_s(), desk.zone),
            found_s=happened(desk, values, "found"),
            highest_centi_c=centi_c(values["highest"]),
            now_centi_c=centi_c(values["now"]) if values["now"].strip() else None,
            cause=values["cause"],
            key=key,
        )

    def told(values: Values) -> list[str]:
        place = places[values["place"]]
        lines = [f"{safe(place.name)}: {limits_text(place)}."]
        try:
            right = instant_of(values["right"], desk.now_s(), found.zone)
            end = happened(desk, values, "found") or desk.now_s()
            highest = centi_c(values["highest"])
        except StockroomError:
            return [*lines, "", "The worst shape is assumed: that it was at its highest from the",
                    "moment it was last seen right until it was found."]  # fmt: skip
        hours = (end - right) / 3600
        return [
            *lines,
            "",
            f"Assumed, the worst: {celsius(highest)} from {moment_text(right, found.zone)}",
            f"until {moment_text(end, found.zone)}, {hours:.1f} h.",
            "A logger file taken in later puts its readings in place of this.",
        ]

    causes = [("", "not known yet"), *((cause, cause) for cause in CAUSES)]
    return Form(
        "warm", "Log a warm spell", "Log it",
        [
            Field("place", "Place", limited[0].code,
                  [(place.code, safe(place.name)) for place in limited],
                  "arrows, or scan it", "place"),
            Field("right", "Last seen right", hint="yesterday 18:00, 06:30"),
            Field("found", "Found", "now", hint="now, 08:15"),
            Field("highest", "Highest it showed", hint="°C"),
            Field("now", "It shows now", hint="°C; empty: the highest"),
            Field("cause", "Cause", "", causes),
        ],
        submit, told, start="right",
    )  # fmt: skip


def cause_form(desk: "Desk", target: "Target") -> Form:
    """Give a warm spell a word for its cause."""
    from_s, to_s = (int(part) for part in target.more)
    with desk.reading() as view:
        place = find(view, Place, target.about)
        known = spells.word_of(view, place.code, from_s, to_s)

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        word = values["word"].strip() or values["cause"]
        return spells.name_cause(desk, place.code, from_s, to_s, word, key=key)

    return Form(
        f"cause {place.code} {from_s}",
        f"Warm spell in {safe(place.name)}: what was it?",
        "Give it this word",
        [
            Field("cause", "Cause", known if known in CAUSES else CAUSES[0],
                  [(cause, cause) for cause in CAUSES],
                  "arrows, or its first letter"),
            Field("word", "or in your words", "" if known in CAUSES else known,
                  hint="one word or a few"),
        ],
        submit,
        lambda values: [
            f"From {moment_text(from_s, desk.zone)} to {moment_text(to_s, desk.zone)}.",
            "Spells less than a day apart are one group and get the same word.",
        ],
        start="cause",
    )  # fmt: skip
