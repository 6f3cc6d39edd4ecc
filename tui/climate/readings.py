"""Take in a logger's readings: a path, a look at what was understood, then Enter stores it."""

from typing import TYPE_CHECKING, Any

from textual.widget import Widget

from tui.forms import Field, Form
from tui.shared.form_screen import FormScreen, Press
from tui.shared.line_list import Lines
from tui.words import Row, Target, note, say, wrapped

if TYPE_CHECKING:
    from stockroom.desk.session import Desk, Done
    from stockroom.errors import StockroomError

UNITS = [("", "as the file says"), ("°C", "°C"), ("°F", "°F")]
ORDERS = {"": None, "day": True, "month": False}


def _given(values: dict[str, str]) -> dict[str, Any]:
    """What a person said of a file that does not say it itself."""
    return {"day_first": ORDERS[values["order"]], "unit": values["unit"] or None}


class ReadingsScreen(FormScreen):
    """A form that shows what was understood before it stores anything."""

    FOOT = ("form.next", "screen.back", "screen.help_typed", "screen.palette")

    def __init__(self, target: Target | None = None) -> None:
        super().__init__(
            Form(
                "readings", "Take in a logger file", "Look at it",
                [
                    Field("path", "File", hint="its path, ~ for home"),
                    Field("place", "Logged in", "", [("", "reading the places …")], scans="place"),
                    Field("order", "Dates are", "",
                          [("", "as the file shows"), ("day", "day first"),
                           ("month", "month first")]),
                    Field("unit", "Degrees are", "", UNITS),
                ],
                _never,
                start="path",
                tells="Type the path of a logger's file and press Enter: what was understood is "
                "shown first, and nothing is stored. Enter once more stores it. The same file "
                "twice changes nothing.",
            )
        )  # fmt: skip
        self._looked: dict[str, str] | None = None
        self._rows: Any = None

    def begin(self) -> None:
        """Read the places to choose from."""
        super().begin()
        told = self.query_one("#told")
        self.query_one("#ask").mount(Lines(id="look"), after=told)
        told.display = False
        self.stockroom.ask(_places, self._offer)

    def _offer(self, places: "list[tuple[str, str]]") -> None:
        from tui.shared.pick import Pick

        pick = self.query_one("#at-place", Pick)
        self.form.fields[1].options = places
        draft = self.stockroom.drafts.get(self.form.name, {}).get("place", "")
        pick.options = places or [("", "no place yet")]
        if draft:
            pick.value = draft
        pick.refresh()

    def entered(self) -> None:
        """Enter after the path looks at it at once."""
        self.query_one("#press", Press).focus()
        self.send()

    def send(self) -> None:
        """Look first; store what was looked at."""
        if self.sending:
            return
        values = self.values
        self.sending = True
        if self._looked == values:
            self._store(values)
        else:
            self._look(values)

    def _look(self, values: dict[str, str]) -> None:
        app = self.stockroom
        width = max(40, app.size.width - 6)

        def work(desk: "Desk") -> list[Row]:
            from stockroom.desk.climate.readings import compare_readings, look_at_readings
            from tui.climate.lines import look_rows

            data, name = _bytes(values["path"])
            log = look_at_readings(desk, data, name, **_given(values))
            place = values["place"]
            common = compare_readings(desk, place, log.readings) if place else None
            return look_rows(log, desk.zone, desk.today(), width, common)

        def shown(rows: list[Row]) -> None:
            self.sending = False
            self._looked = values
            self._call_it("Store it")
            app.hint("Nothing is stored yet; Enter stores it.")
            self.query_one("#look", Lines).show(rows, top=True)
            self.query_one("#press", Press).focus()

        app.ask(work, shown, self._refused)

    def _refused(self, error: "StockroomError") -> None:
        self.sending = False
        self._looked = None
        self._call_it("Look at it")
        lines = [*wrapped(error.what, 74, "bad"), *wrapped(error.why, 74)]
        problems = getattr(error, "problems", ())
        both = f"{error.what} {error.why}".lower()
        asks = "day" in both and "month" in both
        if asks:
            lines += [say("Say which it is: arrows on “Dates are”, then Enter.", "strong")]
        elif error.try_:
            lines += wrapped(error.try_, 74, "strong")
        rows = [note(*lines)]
        rows += [note(*wrapped(str(item), 74, first="· ", rest="  ")) for item in problems[:20]]
        self.query_one("#look", Lines).show(rows, top=True)
        self.query_one("#at-order" if asks else "#at-path", Widget).focus()
        self.stockroom.hint(error.what, "bad")

    def _store(self, values: dict[str, str]) -> None:
        app = self.stockroom

        said: list[str] = []

        def work(desk: "Desk") -> "Done":
            from stockroom.desk.climate.readings import overlap_text, take_in_readings

            data, name = _bytes(values["path"])
            taken = take_in_readings(desk, values["place"], data, name, **_given(values))
            if not taken.done.repeated:
                said.append(overlap_text(taken.overlap))
            return taken.done

        def done(result: "Done") -> None:
            self.sending = False
            app.tell(" ".join([app.status[0], *said]).strip(), app.status[1])
            app.drafts.pop(self.form.name, None)
            if app.screen is self:
                app.pop_screen()
            app.open(Target("place", values["place"]))

        app.act(work, done, self._refused)

    def _changed(self) -> None:
        super()._changed()
        if self.is_mounted and self._looked is not None and self._looked != self.values:
            self._looked = None
            self._call_it("Look at it")

    def _call_it(self, button: str) -> None:
        self.form.button = button
        self.on_descendant_focus(None)


def _bytes(text: str) -> tuple[bytes, str]:
    from stockroom.errors import BadValueError
    from stockroom.plain_files import home_path, read_plain

    path = home_path(text.strip().strip("'\""))
    if not path.name:
        raise BadValueError(
            "No file is named.",
            try_="Type its path; a file may be dropped on the terminal to type it.",
        )
    return read_plain(path), path.name


def _places(desk: "Desk") -> "list[tuple[str, str]]":
    from stockroom.desk.climate.views import places
    from stockroom.text import safe

    return [(line.place.code, safe(line.place.name)) for line in places(desk)]


def _never(desk: Any, values: Any, key: str) -> Any:
    from stockroom.errors import RefusedError

    raise RefusedError("Readings are stored once they were looked at.", try_="Press Enter again.")
