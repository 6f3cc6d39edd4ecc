"""Asking the desk beside the screen: reads, acts and a watch in threads, undo, what is said."""

import threading
from collections.abc import Callable, Sequence
from concurrent.futures import Future
from typing import TYPE_CHECKING, Any, TypeVar

from rich.cells import cell_len
from textual.app import App

from stockroom.errors import StockroomError, StoreError
from tui.keys import KEYS, shown
from tui.words import cut

if TYPE_CHECKING:
    from stockroom.desk.latest import Latest
    from stockroom.desk.session import Desk, Done

T = TypeVar("T")
STATUS_LINES = 3
"""Lines there are at most for what is told, as the theme has it."""
WRAP_LOSS = 9
"""Cells that a line loses on average at most where words are wrapped (our choice)."""
WATCH_S = 2.0
"""How often it is looked whether the books or the day moved, s: seen within five (our choice)."""


def booked_text(done: "Done") -> str:
    """Return what was booked, in one line, places and materials by their names."""
    from stockroom.text import safe

    if done.repeated:
        return f"That was booked already, as act {done.seq}; nothing was booked twice."
    return safe(" ".join(done.said), length=400)


def undone_text(undoing: "Sequence[Done]") -> str:
    """Return what was taken back, and by which act: all that one command did."""
    from stockroom.text import listed

    acts = [str(one.undoes) for one in reversed(undoing)]
    what = f"Act {acts[0]} was" if len(acts) == 1 else f"Acts {listed(acts)} were"
    return f"{what} taken back, by act {undoing[-1].seq}."


def _look(desk: "Desk") -> "Latest":
    """How far the books and the day are; never on the screen's own thread."""
    from stockroom.desk.latest import latest

    return latest(desk)


class AskingApp(App[int]):
    """An app over a desk that is opened, asked and acted on in threads.

    Parameters
    ----------
    open_desk : callable
        Opens the store; called in a thread, and again as long as the store does not answer.

    Attributes
    ----------
    version : int
        Grows when the books or the day moved: a screen read at another one reads anew.
    away : bool
        Whether the store did not answer the last look.
    """

    def __init__(self, open_desk: "Callable[[], Desk]") -> None:
        super().__init__()
        self.version = 0
        self.booked: list[int] = []
        self.status: tuple[str, str] = ("", "")
        self._hinted: object = None
        self.busy = 0
        self.surprises: list[Exception] = []
        self.away = False
        self.clock_off = False
        self._acting = 0
        self._troubled = False
        self._known: Latest | None = None
        self._left = threading.Event()
        self._open_desk = open_desk
        self._desk: Future[Desk] = Future()

    def begin_to_open(self) -> None:
        threading.Thread(target=self._open, daemon=True).start()

    def on_unmount(self) -> None:
        """Watch no longer."""
        self._left.set()

    # --- watching: what others did, and midnight --------------------------------------------

    def _open(self) -> None:
        """Open the store, then watch it, in a thread of its own that waits nearly all the time."""
        from stockroom.desk.clock_check import clock_warning

        while True:
            try:
                desk = self._open_desk()
                warning = clock_warning(desk.engine, desk.now_s(), desk.zone)
                if warning and not desk.clock_is_right:
                    self.status, self.clock_off = (warning, "ask"), True
                self._known = _look(desk)  # before the first read, so that nothing is missed
            except BaseException as error:  # told to whoever waits for the desk
                self._desk.set_exception(error)
                if not isinstance(error, StoreError) or self._left.wait(WATCH_S):
                    return
                self.away, self._desk = True, Future()
            else:
                self._desk.set_result(desk)
                break
        while True:
            version = self.version
            try:
                found = _look(desk)
            except StockroomError as error:
                self._back(self._out_of_reach, error)
            except Exception as error:  # the watch goes on
                self._back(self._out_of_reach, self._unforeseen(error))
            else:
                if self.away or found != self._known:
                    self._back(self._moved, (version, found))
            if self._left.wait(WATCH_S):
                return

    def _out_of_reach(self, error: StockroomError) -> None:
        if not self.away:
            self.away = True
            self.trouble(error)

    def _moved(self, seen: "tuple[int, Latest]") -> None:
        """Show what moved, unless an act of this sitting shows it, or has done so already."""
        version, found = seen
        if version != self.version or self._acting:
            return
        if self.away:
            self.away = False
            if self._troubled:
                self.tell("")
        self._known = found
        self.version += 1
        self.renew(elsewhere=True)

    # --- asking the desk, aside -------------------------------------------------------------

    def ask(
        self,
        work: "Callable[[Desk], T]",
        then: Callable[[T], object],
        failed: Callable[[StockroomError], object] | None = None,
    ) -> None:
        """Ask the desk in a thread, and go on with its answer."""
        self.busy += 1
        self._freshen()

        def answered(value: T) -> None:
            self.busy -= 1
            try:
                then(value)
            except Exception as error:  # as below
                self.trouble(self._unforeseen(error))
            self._freshen()

        def refused(error: StockroomError) -> None:
            self.busy -= 1
            (failed or self.trouble)(error)
            self._freshen()

        def run() -> None:
            try:
                value = work(self._desk.result())
            except StockroomError as error:
                self._back(refused, error)
            except Exception as error:  # nobody at the bench is helped by a traceback
                self._back(refused, self._unforeseen(error))
            else:
                self._back(answered, value)

        self.run_worker(run, thread=True, exit_on_error=False)

    def _unforeseen(self, error: Exception) -> StockroomError:
        """Return an error of the program's own as one that a person can read."""
        from stockroom.text import safe, without_secrets

        self.surprises.append(error)
        return StockroomError(
            "Something happened that nobody foresaw.",
            f"{type(error).__name__}: {safe(without_secrets(error), length=160)}.",
            "What was booked before still stands; try again, or look at the trail (Z).",
        )

    def _back(self, then: Callable[[Any], None], value: object) -> None:
        if self.is_running:
            self.call_from_thread(then, value)

    def act(
        self,
        work: "Callable[[Desk], Done]",
        then: "Callable[[Done], object] | None" = None,
        failed: Callable[[StockroomError], object] | None = None,
    ) -> None:
        """Do an act in a thread; then say what was booked and show everything anew."""

        def run(desk: "Desk") -> "tuple[Done, str, Latest | None]":
            done = work(desk)
            try:
                return done, booked_text(done), _look(desk)
            except StoreError:  # the act stands; the watch will see what there is to say
                return done, booked_text(done), None

        def acted(result: "tuple[Done, str, Latest | None]") -> None:
            self._acting -= 1
            done, text, self._known = result
            if not done.repeated:
                self.booked.append(done.seq)
                way_back = f"  {shown(self.keys_of('app.undo'))} undoes it."
                text = cut(text, self.room_to_tell() - cell_len(way_back)) + way_back
            self.version += 1
            self.tell(text, "good")
            if then is not None:
                then(done)
            self.renew()

        def refused(error: StockroomError) -> None:
            self._acting -= 1
            (failed or self.trouble)(error)

        self._acting += 1
        self.ask(run, acted, refused)

    def renew(self, *, elsewhere: bool = False) -> None:
        """Let the screen in view read the books anew; those it covers do when they come back.

        Parameters
        ----------
        elsewhere : bool
            Whether it moved without an act of this sitting.
        """
        reload = getattr(self.screen, "reload", None)
        if reload is not None:
            reload(elsewhere=elsewhere)

    def action_undo(self) -> None:
        """Take back the last act of this sitting; without one, show the trail."""
        if not self.booked:
            self.show_trail()
            self.hint("Nothing of this sitting is left to undo; z undoes the line in view.")
            return
        self.undo_act(self.booked[-1])

    def undo_act(self, seq: int) -> None:
        """Take back one act."""

        def work(desk: "Desk") -> "Done":
            from stockroom.desk.stock.counting import undo

            return undo(desk, seq)

        def undone(done: "Done") -> None:
            undoing = (*done.before, done)
            gone = {seq, *(one.seq for one in undoing), *(one.undoes for one in undoing)}
            self.booked = [item for item in self.booked if item not in gone]
            self.tell(undone_text(undoing), "good")

        self.act(work, undone)

    # --- saying ----------------------------------------------------------------------------

    def room_to_tell(self) -> int:
        """Return how many cells a text may have to be told whole, whatever words wrap."""
        return STATUS_LINES * (self.size.width - 2 - WRAP_LOSS)

    def tell(self, text: str, role: str = "") -> None:
        """Say something in the line above the footer, until something else is said."""
        self._hinted = None
        self._troubled = False
        self.status = (text, role)
        self._freshen()

    def hint(self, text: str, role: str = "") -> None:
        """Say something about the screen in view; it goes when that does."""
        self.tell(text, role)
        self._hinted = self.screen

    def said(self) -> tuple[str, str]:
        """Return what is said now, and its role."""
        if self._hinted is not None and self._hinted is not self.screen:
            self._hinted, self.status = None, ("", "")
        return self.status

    def trouble(self, error: StockroomError, *, passing: bool = False) -> None:
        """Say what happened, why, and what to try; with `passing`, for this screen."""
        say = self.hint if passing else self.tell
        say(cut(f"{error.title}: {error}", 460), "bad")
        self._troubled = isinstance(error, StoreError)

    def _freshen(self) -> None:
        if self.screen_stack:
            freshen = getattr(self.screen, "freshen", None)
            if freshen is not None:
                freshen()

    def keys_of(self, id_: str) -> str:
        """Return the keys that an id lies on, as they were remapped."""
        return self._keymap.get(id_, KEYS[id_].keys)

    def show_trail(self) -> None:
        """Show the trail of acts; there is none before the screens are laid over this app."""
