"""One switching period of a motor's loop, sampled: exact exponentials between given ends."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.chopper import ChopperSI
from labkit._kernels.exponentials import Floats

__all__ = ["PeriodSI", "period_samples"]


class PeriodSI(NamedTuple):
    """A sampled period [s, A, V], each of shape (n,); the time starts where the switch closes."""

    time: Floats
    current: Floats
    voltage: Floats


def period_samples(
    loop: ChopperSI,
    *,
    emf: float,
    frequency: float,
    duty: float,
    start: float,
    peak: float,
    extinction: float,
    points: int,
) -> PeriodSI:
    """Sample forward current through a freewheel diode over one period.

    From *start* [A] at closing the current rises, by *peak* [A] at opening it falls, and stays at zero
    from *extinction* [s] after the opening on. The voltage [V] is that at the motor and its wiring.
    """
    closing, opening = duty / frequency, (1.0 - duty) / frequency
    flowing = min(extinction, opening)
    closed, opened = _instants(closing, points), _instants(flowing, points)
    through_switch = loop.resistance + loop.switch_resistance + loop.source_resistance
    through_diode = loop.resistance + loop.diode_resistance
    against = emf + loop.brush_drop
    rise = _towards(start, loop.supply_voltage - loop.switch_drop - against, through_switch, loop.inductance, closed)
    fall = _towards(peak, -(against + loop.diode_drop), through_diode, loop.inductance, opened)
    fed = loop.supply_voltage - loop.switch_drop - (loop.switch_resistance + loop.source_resistance) * rise
    wheel = -loop.diode_drop - loop.diode_resistance * fall
    parts = []  # a stage that takes no time is none: at a duty of 0 or 1 the voltage has no spike
    if closing > 0.0:
        parts.append((closed, rise, fed))
    if flowing > 0.0:
        parts.append((closing + opened, fall, wheel))
    if flowing < opening:
        rest = np.array([closing + flowing, closing + opening])
        parts.append((rest, np.zeros(2), np.full(2, emf)))
    time, current, voltage = (np.concatenate(column) for column in zip(*parts, strict=True))
    return PeriodSI(time, np.maximum(current, 0.0), voltage)


def _instants(length: float, points: int) -> NDArray[np.float64]:
    return np.linspace(0.0, length, points)


def _towards(start: float, drive: Floats, resistance: Floats, inductance: Floats, time: Floats) -> Floats:
    """Current [A] from *start* under a steady driving voltage [V]."""
    gone = np.exp(-resistance / inductance * time)
    return np.asarray(start * gone + drive / resistance * (1.0 - gone))
