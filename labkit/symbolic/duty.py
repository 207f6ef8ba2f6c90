"""Duty: what a motor sees of a supply that is switched on for a part of each period."""

from __future__ import annotations

from typing import Any

from sympy import Integral, sqrt

from labkit.symbolic import laws
from labkit.symbolic.derivation import Derivation, Law, Step, equal
from labkit.symbolic.laws import condition
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS", "MEAN_VOLTAGE"]

t, T_p, D = q.time, q.period, q.duty
V_s, V_F, R, k = q.supply_voltage, q.diode_drop, q.resistance, q.emf_constant
V_m, I_m = q.mean_voltage, q.mean_current

_CONTINUOUS = "The current never stops within the period."
_SMOOTH = "The ripple is small beside the current, so the current is taken as steady."
_STEADY_SPEED = "The speed hardly changes within a period."
_LIMIT = "It holds while the current never stops; a lightly loaded motor at a low frequency turns faster than it says."
_SQUARE = "Heat goes with the current squared, so its mean counts."

MEAN_VOLTAGE = Derivation(
    name="mean voltage under duty",
    title="What mean voltage does the motor see?",
    given=(
        condition(
            V_m,
            (Integral(V_s, (t, 0, D * T_p)) + Integral(-V_F, (t, D * T_p, T_p))) / T_p,
            "The supply while the switch is on; while it is off, the diode holds the motor at minus its drop.",
            name="mean over a period",
        ),
    ),
    assumptions=(_CONTINUOUS, laws.IDEAL_SWITCH),
    validity=_LIMIT,
    steps=(
        Step(
            equal(V_m * T_p, V_s * D * T_p - V_F * (1 - D) * T_p),
            "Work out both areas.",
            "Each voltage is steady in its part, so each area is a rectangle.",
        ),
        Step(equal(V_m, D * V_s - (1 - D) * V_F), "Divide by the period.", "How long it is drops out."),
    ),
)
_MEAN = (laws.MEAN_VOLTAGE, laws.MEAN_CURRENT, laws.MOMENTARY_WINDING, laws.PERIODIC)
_MEAN_BALANCE = Step(
    equal(V_m, R * I_m + q.emf),
    "Take the mean of the voltage round the winding.",
    "Over a period the inductance's voltage has the mean zero, since the current ends as it began.",
)
_MEAN_DRIVE = Step(
    equal(R * I_m + k * q.speed, D * V_s - (1 - D) * V_F),
    "Put the mean voltage and the back-EMF in.",
    "Both are mean values of the same period.",
)
_DRIVE = (*_MEAN, laws.derived(MEAN_VOLTAGE), laws.EMF)


def _mean_square(parts: Any, name: str, says: str) -> Law:
    return condition(q.rms_current**2, parts / T_p, says, name=name)


DERIVATIONS = (
    Derivation(
        name="duty from a count",
        title="What duty does the program's number give?",
        given=(
            condition(
                q.count * T_p,
                q.top * D * T_p,
                "The timer counts evenly to its top once a period, and is on up to the number.",
                name="timer",
            ),
        ),
        assumptions=("The number that stands for always on is known: often 255 or 1023.",),
        validity="The number is not a percentage: 50 of 255 is a duty of 0.196.",
        steps=(Step(equal(D, q.count / q.top), "Divide by the period and by the top.", "Neither is zero."),),
    ),
    MEAN_VOLTAGE,
    Derivation(
        name="duty for a mean voltage",
        title="Which duty gives a mean voltage?",
        given=(laws.derived(MEAN_VOLTAGE),),
        assumptions=(_CONTINUOUS, laws.IDEAL_SWITCH),
        validity="The voltage asked for must be below the supply's.",
        steps=(
            Step(
                equal(D * (V_s + V_F), V_m + V_F),
                "Gather what goes with the duty.",
                "The diode's drop counts in both parts.",
            ),
            Step(equal(D, (V_m + V_F) / (V_s + V_F)), "Divide by supply and drop.", "Their sum is not zero."),
        ),
    ),
    Derivation(
        name="starting duty",
        title="At which duty does the motor start?",
        given=(laws.derived(MEAN_VOLTAGE),),
        assumptions=(
            "The voltage at which the motor starts was measured with a steady supply, at several shaft positions.",
            "The period is far shorter than L/R, so that the current is smooth.",
        ),
        validity="It holds for fast switching; slow pulses reach more current, and start the motor at a lower duty.",
        steps=(
            Step(
                equal(D, (q.starting_voltage + V_F) / (V_s + V_F)),
                "Put the starting voltage for the mean voltage, and solve for the duty.",
                "A smooth current turns the shaft as a steady voltage does.",
                Put({V_m: q.starting_voltage}),
            ),
        ),
    ),
    Derivation(
        name="mean current",
        title="What mean current does the motor draw under duty?",
        given=_DRIVE,
        assumptions=(_CONTINUOUS, laws.IDEAL_SWITCH, _STEADY_SPEED, laws.BRUSH),
        validity=_LIMIT,
        conditions=(D * V_s - (1 - D) * V_F > k * q.speed,),
        steps=(
            _MEAN_BALANCE,
            _MEAN_DRIVE,
            Step(equal(I_m, (D * V_s - (1 - D) * V_F - k * q.speed) / R), "Solve for the current.", "R is not zero."),
        ),
    ),
    Derivation(
        name="speed against duty",
        title="How fast does the motor turn at a duty?",
        given=_DRIVE,
        assumptions=(_CONTINUOUS, laws.IDEAL_SWITCH, _STEADY_SPEED, laws.BRUSH),
        validity=_LIMIT,
        conditions=(D * V_s - (1 - D) * V_F > R * I_m,),
        steps=(
            _MEAN_BALANCE,
            _MEAN_DRIVE,
            Step(
                equal(q.speed, (D * V_s - (1 - D) * V_F - R * I_m) / k),
                "Solve for the speed.",
                "The load sets the mean current, and the current takes its drop.",
            ),
        ),
    ),
    Derivation(
        name="duty for a speed",
        title="Which duty makes the motor turn at a speed?",
        given=_DRIVE,
        assumptions=(_CONTINUOUS, laws.IDEAL_SWITCH, _STEADY_SPEED, laws.BRUSH),
        validity="The supply must reach: what speed and load ask for must be below it.",
        steps=(
            _MEAN_BALANCE,
            _MEAN_DRIVE,
            Step(
                equal(D, (k * q.speed + R * I_m + V_F) / (V_s + V_F)),
                "Solve for the duty.",
                "Supply and drop together are not zero.",
            ),
        ),
    ),
    Derivation(
        name="supply current under duty",
        title="What mean current does the supply give?",
        given=(
            condition(
                q.supply_current,
                Integral(I_m, (t, 0, D * T_p)) / T_p,
                "The supply feeds the motor only while the switch is on.",
                name="mean over a period",
            ),
        ),
        assumptions=(_CONTINUOUS, _SMOOTH),
        validity="It is what an ammeter in the battery's lead shows; the motor's own lead carries more.",
        steps=(Step(equal(q.supply_current, D * I_m), "Work out the area.", "It is a rectangle."),),
    ),
    Derivation(
        name="diode current under duty",
        title="What mean current does the freewheel diode carry?",
        given=(
            condition(
                q.diode_current,
                Integral(I_m, (t, D * T_p, T_p)) / T_p,
                "The diode carries the motor's current while the switch is off.",
                name="mean over a period",
            ),
        ),
        assumptions=(_CONTINUOUS, _SMOOTH),
        validity="At a low duty the diode carries nearly all of the current: choose it for that.",
        steps=(Step(equal(q.diode_current, (1 - D) * I_m), "Work out the area.", "It is a rectangle."),),
    ),
    Derivation(
        name="RMS current in the switch",
        title="Which steady current would heat the switch alike?",
        given=(
            _mean_square(
                Integral(I_m**2, (t, 0, D * T_p)), "mean of the square", "The switch carries current for its part only."
            ),
        ),
        assumptions=(_CONTINUOUS, _SMOOTH),
        validity="Use it for heat in a resistance; for the charge taken from a battery use the mean.",
        steps=(
            Step(equal(q.rms_current**2, D * I_m**2), "Work out the area.", _SQUARE),
            Step(equal(q.rms_current, sqrt(D) * I_m), "Take the root.", "A current's size is more than zero."),
        ),
    ),
    Derivation(
        name="RMS current with ripple",
        title="Which steady current would heat the winding as much as one with ripple?",
        given=(
            _mean_square(
                Integral((I_m - q.ripple / 2 + q.ripple * t / T_p) ** 2, (t, 0, T_p)),
                "mean of the square",
                "Rise and fall each pass evenly through the same currents, so one even sweep stands for both.",
            ),
        ),
        assumptions=(_CONTINUOUS, "Rise and fall are straight lines: the period is shorter than L/R."),
        validity="The ripple is at most twice the mean current.",
        conditions=(2 * I_m > q.ripple,),
        steps=(
            Step(equal(q.rms_current**2, I_m**2 + q.ripple**2 / 12), "Work out the area.", _SQUARE),
            Step(
                equal(q.rms_current, sqrt(I_m**2 + q.ripple**2 / 12)),
                "Take the root.",
                "A current's size is more than zero.",
            ),
        ),
    ),
    Derivation(
        name="winding heat under slow switching",
        title="What heat does a held motor's winding make when the switching is slow?",
        given=(
            condition(
                q.copper_loss,
                Integral(V_s**2 / R, (t, 0, D * T_p)) / T_p,
                "While the switch is on, the full stall current flows; while it is off, none.",
                name="mean over a period",
            ),
        ),
        assumptions=(
            "The shaft is held.",
            "The period is far longer than L/R, so that the current rises and falls at once.",
            laws.BRUSH,
        ),
        validity="Fast switching with the same duty heats it by only D² of the full heat.",
        steps=(Step(equal(q.copper_loss, D * V_s**2 / R), "Work out the area.", "It is a rectangle."),),
    ),
    Derivation(
        name="winding heat under fast switching",
        title="What heat does a held motor's winding make when the switching is fast?",
        given=(
            *_MEAN,
            condition(V_m, D * V_s, "The mean voltage, with a diode of no drop.", name="mean voltage"),
            condition(q.emf, 0, "The shaft is held.", name="held shaft"),
            condition(q.copper_loss, R * I_m**2, "The current is smooth.", name="heat"),
        ),
        assumptions=(
            "The shaft is held.",
            "The period is far shorter than L/R, so that the current is smooth.",
            laws.BRUSH,
        ),
        validity="It holds with a diode of no drop; a real one makes it a little less.",
        steps=(
            Step(
                equal(V_m, R * I_m),
                "Take the mean of the voltage round the winding.",
                "There is no EMF, and over a period the inductance's voltage has the mean zero.",
            ),
            Step(equal(I_m, D * V_s / R), "Put the mean voltage in, and solve.", "The resistance is not zero."),
            Step(equal(q.copper_loss, (D * V_s) ** 2 / R), "Take the heat of that current.", "It is smooth."),
        ),
    ),
)
