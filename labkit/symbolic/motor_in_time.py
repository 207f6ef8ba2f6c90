"""The motor's speed in time: running up, coasting, braking by a load."""

# ruff: noqa: SIM300 (an inequality of symbols is data)

from __future__ import annotations

from sympy import Derivative, exp, log

from labkit.symbolic import laws
from labkit.symbolic.calculus import SolvesOde
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import at_start, condition
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, i, w = q.time, q.momentary_current, q.momentary_speed
V, R, k, J, T_f = q.voltage, q.resistance, q.emf_constant, q.inertia, q.friction_torque
LOOP, W_1, T_C = R + q.load_resistance, q.start_speed, q.coasting_time

_QUICK = "The inductance is left out: the current follows far faster than the speed."
_BARE = "The shaft is bare: a fan's air would slow it sooner."

_FRICTION_ALONE = (
    condition(J * Derivative(w, t), -T_f, "Only friction is left.", name="slowing"),
    at_start(w, W_1, "The speed at switching off."),
)
_COASTING = Step(
    equal(w, W_1 - T_f * t / J), "Solve for the speed.", "A steady torque slows the shaft evenly.", SolvesOde()
)
_BRAKING_GIVEN = (
    condition(
        J * Derivative(w, t), -k * i - T_f, "The generated current brakes, and so does friction.", name="slowing"
    ),
    condition(k * w, LOOP * i, "The EMF drives the current through winding and load.", name="loop"),
    at_start(w, W_1, "The speed at the start."),
)
_BRAKING = (
    Step(
        equal(J * Derivative(w, t), -(k**2) * w / LOOP - T_f),
        "Put the generated current in.",
        "It goes with the speed.",
    ),
    Step(
        equal(w, (W_1 + LOOP * T_f / k**2) * exp(-(k**2) * t / (LOOP * J)) - LOOP * T_f / k**2),
        "Solve for the speed.",
        laws.ONE_CURVE,
        SolvesOde(),
    ),
)

DERIVATIONS = (
    Derivation(
        name="mechanical time constant",
        title="How long does a motor take to come up to speed?",
        given=(
            condition(
                J * q.speed / q.mechanical_time_constant,
                k * q.stall_current,
                "If the torque of the start were kept up, the EMF would reach the supply in this time.",
                name="mechanical time constant",
            ),
            condition(V, k * q.speed, "The speed at which the EMF is the supply.", name="speed aimed at"),
            condition(q.stall_current, V / R, "The current of the start.", name="stall current"),
        ),
        assumptions=(laws.BRUSH, "Friction is left out.", _QUICK),
        validity="After one of it 63 % of a change of speed is done, after three of it 95 %.",
        steps=(
            Step(
                equal(J * V / (k * q.mechanical_time_constant), k * V / R),
                "Put speed and current of the start in.",
                "Both follow from the voltage.",
            ),
            Step(equal(q.mechanical_time_constant, R * J / k**2), "Solve for the time.", "The voltage drops out."),
        ),
    ),
    Derivation(
        name="run-up",
        title="How does the speed grow after switching on?",
        given=(
            laws.ACCELERATION,
            laws.MOMENTARY_EMF,
            condition(V, R * i + q.momentary_emf, "Kirchhoff at every moment.", name="voltage round the winding"),
            at_start(w, 0, "The rotor stands."),
        ),
        assumptions=(laws.BRUSH, laws.COULOMB, _QUICK),
        validity="It holds from a few L/R after switching on, if the motor is able to start.",
        conditions=(k * V / R > T_f,),
        steps=(
            Step(
                equal(J * Derivative(w, t), k * (V - k * w) / R - T_f),
                "Put the current into the law of acceleration.",
                "The current is what the back-EMF leaves.",
            ),
            Step(
                equal(w, (V / k - R * T_f / k**2) * (1 - exp(-(k**2) * t / (R * J)))),
                "Solve for the speed that begins at zero.",
                laws.ONE_CURVE,
                SolvesOde(),
            ),
        ),
    ),
    Derivation(
        name="coasting with nothing connected",
        title="How does the speed fall when the motor is switched off?",
        given=_FRICTION_ALONE,
        assumptions=(
            "No current flows: in forward turning the generator EMF does not open the freewheel diode.",
            laws.COULOMB,
            _BARE,
        ),
        validity="It holds until the shaft stands.",
        conditions=(W_1 > T_f * t / J,),
        steps=(_COASTING,),
    ),
    Derivation(
        name="coasting time",
        title="How long does a free shaft turn after switching off?",
        given=_FRICTION_ALONE,
        assumptions=("No current flows.", laws.COULOMB, _BARE),
        validity="There must be some friction.",
        conditions=(T_f > 0,),
        steps=(
            _COASTING,
            Step(
                equal(W_1, T_f * T_C / J),
                "Put the speed 0, and call that moment the coasting time.",
                "There the shaft stands.",
                Put({w: 0, t: T_C}),
            ),
            Step(equal(T_C, J * W_1 / T_f), "Solve for the time.", "Friction is not zero."),
        ),
    ),
    Derivation(
        name="braking by a load",
        title="How does the speed fall while the machine feeds a resistor?",
        given=_BRAKING_GIVEN,
        assumptions=(laws.BRUSH, laws.COULOMB, _QUICK),
        validity="It holds until the shaft stands.",
        conditions=((W_1 + LOOP * T_f / k**2) * exp(-(k**2) * t / (LOOP * J)) > LOOP * T_f / k**2,),
        steps=_BRAKING,
    ),
    Derivation(
        name="braking time",
        title="How long does the shaft turn while the machine feeds a resistor?",
        given=_BRAKING_GIVEN,
        assumptions=(laws.BRUSH, laws.COULOMB, _QUICK),
        validity="There must be some friction: a current alone never quite stops a shaft.",
        conditions=(T_f > 0,),
        steps=(
            *_BRAKING,
            Step(
                equal((W_1 + LOOP * T_f / k**2) * exp(-(k**2) * T_C / (LOOP * J)), LOOP * T_f / k**2),
                "Put the speed 0, and call that moment the coasting time.",
                "There the shaft stands.",
                Put({w: 0, t: T_C}),
            ),
            Step(
                equal(T_C, LOOP * J / k**2 * log(1 + k**2 * W_1 / (LOOP * T_f))),
                "Take the logarithm.",
                "The curve falls all the way, so it meets zero once.",
            ),
        ),
    ),
)
