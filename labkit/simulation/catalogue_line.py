"""A motor as its catalogue line has it: straight between no load and stall, whatever k_T and k_E say."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from labkit.errors import PartError
from labkit.simulation._crossing import Amperes, Given, NewtonMetres, RadiansPerSecond, Ratio, Watts, argument, wrap

__all__ = ["CataloguePoint", "catalogue_point"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CataloguePoint:
    """A point on a catalogue's straight lines; every field has the shape of the torque."""

    torque: NewtonMetres
    speed: RadiansPerSecond
    current: Amperes
    shaft_power: Watts
    efficiency: Ratio
    #: Torque at which the efficiency is highest.
    best_torque: NewtonMetres


def catalogue_point(
    torque: Given | None = None,
    *,
    voltage: Given,
    no_load_speed: Given,
    no_load_current: Given,
    stall_torque: Given,
    stall_current: Given,
) -> CataloguePoint:
    """Speed, current, power and efficiency at a torque, by the straight lines of a catalogue.

    Parameters
    ----------
    torque : Quantity [N·m], any shape, optional
        At the shaft, from zero to stall; that of the best efficiency where not given.
    voltage : Quantity [V]
    no_load_speed : Quantity [rad/s or rpm]
    no_load_current, stall_current : Quantity [A]
    stall_torque : Quantity [N·m]
        At the shaft.

    Returns
    -------
    CataloguePoint

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    Speed falls and current rises straight with the torque. Small iron-cored motors keep to this while their k_T and k_E
    differ by 9 to 20 %, so that no single k fits them (``Motor.from_catalogue`` says by how much).
    With a = I₀/(I_stall - I₀), efficiency is highest at T_stall·(√(a² + a) - a).

    Examples
    --------
    >>> line = {"voltage": "5 V", "no_load_speed": "3100 rpm", "no_load_current": "0.026 A",
    ...         "stall_torque": "6.86 mN*m", "stall_current": "0.54 A"}
    >>> best = catalogue_point(**line)
    >>> print(best.speed.to("rpm").round(0), best.efficiency.round(2))
    2542.0 revolutions_per_minute 0.55 dimensionless
    """
    volts = argument(voltage, "V", "voltage", least=0.0, least_allowed=False)
    free = argument(no_load_speed, "rad/s", "no_load_speed", least=0.0, least_allowed=False)
    idle = argument(no_load_current, "A", "no_load_current", least=0.0)
    stall = argument(stall_torque, "N*m", "stall_torque", least=0.0, least_allowed=False)
    most = argument(stall_current, "A", "stall_current", least=0.0, least_allowed=False)
    if np.any(most <= idle):
        raise PartError("stall_current", "above the no-load current", stall_current, "Are the two columns swapped?")
    ratio = idle / (most - idle)
    best = stall * (np.sqrt(ratio**2 + ratio) - ratio)
    twist = best if torque is None else argument(torque, "N*m", "torque", least=0.0)
    if np.any(twist > stall * (1 + 1e-9)):
        raise PartError("torque", "at most the stall torque", torque, "A stalled shaft gives no more.")
    speed, current = free * (1.0 - twist / stall), idle + (most - idle) * twist / stall
    power = twist * speed
    floats = {
        "torque": twist,
        "speed": speed,
        "current": current,
        "shaft_power": power,
        "efficiency": power / np.where(current > 0.0, volts * current, 1.0),
        "best_torque": best,
    }
    shape = np.broadcast_shapes(*(np.shape(value) for value in floats.values()))
    return wrap(CataloguePoint, {name: np.broadcast_to(value, shape) for name, value in floats.items()})
