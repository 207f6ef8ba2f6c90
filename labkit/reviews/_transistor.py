"""Findings on the transistor: does it let the motor's current through, and does it stay cool."""

from __future__ import annotations

import math

from labkit.errors import LabkitError, NoSolutionError
from labkit.parts import Bipolar, Mosfet, Side
from labkit.reviews._case import Case, Si, size
from labkit.reviews._finding import Finding, Outcome, judged, unknown
from labkit.simulation import saturation_current, switching_times
from labkit.units import Q_

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
    try:
        most = size(saturation_current(switch, Q_(case.gate_voltage, "V")), "A")
    except LabkitError:
        if case.switch_resistance is not None and math.isfinite(case.switch_resistance):
            return None
        missing = f"the on-resistance at {Si(case.gate_voltage):V}, or the threshold"
        return unknown(name, missing=missing, reason=reason, lesson=lesson)
    wanted = case.bare_current
    return judged(
        name, most, wanted, "A", at_least=True, lesson=lesson, reason=reason, caution=HOT,
        formula=f"at V_GS = {Si(case.gate_voltage):V} about {Si(most):A}; the winding would take {Si(wanted):A}",
        remedy=f"Take a logic-level MOSFET whose on-resistance is printed at {Si(case.pin_voltage):V} or less.",
    )  # fmt: skip


def resistance_at_real_gate(case: Case) -> Finding | None:
    """On-resistance at the real gate voltage against the best that the sheet prints."""
    switch = case.drive.switch
    if not fitted(case) or not isinstance(switch, Mosfet):
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
    return judged(
        name, ohms, 4.0 * best, "ohm", lesson=lesson, reason=reason, caution=HOT,
        formula=f"{Si(ohms):ohm} at {Si(case.gate_voltage):V}, {Si(best):ohm} at best: "
        f"I²·R = {Si(amps**2 * ohms):W}, not {Si(amps**2 * best):W}",
        remedy=f"Take one with less than {Si(4.0 * best):ohm} printed at {Si(case.pin_voltage):V}.",
    )  # fmt: skip


def voltage_lost(case: Case) -> Finding | None:
    """What the transistor keeps from the motor at the start."""
    if not fitted(case) or case.build.side is Side.HIGH or case.switch_resistance is None:
        return None
    if math.isinf(case.switch_resistance):
        return None
    amps = case.starting_current
    lost = case.switch_drop + amps * case.switch_resistance
    limit = 0.1 * case.voltage
    return judged(
        "voltage lost in the transistor", lost, limit, "V", lesson=5, caution=HOT,
        reason="What the transistor keeps, the motor does not get; and it becomes heat in the transistor.",
        formula=f"V_DS = {Si(lost):V} of {Si(case.voltage):V} at {Si(amps):A}: {Si(lost * amps):W}",
        remedy=f"Take a MOSFET with less than {Si(limit / amps if amps else math.inf):ohm} at {Si(case.gate_voltage):V}.",
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
        formula=f"V/(R + r) = {Si(amps):A}",
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
    switch = case.drive.switch
    if isinstance(switch, Mosfet):
        below = case.known(switch, "threshold", "V")
        if below is None:
            return unknown("voltage that reaches the motor", missing="the threshold of the transistor", lesson=5,
                           reason="Above the motor the source follows the gate, a threshold lower.")  # fmt: skip
    else:
        below = size(switch.base_emitter_voltage, "V")
    reaches = max(min(case.pin_voltage - below, case.voltage), 0.0)
    amps = min(reaches / (case.winding + case.series), case.starting_current)
    return judged(
        "voltage that reaches the motor", reaches, 0.9 * case.voltage, "V", at_least=True, lesson=5, caution=HOT,
        reason="Above the motor the transistor's lower end rises with the motor, and takes its own drive away.",
        formula=f"V_G - V_GS = {Si(case.pin_voltage):V} - {Si(below):V} = {Si(reaches):V}; "
        f"the rest times the current, up to {Si((case.voltage - reaches) * amps):W}, is heat",
        remedy="Put the transistor below the motor: motor to +, drain to the motor, source to ground.",
    )  # fmt: skip


def base_current(case: Case) -> Finding | None:
    """A switched bipolar transistor carries ten times its base current, and no more."""
    switch = case.drive.switch
    if not fitted(case) or not isinstance(switch, Bipolar) or case.build.side is Side.HIGH:
        return None
    name, lesson = "collector current that the base allows", 5
    reason = (
        "A bipolar transistor used as a switch carries about ten times its base current, a Darlington some hundreds."
    )
    resistor = case.known(switch, "base_resistor", "ohm")
    if resistor is None:
        return unknown(name, missing="the base resistor", reason=reason, lesson=lesson)
    base = max(case.pin_voltage - size(switch.base_emitter_voltage, "V"), 0.0) / (resistor + case.pin_resistance)
    pin = case.known(case.drive.pin, "current_limit", "A")
    base = base if pin is None else min(base, pin)
    most = switch.gain * base
    best = "more than any pin gives" if pin is None else f"at most {Si(switch.gain * pin):A}"
    return judged(
        name, most, case.starting_current, "A", at_least=True, lesson=lesson, reason=reason, caution=HOT,
        formula=f"{switch.gain:g}·I_B = {switch.gain:g}·{Si(base):A} = {Si(most):A}; the start takes {Si(case.starting_current):A}",
        remedy=f"A smaller base resistor gets you {best}: beyond that take a MOSFET.",
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


def held_off(case: Case) -> Finding | None:
    """While the board starts, leakage and a boot pull-up must not reach the threshold."""
    switch = case.drive.switch
    if not fitted(case) or not isinstance(switch, Mosfet):
        return None
    name, lesson = "gate while the board starts", 5
    caution = "The motor can start by itself: keep hands away until the program runs."
    reason = "Until the program runs nothing drives the gate; a resistor to ground has to hold it down."
    down = case.drive.pull_down
    if down is None:
        return Finding(name=name, outcome=Outcome.EXCEEDED, reason=reason, lesson=lesson, caution=caution,
                       remedy="Put 10 kΩ from gate to source.", formula="no pull-down: the gate floats")  # fmt: skip
    threshold = case.known(switch, "threshold", "V")
    if threshold is None:
        return unknown(name, missing="the threshold of the transistor", reason=reason, lesson=lesson)
    ohms, leak = size(down, "ohm"), size(case.drive.pin.leakage, "A")
    up = case.known(case.drive.pin, "boot_pull_up", "ohm")
    # what drives half of the threshold out of the pin at most: its leakage, or its pull-up
    driven = leak if up is None else max(case.pin_voltage - 0.5 * threshold, 0.0) / up
    volts = leak * ohms if up is None else case.pin_voltage * ohms / (ohms + up)
    lower = 0.5 * threshold / driven if driven else math.inf
    how = f"I_leak·R_pd = {Si(leak):A}·{Si(ohms):ohm}" if up is None else f"V·R_pd/(R_pd + R_up), R_up = {Si(up):ohm},"
    return judged(
        name, volts, threshold, "V", lesson=lesson, reason=reason, caution=caution,
        formula=f"{how} = {Si(volts):V} against a threshold of {Si(threshold):V}",
        remedy=f"Take a pull-down of {Si(min(lower, 1e5)):ohm} or less, on the pin's side of the gate resistor.",
    )  # fmt: skip


def gate_divider(case: Case) -> Finding | None:
    """A pull-down on the gate's side of the gate resistor takes part of the drive."""
    if not fitted(case) or not isinstance(case.drive.switch, Mosfet) or case.drive.pull_down is None:
        return None
    return judged(
        "voltage that reaches the gate", case.gate_voltage, 0.95 * case.pin_voltage, "V", at_least=True, lesson=5, tight=0.0,
        reason="Pull-down and gate resistor divide the pin's voltage between them.",
        formula=f"V·R_pd/(R_pd + R_g + R_pin) = {Si(case.gate_voltage):V} of {Si(case.pin_voltage):V}",
        remedy=f"Take a pull-down of {Si(19 * case.gate_path):ohm} or more, or put it on the pin's side.",
    )  # fmt: skip


def gate_peak(case: Case) -> Finding | None:
    """The gate's first gulp of current against the pin."""
    if not fitted(case) or not isinstance(case.drive.switch, Mosfet):
        return None
    name, lesson = "peak current into the gate", 5
    limit = case.known(case.drive.pin, "current_limit", "A")
    reason = "A gate is a small capacitor: for an instant only the resistors limit its current."
    if limit is None:
        return unknown(name, missing="the test current of your pin", reason=reason, lesson=lesson)
    peak = case.pin_voltage / case.gate_path if case.gate_path else math.inf
    resistor = case.pin_voltage / limit - case.pin_resistance
    return judged(
        name, peak, limit, "A", lesson=lesson, reason=reason, tight=0.0,
        formula=f"V/(R_g + R_pin) = {Si(case.pin_voltage):V}/{Si(case.gate_path):ohm} = {Si(peak):A}",
        remedy=f"Take a gate resistor of {Si(max(resistor, 0.0)):ohm} or more.",
    )  # fmt: skip


def switching_share(case: Case) -> Finding | None:
    """How much of each period goes into switching."""
    switch = case.drive.switch
    if not fitted(case) or not isinstance(switch, Mosfet) or not case.pulsed:
        return None
    name, lesson = "share of each period spent switching", 6
    reason = "On its way between on and off the transistor carries current and voltage together; at a high frequency that adds up."
    try:
        on, off = (size(time, "s") for time in switching_times(case.drive))
    except NoSolutionError as error:
        return Finding(name=name, outcome=Outcome.EXCEEDED, reason=str(error), lesson=lesson, caution=HOT,
                       remedy="Take a MOSFET with a lower plateau, or a gate driver.")  # fmt: skip
    except LabkitError:
        return unknown(
            name, missing="gate-drain charge and plateau voltage of the transistor", reason=reason, lesson=lesson
        )
    share = (on + off) * case.frequency
    if share == 0:
        return None  # a gate without any resistance switches at once
    watts = 0.5 * case.voltage * case.running_current * share
    return judged(
        name, share, 0.05, "", lesson=lesson, reason=reason, caution=HOT,
        formula=f"(t_on + t_off)·f = ({Si(on):s} + {Si(off):s})·{Si(case.frequency):Hz} = {share:.3f}; "
        f"½·V·I of it is {Si(watts):W}",
        remedy=f"Stay below {Si(0.04 / (on + off)):Hz}, or bring gate and pin resistance below {Si(case.gate_path * 0.04 / share):ohm}.",
    )  # fmt: skip


#: What looks, and the part of the drive that its finding is about.
FINDINGS = {
    gate_lets_through: "switch",
    resistance_at_real_gate: "switch",
    voltage_lost: "switch",
    current_rating: "switch",
    breakdown: "switch",
    high_side: "switch",
    base_current: "gate",
    swapped: "switch",
    held_off: "pull-down",
    gate_divider: "pull-down",
    gate_peak: "gate",
    switching_share: "gate",
}
