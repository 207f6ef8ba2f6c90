"""Where a motor settles on a steady voltage."""

from __future__ import annotations

from dataclasses import dataclass

from labkit._kernels.steady import run
from labkit.parts import Load, Motor
from labkit.parts._fields import expect
from labkit.simulation._crossing import (
    Amperes,
    Flags,
    Given,
    NewtonMetres,
    RadiansPerSecond,
    Ratio,
    Volts,
    Watts,
    argument,
    wrap,
)
from labkit.simulation._loop import Loads, brakes, motor_record

__all__ = ["OperatingPoint", "operating_point"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class OperatingPoint:
    """A steady state; every field has the shape of the voltage and the loads together.

    Powers balance: input = copper + brush + friction + shaft.
    """

    #: Whether the shaft turns; where it does not, the field's torque is too small to start it.
    turning: Flags
    #: Positive forward.
    speed: RadiansPerSecond
    #: Positive into the + terminal.
    current: Amperes
    #: k·i, before friction.
    electromagnetic_torque: NewtonMetres
    #: What the shaft gives the load; negative where the load drives.
    shaft_torque: NewtonMetres
    #: Generator EMF k·ω.
    emf: Volts
    #: Negative where the motor, driven by its load, feeds the source.
    input_power: Watts
    copper_loss: Watts
    brush_loss: Watts
    #: The motor's own friction, not the load's.
    friction_loss: Watts
    shaft_power: Watts
    #: Output over input: of a motor, or of a generator; zero where both sides only make heat.
    efficiency: Ratio


def operating_point(motor: Motor, voltage: Given, load: Loads | None = None) -> OperatingPoint:
    """Steady speed, current, torque and powers of a motor at a terminal voltage, starting from rest.

    Parameters
    ----------
    motor : Motor
    voltage : Quantity [V], any shape
        At the motor's terminals; negative turns it backwards.
    load : Load or nested sequence of Load, optional
        Nothing on the shaft where not given. Broadcasts with the voltage.

    Returns
    -------
    OperatingPoint

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    v = R·i + brush drop·sgn i + k·ω and k·i = own friction + load torque, solved in closed form: a quadratic in ω for
    each sign of the current. The shaft stays at rest, stalled, while the torque at rest is not above what holds it.
    Winding at 25 °C. Only a weight can drive the shaft, forward (overhauling) or backward.

    Examples
    --------
    >>> from labkit.units import Q_
    >>> fan_motor = Motor(resistance="2.8 ohm", emf_constant="5.4 mV*s/rad", friction_torque="0.594 mN*m")
    >>> free = operating_point(fan_motor, "6 V")
    >>> print(free.current.round(6), "|", free.speed.to("rpm").round(0))
    0.11 ampere | 10066.0 revolutions_per_minute
    >>> stalled = operating_point(fan_motor, "6 V", Load(friction="1 N*m"))
    >>> print(stalled.turning, stalled.current.round(3))
    False 2.143 ampere
    """
    expect(motor, Motor, "operating_point.motor")
    volts = argument(voltage, "V", "voltage")
    running = run(volts, motor_record(motor), brakes(motor, Load() if load is None else load))
    return wrap(OperatingPoint, running._asdict())
