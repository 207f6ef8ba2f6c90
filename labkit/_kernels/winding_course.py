"""A winding that warms in its housing, through time: numerical, since its heat changes with its temperature."""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp

from labkit._kernels.exponentials import Floats
from labkit._kernels.heat import TwoBodySI

__all__ = ["course", "share_of_cold_power"]


def share_of_cold_power(factor: float, source_ratio: float) -> float:
    """Heat over that at 25 °C, of a resistance grown by a factor behind a source's resistance, given over the cold one.

    On a stiff voltage, ratio 0, it falls as 1/factor; a steady current is the limit of an infinite ratio: it rises.
    """
    if np.isinf(source_ratio):
        return factor
    return factor * ((1.0 + source_ratio) / (factor + source_ratio)) ** 2


def course(body: TwoBodySI, heating: float, source_ratio: float, times: Floats) -> Floats:
    """Rises above 25 °C [K] of winding and housing, shape (2, n), at rising times [s] from ambient.

    The heating [W] is that of the winding at 25 °C; it follows ``share_of_cold_power``. To a relative 1e-8.
    """
    inner, outer, cw, ch, growth, ambient = body

    def slope(_: float, rises: Floats) -> list[float]:
        power = heating * share_of_cold_power(1.0 + growth * rises[0], source_ratio)
        into, out = (rises[0] - rises[1]) / inner, (rises[1] - ambient) / outer
        return [(power - into) / cw, (into - out) / ch]

    last = float(times[-1])
    if last == 0.0:
        return np.full((2, times.size), ambient)
    run = solve_ivp(slope, (0.0, last), [ambient, ambient], method="LSODA", t_eval=times, rtol=1e-8, atol=1e-8)
    return np.asarray(run.y, dtype=np.float64)
