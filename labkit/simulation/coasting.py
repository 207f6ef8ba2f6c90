"""A shaft that is left to itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from labkit._kernels.generator import coast
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Diode, Led, Load, Motor
from labkit.parts._fields import expect
from labkit.simulation._crossing import Given, Joules, Seconds, single, wrap
from labkit.simulation._loop import brakes, motor_record, needed
from labkit.simulation.generator import ElectricalLoad, generator_current
from labkit.units import Quantity, magnitude

__all__ = ["CoastDown", "coast_down"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CoastDown:
    """The way of a turning shaft to rest. Energies balance: kinetic = mechanical + electrical."""

    #: From the start to rest.
    time: Seconds
    #: Turned on the way.
    angle: Annotated[Quantity, "rad"]
    #: ½·J·ω² at the start.
    kinetic_energy: Joules
    #: Into friction and fan.
    mechanical_loss: Joules
    #: Into the winding and what is connected to it.
    electrical_loss: Joules
    #: Torque that brakes at the start, over inertia.
    first_deceleration: Annotated[Quantity, "rad/s**2"]


def coast_down(motor: Motor, speed: Given, *, load: Load | None = None, connected: ElectricalLoad = None) -> CoastDown:
    """Time, angle and energies of a shaft that coasts to rest.

    Parameters
    ----------
    motor : Motor
        Its inertia must be known.
    speed : Quantity [rad/s or rpm]
        At the start; one value, negative backwards.
    load : Load, optional
        On the shaft; its weight brakes one way round and drives the other.
    connected : Quantity [ohm], Diode, Led or None
        What hangs on the terminals: nothing, a resistor (0 Ω for a short), an LED.

    Returns
    -------
    CoastDown

    Raises
    ------
    PartError
        Names the argument or the unknown value, and what to do.
    NoSolutionError
        When no friction is left at low speed, so that the shaft never quite stops.

    Notes
    -----
    Forward, J·dω/dt = -(friction + weight + viscous·ω + fan·ω² + k·i(ω)), i being the current of a turned motor without
    its inductance's short delay; integrated over the speed to 1e-10.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> fan = desk_wind_tunnel()
    >>> free = coast_down(fan.motor, "8500 rpm", load=fan.load)
    >>> braked = coast_down(fan.motor, "8500 rpm", load=fan.load, connected="0 ohm")
    >>> print(free.time.round(2), braked.time.round(2))
    3.68 second 0.97 second
    """
    expect(motor, Motor, "coast_down.motor")
    omega = single(speed, "rad/s", "speed")
    start, way = abs(omega), -1.0 if omega < 0.0 else 1.0
    shaft = Load() if load is None else load
    expect(shaft, Load, "coast_down.load")
    brake = brakes(motor, shaft)
    friction = float(brake.friction) + way * float(brake.weight)
    if friction <= 0.0:
        msg = "No friction is left at low speed: the shaft never quite stops. Give motor or load a friction torque."
        raise NoSolutionError(msg)
    inertia = needed(motor, "inertia", "kg*m**2", "where time matters") + float(shaft.inertia.to("kg*m**2").magnitude)
    viscous, fan, k = float(brake.viscous), float(brake.fan), float(motor_record(motor).emf_constant)

    if np.ndim(generator_current(motor, np.asarray(0.0), connected, "coast_down.connected")):
        raise PartError("coast_down.connected", "one load", str(connected)[:80], "Ask for one after the other.")

    def drag(omega: float) -> float:
        return friction + viscous * omega + fan * omega**2

    def braking(omega: float) -> float:
        return way * k * float(generator_current(motor, np.asarray(way * k * omega), connected))

    volts = float(magnitude(motor.brush_drop, "V"))
    if isinstance(connected, Diode | Led):
        volts += float(magnitude(connected.forward_voltage, "V"))
    down = coast(start, inertia, drag, braking, knee=volts / k)
    floats = down._asdict() | {
        "kinetic_energy": 0.5 * inertia * start**2,
        "first_deceleration": (drag(start) + braking(start)) / inertia,
    }
    return wrap(CoastDown, floats)
