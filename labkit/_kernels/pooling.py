"""One value from several that were measured apart, each with its own uncertainty, on things that may differ."""

from __future__ import annotations

from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Pooled", "far_off", "pool"]

Floats: TypeAlias = NDArray[np.float64]

_FEWEST = 5  #: fewer values do not say which of them is far off
_FAR = 3.5  #: robust standard deviations (Iglewicz and Hoaglin, 1993; from memory)


class Pooled(NamedTuple):
    """What several values have in common, in their own unit."""

    value: float
    uncertainty: float  #: standard uncertainty of *value*
    spread: float  #: standard deviation between the things measured, beyond what the uncertainties explain


def pool(values: Floats, uncertainties: Floats) -> Pooled:
    """Return the weighted mean and the spread between things, arrays of shape (n,), n ≥ 1 (Paule and Mandel, 1982).

    The spread is that with which the squares of the weighted deviations come to n − 1; zero where they do without it.
    """

    def at(variance: float) -> tuple[float, float, float]:
        weight = 1.0 / (uncertainties**2 + variance)
        mean = float(np.sum(weight * values) / np.sum(weight))
        return mean, float(np.sum(weight)) ** -0.5, float(np.sum(weight * (values - mean) ** 2))

    mean, uncertainty, squares = at(0.0)
    freedom = len(values) - 1
    if squares <= freedom:
        return Pooled(mean, uncertainty, 0.0)
    low, high = 0.0, float(np.sum((values - np.mean(values)) ** 2)) / freedom
    while high - low > 1e-12 * high:  # falling in the variance: halving finds it
        middle = (low + high) / 2
        low, high = (middle, high) if at(middle)[2] > freedom else (low, middle)
    mean, uncertainty, _ = at(high)
    return Pooled(mean, uncertainty, high**0.5)


def far_off(values: Floats, uncertainties: Floats) -> NDArray[np.bool_]:
    """Return which values lie farther off the middle one than robust scatter and own uncertainty let them."""
    if len(values) < _FEWEST:
        return np.zeros(len(values), dtype=bool)
    off = np.abs(values - np.median(values))
    far: NDArray[np.bool_] = off > _FAR * np.hypot(1.4826 * np.median(off), uncertainties)
    return far
