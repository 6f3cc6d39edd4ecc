"""Acts and the chain of hashes that binds each one to all before it."""

import hashlib
import json
import unicodedata
from dataclasses import dataclass
from typing import Any

FORMAT = 1
"""Version of the payloads written now; older ones stay readable."""
GENESIS = "0" * 64
"""The hash before the first act."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One thing a person did: what, when it happened, when it was written, by whom, and why.

    Attributes
    ----------
    seq : int
        Place in the chain, from 1.
    key : str
        Unique key against doubling.
    kind : str
        What was done, such as ``receive`` or ``use``.
    occurred_s, recorded_s : int
        When it happened and when it was written, seconds UTC.
    actor, reason : str
        Who, and why where a reason was given.
    undoes : int or None
        The act this one takes back.
    ask : str
        Digest of what was asked, to know a repeat from another act under the same key.
    payload : dict
        Integers, NFC text, booleans, None, lists and dicts of them.
    format : int
        Version of the payload.
    """

    seq: int
    key: str
    kind: str
    occurred_s: int
    recorded_s: int
    actor: str
    payload: dict[str, Any]
    reason: str = ""
    undoes: int | None = None
    ask: str = ""
    format: int = FORMAT


_JSON = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)


def canonical(value: Any) -> str:
    """Return JSON that is the same text for the same content on any machine.

    Raises
    ------
    TypeError
        For a float or anything else that the books do not keep.

    >>> canonical({"b": 1, "a": [True, None, "é"]})
    '{"a":[true,null,"é"],"b":1}'
    """
    return _JSON.encode(as_kept(value))


def as_kept(value: Any) -> Any:
    """Return a value as the books keep it: text in NFC without half characters, tuples as lists.

    Raises
    ------
    TypeError
        For a float or anything else that the books do not keep.

    >>> as_kept(("e\\u0301", "\\udcff"))
    ['é', '?']
    """
    if value is None or isinstance(value, bool | int):
        return value
    if isinstance(value, str):
        if value.isascii():
            return value
        return unicodedata.normalize("NFC", value).encode("utf-8", "replace").decode()
    if isinstance(value, list | tuple):
        return [as_kept(item) for item in value]
    if isinstance(value, dict):
        return {as_kept(str(name)): as_kept(item) for name, item in value.items()}
    raise TypeError(f"the books keep integers and text, not {type(value).__name__}")


def digest(value: Any) -> str:
    """Return the SHA-256 of a value's canonical JSON, in hexadecimal."""
    return hashlib.sha256(canonical(value).encode()).hexdigest()


def plain_act(act: Act) -> dict[str, Any]:
    """Return the fields of an act by their names."""
    return {name: getattr(act, name) for name in Act.__slots__}


def act_hash(previous: str, act: Act) -> str:
    """Return the hash of an act on top of the hash of the one before it.

    Formula: SHA-256 of the previous hash followed by the act's canonical JSON.
    """
    return hashlib.sha256((previous + canonical(plain_act(act))).encode()).hexdigest()


def seal(kind: str, plain: dict[str, Any]) -> str:
    """Return the seal of a record: BLAKE2b over its kind and canonical JSON, 8 bytes in hex."""
    return hashlib.blake2b((kind + canonical(plain)).encode(), digest_size=8).hexdigest()
