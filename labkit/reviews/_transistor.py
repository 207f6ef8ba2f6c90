"""Findings on the transistor: does it let the motor's current through, and does it stay cool."""

from __future__ import annotations

import math

from labkit.parts import Mosfet, Side
from labkit.reviews._case import Case, Si, size
from labkit.reviews._finding import Finding, Outcome, judged, unknown

__all__ = ["FINDINGS"]

HOT = "A transistor that is too hot to hold burns you: switch off, and let it cool before you touch it."


def fitted(case: Case) -> bool:
    """Whether there is a transistor in the circuit at all."""
    return not case.build.motor_on_pin


def gate_lets_through(case: Case) -> Finding | None:
    """The current that the transistor lets through at the gate voltage that it really gets."""
    switch = case.drive.switch
    if not fitted(case) or not isinstance(switch, Mosfet) or case.build.side is Side.HIGH:
        return None
    name, lesson = "current that the gate lets through", 5
    reason = (
        "The threshold is where a MOSFET just begins; below full drive the transistor, not the motor, sets the current."
    )
    most = case.let_through
    if math.isinf(most):
        if case.switch_resistance is not None and math.isfinite(case.switch_resistance):
            return None
        missing = f"the on-resistance at {Si(case.gate_voltage):V}, or the threshold"
        return unknown(name, missing=missing, reason=reason, lesson=lesson)
    wanted = case.bare_current
    kept = case.voltage - most * (case.source + case.winding + case.series)
    burns = f"; held there it burns V_DS·I = {Si(kept):V}·{Si(most):A} = {Si(kept * most):W}"
    return judged(
        name, most, wanted, "A", at_least=True, lesson=lesson, reason=reason, caution=HOT,
        formula=f"at V_GS = {Si(case.gate_voltage):V} about {Si(most):A}; the winding would take {Si(wanted):A}"
        f"{burns if 0 < most < case.starting_current else ''}",
        remedy=f"Take a logic-level MOSFET whose on-resistance is printed at {Si(case.pin_voltage):V} or less.",
    )  # fmt: skip


def resistance_at_real_gate(case: Case) -> Finding | None:
    """On-resistance at the real gate voltage against the best that the sheet prints."""
    switch = case.drive.switch
    if not fitted(case) or not isinstance(switch, Mosfet) or case.build.side is Side.HIGH:
        return None
    name, lesson = "on-resistance at the real gate voltage", 6
    reason = "The number on the front of the data sheet holds at 10 V; at the pin's voltage the transistor can be many times worse."
    ohms = case.switch_resistance
    if ohms is None:
        return unknown(name, missing=f"the on-resistance at {Si(case.gate_voltage):V}", reason=reason, lesson=lesson)
    if not isinstance(switch.on_resistance, tuple):
        return None
    best = size(switch.on_resistance[-1][1], "ohm")
    if math.isinf(ohms):
        return Finding(name=name, outcome=Outcome.EXCEEDED, reason="The gate stays below the threshold: nothing flows.",
                       lesson=lesson, remedy="Take a logic-level MOSFET.", formula=f"V_GS = {Si(case.gate_voltage):V}")  # fmt: skip
    amps = case.running_current
    heat = f"; I²·R = {Si(amps**2 * ohms):W}" if amps <= case.let_through else ""
    heat += f", not {Si(amps**2 * best):W}" if heat and ohms > best else ""
    return judged(
        name, ohms, 4.0 * best, "ohm", lesson=lesson, reason=reason, caution=HOT,
        formula=f"{Si(ohms):ohm} at {Si(case.gate_voltage):V} against four times its best, 4·{Si(best):ohm}{heat}",
        remedy=f"Take one with {Si(3.2 * best):ohm} or less printed at {Si(case.pin_voltage):V}.",
    )  # fmt: skip


def voltage_lost(case: Case) -> Finding | None:
    """What the transistor keeps from the motor at the start."""
    if not fitted(case) or case.build.side is Side.HIGH or case.switch_resistance is None:
        return None
    amps = case.starting_current
    if math.isinf(case.switch_resistance) or amps > case.let_through:
        return None  # it is no switch then, which the findings on gate and base say
    lost = case.switch_drop + amps * case.switch_resistance
    limit = 0.1 * case.voltage
    sound = 0.08 / 0.92 * (case.source + case.winding + case.series)
    sign = "V_DS" if isinstance(case.drive.switch, Mosfet) else "V_CE"
    return judged(
        "voltage lost in the transistor", lost, limit, "V", lesson=5, caution=HOT,
        reason="What the transistor keeps, the motor does not get; and it becomes heat in the transistor.",
        formula=f"{sign} = {Si(lost):V} of {Si(case.voltage):V} at {Si(amps):A}, a tenth at most; {Si(lost * amps):W}",
        remedy=f"Take a MOSFET of {Si(sound):ohm} or less at {Si(case.gate_voltage):V}.",
    )  # fmt: skip


def current_rating(case: Case) -> Finding | None:
    """The transistor's own current limit against the start."""
    if not fitted(case):
        return None
    field = "max_drain_current" if isinstance(case.drive.switch, Mosfet) else "max_collector_current"
    limit, name, lesson = case.known(case.drive.switch, field, "A"), "current rating of the transistor", 5
    reason = "At every start, and at every stall, the transistor carries what the bare winding takes."
    if limit is None:
        return unknown(name, missing="the largest current in the transistor's data sheet", reason=reason, lesson=lesson)
    amps = case.bare_current
    return judged(
        name, amps, limit, "A", lesson=lesson, reason=reason, caution=HOT,
        formula=f"V/(R + r) = {Si(amps):A} against {Si(limit):A}",
        remedy=f"Take one rated {Si(1.25 * amps):A} or more.",
    )  # fmt: skip


def breakdown(case: Case) -> Finding | None:
    """Breakdown voltage at least twice the supply."""
    if not fitted(case):
        return None
    volts, name, lesson = case.known(case.drive.switch, "breakdown_voltage", "V"), "breakdown voltage", 7
    reason = (
        "Opened, the transistor stands the whole supply and the diode's drop; twice the supply leaves room for spikes."
    )
    if volts is None:
        return unknown(name, missing="the breakdown voltage of the transistor", reason=reason, lesson=lesson)
    return judged(
        name, volts, 2.0 * case.voltage, "V", at_least=True, lesson=lesson, reason=reason,
        formula=f"{Si(volts):V} against 2·V = {Si(2 * case.voltage):V}",
        remedy=f"Take one of {Si(2.5 * case.voltage):V} or more; far more only brings on-resistance.",
    )  # fmt: skip


def high_side(case: Case) -> Finding | None:
    """An N-channel or NPN transistor above the motor follows its gate: the motor gets what is left."""
    if not fitted(case) or case.build.side is not Side.HIGH:
        return None
    below = case.gate_above_source
    if below is None:
        return unknown("voltage that reaches the motor", missing="the threshold of the transistor", lesson=5,
                       reason="Above the motor the source follows the gate, a threshold lower.")  # fmt: skip
    reaches, amps = case.reaches_motor(below), case.standing_current
    return judged(
        "voltage that reaches the motor", reaches, 0.9 * case.voltage, "V", at_least=True, lesson=5, caution=HOT,
        reason="Above the motor the lower end of an N-channel or NPN transistor rises with the motor, and takes its own drive away.",
        formula=f"V_G - V_GS = {Si(case.pin_voltage):V} - {Si(below):V} = {Si(reaches):V}; "
        f"the rest times the current, up to {Si((case.voltage - reaches) * amps):W}, is heat",
        remedy="Put the transistor below the motor: motor to +, drain to the motor, source to ground.",
    )  # fmt: skip


def swapped(case: Case) -> Finding | None:
    """With drain and source swapped the body diode conducts, and the motor never stops."""
    switch = case.drive.switch
    if not fitted(case) or not isinstance(switch, Mosfet) or not case.build.drain_source_swapped:
        return None
    drop = size(switch.body_diode_drop, "V")
    return judged(
        "voltage on the motor with the gate at 0 V", case.voltage - drop, 0.0, "V", lesson=5,
        reason="The wrong way round the transistor's body diode conducts, whatever the gate does.",
        formula=f"V - V_F = {Si(case.voltage):V} - {Si(drop):V} = {Si(case.voltage - drop):V}",
        remedy="Supply off; drain to the motor, source to ground.",
        caution="The motor starts as soon as power is applied: keep hands and sleeves away.",
    )  # fmt: skip


#: What looks, and the part of the drive that its finding is about.
FINDINGS = {
    gate_lets_through: "switch",
    resistance_at_real_gate: "switch",
    voltage_lost: "switch",
    current_rating: "switch",
    breakdown: "switch",
    high_side: "switch",
    swapped: "switch",
}
