"""Forms about cutting: accept a plan and write its cards, record what differed from a card."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from stockroom.desk.cutting.card_text import cards_pdf, part_text, summary
from stockroom.desk.cutting.cards import (
    CardView,
    accept_cuts,
    cards_of,
    cut_card,
    one_card,
    part_sizes,
)
from stockroom.errors import BadValueError, StockroomError
from stockroom.plain_files import home_path
from stockroom.text import safe
from stockroom.writing import see_free, write_whole
from tui.forms import Field, Form, Values
from tui.stock.acts import happened, when_field

if TYPE_CHECKING:
    from stockroom.desk.cutting.sheets import CutWork
    from stockroom.desk.session import Desk, Done
    from tui.words import Target


def accept_form(work: "CutWork") -> Form:
    """Accept a plan: its cards hold what they cut, and are written to a file to print."""

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        to = values["pdf"].strip()
        path = home_path(to) if to else None
        if path is not None:
            see_free(path)
        with desk.deciding():  # the cards are read before they stand: no trouble can deny them then
            done = accept_cuts(desk, work, key=key)
            cards = cards_of(desk, [done])
        if path is None:
            return done
        try:
            write_whole(path, cards_pdf(cards))
        except StockroomError as error:
            told = f"The cards stand, but were not written: {error.what} stockroom cuts print FILE."
            return replace(done, notes=(*done.notes, told))
        return replace(done, notes=(*done.notes, f"Cards to print: {safe(path)}."))

    def told(values: Values) -> list[str]:
        lines = [f"{safe(work.material.name)}: {safe(summary(work), length=400)}"]
        if work.to_buy:
            lines.append("What must be bought is on no card; plan again when it is there.")
        if work.replaces:
            units = ", ".join(dict.fromkeys(put.unit for put in work.replaces))
            lines.append(f"Free again, since the plan takes its place: what is put by of {units}.")
        return lines

    title = f"Accept: cuts of {safe(work.material.name)}"
    pdf = str(free_name("bench-cards"))
    fields = [Field("pdf", "Cards to print, in", pdf, hint="a PDF; empty: none")]
    return Form(f"accept {work.material.code}", title, "Accept it", fields, submit, told, "")


def free_name(stem: str, folder: Path | None = None) -> Path:
    """Return a name for a PDF that is not there yet, in the folder of the person.

    Parameters
    ----------
    folder : Path, optional
        The person's own where it is left out.
    """
    home = folder or Path.home()
    number, path = 1, home / f"{stem}.pdf"
    while path.exists():
        number += 1
        path = home / f"{stem}-{number}.pdf"
    return path


def differs_form(desk: "Desk", target: "Target") -> Form:
    """Record a card that was not cut as planned."""
    view = one_card(desk, target.about)
    if view.gone:
        raise BadValueError(f"Card {view.card.code} cannot be cut: {view.gone}.")

    def submit(desk: "Desk", values: Values, key: str) -> "Done":
        return cut_card(
            desk,
            view.card.code,
            broken=_numbers(values["broken"]),
            sizes=part_sizes([text for text in values["true"].split(",") if text.strip()]),
            place=values["place"].strip() or None,
            happened_s=happened(desk, values),
            key=key,
        )

    def told(values: Values) -> list[str]:
        return [part_text(part, view.name_of(part)) for part in view.layout.parts]

    return Form(
        f"differs {view.card.code}",
        f"Card {view.card.code}: {_blank(view)}",
        "Record the cut",
        [
            Field("broken", "Broken parts", hint="like 2, 3; empty: none"),
            Field("true", "True sizes", hint="like 2=620x415"),
            Field("place", "It stands in", hint="empty: as the sheet", scans="place"),
            when_field(),
        ],
        submit,
        told,
        "broken",
    )


def _blank(view: CardView) -> str:
    return f"{safe(view.material.name)}, {view.unit.code}"


def _numbers(text: str) -> list[int]:
    found = []
    for word in text.replace(",", " ").split():
        if not word.isdigit():
            raise BadValueError(
                f"{safe(word, length=20)!r} is not the number of a part.",
                "Each part of the card has its number.",
                "Type numbers, like 2 or 2, 3.",
            )
        found.append(int(word))
    return found
