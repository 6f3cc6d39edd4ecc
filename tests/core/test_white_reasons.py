"""What a measured white says for or against a print, said in sentences a person reads."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from stockroom.core.freshness.ways import Counted
from stockroom.core.white_reasons import WhiteSeen, life_reasons, white_reasons
from stockroom.core.wording import sentence

TODAY = date(2026, 3, 3)
FINE = WhiteSeen(
    judgement="fine",
    quantity="b*",
    telling="counts",
    raw=0.35,
    process=0.1,
    own=0.25,
    at_least=False,
    watch=0.7,
    act=1.5,
    at=(0, 1),
    days_before=6,
    odd=False,
    label_days=730.0,
    median_days=900.0,
    tells=True,
    word=False,
)


def said(
    seen: WhiteSeen, *, settled: bool = False, off: bool = False
) -> dict[str, tuple[str, str]]:
    """Return the reasons by kind: weight and sentence."""
    found = white_reasons(seen, settled=settled, off=off)
    return {reason.kind: (reason.weight, sentence(reason, TODAY)) for reason in found}


@pytest.mark.parametrize(
    ("changed", "kind", "weight", "words"),
    [
        ({}, "white fine", "backs", "b* +0.25 since the emulsion's first patch, the control's"),
        (
            {"judgement": "act", "own": 1.6, "raw": 1.7},
            "white off",
            "bars",
            "b* +1.60 since the emulsion's first patch, the control's b* +0.10 taken off; the "
            "limit to act is b* 1.50",
        ),
        (
            {"judgement": "watch", "own": 0.8},
            "white drifts",
            "warns",
            "watched from b* 0.70, the limit to act is b* 1.50",
        ),
        ({"judgement": "ask", "odd": True}, "white odd", "asks", "goes with none before it"),
        (
            {"judgement": "ask", "telling": "no control", "raw": 0.9},
            "white unexplained",
            "asks",
            "moved by b* +0.90, and no control tells",
        ),
        ({"process": 1.2}, "process drifted", "warns", "moved by b* +1.20: that is the process"),
        (
            {"judgement": "ask", "at_least": True, "raw": 0.9},
            "white shared",
            "asks",
            "its control is a roll, which may have yellowed with it",
        ),
        (
            {"quantity": "density", "own": 0.004, "process": 0.001},
            "white fine",
            "backs",
            "density +0.004",
        ),
    ],
)
def test_each_reason_has_its_weight_and_its_words(
    changed: dict[str, Any], kind: str, weight: str, words: str
) -> None:
    found = said(replace(FINE, **changed))
    assert found[kind][0] == weight
    assert words in found[kind][1]


def test_a_white_better_than_the_label_only_asks_for_a_word() -> None:
    """It is told where the label says off, and is no reason to print by itself."""
    found = said(FINE, off=True)
    assert found["white better"][0] == "notes"
    assert "may count on that by your word" in found["white better"][1]
    assert "white better" not in said(FINE)
    assert "white better" not in said(replace(FINE, word=True), off=True)


def test_a_clean_strip_since_then_answers_what_a_patch_only_asks() -> None:
    odd = replace(FINE, judgement="ask", odd=True)
    assert "white odd" in said(odd)
    assert "white odd" not in said(odd, settled=True)
    assert "white off" in said(replace(FINE, judgement="act", own=1.6), settled=True)


def test_an_old_patch_no_longer_speaks_for_a_print() -> None:
    assert "white fine" not in said(replace(FINE, days_before=61))


def test_a_patch_that_nobody_measured_says_nothing() -> None:
    assert white_reasons(None, settled=False, off=True) == []


@pytest.mark.parametrize(
    ("own", "whose"), [(True, "Its white shortens"), (False, "The white of its emulsion shortens")]
)
def test_a_shorter_life_is_told_also_of_a_roll_that_nobody_measured(own: bool, whose: str) -> None:
    (reason,) = life_reasons(Counted(420.0, 300.0, 500.0, False), 686.0, own=own)
    assert reason.weight == "notes"
    assert sentence(reason, TODAY).startswith(whose)
    assert "from 686 days to 420 days" in sentence(reason, TODAY)


def test_a_word_is_told_and_a_label_that_stands_is_not() -> None:
    (reason,) = life_reasons(Counted(900.0, 800.0, 950.0, True), 686.0, own=True)
    assert sentence(reason, TODAY).startswith("By your word")
    assert life_reasons(None, 686.0, own=True) == []
    assert life_reasons(Counted(700.0, 600.0, 700.0, False), 686.0, own=True) == []
