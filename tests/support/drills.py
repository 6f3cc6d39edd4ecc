"""How many rounds a drill goes: in the default run, in its long form, and before a release."""

import os

import pytest

VARIABLE = "STOCKROOM_DRILL_ROUNDS"
"""Environment variable; "release" makes the long form of each drill as long as a release asks."""


def rounds(short: int, long: int, release: int | None = None) -> pytest.MarkDecorator:
    """Run a test twice, with `rounds` short (default run) and long (marked drill).

    Parameters
    ----------
    short, long, release : int
        Rounds in the default run, with `-m drill`, and with `-m drill` before a release; without
        the last, a release is as long as the long form.
    """
    if os.environ.get(VARIABLE) == "release":
        long = release or long
    return pytest.mark.parametrize(
        "rounds",
        [pytest.param(short, id="short"), pytest.param(long, id="long", marks=pytest.mark.drill)],
    )
