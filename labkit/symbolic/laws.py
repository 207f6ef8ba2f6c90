"""The laws that derivations start from, each stated once.

A law names an equation and says what it means and where it holds.
Those that speak of a moment are written with functions of time, such as ``q.momentary_current``.
"""

from __future__ import annotations

from typing import Any

from sympy import Derivative, Integral, log

from labkit.symbolic.derivation import Derivation, Law, equal
from labkit.symbolic.symbols import q

__all__ = ["at_start", "condition", "derived"]

t = q.time
i = q.momentary_current
v = q.momentary_voltage
w = q.momentary_speed


def condition(left: Any, right: Any, says: str, *, name: str = "in this case") -> Law:
    """Return an equation that is special to one derivation."""
    return Law(name, equal(left, right), says)


def derived(other: Derivation) -> Law:
    """Return another derivation's result as something given, for one that goes on from there."""
    return Law(f"{other.name} (derived under that name)", other.result, other.validity)


def at_start(function: Any, value: Any, says: str) -> Law:
    """Return what a function of time is when the clock starts."""
    return Law("at the start", equal(function.func(0), value), says)


#: Taken for granted wherever a motor's current counts; the kernels know better.
BRUSH = "The brushes drop no voltage of their own."
#: What else more than one topic takes for granted.
COULOMB = "Friction is the same at every speed."
IDEAL_SWITCH = "The switch drops no voltage while it is on, and switches at once."
OPENS_AT_ONCE = "The switch opens at once, far faster than L/R."
FREEWHEEL = "The freewheel diode lies across the motor, band to the supply's +, with a drop that does not change."
#: Why a step follows that solves an equation with a beginning.
ONE_CURVE = "Only this curve obeys the equation and starts there."

# --- circuit --------------------------------------------------------------------------------------

OHM = Law(
    "Ohm's law",
    equal(q.voltage, q.resistance * q.current),
    "In a metal at one temperature the voltage is the resistance times the current.",
)
VOLTAGE = Law("voltage", equal(q.energy, q.voltage * q.charge), "A voltage is the energy given to each unit of charge.")
CURRENT = Law("current", equal(q.charge, q.current * q.duration), "A current is the charge that passes in each second.")
POWER_IS_RATE = Law("power", equal(q.energy, q.power * q.duration), "A power is the energy in each second.")
POWER = Law("electrical power", equal(q.power, q.voltage * q.current), "Power is voltage times current.")
WIRE = Law(
    "resistance of a wire",
    equal(q.resistance, q.resistivity * q.length / q.area),
    "A longer wire resists more, a thicker one less.",
)
INDUCTOR = Law(
    "inductor",
    equal(v, q.inductance * Derivative(i, t)),
    "An inductance asks for a voltage to change its current: the faster the change, the more.",
)
MOMENTARY_POWER = Law(
    "power at a moment", equal(q.momentary_power, v * i), "Power is voltage times current at each moment."
)

# --- motor ----------------------------------------------------------------------------------------

WINDING = Law(
    "voltage round the winding",
    equal(q.voltage, q.resistance * q.current + q.emf),
    "Kirchhoff: at a steady current the terminals see the drop in the winding and the back-EMF.",
)
MOMENTARY_WINDING = Law(
    "voltage round the winding at a moment",
    equal(v, q.resistance * i + q.inductance * Derivative(i, t) + q.emf),
    "Kirchhoff: the drop in the winding, the voltage that changes its current, and the back-EMF.",
)
EMF = Law("back-EMF", equal(q.emf, q.emf_constant * q.speed), "The EMF goes with the speed of the shaft.")
TORQUE = Law(
    "torque of the field",
    equal(q.electromagnetic_torque, q.emf_constant * q.current),
    "The torque on the rotor goes with the current.",
)
SHAFT = Law(
    "torque at the shaft",
    equal(q.electromagnetic_torque, q.shaft_torque + q.friction_torque),
    "At a steady speed the field's torque is what the load takes and what the motor's own friction takes.",
)
INPUT_POWER = Law("power in", equal(q.input_power, q.voltage * q.current), "Power is voltage times current.")
SHAFT_POWER = Law("power at the shaft", equal(q.shaft_power, q.shaft_torque * q.speed), "Power is torque times speed.")
EFFICIENCY = Law(
    "efficiency", equal(q.shaft_power, q.efficiency * q.input_power), "Efficiency is power out over power in."
)
FARADAY = Law(
    "induction",
    equal(q.momentary_emf, Derivative(q.flux_linkage, t)),
    "A winding has an EMF when the flux through it changes: the faster, the more.",
)
SPEED = Law("speed", equal(w, Derivative(q.angle, t)), "Speed is the angle turned in each second.")
ACCELERATION = Law(
    "acceleration",
    equal(q.inertia * Derivative(w, t), q.emf_constant * i - q.friction_torque),
    "What the field's torque has left over friction speeds the rotor up.",
)
MOMENTARY_EMF = Law("back-EMF at a moment", equal(q.momentary_emf, q.emf_constant * w), "The EMF goes with the speed.")

# --- generator, diodes ----------------------------------------------------------------------------

GENERATOR = Law(
    "voltage of a generator",
    equal(q.voltage, q.emf - q.resistance * q.current),
    "Current that leaves the + terminal costs a drop in the winding.",
)
LED_LINE = Law(
    "the LED's straight line",
    equal(q.led_drop, q.led_voltage + q.led_slope_resistance * q.current),
    "Above its forward voltage an LED's drop rises slowly, nearly along a line.",
)
SHOCKLEY = Law(
    "Shockley's diode",
    equal(q.led_drop, q.thermal_voltage * log(1 + q.current / q.saturation_current)),
    "Each further 60 mV or so, times the emission factor, lets ten times the current through.",
)

# --- means over a switching period ----------------------------------------------------------------

MEAN_VOLTAGE = Law(
    "mean voltage",
    equal(q.mean_voltage, Integral(v, (t, 0, q.period)) / q.period),
    "A mean over a period is the area under the curve, over the period.",
)
MEAN_CURRENT = Law(
    "mean current",
    equal(q.mean_current, Integral(i, (t, 0, q.period)) / q.period),
    "A mean over a period is the area under the curve, over the period.",
)
PERIODIC = Law(
    "steady state",
    equal(i.func(q.period), i.func(0)),
    "Each period ends with the current with which it began.",
)
FREQUENCY = Law("frequency", equal(q.period * q.frequency, 1), "The frequency counts the periods in a second.")
