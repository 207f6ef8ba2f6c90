"""A capacitor that holds a voltage up behind a diode."""

from __future__ import annotations

import numpy as np

from labkit._kernels.exponentials import Floats

__all__ = ["held_up"]


def held_up(time: Floats, voltage: Floats, fall: Floats) -> Floats:
    """Voltage [V] behind a diode, at instants [s], shape (n,), from what comes to it [V], shape (n,).

    It follows the voltage up, and on its own falls evenly [V/s]; exact where the voltage runs straight in between.
    """
    return np.asarray(np.maximum.accumulate(voltage + fall * time) - fall * time)
