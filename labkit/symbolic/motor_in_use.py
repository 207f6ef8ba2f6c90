"""The motor at a steady speed, in use: with a fan, behind a resistor, and read off a bench."""

# ruff: noqa: SIM300 (an inequality of symbols is data)

from __future__ import annotations

from sympy import sqrt

from labkit.symbolic import laws
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import condition
from labkit.symbolic.motor import ABLE, LOOP, MACHINE, STARTS, STEADY
from labkit.symbolic.rules import Root
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

V, I, R, k = q.voltage, q.current, q.resistance, q.emf_constant  # noqa: E741 (the trade's letter)
T, T_e, T_f = q.shaft_torque, q.electromagnetic_torque, q.friction_torque

DERIVATIONS = (
    Derivation(
        name="speed with a fan",
        title="How fast does a motor turn a fan?",
        given=(
            *MACHINE,
            condition(T, q.fan * q.speed**2, "A fan's torque goes with the square of the speed.", name="fan"),
        ),
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB, "The air moves as it did when the fan was measured."),
        validity=STARTS,
        conditions=(ABLE,),
        steps=(
            Step(
                equal(R * (q.fan * q.speed**2 + T_f) + k**2 * q.speed, k * V),
                "Put fan and friction into the voltage law, and multiply by k.",
                "The current is the torque over k.",
            ),
            Step(
                equal(q.speed, (sqrt(k**4 + 4 * R * q.fan * (k * V - R * T_f)) - k**2) / (2 * R * q.fan)),
                "Solve the square equation, and keep the root that is more than zero.",
                "The other root turns backwards, where a fan's torque has another sign.",
                Root(),
            ),
        ),
    ),
    Derivation(
        name="speed with a series resistor",
        title="How fast does a motor turn through a resistor?",
        given=(
            laws.EMF,
            condition(
                V,
                (R + q.series_resistance) * I + q.emf,
                "The resistor takes its drop too.",
                name="voltage round the loop",
            ),
        ),
        assumptions=(STEADY, laws.BRUSH),
        validity="It sags with the load: a resistor is a poor way to set a speed, and it gets hot.",
        conditions=(V > (R + q.series_resistance) * I,),
        steps=(
            Step(
                equal(q.emf, V - (R + q.series_resistance) * I),
                "Take both drops off the supply.",
                "What is left is the EMF.",
            ),
            Step(
                equal(q.speed, (V - (R + q.series_resistance) * I) / k), "Divide by k.", "The EMF is k times the speed."
            ),
        ),
    ),
    Derivation(
        name="motor constant from a running reading",
        title="What is k, from one reading of a motor that turns?",
        given=(laws.WINDING, laws.EMF),
        assumptions=(STEADY, laws.BRUSH, "The resistance was measured with the shaft held."),
        validity="It holds for any steady load; a free shaft is best, since the drop in the winding is then small.",
        conditions=(V > R * I,),
        steps=(LOOP, Step(equal(k, (V - R * I) / q.speed), "Solve for k.", "The shaft turns.")),
    ),
    Derivation(
        name="speed constant",
        title="How much faster does a motor turn for each volt more?",
        given=(
            laws.EMF,
            condition(q.speed_constant, q.speed / q.emf, "Speed for each volt of EMF.", name="speed constant"),
        ),
        assumptions=(STEADY,),
        validity="Data sheets print it in rpm/V; only in rad/s/V is it one over k.",
        steps=(
            Step(equal(q.speed_constant, q.speed / (k * q.speed)), "Put the EMF in.", "It is k times the speed."),
            Step(equal(q.speed_constant, 1 / k), "Cancel the speed.", "The shaft turns."),
        ),
    ),
)
