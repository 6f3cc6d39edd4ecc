"""Without a number a person takes back only their own last act, and only where it is the last."""

import pytest
from support.studio import Studio

from stockroom.desk.stock import counting
from stockroom.desk.session import Desk
from stockroom.errors import RefusedError


def other(studio: Studio, actor: str = "Ines") -> Desk:
    """Somebody else's desk on the same store."""
    desk = studio.desk
    return Desk(desk.engine, actor=actor, now_s=desk.now_s)


def test_my_own_last_act_is_taken_back_and_said(any_studio: Studio) -> None:
    s = any_studio
    mine = counting.count(s.desk, s.roll, 400_000, reason="measured")
    done = counting.undo(s.desk)
    assert done.undoes == mine.seq
    assert f"Act {mine.seq} was: count {s.roll}, measured." in done.said


def test_nobody_takes_back_by_chance_what_somebody_else_did(any_studio: Studio) -> None:
    s = any_studio
    mine = counting.count(s.desk, s.roll, 400_000)
    theirs = counting.count(other(s), s.second_roll, 300_000)
    with pytest.raises(RefusedError) as caught:
        counting.undo(s.desk)
    assert f"Ines acted since: Act {theirs.seq} was: count {s.second_roll}." in str(caught.value)
    assert f"stockroom undo {mine.seq}." in str(caught.value)
    assert counting.trail(s.desk, 1)[0].act.seq == theirs.seq
    assert counting.undo(other(s)).undoes == theirs.seq
    assert counting.undo(s.desk).undoes == mine.seq, "what Ines took back is no longer above it"


def test_who_did_nothing_is_told_whose_the_last_act_is(studio: Studio) -> None:
    last = counting.count(studio.desk, studio.roll, 400_000)
    with pytest.raises(RefusedError, match=f"No act of Jo stands.*stockroom undo {last.seq}"):
        counting.undo(other(studio, "Jo"))
