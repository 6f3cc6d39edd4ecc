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
    "today": ("today", "TodayScreen"),
    "print": ("prints", "PrintScreen"),
    "jobs": ("work", "JobsScreen"),
    "job": ("work", "JobScreen"),
    "piece": ("work", "JobScreen"),
    "units": ("units", "UnitsScreen"),
    "lot": ("units", "UnitsScreen"),
    "material": ("units", "UnitsScreen"),
    "unit": ("unit", "UnitScreen"),
    "figure": ("figure", "FigureScreen"),
    "places": ("places", "PlacesScreen"),
    "place": ("place", "PlaceScreen"),
    "mkt": ("mkt", "MeansScreen"),
    "offcut": ("offcut", "OffcutScreen"),
    "cuts": ("cuts", "CutsScreen"),
    "card": ("cuts", "CardScreen"),
    "order": ("orders", "OrdersScreen"),
    "supply": ("supply", "SupplyScreen"),
    "trail": ("trail", "TrailScreen"),
    "readings": ("readings", "ReadingsScreen"),
    "help": ("help", "HelpScreen"),
    "strip": ("strip", "StripScreen"),
    "form": ("form", "FormScreen"),
}
_FORMS = {
    "receive": ("receive", "receive_form"),
    "order-come": ("receive", "order_form"),
    "warm": ("warm", "warm_form"),
    "cause": ("warm", "cause_form"),
    "withdraw": ("withdraw", "withdraw_form"),
    "record": ("recording", "record_form"),
    "book": ("booking", "book_form"),
    "close": ("booking", "close_form"),
    "differs": ("cut_forms", "differs_form"),
    "order-new": ("ordering", "order_form"),
    "tell": ("ordering", "tell_form"),
    "terms": ("ordering", "terms_form"),
    "cancel": ("ordering", "cancel_form"),
    "trust": ("white", "trust_form"),
    "examine": ("examine", "examine_form"),
    "fault": ("faces", "fault_form"),
    "move": ("acts", "move_form"),
    "use": ("acts", "use_form"),
    "lose": ("acts", "lose_form"),
    "count": ("acts", "count_form"),
    "hold": ("acts", "hold_form"),
    "put_by": ("acts", "put_by_form"),
    "discard": ("acts", "discard_form"),
    "return": ("acts", "return_form"),
}


def make(name: str, **about: Any) -> Screen[Any]:
    """Return a screen by its name."""
    module, kind = _SCREENS[name]
    made: Screen[Any] = getattr(import_module(f"tui.screens.{module}"), kind)(**about)
    return made


def help_screen() -> type[Screen[Any]]:
    """Return the class of the help screen."""
    kind: type[Screen[Any]] = import_module("tui.screens.help").HelpScreen
    return kind


def lead(app: "StockroomApp", target: "Target") -> None:
    """Open what a target names: a screen at once, a form once its choices are read."""
    name = target.screen
    if name == "order" and target.about:
        name = "order-come"
    if name in _FORMS:
        module, factory = _FORMS[name]

        def work(desk: Any) -> Any:
            build: Callable[..., Any] = getattr(import_module(f"tui.screens.{module}"), factory)
            return build(desk, target)

        def show(form: Any) -> None:
            try:
                app.push_screen(make("form", form=form, anew=work))
            except Exception:
                app.opened()
                raise

        def failed(error: Any) -> None:
            app.opened()
            app.trouble(error)

        app.opening = True
        app.ask(work, show, failed)
    elif name == "strip":
        _ask_strip(app, target.about)
    elif name == "unit" and target.more:
        app.push_screen(make("unit", target=target))
    else:
        app.push_screen(make(name, target=target))


def _ask_strip(app: "StockroomApp", unit: str) -> None:
    """Ask how a strip of a roll is, once it is seen that it is one of paper."""

    def work(desk: Any) -> Any:
        from stockroom.desk.checking import printable

        with desk.reading() as view:
            return printable(view, unit).code

    def show(code: str) -> None:
        try:
            app.push_screen(make("strip", unit=code))
        finally:
            app.call_after_refresh(app.opened)

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
