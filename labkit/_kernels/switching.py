"""What a transistor does on the way: its resistance, its switching loss, and the winding's current when it opens."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from labkit._kernels.exponentials import Floats, stretch

__all__ = ["Decay", "decay", "transition_loss", "triode_resistance"]


def triode_resistance(gate_voltage: Floats, volts: Floats, ohms: Floats) -> Floats:
    """On-resistance [ohm] at a gate voltage [V], any shape, from rows of *volts* (rising, shape (n,)) and *ohms*.

    Between rows the conductance runs straight, as the square law has it; a row of infinite ohms is the threshold.
    """
    with np.errstate(divide="ignore"):
        return 1.0 / np.interp(gate_voltage, volts, 1.0 / ohms)


def transition_loss(voltage: Floats, current: Floats, duration: Floats, frequency: Floats) -> Floats:
    """Power [W] of ½·V·I over transitions that last *duration* [s] in all, at a frequency [Hz]."""
    return 0.5 * voltage * current * duration * frequency


class Decay(NamedTuple):
    """A winding's current on its way to zero [s, C, A²·s], any shape; infinite where it never gets there."""

    time: Floats
    charge: Floats
    square: Floats


def decay(current: Floats, opposing: Floats, resistance: Floats, inductance: Floats) -> Decay:
    """Decay of a current [A] that a voltage [V] opposes, through a resistance [ohm] and an inductance [H]."""
    opposed = opposing > 0.0
    against = np.where(opposed, opposing, 1.0)
    time = inductance / resistance * np.log1p(current * resistance / against)
    course = stretch(current, -against * time / inductance, resistance * time / inductance)
    never = np.where(current > 0.0, np.inf, 0.0)
    return Decay(
        time=np.where(opposed, time, never),
        charge=np.where(opposed, course.mean * time, never),
        square=np.where(opposed, course.mean_square * time, never),
    )
