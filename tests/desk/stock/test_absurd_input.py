"""Whatever a person types, the books hold only what they can hold, or say why not."""

from collections.abc import Callable

import pytest
from support.deeds import head
from support.studio import Studio
from support.truths import see_truths

from stockroom.core.model import Material, Place
from stockroom.desk.stock import counting, defining, handling, receiving
from stockroom.desk.stock.receiving import Delivery
from stockroom.errors import BadValueError, InputError, RefusedError


def test_text_is_kept_in_one_form_on_either_database(any_studio: Studio) -> None:
    """A letter with its accent apart (NFD) is the same letter; a check must not find it changed."""
    desk = any_studio.desk
    apart = "Cafe\u0301"
    defining.change_material(desk, any_studio.paper, supplier=apart)
    defining.define_place(desk, apart, "rack")
    handling.lose(desk, any_studio.roll, 10, apart)
    with desk.reading() as view:
        paper = view.get(Material, any_studio.paper)
        assert paper is not None
        assert paper.supplier == "Caf\u00e9"
        assert [place.name for place in view.having(Place, "name", "Caf\u00e9")]
    see_truths(desk)


def test_text_that_no_function_cleaned_is_kept_in_one_form(studio: Studio) -> None:
    """Whatever a payload holds is brought into one form before it is folded and hashed."""
    place = {"code": "20017", "name": "Rack e\u0301\udcff", "place_kind": "rack"}
    studio.desk.act("place", place, lambda _bench: place)
    with studio.desk.reading() as view:
        found = view.get(Place, "20017")
    assert found is not None
    assert found.name == "Rack \u00e9?"
    see_truths(studio.desk)


def test_a_code_that_is_none_is_refused_in_words(any_studio: Studio) -> None:
    before = head(any_studio.desk)
    for said in ("\udcff", "\0", "a\0b", "\ud800x", "1" * 5_000, "", " "):
        with pytest.raises(InputError):
            handling.open_unit(any_studio.desk, said)
    assert head(any_studio.desk) == before


@pytest.mark.parametrize("key", ["", "a\0b", "\udcff", "x" * 201, "two\nlines", "e\u0301"])
def test_a_key_that_cannot_be_kept_is_refused(key: str, studio: Studio) -> None:
    with pytest.raises(BadValueError, match="key"):
        handling.open_unit(studio.desk, studio.roll, key=key)


WRONG: dict[str, Callable[[Studio], object]] = {
    "a price below zero": lambda s: receiving.receive(
        s.desk, Delivery(material=s.paper, place=s.store, price_cents=-1)
    ),
    "a price beyond counting": lambda s: receiving.receive(
        s.desk, Delivery(material=s.sheet, place=s.room, count=10**6, price_cents=2**63)
    ),
    "a plus or minus below zero": lambda s: receiving.receive(
        s.desk, Delivery(material=s.paper, place=s.store, plus_minus_dmm=-1)
    ),
    "an area beyond counting": lambda s: receiving.receive(
        s.desk,
        Delivery(material=s.sheet, place=s.room, width_dmm=10**8, length_dmm=10**8, count=10**6),
    ),
    "a count's plus or minus below zero": lambda s: counting.count(
        s.desk, s.roll, 5, plus_minus_dmm=-1
    ),
    "prints below zero": lambda s: handling.use(s.desk, s.roll, 5, good=-1),
    "prints beyond counting": lambda s: handling.use(s.desk, s.roll, 5, good=10**12),
    "lost prints below zero": lambda s: handling.lose(s.desk, s.roll, 5, "scratch", prints=-1),
    "an act beyond counting": lambda s: counting.undo(s.desk, 10**30),
    "an act beyond counting to retime": lambda s: counting.retime(s.desk, 10**30, s.desk.now_s()),
    "a time before time": lambda s: counting.retime(s.desk, 1, -(10**30)),
    "a thickness beyond counting": lambda s: defining.change_material(
        s.desk, s.paper, thickness_um=2**31
    ),
}


def test_figures_that_cannot_be_are_refused_in_words(any_studio: Studio) -> None:
    before = head(any_studio.desk)
    for what, attempt in WRONG.items():
        with pytest.raises(InputError):
            attempt(any_studio)
        assert head(any_studio.desk) == before, what
    see_truths(any_studio.desk)


def test_a_new_name_must_be_free_but_may_be_ones_own(studio: Studio) -> None:
    desk = studio.desk
    defining.change_place(desk, studio.room, name="MOUNTING room")
    defining.change_material(desk, studio.paper, name="satin colour PAPER 127")
    with pytest.raises(RefusedError, match="already"):
        defining.change_place(desk, studio.room, name="cold STORE")
    with pytest.raises(RefusedError, match="already"):
        defining.change_material(desk, studio.paper, name="CAST acrylic 3 mm")
    with pytest.raises(BadValueError):
        defining.change_place(desk, studio.room, name="\n")
