"""The speed that a chopped motor settles at, for arrays of any shape that broadcast.

The speed is taken as constant over a period: its ripple, about k·ripple·T/(8·J), is small beside it.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize.elementwise import find_root

from labkit._kernels.chopper import Chopped, ChopperSI, chopper, mean_current
from labkit._kernels.exponentials import Floats
from labkit._kernels.steady import BrakesSI, friction_at_rest, settled_speed

__all__ = ["Settled", "settle", "starting_way"]


class Settled(NamedTuple):
    """A chopped motor at its settled speed [rad/s, N·m], and the periodic state there; any shape."""

    turning: NDArray[np.bool_]
    speed: Floats
    own_friction: Floats
    state: Chopped


def starting_way(at_rest: Chopped, emf_constant: Floats, brakes: BrakesSI) -> Floats:
    """Which way a resting shaft starts under pulses: 1, -1, or 0 where it stays, any shape.

    The peak must overcome what holds the shaft, and the mean the running friction, or the shaft only twitches.
    """
    mean = emf_constant * at_rest.mean_current - brakes.weight
    most, least = (emf_constant * i - brakes.weight for i in (at_rest.peak_current, at_rest.minimum_current))
    forward = (most > brakes.holding) & (mean > brakes.friction)
    backward = (-least > brakes.holding) & (-mean > brakes.friction)
    return np.where(forward, 1.0, np.where(backward, -1.0, 0.0))


def _fastest(way: Floats, loop: ChopperSI, emf_constant: Floats, brakes: BrakesSI) -> Floats:
    """Speed [rad/s] that the shaft certainly stays below, turning either way; infinite where nothing brakes it."""
    k = emf_constant
    ohms = loop.resistance + loop.source_resistance + np.maximum(loop.switch_resistance, loop.diode_resistance)
    by_weight = ohms * np.abs(brakes.weight) / k**2
    idle = settled_speed(-way * brakes.weight - brakes.friction, brakes.viscous, brakes.fan)
    fed_back = (loop.supply_voltage + loop.brush_drop + np.nan_to_num(loop.body_diode_drop)) / k + by_weight
    clamp = np.nan_to_num(loop.breakdown_voltage)
    shorted = (np.maximum(loop.diode_drop, clamp) + loop.brush_drop) / k + by_weight
    forward = np.where(np.isnan(loop.body_diode_drop), idle, np.minimum(idle, fed_back))
    return np.where(way > 0.0, np.maximum(loop.supply_voltage / k, forward), np.minimum(idle, shorted))


def settle(loop: ChopperSI, emf_constant: Floats, brakes: BrakesSI, frequency: Floats, duty: Floats) -> Settled:
    """Settled state, starting from rest; EMF constant [V·s/rad], frequency [Hz], duty [1]. Infinite speed: runaway."""
    way = starting_way(chopper(loop, np.zeros(()), frequency, duty), emf_constant, brakes)
    fastest = _fastest(way, loop, emf_constant, brakes)
    shared = np.broadcast_arrays(way, *loop, emf_constant, frequency, duty, *brakes[:4])

    def urged_on(pace: Floats, way: Floats, *given: Floats) -> Floats:
        circuit, (k, f, d, friction, viscous, fan, weight) = ChopperSI(*given[:11]), given[11:]
        current = mean_current(circuit, way * pace * k, f, d)
        return way * (k * current - weight) - friction - viscous * pace - fan * pace**2

    beyond = 1.0 + 1e-6  # where the bound is the speed itself, rounding must not leave it outside
    bounded = np.where(np.isfinite(fastest) & (way != 0.0), beyond * fastest, 1.0)
    found = find_root(urged_on, (np.zeros_like(bounded), bounded), args=tuple(shared))
    turning = way != 0.0
    bound = np.where(turning, way * found.x, 0.0)
    state = chopper(loop, emf_constant * bound, frequency, duty)
    running = way * brakes.motor_friction + brakes.motor_viscous * bound
    resting = friction_at_rest(emf_constant * state.mean_current - brakes.weight, brakes)
    return Settled(
        turning=turning,
        speed=np.where(turning & np.isinf(fastest), np.copysign(np.inf, way), bound),
        own_friction=np.where(turning, running, resting),
        state=state,
    )
