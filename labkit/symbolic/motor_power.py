"""The motor's power: what the shaft gives at most, and where it wastes the least."""

from __future__ import annotations

from sympy import sqrt

from labkit.symbolic import laws
from labkit.symbolic.calculus import Extreme
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.motor import (
    ABLE,
    ENDS,
    FREE_CURRENT,
    FREE_SPEED,
    LINE,
    LOOP,
    MACHINE,
    STALL_TORQUE,
    STALLED,
    STEADY,
)
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

I, k, T = q.current, q.emf_constant, q.shaft_torque  # noqa: E741 (the trade's letter)
I_0, I_st = q.no_load_current, q.stall_current

_POWERS = (*MACHINE, laws.INPUT_POWER, laws.SHAFT_POWER, laws.EFFICIENCY)
_POWER_BY_ENDS = Step(
    equal(q.shaft_power, q.stall_torque * q.speed * (1 - q.speed / q.no_load_speed)),
    "Multiply torque by speed.",
    "That is the power at the shaft.",
)
_HALF_WAY = Step(
    equal(q.best_speed, q.no_load_speed / 2),
    "Find the speed at which the power is greatest.",
    "There its slope over the speed is zero: half-way along the line.",
    Extreme(of=q.shaft_power, over=q.speed),
)
_EFFICIENCY = Step(
    equal(q.efficiency, (1 - I_0 / I) * (1 - I / I_st)),
    "Divide what comes out by what goes in.",
    "The first factor is lost to friction, the second to heat in the winding.",
)
_BEST_CURRENT = Step(
    equal(q.best_current, sqrt(I_0 * I_st)),
    "Find the current at which the efficiency is greatest.",
    "There its slope over the current is zero.",
    Extreme(of=q.efficiency, over=I),
)


DERIVATIONS = (
    Derivation(
        name="shaft power",
        title="What power does the shaft give?",
        given=(*MACHINE, laws.SHAFT_POWER),
        assumptions=(STEADY, laws.COULOMB),
        validity="It holds while the current is above the no-load current.",
        conditions=(I > I_0,),
        steps=(
            FREE_CURRENT,
            Step(
                equal(T, k * (I - I_0)), "Take friction off the field's torque.", "Friction takes the no-load current."
            ),
            Step(
                equal(q.shaft_power, k * q.speed * (I - I_0)),
                "Multiply by the speed.",
                "That is the power at the shaft.",
            ),
        ),
    ),
    Derivation(
        name="speed of most shaft power",
        title="At which speed does the shaft give the most power?",
        given=(*MACHINE, laws.SHAFT_POWER),
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB),
        validity="The winding gets hot there: the motor cannot stay at it for long.",
        conditions=(ABLE,),
        steps=(LINE, FREE_SPEED, STALL_TORQUE, _POWER_BY_ENDS, _HALF_WAY),
    ),
    Derivation(
        name="maximum shaft power",
        title="What is the most power that the shaft can give?",
        given=(*MACHINE, laws.SHAFT_POWER),
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB),
        validity=f"The winding gets hot there: the motor cannot stay at it for long. {ENDS}",
        conditions=(ABLE,),
        steps=(
            LINE,
            FREE_SPEED,
            STALL_TORQUE,
            _POWER_BY_ENDS,
            _HALF_WAY,
            Step(
                equal(q.max_shaft_power, q.stall_torque * q.no_load_speed / 4),
                "Take the power at that speed.",
                "Half of the speed times half of the torque.",
                Put({q.speed: q.best_speed, q.shaft_power: q.max_shaft_power}),
            ),
        ),
    ),
    Derivation(
        name="efficiency",
        title="What part of the input power arrives at the shaft?",
        given=_POWERS,
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB),
        validity="It holds between the no-load current and the stall current.",
        conditions=(I > I_0, I_st > I),
        steps=(LOOP, STALLED, FREE_CURRENT, _EFFICIENCY),
    ),
    Derivation(
        name="current of best efficiency",
        title="At which current does a motor waste the least part of what it takes?",
        given=_POWERS,
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB),
        validity="It holds for motors whose friction hardly grows with speed; small iron ones depart from it.",
        conditions=(I_st > I_0,),
        steps=(LOOP, STALLED, FREE_CURRENT, _EFFICIENCY, _BEST_CURRENT),
    ),
    Derivation(
        name="maximum efficiency",
        title="What is the best efficiency that a motor can reach?",
        given=_POWERS,
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB),
        validity="It holds for motors whose friction hardly grows with speed; small iron ones do worse than it says.",
        conditions=(I_st > I_0,),
        steps=(
            LOOP,
            STALLED,
            FREE_CURRENT,
            _EFFICIENCY,
            _BEST_CURRENT,
            Step(
                equal(q.max_efficiency, (1 - sqrt(I_0 / I_st)) ** 2),
                "Take the efficiency at that current.",
                "Friction and heat then cost the same part.",
                Put({I: q.best_current, q.efficiency: q.max_efficiency}),
            ),
        ),
    ),
)
