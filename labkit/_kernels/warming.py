"""A junction that warms with time while its resistance rises with temperature."""

from __future__ import annotations

import numpy as np

from labkit._kernels.exponentials import Floats

__all__ = ["warming_rise"]


def warming_rise(
    time: Floats,
    *,
    ambient: float,
    thermal_resistance: float,
    time_constant: float,
    heating: float,
    growth: float,
    other: float,
) -> Floats:
    """Rise above 25 °C [K] after a time [s] from ambient, under a power heating·(1 + growth·rise) + other [W, 1/K, W].

    One body: it relaxes where heat leaves faster than it grows, and runs away where not; closed form for both.
    """
    slack = 1.0 - thermal_resistance * heating * growth
    start = thermal_resistance * (heating * (1.0 + growth * ambient) + other) / time_constant
    grown = slack * time / time_constant
    still = grown == 0.0
    safe = np.where(still, 1.0, grown)
    with np.errstate(over="ignore"):
        return np.asarray(ambient + start * time * np.where(still, 1.0, -np.expm1(-safe) / safe))
