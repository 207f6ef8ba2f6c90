"""The laws that derivations start from, each stated once.

A law names an equation and says what it means and where it holds.
Time-dependent ones are written with functions of time, such as ``q.momentary_current``.
"""

from __future__ import annotations

from sympy import Derivative, Integral

from labkit.symbolic.derivation import Law, equal
from labkit.symbolic.symbols import q

__all__: list[str] = []

t = q.time

# --- circuit --------------------------------------------------------------------------------------

OHM = Law(
    "Ohm's law",
    equal(q.voltage, q.resistance * q.current),
    "In a metal at one temperature the voltage across it is its resistance times the current.",
)
POWER = Law(
    "electrical power",
    equal(q.power, q.voltage * q.current),
    "Voltage is energy for each charge, current is charge for each time; their product is energy for each time.",
)

# --- motor ----------------------------------------------------------------------------------------

WINDING = Law(
    "voltage round the winding",
    equal(q.voltage, q.resistance * q.current + q.emf),
    "Kirchhoff: with a steady current the terminals see the drop in the winding's resistance and the back-EMF.",
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
