"""The driver: what heats the switch and the diode, and the gate voltage that a current needs."""

from __future__ import annotations

from typing import Any

from sympy import Integral, sqrt

from labkit.symbolic.derivation import Derivation, Law, Step, equal
from labkit.symbolic.laws import FREQUENCY, condition
from labkit.symbolic.rules import Root
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, T_p, D, f = q.time, q.period, q.duty, q.frequency
V_s, V_F, I, R_on = q.supply_voltage, q.diode_drop, q.current, q.on_resistance  # noqa: E741 (the trade's letter)
t_r, t_f = q.turn_on_time, q.turn_off_time

_SMOOTH = "The motor's current is smooth, so that it is the same whenever the switch is on."
_GATE = (
    "The gate's voltage turns the switch fully on, and the on-resistance is the one at that voltage and temperature."
)
_EVEN = (
    "Voltages change evenly during both transitions.",
    "The diode's drop is small beside the supply.",
)
_HALF = "An even fall of the voltage, or rise of the current, leaves half of the box."


def _loss(symbol: Any, power: Any, says: str, *, off: bool = False) -> Law:
    part = (t, D * T_p, T_p) if off else (t, 0, D * T_p)
    return condition(symbol, Integral(power, part) / T_p, says, name="mean over a period")


_TURN_ON = condition(
    q.turn_on_energy,
    Integral(V_s * (1 - t / t_r) * I, (t, 0, t_r)),
    "The voltage across the switch falls evenly while the motor's current flows.",
    name="turning on",
)
_TURN_OFF = condition(
    q.turn_off_energy,
    Integral(V_s * t / t_f * I, (t, 0, t_f)),
    "The voltage rises evenly while the motor's current still flows.",
    name="turning off",
)
_EACH_PERIOD = condition(
    q.switching_loss * T_p, q.turn_on_energy + q.turn_off_energy, "Each period has one of both.", name="each period"
)
_ON_ENERGY = Step(equal(q.turn_on_energy, V_s * I * t_r / 2), "Work out the area for turning on.", _HALF)
_OFF_ENERGY = Step(equal(q.turn_off_energy, V_s * I * t_f / 2), "Work out the area for turning off.", _HALF)
_SWITCHING = Step(
    equal(q.switching_loss, V_s * I * (t_r + t_f) * f / 2),
    "Add both, and multiply by the frequency.",
    "So many periods are in a second.",
)
_CONDUCTING = _loss(q.conduction_loss, I**2 * R_on, "The switch heats while it is on.")
_CONDUCTION = Step(equal(q.conduction_loss, D * I**2 * R_on), "Work out the area.", "It is a rectangle.")

DERIVATIONS = (
    Derivation(
        name="conduction loss",
        title="What heat does a MOSFET make while it is on?",
        given=(_CONDUCTING,),
        assumptions=(_SMOOTH, _GATE),
        validity="Threshold voltage is not fully on: read the on-resistance at the voltage that your pin gives.",
        steps=(_CONDUCTION,),
    ),
    Derivation(
        name="conduction loss of a bipolar transistor",
        title="What heat does a bipolar transistor make while it is on?",
        given=(_loss(q.conduction_loss, q.saturation_voltage * I, "It drops its saturation voltage while it is on."),),
        assumptions=(_SMOOTH, "The base gets enough current to keep the transistor saturated."),
        validity="A Darlington pair drops 1 V to 2 V, a single transistor 0.2 V to 0.4 V (common practice, no source).",
        steps=(
            Step(equal(q.conduction_loss, D * q.saturation_voltage * I), "Work out the area.", "It is a rectangle."),
        ),
    ),
    Derivation(
        name="diode loss",
        title="What heat does the freewheel diode make?",
        given=(_loss(q.diode_loss, V_F * I, "The diode carries the current while the switch is off.", off=True),),
        assumptions=(_SMOOTH, "The diode's drop does not change with the current."),
        validity="It holds while the current never stops within the period.",
        steps=(Step(equal(q.diode_loss, (1 - D) * V_F * I), "Work out the area.", "It is a rectangle."),),
    ),
    Derivation(
        name="switching loss",
        title="What heat does turning on and off make in the switch?",
        given=(_TURN_ON, _TURN_OFF, _EACH_PERIOD, FREQUENCY),
        assumptions=(_SMOOTH, *_EVEN),
        validity="It is an estimate: the times in which the current alone changes come on top.",
        steps=(_ON_ENERGY, _OFF_ENERGY, _SWITCHING),
    ),
    Derivation(
        name="frequency of equal losses",
        title="At which frequency does switching heat as much as conducting?",
        given=(
            _TURN_ON,
            _TURN_OFF,
            _EACH_PERIOD,
            FREQUENCY,
            _CONDUCTING,
            condition(q.switching_loss, q.conduction_loss, "Both are equal at the frequency sought.", name="balance"),
            condition(q.equal_loss_frequency, f, "Call it so.", name="the frequency sought"),
        ),
        assumptions=(_SMOOTH, *_EVEN),
        validity="Well below it a larger, slower transistor is better; well above it a smaller, faster one.",
        steps=(
            _ON_ENERGY,
            _OFF_ENERGY,
            _CONDUCTION,
            Step(
                equal(V_s * I * (t_r + t_f) * f / 2, D * I**2 * R_on),
                "Set both losses equal.",
                "That is what is asked for.",
            ),
            Step(
                equal(q.equal_loss_frequency, 2 * D * I * R_on / (V_s * (t_r + t_f))),
                "Solve for the frequency.",
                "None of the others is zero.",
            ),
        ),
    ),
    Derivation(
        name="gate drive loss",
        title="What power does it take to drive a gate?",
        given=(
            condition(
                q.gate_drive_loss * T_p,
                q.high_level * q.gate_charge,
                "Each period lifts the gate's charge to the pin's voltage, and drops it again.",
                name="each period",
            ),
            FREQUENCY,
        ),
        assumptions=("The gate charge is the one at the pin's voltage.",),
        validity="It heats the pin and the gate resistor, not the transistor.",
        steps=(
            Step(
                equal(q.gate_drive_loss, q.high_level * q.gate_charge * f),
                "Divide by the period.",
                "So many periods are in a second.",
            ),
        ),
    ),
    Derivation(
        name="recovery loss",
        title="What heat does a slow freewheel diode add?",
        given=(
            condition(
                q.recovery_loss * T_p,
                V_s * q.recovery_charge,
                "Each time the switch turns on, the supply drives the diode's charge out through it.",
                name="each period",
            ),
            FREQUENCY,
        ),
        assumptions=(
            "All of the charge is driven out at the full supply voltage.",
            "The current never stops: a diode that carries none has nothing to give back.",
        ),
        validity="A Schottky diode has next to none of it.",
        steps=(
            Step(
                equal(q.recovery_loss, V_s * q.recovery_charge * f),
                "Divide by the period.",
                "So many periods are in a second.",
            ),
        ),
    ),
    Derivation(
        name="heat in the switch",
        title="What heat does the switch make in all?",
        given=(
            _CONDUCTING,
            _TURN_ON,
            _TURN_OFF,
            _EACH_PERIOD,
            FREQUENCY,
            condition(q.switch_loss, q.conduction_loss + q.switching_loss, "Heat adds up.", name="sum"),
        ),
        assumptions=(_SMOOTH, _GATE, *_EVEN),
        validity="Recovery of a slow diode comes on top.",
        steps=(
            _CONDUCTION,
            _ON_ENERGY,
            _OFF_ENERGY,
            _SWITCHING,
            Step(
                equal(q.switch_loss, D * I**2 * R_on + V_s * I * (t_r + t_f) * f / 2),
                "Add both.",
                "They heat the same piece of silicon.",
            ),
        ),
    ),
    Derivation(
        name="gate voltage for a current",
        title="What gate voltage lets a current through?",
        given=(
            condition(
                I,
                q.transconductance * (q.gate_voltage - q.threshold) ** 2,
                "Above its threshold a MOSFET lets through a current that grows with the square.",
                name="saturation",
            ),
        ),
        assumptions=("The transistor, and not the motor, sets the current.",),
        validity="It is the least gate voltage; to be fully on takes clearly more.",
        conditions=(q.gate_voltage > q.threshold,),
        steps=(
            Step(
                equal((q.gate_voltage - q.threshold) ** 2, I / q.transconductance),
                "Divide by the steepness.",
                "It is not zero.",
            ),
            Step(
                equal(q.gate_voltage, q.threshold + sqrt(I / q.transconductance)),
                "Take the root that is above the threshold.",
                "Below the threshold no current flows.",
                Root(),
            ),
        ),
    ),
)
