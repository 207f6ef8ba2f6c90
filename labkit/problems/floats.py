"""Where a question's answer has no one-line formula, a kernel works it out; this hands it the floats."""

from __future__ import annotations

from typing import Any

import numpy as np

__all__ = ["arrays"]


def arrays(**sizes: float) -> dict[str, Any]:
    """Return floats in coherent SI as the arrays, of no dimension, that a kernel takes by name.

    >>> arrays(voltage=6.0)
    {'voltage': array(6.)}
    """
    return {name: np.asarray(size, dtype=np.float64) for name, size in sizes.items()}
