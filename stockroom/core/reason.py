"""One reason for an answer, as data; `stockroom.core.wording` makes a sentence of it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

Weight = Literal["bars", "asks", "warns", "backs", "notes"]
"""What a reason does: forbids, wants a strip, cautions, speaks for it, or only tells."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason with its figures."""

    kind: str
    weight: Weight
    figures: Mapping[str, Any] = field(default_factory=dict)
