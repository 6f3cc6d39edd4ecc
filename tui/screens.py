"""The screens, one module for each; they are imported only when they are opened."""

from collections.abc import Callable, Iterator
from importlib import import_module
from typing import TYPE_CHECKING, Any

from textual.app import SystemCommand
from textual.screen import Screen

from tui.keys import KEYS, shown

if TYPE_CHECKING:
    from tui.app import StockroomApp
    from tui.words import Target

_SCREENS = {
    "today": ("today.screen", "TodayScreen"),
    "print": ("today.print_screen", "PrintScreen"),
    "jobs": ("work.screen", "JobsScreen"),
    "job": ("work.screen", "JobScreen"),
    "piece": ("work.screen", "JobScreen"),
    "units": ("stock.units", "UnitsScreen"),
    "lot": ("stock.units", "UnitsScreen"),
    "material": ("stock.units", "UnitsScreen"),
    "unit": ("stock.unit", "UnitScreen"),
    "figure": ("stock.figure", "FigureScreen"),
    "places": ("climate.places", "PlacesScreen"),
    "place": ("climate.place", "PlaceScreen"),
    "mkt": ("climate.mkt", "MeansScreen"),
    "offcut": ("cutting.offcut", "OffcutScreen"),
    "cuts": ("cutting.cuts", "CutsScreen"),
    "card": ("cutting.cuts", "CardScreen"),
    "order": ("orders.orders", "OrdersScreen"),
    "supply": ("orders.supply", "SupplyScreen"),
    "trail": ("books.trail", "TrailScreen"),
    "readings": ("climate.readings", "ReadingsScreen"),
    "help": ("shared.help_screen", "HelpScreen"),
    "strip": ("condition.strip", "StripScreen"),
    "form": ("shared.form_screen", "FormScreen"),
}
_FORMS = {
    name: module
    for module, names in (
        ("stock.receive", "receive order-come"),
        ("stock.acts", "move use lose count hold put_by discard return"),
        ("climate.spell_forms", "warm cause"),
        ("climate.withdraw", "withdraw"),
        ("work.recording", "record"),
        ("work.booking", "book close"),
        ("cutting.forms", "differs"),
        ("orders.forms", "order-new tell terms cancel"),
        ("condition.white", "trust"),
        ("condition.examine", "examine"),
        ("condition.faces", "fault"),
    )
    for name in names.split()
}
"""Where each form is made, by a function of its name."""


def make(name: str, **about: Any) -> Screen[Any]:
    """Return a screen by its name."""
    module, kind = _SCREENS[name]
    made: Screen[Any] = getattr(import_module(f"tui.{module}"), kind)(**about)
    return made


def help_screen() -> type[Screen[Any]]:
    """Return the class of the help screen."""
    kind: type[Screen[Any]] = import_module("tui.shared.help_screen").HelpScreen
    return kind


def lead(app: "StockroomApp", target: "Target") -> None:
    """Open what a target names: a screen at once, a form once its choices are read."""
    name = target.screen
    if name == "order" and target.about:
        name = "order-come"
    if name in _FORMS:

        def work(desk: Any) -> Any:
            made = import_module(f"tui.{_FORMS[name]}")
            build: Callable[..., Any] = getattr(made, f"{name.replace('-', '_')}_form")
            return build(desk, target)

        def show(form: Any) -> None:
            try:
                app.push_screen(make("form", form=form, anew=work))
            except Exception:
                app.opened()
                raise

        _open_with(app, work, show)
    elif name == "strip":
        _ask_strip(app, target.about)
    elif name == "unit" and target.more:
        app.push_screen(make("unit", target=target))
    else:
        app.push_screen(make(name, target=target))


def _ask_strip(app: "StockroomApp", unit: str) -> None:
    """Ask how a strip of a roll is, once it is seen that it is one of paper."""

    def work(desk: Any) -> Any:
        from stockroom.desk.condition.checking import printable

        with desk.reading() as view:
            return printable(view, unit).code

    def show(code: str) -> None:
        try:
            app.push_screen(make("strip", unit=code))
        finally:
            app.call_after_refresh(app.opened)

    _open_with(app, work, show)


def _open_with(
    app: "StockroomApp", work: Callable[[Any], Any], show: Callable[[Any], None]
) -> None:
    """Open what must be read first; what is typed meanwhile is for it."""

    def failed(error: Any) -> None:
        app.opened()
        app.trouble(error)

    app.opening = True
    app.ask(work, show, failed)


def commands(app: "StockroomApp", screen: Screen[Any]) -> Iterator[SystemCommand]:
    """Yield every action by name: what the screen in view can do, then where one can go."""
    seen = set()
    for id_ in getattr(screen, "acts", tuple)():
        key = KEYS[id_]
        seen.add(id_)
        yield SystemCommand(
            f"{key.word[:1].upper()}{key.word[1:]} ({shown(key.keys)})",
            key.tells,
            lambda id_=id_: screen.call_later(screen.run_action, f"act('{id_[4:]}')"),
        )
    for id_, key in KEYS.items():
        if id_.startswith("go."):
            yield SystemCommand(
                f"{key.word} ({shown(key.keys)})",
                key.tells,
                lambda id_=id_: app.call_later(app.action_go, id_[3:]),
            )
    yield SystemCommand("Undo (z)", KEYS["app.undo"].tells, app.action_undo)
    yield SystemCommand(
        "Dark or light", "Change between the dark and the light look", app.action_look
    )
    yield SystemCommand("Help (?)", KEYS["screen.help"].tells, app.action_help)
    yield SystemCommand("Leave (q)", KEYS["app.leave"].tells, app.action_leave)
