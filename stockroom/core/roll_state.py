"""The state of a roll in a word: sealed, open-bagged, in the magazine, out to warm, re-bagged."""

from stockroom.core.records import PlaceKind, Unit


def state_of_roll(unit: Unit, place_kind: PlaceKind, *, warming: bool) -> str:
    """Return the state of a unit; of what is no roll its condition.

    A roll that was opened and is not loaded lies folded in its own bag, which no longer keeps
    the air out: open-bagged. Re-bagged it was shut in with the room's air.

    Parameters
    ----------
    place_kind : str
        Of the place it stands in.
    warming : bool
        Whether it came out of the cold and is not at room temperature yet.

    >>> roll = Unit(code="1", lot="2", form="roll", place="3", condition="open")
    >>> state_of_roll(roll, "magazine", warming=False), state_of_roll(roll, "room", warming=False)
    ('in the magazine', 'open-bagged')
    >>> from dataclasses import replace
    >>> state_of_roll(replace(roll, condition="sealed"), "room", warming=True)
    'sealed, out to warm'
    """
    if not unit.shape.wound:
        return unit.condition
    words = {
        "open": "in the magazine" if place_kind == "magazine" else "open-bagged",
        "re-bagged": "re-bagged with the room's air in it",
    }
    word = words.get(unit.condition, unit.condition)
    return f"{word}, out to warm" if warming else word
