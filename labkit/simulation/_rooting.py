"""Roots of falling functions, element by element, each bracket widened until it holds its root."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize.elementwise import find_root

from labkit.errors import NoSolutionError

__all__ = ["falling_root"]

Floats = NDArray[np.float64]

_DOUBLINGS = 40


def falling_root(
    excess: Callable[..., Floats], low: Floats, high: Floats, args: Sequence[Floats], *, sought: str
) -> Floats:
    """Return where *excess* falls through zero, at *low* or above, in the shape of all arguments together.

    *high* is a first guess of the upper end: its distance from *low* is doubled where the root lies beyond it.
    *args* are what *excess* takes besides; all of them, since points that are done are left out of later calls.

    Raises
    ------
    NoSolutionError
        When a bracket never holds a root: says what was *sought*.
    """
    low, high, *args = (np.array(part, dtype=np.float64) for part in np.broadcast_arrays(low, high, *args))
    for _ in range(_DOUBLINGS):
        short = excess(high, *args) > 0.0
        if not np.any(short):
            break
        high = np.where(short, low + 2.0 * (high - low), high)
    found = find_root(excess, (low, high), args=tuple(args))
    if not np.all(found.success):
        raise NoSolutionError(f"No {sought} was found in which everything balances. Please report this drive.")
    return np.asarray(found.x, dtype=np.float64)
