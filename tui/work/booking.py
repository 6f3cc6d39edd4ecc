"""Forms of work: book a print, and close a job."""

from typing import TYPE_CHECKING

from stockroom.core.records import CERTAINTIES, JOB_STATES, Job
from stockroom.desk.lookup import find
from stockroom.desk.stock.views import choices
from stockroom.desk.work import booking, jobs
from stockroom.desk.work.builds import all_recipes
from stockroom.desk.work.jobs import JobSaid, edition_of
from stockroom.errors import BadValueError
from stockroom.text import safe
from stockroom.times import day_of
from stockroom.units import count_of, number, size_dmm, size_text
from tui.forms import Field, Form, Values, leads_to, one_of
from tui.words import when

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from tui.words import Target


def book_form(desk: "Desk", target: "Target") -> Form:
    """Book prints of one size on one paper for a day."""
    found = choices(desk)
    papers = [(m.code, safe(m.name)) for m in found.materials if m.traits.printed_on]
    if not papers:
        raise BadValueError(
            "There is no paper yet to print on.",
            try_="At the console: stockroom material add NAME --family paper --form roll.",
        )

    with desk.reading() as view:
        builds = [recipe.build for recipe in all_recipes(view) if recipe.build is not None]
    made_as = [("", "a bare print"), *((build.code, safe(build.name)) for build in builds)]

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        if not values["day"].strip():
            raise BadValueError("On which day?", try_="Type it like 2026-03-20, +14 or thu.")
        width, height = size_dmm(values["size"])
        first, of = edition_of(values["edition"])
        said = JobSaid(
            name=values["name"], width_dmm=width, height_dmm=height,
            print_on=day_of(values["day"], desk.today()), material=values["paper"],
            count=int(number(values["count"] or "1", "a number of prints")),
            series=values["series"] == "series", build=values["build"] or None,
            due_on=day_of(values["due"], desk.today()) if values["due"].strip() else None,
            certainty=values["sure"], edition_from=first, edition_of=of,
            client=values["client"].strip() or None,
        )  # fmt: skip
        return jobs.book(desk, said, key=key)

    def told(values: Values) -> list[str]:
        from stockroom.errors import StockroomError

        parts = []
        try:
            parts.append(size_text(*size_dmm(values["size"])))
            today = desk.today()
            parts.append(when(day_of(values["day"], today), today))
        except StockroomError:
            pass
        return [", ".join(parts), "Once booked, every roll of the paper gets its answer."]

    return Form(
        "book", "Book a print", "Book it",
        [
            Field("name", "Name of the job"),
            Field("size", "Size", hint="mm, such as 2500 x 1250"),
            Field("count", "How many", "1"),
            Field("day", "Printed on", hint="2026-03-20, +14, thu"),
            Field("paper", "Paper", papers[0][0], papers, scans="material"),
            Field("series", "Emulsion", "", [("", "may differ"), ("series", "one for all")]),
            Field("build", "Made as", "", made_as),
            Field("due", "Promised for", hint="+30, or left empty"),
            Field("sure", "How sure", "sure", [(word, word) for word in reversed(CERTAINTIES)]),
            Field("edition", "Edition", hint="3/8: number, size"),
            Field("client", "For whom", hint="can be erased"),
        ],
        submit, told, "name", leads_to("job", "print"),
    )  # fmt: skip


def close_form(desk: "Desk", target: "Target") -> Form:
    """Call a job done or cancelled."""
    with desk.reading() as view:
        job = find(view, Job, target.about)

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return booking.close_job(desk, job.code, one_of(JOB_STATES, values["state"]), key=key)

    return Form(
        f"close {job.code}", f"Close {safe(job.name)}", "Close it",
        [Field("state", "It is", "done", [("done", "done"), ("cancelled", "cancelled")])],
        submit,
        lambda values: [
            f"{count_of(job.good, 'print')} good of {job.count}, {job.lost} lost.",
            "What was put by for it is free again.",
        ],
    )  # fmt: skip
