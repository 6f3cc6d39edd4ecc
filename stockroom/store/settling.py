"""What became of an act whose connection was lost just as it was written for good."""

import shlex
import time

from sqlalchemy.engine import Engine

from stockroom.core.books.chain import Act
from stockroom.errors import CommitUnknownError, StoreError, StoreMissingError
from stockroom.store.engine import writing
from stockroom.store.view import Head, find_by_key

PATIENCE_S = 30
"""How long a store is waited for that went away, s (our choice)."""
ASK_EVERY_S = 0.25
"""How often it is asked meanwhile, s (our choice)."""


def see_that_it_stands(engine: Engine, act: Act, key: str) -> None:
    """Wait until the store is back, and see that an act was written for good.

    What was lost may still be on its way to the server. It keeps the head of the chain until it is
    done or gone, so nothing is certain before the head is ours.

    Parameters
    ----------
    engine : sqlalchemy.engine.Engine
    act : Act
        The last one of its transaction.
    key : str
        What a person gives to ask for the same again.

    Raises
    ------
    StoreMissingError
        Where nothing was done.
    CommitUnknownError
        Where the store stays away.
    """
    until_s = time.monotonic() + PATIENCE_S
    while True:
        try:
            with writing(engine) as connection:
                Head(connection)
                found = find_by_key(connection, act.key)
            break
        except CommitUnknownError:
            break  # it only looked, and had the answer
        except StoreError as error:
            if time.monotonic() > until_s:
                raise CommitUnknownError(
                    "Whether it is done is not known yet.",
                    "The connection to the store was lost while it was written for good, and the "
                    "store does not answer since.",
                    "Once it answers, do the same again: the same form, the same file, or the "
                    f"same command with --key {shlex.quote(key)}; it will not be done twice.",
                ) from error
        time.sleep(ASK_EVERY_S)
    if found != act:
        raise StoreMissingError(
            "The connection to the store was lost; nothing was done.",
            "It was looked up when the store was back.",
            "Do it again.",
        )
