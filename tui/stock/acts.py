"""Forms for what is done to one unit: move, use, lose, count, hold, put by, discard, send back."""

from typing import TYPE_CHECKING, Any

from stockroom.core.records import LOSS_CAUSES, Job, Lot, Material, Unit
from stockroom.core.wording import unit_size_text
from stockroom.desk.condition.diameter import Measured, measured_text, winding_of
from stockroom.desk.condition.diameter import by_tape as from_tape
from stockroom.desk.lookup import find
from stockroom.desk.reckoning import reckoned
from stockroom.desk.stock import counting, handling
from stockroom.desk.stock.amounts import amount_of
from stockroom.desk.stock.views import Choices, choices
from stockroom.desk.work import booking
from stockroom.errors import StockroomError
from stockroom.text import safe
from stockroom.times import instant_of
from stockroom.units import length_dmm, number
from tui.forms import Field, Form, Values
from tui.today.lines import unit_word
from tui.words import when

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from tui.words import Target

NO_JOB = ("", "no job")


class Subject:
    """The unit a form is about, with what it is."""

    def __init__(self, desk: "Desk", code: str) -> None:
        with desk.reading() as view:
            self.unit = find(view, Unit, code)
            self.lot = find(view, Lot, self.unit.lot)
            self.material = find(view, Material, self.lot.material)
        self.choices: Choices = choices(desk)
        self.place = next(p for p in self.choices.places if p.code == self.unit.place)

    @property
    def word(self) -> str:
        """Such as: roll 10143."""
        return f"{unit_word(self.unit)} {self.unit.code}"

    def facts(self) -> list[str]:
        """What it is, how much there is, where it stands."""
        held = self.unit.held or self.lot.held
        size, place = unit_size_text(self.unit), safe(self.place.name)
        about = f"{safe(self.material.name)}, {size}, in {place}"
        return [about, f"On hold: {safe(held)}"] if held else [about]

    def amount_hint(self) -> str:
        """How an amount of it is typed."""
        return "m, such as 2.9" if self.unit.shape.by_length else "how many"


def when_field() -> Field:
    """When it happened: now, if nothing else is typed."""
    return Field("when", "When it happened", "now", hint="now, yesterday 16:30")


def happened(desk: "Desk", values: Values, field: str = "when") -> int | None:
    """Return when it happened, None for now."""
    text = values.get(field, "now").strip()
    return None if text in ("", "now") else instant_of(text, desk.now_s(), desk.zone)


def job_options(jobs: "tuple[Job, ...]", today: Any) -> list[tuple[str, str]]:
    """Booked jobs to choose from."""
    return [NO_JOB, *((j.code, f"{safe(j.name)}, {when(j.print_on, today)}") for j in jobs)]


def place_options(found: Choices) -> list[tuple[str, str]]:
    """Places to choose from."""
    return [(place.code, safe(place.name)) for place in found.places]


def _job_for(subject: Subject, target: "Target") -> str:
    wanted = target.more[0] if target.more else ""
    return wanted if any(job.code == wanted for job in subject.choices.jobs) else ""


def move_form(desk: "Desk", target: "Target") -> Form:
    """Stand a unit at another place."""
    subject = Subject(desk, target.about)
    others = [item for item in place_options(subject.choices) if item[0] != subject.unit.place]
    wanted = target.more[0] if target.more else ""
    if wanted not in [code for code, _ in others]:
        wanted = _likely_place(subject)
    code = subject.unit.code

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return handling.move(
            desk, [code], values["place"], happened_s=happened(desk, values), key=key
        )

    return Form(
        f"move {code}",
        f"Move {subject.word}",
        "Stand it there",
        [Field("place", "To", wanted, others, "arrows, or scan it", "place"),
         when_field()],
        submit,
        lambda values: subject.facts(),
    )  # fmt: skip


def _likely_place(subject: Subject) -> str:
    """Out of the cold into the first room; from anywhere else into the first cold store."""
    cold = subject.place.place_kind == "cold store"
    kind = "room" if cold else "cold store"
    for place in subject.choices.places:
        if place.place_kind == kind and place.code != subject.unit.place:
            return place.code
    return ""


def use_form(desk: "Desk", target: "Target") -> Form:
    """Use some of a unit, for a job or not."""
    subject = Subject(desk, target.about)
    unit = subject.unit
    job = _job_for(subject, target)

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return handling.use(
            desk, unit.code, amount_of(unit, values["amount"]), job=values["job"] or None,
            good=_whole(values["good"]), happened_s=happened(desk, values), key=key,
        )  # fmt: skip

    return Form(
        f"use {unit.code}", f"Use of {subject.word}", "Book it as used",
        [
            Field("amount", "How much", hint=subject.amount_hint()),
            Field("job", "For", job, job_options(subject.choices.jobs, subject.choices.today)),
            Field("good", "Good prints of it", "1" if job else "0", hint="for the job"),
            when_field(),
        ],
        submit,
        lambda values: [
            *subject.facts(),
            "More than the books hold is booked all the same, with what was found.",
        ],
        start="amount",
    )  # fmt: skip


def lose_form(desk: "Desk", target: "Target") -> Form:
    """Write off what was lost of a unit."""
    subject = Subject(desk, target.about)
    unit = subject.unit

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return handling.lose(
            desk, unit.code, _amount(unit, values["amount"]), values["cause"],
            job=values["job"] or None, prints=_whole(values["prints"]),
            happened_s=happened(desk, values), key=key,
        )  # fmt: skip

    return Form(
        f"lose {unit.code}", f"Lost of {subject.word}", "Write it off",
        [
            Field("amount", "How much", hint=f"{subject.amount_hint()}; empty: all"),
            Field("cause", "What happened", "bad print" if unit.shape.wound else "broken",
                  [(cause, cause) for cause in LOSS_CAUSES]),
            Field("job", "For", _job_for(subject, target),
                  job_options(subject.choices.jobs, subject.choices.today)),
            Field("prints", "Prints lost with it", "0"),
            when_field(),
        ],
        submit, lambda values: subject.facts(), start="amount",
    )  # fmt: skip


def count_form(desk: "Desk", target: "Target") -> Form:
    """Say what is really there."""
    subject = Subject(desk, target.about)
    unit = subject.unit
    long = unit.shape.by_length

    with reckoned(desk) as reckoning:
        wound, rolls = winding_of(reckoning, subject.material)

    def by_tape(values: Values) -> Measured | None:
        across = values.get("across", "").strip()
        if not across or values["amount"].strip():
            return None
        return from_tape(wound, rolls, length_dmm(across, "mm"))

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        about = values.get("about", "").strip()
        measured = by_tape(values)
        if measured is not None:
            return counting.count(
                desk, unit.code, measured.length_dmm,
                reason=values["reason"] or f"{measured_text(measured)}; {measured.source}",
                plus_minus_dmm=measured.plus_minus_dmm,
                happened_s=happened(desk, values), key=key,
            )  # fmt: skip
        return counting.count(
            desk, unit.code, amount_of(unit, values["amount"], zero=True),
            reason=values["reason"], plus_minus_dmm=length_dmm(about, "m") if about else 0,
            happened_s=happened(desk, values), key=key,
        )  # fmt: skip

    def facts(values: Values) -> list[str]:
        try:
            measured = by_tape(values)
        except StockroomError as error:
            return [*subject.facts(), str(error)]
        if measured is None:
            return subject.facts()
        return [*subject.facts(), f"{measured_text(measured)};", f"{measured.source}."]

    fields = [Field("amount", "Really there", hint=subject.amount_hint())]
    if unit.shape.wound:
        fields.append(Field("across", "Or measured across", hint="mm, instead of metres"))
    if long:
        fields.append(Field("about", "Sure to about", hint="m; empty: measured"))
    fields += [Field("reason", "Why", hint="a few words")]
    return Form(
        f"count {unit.code}", f"Count {subject.word}", "Write down the count",
        [*fields, when_field()], submit, facts, start="amount",
    )  # fmt: skip


def hold_form(desk: "Desk", target: "Target") -> Form:
    """Keep a unit or its batch out of use, or let it be used again."""
    subject = Subject(desk, target.about)
    unit, lot = subject.unit, subject.lot
    batch = bool(lot.held)
    held = unit.held or lot.held
    what = [("", f"this {unit_word(unit)} only"), ("batch", f"the whole batch {safe(lot.number)}")]

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        whole = values["what"] == "batch"
        said = lot.code if whole else unit.code
        if held:
            return handling.release(desk, said, batch=whole, reason=values["why"], key=key)
        return handling.hold(desk, said, values["why"], batch=whole, key=key)

    return Form(
        f"hold {unit.code}",
        f"{'Release' if held else 'Hold'} {subject.word}",
        "Let it be used again" if held else "Keep it out of use",
        [
            Field("what", "What", "batch" if batch else "", what),
            Field("why", "Why", hint="a few words"),
        ],
        submit,
        lambda values: subject.facts(),
        start="" if held else "why",
    )


def put_by_form(desk: "Desk", target: "Target") -> Form:
    """Set some of a unit aside for a job."""
    subject = Subject(desk, target.about)
    unit = subject.unit
    options = job_options(subject.choices.jobs, subject.choices.today)[1:]

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return booking.put_by(
            desk, unit.code, values["job"], _amount(unit, values["amount"]), key=key
        )

    return Form(
        f"put by {unit.code}", f"Put by {subject.word}", "Put it by",
        [
            Field("job", "For", _job_for(subject, target), options, scans="job"),
            Field("amount", "How much", hint=f"{subject.amount_hint()}; empty: all"),
        ],
        submit, lambda values: subject.facts(), start="job",
    )  # fmt: skip


def discard_form(desk: "Desk", target: "Target") -> Form:
    """Throw a unit away, or some of it."""
    return _away(desk, target, "discard", "Throw away", "Throw it away")


def return_form(desk: "Desk", target: "Target") -> Form:
    """Send a unit back, or some of it."""
    return _away(desk, target, "return", "Send back", "Book it as sent back")


def _away(desk: "Desk", target: "Target", name: str, title: str, button: str) -> Form:
    subject = Subject(desk, target.about)
    unit = subject.unit
    book = handling.discard if name == "discard" else handling.return_unit

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return book(
            desk, unit.code, _amount(unit, values["amount"]), reason=values["reason"],
            happened_s=happened(desk, values), key=key,
        )  # fmt: skip

    return Form(
        f"{name} {unit.code}", f"{title} {subject.word}", button,
        [
            Field("amount", "How much", hint=f"{subject.amount_hint()}; empty: all"),
            Field("reason", "Why", hint="a few words"),
            when_field(),
        ],
        submit, lambda values: subject.facts(), start="amount",
    )  # fmt: skip


def _amount(unit: Unit, text: str) -> int | None:
    return amount_of(unit, text) if text.strip() else None


def _whole(text: str) -> int:
    return int(number(text.strip() or "0", "a number of prints"))
