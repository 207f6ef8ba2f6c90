"""A motor whose shaft is turned: what it gives, and what that costs at the shaft."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray
from scipy.constants import Boltzmann, elementary_charge

from labkit._kernels.generator import ShockleySI, into_diode, into_led, into_resistor, led_voltage
from labkit.parts import Diode, Led, Motor
from labkit.parts._fields import expect
from labkit.simulation._crossing import (
    Amperes,
    Given,
    NewtonMetres,
    RadiansPerSecond,
    Volts,
    Watts,
    argument,
    plain,
    wrap,
)
from labkit.simulation._loop import motor_record
from labkit.simulation._warmth import ROOM
from labkit.units import Quantity, from_si, magnitude

__all__ = [
    "Coil",
    "ElectricalLoad",
    "GeneratorPoint",
    "coil_emf",
    "generator_current",
    "generator_point",
    "lighting_speed",
]

Floats: TypeAlias = NDArray[np.float64]
#: What hangs on a turned motor's terminals: nothing, a resistance, a diode's straight line, an LED's curve.
ElectricalLoad: TypeAlias = Given | Diode | Led | None


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class GeneratorPoint:
    """A motor turned at a steady speed; every field has the shape of the speed and the load together.

    Here the current counts as positive *out* of the + terminal, through the load; ``Motor`` counts it inward.
    Powers balance: shaft = friction + copper + brush + load.
    """

    speed: RadiansPerSecond
    #: Generator EMF k·ω.
    emf: Volts
    current: Amperes
    #: What a voltmeter at the terminals shows.
    terminal_voltage: Volts
    #: What turns the shaft must give this torque: k·i and the motor's own friction.
    shaft_torque: NewtonMetres
    shaft_power: Watts
    friction_loss: Watts
    copper_loss: Watts
    brush_loss: Watts
    load_power: Watts


def generator_point(motor: Motor, speed: Given, load: ElectricalLoad = None) -> GeneratorPoint:
    """Voltage, current, torque and powers of a motor that is turned at a steady speed.

    Parameters
    ----------
    motor : Motor
    speed : Quantity [rad/s or rpm], any shape
        Negative backwards.
    load : Quantity [ohm], Diode, Led or None
        What is connected: a resistor, a diode (its band to the - terminal), an LED (likewise), or nothing.

    Returns
    -------
    GeneratorPoint

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    E = k·ω = R·i + brush drop·sgn i + load voltage. Into an LED the load line meets Shockley's law in closed form, by
    Lambert's W. Turned backwards the EMF has the other sign, and a diode or an LED blocks:
    an LED up to about 5 V (common practice, no source), above which this does not hold.

    Examples
    --------
    >>> fan_motor = Motor(resistance="2.8 ohm", emf_constant="5.4 mV*s/rad", friction_torque="0.594 mN*m")
    >>> lit = generator_point(fan_motor, "4000 rpm", Led())
    >>> print(lit.emf.round(2), "|", lit.current.to("mA").round(0))
    2.26 volt | 119.0 milliampere
    >>> dark = generator_point(fan_motor, "-4000 rpm", Led())
    >>> abs(dark.current.to("A").magnitude) < 1e-12
    True
    """
    expect(motor, Motor, "generator_point.motor")
    omega = argument(speed, "rad/s", "speed")
    si = motor_record(motor)
    emf = si.emf_constant * omega
    current = generator_current(motor, emf, load)
    friction = float(magnitude(motor.friction_torque, "N*m")) * np.sign(omega)
    own = friction + float(magnitude(motor.viscous_friction, "N*m*s/rad")) * omega
    torque = si.emf_constant * current + own
    drop = np.where(current == 0.0, 0.0, si.resistance * current + si.brush_drop * np.sign(current))
    floats = {
        "speed": omega,
        "emf": emf,
        "current": current,
        "terminal_voltage": emf - drop,
        "shaft_torque": torque,
        "shaft_power": torque * omega,
        "friction_loss": own * omega,
        "copper_loss": si.resistance * current**2,
        "brush_loss": si.brush_drop * np.abs(current),
        "load_power": (emf - drop) * current,
    }
    shape = np.shape(torque)
    return wrap(GeneratorPoint, {name: np.broadcast_to(value, shape) for name, value in floats.items()})


def generator_current(motor: Motor, emf: Floats, load: ElectricalLoad, where: str = "load") -> Floats:
    """Return the current [A] that an EMF [V] drives out of the + terminal into a load; *where* names it in errors."""
    si = motor_record(motor)
    if load is None:
        return np.zeros_like(emf)
    if isinstance(load, Diode):
        forward, slope = float(magnitude(load.forward_voltage, "V")), float(magnitude(load.slope_resistance, "ohm"))
        return into_diode(emf, si, np.asarray(forward), np.asarray(slope))
    if isinstance(load, Led):
        return into_led(emf, si, shockley(load))
    return into_resistor(emf, si, argument(load, "ohm", where, least=0.0, remedy="A resistance, a Diode or an Led."))


def shockley(led: Led) -> ShockleySI:
    """Return an LED as Shockley's law at 25 °C, through the point that its data sheet prints."""
    slope = led.ideality * Boltzmann * ROOM / elementary_charge
    current = float(magnitude(led.test_current, "A"))
    exponent = float(magnitude(led.forward_voltage, "V")) / slope
    return ShockleySI(
        saturation_current=np.asarray(current / np.expm1(exponent)),
        slope_voltage=np.asarray(slope),
        series_resistance=np.asarray(float(magnitude(led.series_resistance, "ohm"))),
    )


def lighting_speed(motor: Motor, led: Led, current: Given = "1 mA") -> Quantity:
    """Speed at which a turned motor drives a current through an LED: from there on it is seen to glow.

    Parameters
    ----------
    motor : Motor
    led : Led
    current : Quantity [A], any shape
        1 mA is seen indoors (common practice, no source).

    Returns
    -------
    Quantity [rad/s]

    Raises
    ------
    PartError
        When the current is not more than zero.

    Notes
    -----
    ω = (v(i) + R·i + brush drop)/k, closed form.

    Examples
    --------
    >>> fan_motor = Motor(resistance="2.8 ohm", emf_constant="5.4 mV*s/rad")
    >>> print(lighting_speed(fan_motor, Led()).to("rpm").round(0))
    2979.0 revolutions_per_minute
    """
    expect(motor, Motor, "lighting_speed.motor")
    expect(led, Led, "lighting_speed.led")
    amps = argument(current, "A", "current", least=0.0, least_allowed=False)
    si = motor_record(motor)
    volts = led_voltage(amps, shockley(led)) + si.resistance * amps + si.brush_drop
    return from_si(plain(volts / si.emf_constant), "rad/s")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class Coil:
    """The EMF of a coil that turns in a uniform field."""

    #: When the coil's plane lies along the field.
    peak: Volts
    #: Over half a turn, or over the quarter from across the field to along it: 2/π of the peak.
    mean: Volts
    #: Root mean square over a turn.
    rms: Volts


def coil_emf(*, turns: Given, field: Given, area: Given, speed: Given) -> Coil:
    """EMF of a coil that turns evenly in a uniform magnetic field.

    Parameters
    ----------
    turns : float [1]
    field : Quantity [T]
    area : Quantity [m²]
        Of one turn.
    speed : Quantity [rad/s or rpm]

    Returns
    -------
    Coil

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    e(t) = N·B·A·ω·sin ωt. The mean over a quarter turn is N·B·A over its time, not the peak.

    Examples
    --------
    >>> print(coil_emf(turns=100, field="0.4 T", area="20 cm**2", speed="105 rad/s").peak)
    8.4 volt
    """
    flux = argument(field, "T", "field") * argument(area, "m**2", "area", least=0.0)
    peak = argument(turns, "", "turns", least=0.0) * flux * argument(speed, "rad/s", "speed")
    return wrap(Coil, {"peak": peak, "mean": 2.0 / np.pi * peak, "rms": np.abs(peak) / np.sqrt(2.0)})
