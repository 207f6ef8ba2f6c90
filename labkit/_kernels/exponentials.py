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
    """One stretch; its end and means are worked out when asked for, since the mean square costs most. Any shape."""

    start: Floats
    drive: Floats
    x: Floats
    decay: Floats

    @property
    def end(self) -> Floats:
        """Where it ends [A]."""
        return self.start * np.exp(-self.x) + self.drive * self.decay

    @property
    def mean(self) -> Floats:
        """Mean [A]."""
        return self.start * self.decay + self.drive * mean_rise(self.x)

    @property
    def mean_square(self) -> Floats:
        """Mean square [A²]."""
        start, drive = self.start, self.drive
        squares = start**2 * mean_decay(2.0 * self.x) + drive**2 * square_rise(self.x)
        return squares + start * drive * self.decay**2


def stretch(start: Floats, drive: Floats, x: Floats) -> Stretch:
    """Stretch of start·e^(-x·s) + drive·(1 - e^(-x·s))/x [A], s from 0 to 1; start and drive [A], x [1]."""
    return Stretch(start, drive, x, mean_decay(x))
