"""What the answers share: turns a minute, and the floats for a kernel where no one-line formula gives the answer."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

__all__ = ["RPM", "arrays"]

#: Turns a minute in one radian a second.
RPM = 60 / (2 * math.pi)


def arrays(**sizes: float) -> dict[str, Any]:
    """Return floats in coherent SI as the arrays, of no dimension, that a kernel takes by name.

    >>> arrays(voltage=6.0)
    {'voltage': array(6.)}
    """
    return {name: np.asarray(size, dtype=np.float64) for name, size in sizes.items()}
