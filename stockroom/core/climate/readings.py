"""Logged temperature and humidity as arrays, merged and flagged, never deleted."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

NOT_A_NUMBER, FAULT_CODE, OUT_OF_RANGE, DUPLICATE, OUT_OF_ORDER, AMBIGUOUS, JUMP, FILLED = (
    1 << bit for bit in range(8)
)
"""Flags of a reading, as bits: why a value is doubted. The value itself is kept."""

FLAG_WORDS = {
    NOT_A_NUMBER: "not a number",
    FAULT_CODE: "sensor fault code",
    OUT_OF_RANGE: "outside -60 to 70 °C",
    DUPLICATE: "same time twice",
    OUT_OF_ORDER: "out of order",
    AMBIGUOUS: "hour that comes twice",
    JUMP: "jump faster than 10 °C a minute",
    FILLED: "filled in",
}


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """A run of readings of one place or one logger channel.

    Attributes
    ----------
    t_s : int64 array (n,)
        Instants, seconds UTC, strictly rising.
    temp_c : float64 array (n,)
        Temperature, °C; NaN where there is no usable value.
    rh_pct : float64 array (n,)
        Relative humidity, %; NaN where there is none.
    flag : uint8 array (n,)
        Bits of `FLAG_WORDS`.
    """

    t_s: NDArray[np.int64]
    temp_c: NDArray[np.float64]
    rh_pct: NDArray[np.float64]
    flag: NDArray[np.uint8]

    def __len__(self) -> int:
        return len(self.t_s)

    @staticmethod
    def of(t_s: object, temp_c: object, rh_pct: object = None, flag: object = None) -> "Readings":
        """Return readings from any sequences, checked to rise strictly.

        Raises
        ------
        ValueError
            Where lengths differ or stamps do not rise.

        >>> len(Readings.of([0, 60], [4.0, 4.1]))
        2
        """
        t = np.asarray(t_s, dtype=np.int64)
        temp = np.asarray(temp_c, dtype=np.float64)
        n = len(t)
        rh = np.full(n, np.nan) if rh_pct is None else np.asarray(rh_pct, dtype=np.float64)
        bits = np.zeros(n, np.uint8) if flag is None else np.asarray(flag, dtype=np.uint8)
        if not len(temp) == len(rh) == len(bits) == n:
            raise ValueError("the columns of readings differ in length")
        if n > 1 and not np.all(np.diff(t) > 0):
            raise ValueError("readings must rise in time")
        return Readings(t, temp, rh, bits)


EMPTY = Readings.of([], [])
"""No readings at all."""
