"""Harmonics of a chopped voltage, and of the current that it drives."""

from __future__ import annotations

import numpy as np

from labkit._kernels.exponentials import Floats

__all__ = ["current_harmonics", "voltage_harmonics"]


def voltage_harmonics(swing: Floats, duty: Floats, orders: Floats) -> Floats:
    """Root mean square [V] of each order of a voltage that jumps by *swing* [V] for a share *duty* [1] of the time."""
    return np.asarray(np.sqrt(2.0) * swing / (np.pi * orders) * np.abs(np.sin(np.pi * orders * duty)), dtype=np.float64)


def current_harmonics(
    volts: Floats, orders: Floats, resistance: Floats, inductance: Floats, frequency: Floats
) -> Floats:
    """Root mean square [A] of each order that voltages [V] drive through R [ohm] and L [H] at a base frequency [Hz]."""
    return np.asarray(volts / np.hypot(resistance, 2.0 * np.pi * orders * frequency * inductance), dtype=np.float64)
