"""One stretch of a current that relaxes through R and L, without loss of figures however short or long it is.

Over one stretch of length t the current is i(s) = start·e^(-x·s) + drive·(1 - e^(-x·s))/x for s from 0 to 1,
with x = R·t/L and drive = u·t/L, u being the voltage that is left to drive the current through R and L.
No function here divides by R, so R → 0, L → 0, t → 0 and t → ∞ need no special case of the caller's.
"""

from __future__ import annotations

from math import factorial
from typing import NamedTuple, TypeAlias

import numpy as np
from numpy.polynomial.polynomial import polyval
from numpy.typing import NDArray

__all__ = ["Floats", "Stretch", "mean_decay", "mean_rise", "square_rise", "stretch"]

Floats: TypeAlias = NDArray[np.float64]

_SHORT = 0.5
_TERMS = range(18)
_RISE = [(-1.0) ** n / factorial(n + 2) for n in _TERMS]
_SQUARE = [(-1.0) ** n * (2.0 ** (n + 2) - 2.0) / factorial(n + 3) for n in _TERMS]


def mean_decay(x: Floats) -> Floats:
    """Mean of e^(-x·s) over s from 0 to 1: (1 - e^(-x))/x, 1 at x = 0 [1], any shape, x ≥ 0."""
    safe = np.where(x > 0, x, 1.0)
    return np.where(x > 0, -np.expm1(-safe) / safe, 1.0)


def mean_rise(x: Floats) -> Floats:
    """Mean of (1 - e^(-x·s))/x over s from 0 to 1: 1/2 at x = 0 [1], any shape, x ≥ 0."""
    long = np.maximum(x, _SHORT)
    return np.where(x < _SHORT, polyval(np.minimum(x, _SHORT), _RISE), (1.0 - mean_decay(long)) / long)


def square_rise(x: Floats) -> Floats:
    """Mean of ((1 - e^(-x·s))/x)² over s from 0 to 1: 1/3 at x = 0 [1], any shape, x ≥ 0."""
    long = np.maximum(x, _SHORT)
    direct = (mean_rise(long) - 0.5 * mean_decay(long) ** 2) / long
    return np.where(x < _SHORT, polyval(np.minimum(x, _SHORT), _SQUARE), direct)


class Stretch(NamedTuple):
    """Where one stretch ends, and its means [A], [A], [A²], any shape."""

    end: Floats
    mean: Floats
    mean_square: Floats


def stretch(start: Floats, drive: Floats, x: Floats) -> Stretch:
    """End, mean and mean square [A, A, A²] of start·e^(-x·s) + drive·(1 - e^(-x·s))/x; start, drive [A], x [1]."""
    decay = mean_decay(x)
    return Stretch(
        end=start * np.exp(-x) + drive * decay,
        mean=start * decay + drive * mean_rise(x),
        mean_square=start**2 * mean_decay(2.0 * x) + start * drive * decay**2 + drive**2 * square_rise(x),
    )
