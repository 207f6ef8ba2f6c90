"""Switching off: how long the current flows on, and where the winding's energy goes."""

# ruff: noqa: N816, SIM300 (letters as the trade writes them; an inequality of symbols is data)

from __future__ import annotations

from sympy import Derivative, Integral, exp, log

from labkit.symbolic import laws
from labkit.symbolic.calculus import SolvesOde
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import at_start, condition
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, i = q.time, q.momentary_current
V_s, V_F, V_BR, E = q.supply_voltage, q.diode_drop, q.breakdown_voltage, q.emf
I, R, L, t_d, r_I = q.current, q.resistance, q.inductance, q.decay_time, q.current_rate  # noqa: E741 (the trade's letter)

_STEADY_SPEED = "The speed hardly changes while the current dies away."
_NO_DIODE = "There is no freewheel diode, so that the transistor breaks down at its breakdown voltage."
_FREEWHEEL = (
    condition(
        -V_F, R * i + L * Derivative(i, t) + E, "Kirchhoff: the diode holds the motor at minus its drop.", name="loop"
    ),
    at_start(i, I, "The current goes on as it was."),
)
_DYING = Step(
    equal(i, (I + (V_F + E) / R) * exp(-R * t / L) - (V_F + E) / R),
    "Solve for the current.",
    laws.ONE_CURVE,
    SolvesOde(),
)
_ENDS = Step(
    equal((I + (V_F + E) / R) * exp(-R * t_d / L), (V_F + E) / R),
    "Put the current 0, and call that moment the decay time.",
    "The diode lets no current flow back.",
    Put({i: 0, t: t_d}),
)
_DECAY = Step(
    equal(t_d, L / R * log(1 + R * I / (V_F + E))),
    "Take the logarithm.",
    "The curve falls all the way, so it meets zero once.",
)
_BREAKDOWN = condition(
    V_BR,
    V_s + L * r_I,
    "Kirchhoff: the supply and the kick together stand across the transistor.",
    name="loop in breakdown",
)


DERIVATIONS = (
    Derivation(
        name="freewheel current",
        title="How does the current die away through the freewheel diode?",
        given=_FREEWHEEL,
        assumptions=(laws.OPENS_AT_ONCE, laws.FREEWHEEL, _STEADY_SPEED, laws.BRUSH),
        validity="It holds until the current reaches zero; there the diode blocks.",
        conditions=((I + (V_F + E) / R) * exp(-R * t / L) > (V_F + E) / R,),
        steps=(_DYING,),
    ),
    Derivation(
        name="freewheel decay time",
        title="How long does the current flow on through the freewheel diode?",
        given=_FREEWHEEL,
        assumptions=(laws.OPENS_AT_ONCE, laws.FREEWHEEL, _STEADY_SPEED, laws.BRUSH),
        validity="With no drop and no EMF it would never quite end; either of them ends it.",
        conditions=(V_F + E > 0,),
        steps=(_DYING, _ENDS, _DECAY),
    ),
    Derivation(
        name="energy in the freewheel diode",
        title="How much of the winding's energy heats the freewheel diode?",
        given=(
            *_FREEWHEEL,
            condition(
                q.diode_energy, Integral(V_F * i, (t, 0, t_d)), "Energy is the area under the power.", name="energy"
            ),
        ),
        assumptions=(laws.OPENS_AT_ONCE, laws.FREEWHEEL, _STEADY_SPEED, laws.BRUSH),
        validity="The rest heats the winding, or turns the shaft where there is an EMF.",
        conditions=(V_F + E > 0,),
        steps=(
            _DYING,
            _ENDS,
            _DECAY,
            Step(
                equal(q.diode_energy, V_F / R * (L * I - (V_F + E) * L / R * log(1 + R * I / (V_F + E)))),
                "Add up drop times current until it stops.",
                "The area under the curve follows from the curve.",
            ),
        ),
    ),
    Derivation(
        name="breakdown decay time",
        title="How long does the current flow on without a freewheel diode?",
        given=(
            _BREAKDOWN,
            condition(t_d * r_I, I, "The current falls evenly.", name="even fall"),
        ),
        assumptions=(_NO_DIODE, laws.OPENS_AT_ONCE, "Resistance and EMF are small beside the breakdown voltage."),
        validity="The breakdown voltage must be above the supply.",
        conditions=(V_BR > V_s,),
        steps=(
            Step(equal(r_I, (V_BR - V_s) / L), "Solve for the rate.", "L is not zero."),
            Step(equal(t_d, L * I / (V_BR - V_s)), "Divide the current by it.", "It falls at this rate to zero."),
        ),
    ),
    Derivation(
        name="energy in a transistor that breaks down",
        title="What energy does the transistor take without a freewheel diode?",
        given=(
            _BREAKDOWN,
            condition(t_d * r_I, I, "The current falls evenly.", name="even fall"),
            condition(i, I - r_I * t, "The current falls evenly.", name="current"),
            condition(
                q.switch_energy, Integral(V_BR * i, (t, 0, t_d)), "Energy is the area under the power.", name="energy"
            ),
        ),
        assumptions=(_NO_DIODE, laws.OPENS_AT_ONCE, "Resistance and EMF are small beside the breakdown voltage."),
        validity="It is more than was stored, since the supply feeds on during the fall; resistance makes it less.",
        conditions=(V_BR > V_s,),
        steps=(
            Step(equal(t_d, L * I / (V_BR - V_s)), "Find how long the fall takes.", "It is even."),
            Step(
                equal(q.switch_energy, V_BR * I * t_d / 2), "Add the power up.", "A triangle's area is half of its box."
            ),
            Step(
                equal(q.switch_energy, L * I**2 / 2 * V_BR / (V_BR - V_s)),
                "Put the time in.",
                "The stored energy appears, times a factor above one.",
            ),
        ),
    ),
)
