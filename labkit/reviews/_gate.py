"""Findings on what drives the transistor: base current, gate voltage, the gate while the board starts, its edges."""

from __future__ import annotations

import math

from labkit.errors import LabkitError, NoSolutionError
from labkit.parts import Bipolar, Mosfet, Side
from labkit.reviews._case import Case, Si, size
from labkit.reviews._finding import TIGHT, Finding, Outcome, judged, unknown
from labkit.reviews._transistor import HOT, fitted
from labkit.simulation import switching_times

__all__ = ["FINDINGS"]


def base_current(case: Case) -> Finding | None:
    """A switched bipolar transistor carries ten times its base current, and no more."""
    switch = case.drive.switch
    if not fitted(case) or not isinstance(switch, Bipolar) or case.build.side is Side.HIGH:
        return None
    name, lesson = "collector current that the base allows", 5
    reason = (
        "A bipolar transistor used as a switch carries about ten times its base current, a Darlington some hundreds."
    )
    if case.base_current is None:
        return unknown(name, missing="the base resistor", reason=reason, lesson=lesson)
    pin = case.known(case.drive.pin, "current_limit", "A") or math.inf
    base = min(case.base_current, pin)
    most, needed = switch.gain * base, case.starting_current / switch.gain
    asked = min(1.25 * needed, pin)
    ohms = case.base_volts / asked - case.pin_resistance if asked else math.inf
    remedy = f"Take a base resistor of {Si(ohms):ohm} or less."
    if needed > pin or ohms <= 0:
        rated = f" {Si(pin):A}" if math.isfinite(pin) else ""
        remedy = f"No base resistor will do: the base needs {Si(needed):A}, more than the pin's{rated}. Take a MOSFET."
    return judged(
        name, most, case.starting_current, "A", at_least=True, lesson=lesson, reason=reason, caution=HOT,
        formula=f"{switch.gain:g}·I_B = {switch.gain:g}·{Si(base):A} = {Si(most):A}; the start takes {Si(case.starting_current):A}",
        remedy=remedy,
    )  # fmt: skip


def base_from_pin(case: Case) -> Finding | None:
    """A base takes its current out of the pin for as long as the motor runs."""
    if not fitted(case) or case.base_current is None or case.build.side is Side.HIGH:
        return None
    name, lesson = "base current out of the pin", 5
    limit = case.known(case.drive.pin, "current_limit", "A")
    reason = "A base is no gate: it takes its current out of the pin for as long as the motor is on."
    if limit is None:
        return unknown(name, missing="the test current of your pin", reason=reason, lesson=lesson)
    volts = case.base_volts
    return judged(
        name, case.base_current, limit, "A", lesson=lesson, reason=reason, tight=0.0,
        formula=f"(V_pin - V_BE)/(R_B + R_pin) = {Si(volts):V}/{Si(volts / case.base_current):ohm} "
        f"= {Si(case.base_current):A} against {Si(limit):A}" if case.base_current else "no current flows",
        remedy=f"Take a base resistor of {Si(max(volts / limit - case.pin_resistance, 0.0)):ohm} or more.",
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
    peak, how = math.inf, "no resistance between pin and gate: nothing limits the current to"
    if case.gate_path:
        peak = case.pin_voltage / case.gate_path
        how = f"V/(R_g + R_pin) = {Si(case.pin_voltage):V}/{Si(case.gate_path):ohm} = {Si(peak):A} against"
    resistor = case.pin_voltage / limit - case.pin_resistance
    return judged(
        name, peak, limit, "A", lesson=lesson, reason=reason, tight=0.0, formula=f"{how} {Si(limit):A}",
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
        formula=f"(t_on + t_off)·f = ({Si(on):s} + {Si(off):s})·{Si(case.frequency):Hz} = {share:.3f}, 0.05 at most; "
        f"½·V·I of it is {Si(watts):W}",
        remedy=f"Stay below {Si(0.04 / (on + off)):Hz}, or bring gate and pin resistance below {Si(case.gate_path * 0.04 / share):ohm}.",
    )  # fmt: skip


#: No transistor that switches a motor is made for less at its gate [V] (common practice, no source).
EVERY_GATE = 5.0


def gate_rating(case: Case) -> Finding | None:
    """The gate's insulation against the voltage that drives it."""
    switch = case.drive.switch
    if not fitted(case) or not isinstance(switch, Mosfet) or case.build.side is Side.HIGH:
        return None
    limit, name, lesson = case.known(switch, "max_gate_voltage", "V"), "gate voltage against its rating", 5
    volts = case.gate_voltage
    reason = (
        "The gate's insulation is thin: beyond its rating it breaks through at once and for good, whatever the current."
    )
    if limit is None:
        if volts <= EVERY_GATE:
            return None
        return unknown(name, missing="the greatest gate-source voltage of the transistor", reason=reason, lesson=lesson)
    return judged(
        name, volts, limit, "V", lesson=lesson, reason=reason,
        formula=f"V_GS = {Si(volts):V} against the rated {Si(limit):V}",
        remedy=f"Drive the gate with {Si((1 - TIGHT) * limit):V} or less, or take a transistor rated {Si(volts / (1 - TIGHT)):V} or more there.",
        caution="A gate that broke through can leave the motor running, and put its supply on the pin.",
    )  # fmt: skip


#: What looks, and the part of the drive that its finding is about.
FINDINGS = {
    base_current: "gate",
    base_from_pin: "gate",
    held_off: "pull-down",
    gate_divider: "pull-down",
    gate_peak: "gate",
    switching_share: "gate",
    gate_rating: "gate",
}
