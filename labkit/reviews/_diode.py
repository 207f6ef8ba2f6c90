"""Findings on the freewheel diode: is there a way for the winding's current, and does it bear it."""

from __future__ import annotations

import math

from labkit.parts import DiodePlace
from labkit.reviews._case import Case, Si, size
from labkit.reviews._finding import Finding, Outcome, judged, unknown

__all__ = ["FINDINGS"]

_NEXT_TO_NOTHING = 1e-9  #: J: a transistor's own capacitance of some 100 pF takes it before 5 V are reached

CAUTION = "A transistor that breaks down can fail short: the motor then runs with the program stopped."


def _frees_the_winding(case: Case) -> bool:
    return case.drive.diode is not None and case.build.diode_place is DiodePlace.MOTOR


def kick_has_a_way(case: Case) -> Finding | None:
    """Without a diode across the motor the winding's energy ends in the transistor."""
    if case.build.motor_on_pin or _frees_the_winding(case):
        return None
    name, lesson = "energy into the transistor at each switch-off", 7
    reason = "The winding's current must go on to its own + end; with no diode there, the transistor breaks down and takes it."
    if case.drive.diode is not None:
        reason = "A diode across the transistor is not in the motor's loop: it blocks until the transistor breaks down."
    inductance = case.known(case.drive.motor, "inductance", "H")
    clamp = case.known(case.drive.switch, "breakdown_voltage", "V")
    if inductance is None or clamp is None:
        missing = "the inductance of the motor" if inductance is None else "the breakdown voltage of the transistor"
        return unknown(name, missing=f"{missing}; but fit the diode in any case", reason=reason, lesson=lesson)
    remedy = "Put a diode straight across the motor, band to the supply's +."
    if clamp <= case.voltage:
        return Finding(name=name, outcome=Outcome.EXCEEDED, reason=reason, lesson=lesson, caution=CAUTION, remedy=remedy,
                       formula=f"it breaks down at {Si(clamp):V}, and the supply alone has {Si(case.voltage):V}")  # fmt: skip
    feeds_on = clamp / (clamp - case.voltage)
    amps = case.standing_current
    joules = 0.5 * inductance * amps**2 * feeds_on
    if joules < _NEXT_TO_NOTHING:
        return Finding(
            name=name,
            outcome=Outcome.UNKNOWN,
            reason=f"{reason} This one lets so little current through that there is next to nothing to take.",
            remedy="Choose a transistor that this gate voltage turns on, and fit the diode in any case.",
            lesson=lesson,
        )
    return judged(
        name, joules, 0.0, "J", lesson=lesson, reason=reason, caution=CAUTION,
        formula=f"½·L·I²·V_BR/(V_BR - V) = ½·{Si(inductance):H}·({Si(amps):A})²·{feeds_on:.2f} = {Si(joules):J} "
        f"when stalled, at {Si(clamp):V}",
        remedy=remedy,
    )  # fmt: skip


def reversed_diode(case: Case) -> Finding | None:
    """The wrong way round the diode shorts the supply through the transistor."""
    if case.drive.diode is None or not case.build.diode_reversed or case.build.motor_on_pin:
        return None
    name, lesson = "current through the diode with the transistor on", 7
    reason = "Band away from +, the diode conducts as soon as the transistor closes: a short circuit."
    drop = size(case.drive.diode.forward_voltage, "V")
    ohms = case.switch_resistance or 0.0
    loop = case.source + (ohms if math.isfinite(ohms) else 0.0) + size(case.drive.diode.slope_resistance, "ohm")
    amps = (case.voltage - drop) / max(loop, 1e-3)
    limit = case.known(case.drive.diode, "max_current", "A")
    return judged(
        name, amps, limit if limit is not None else 0.0, "A", lesson=lesson, reason=reason,
        formula=f"(V - V_F)/(r + R_on) = ({Si(case.voltage):V} - {Si(drop):V})/{Si(loop):ohm} = {Si(amps):A}",
        remedy="Before power: turn it round, band to +.",
        caution="Diode and leads get hot enough to burn within a second.",
    )  # fmt: skip


def diode_current(case: Case) -> Finding | None:
    """The diode carries the motor's current for the rest of each period."""
    if case.drive.diode is None or not case.pulsed or case.build.motor_on_pin or not case.runs:
        return None
    limit, name, lesson = case.known(case.drive.diode, "max_current", "A"), "mean current through the diode", 7
    reason = "While the transistor is off, the whole motor current runs through the diode."
    if limit is None:
        return unknown(name, missing="the current rating of the diode", reason=reason, lesson=lesson)
    duty, amps = max(zip(case.duties, case.mean_currents, strict=True), key=lambda at: (1.0 - at[0]) * at[1])
    mean = float((1.0 - duty) * amps)
    drop = case.diode_drop + float(amps) * size(case.drive.diode.slope_resistance, "ohm")
    return judged(
        name, mean, limit, "A", lesson=lesson, reason=reason,
        formula=f"(1 - D)·I = {1 - duty:.2f}·{Si(amps):A} = {Si(mean):A} against {Si(limit):A}; "
        f"times its {Si(drop):V} that is {Si(mean * drop):W}",
        remedy=f"Take a diode rated {Si(1.25 * mean):A} or more.",
        caution="A diode that runs at its rating is too hot to touch.",
    )  # fmt: skip


def recovery(case: Case) -> Finding | None:
    """A slow diode conducts backwards for an instant at every turn-on."""
    if case.drive.diode is None or not case.pulsed or case.build.motor_on_pin:
        return None
    charge, name, lesson = case.known(case.drive.diode, "recovery_charge", "C"), "recovery loss of the diode", 7
    reason = "At each turn-on the diode must be cleared of its charge, through the transistor and out of the supply."
    if charge is None:
        return unknown(
            name, missing="the recovery charge of the diode; a Schottky diode has none", reason=reason, lesson=lesson
        )
    watts = charge * case.voltage * case.frequency
    return judged(
        name, watts, RECOVERY_LIMIT, "W", lesson=lesson, reason=reason,
        formula=f"Q_rr·V·f = {Si(charge):C}·{Si(case.voltage):V}·{Si(case.frequency):Hz} = {Si(watts):W} "
        f"against {Si(RECOVERY_LIMIT):W}",
        remedy="Take a Schottky diode.",
        caution="",
    )  # fmt: skip


#: A loss that a small transistor without heat sink does not notice [W] (common practice, no source).
RECOVERY_LIMIT = 0.1


def blocks(case: Case) -> Finding | None:
    """While the transistor conducts, the diode stands the whole supply the blocking way."""
    if not _frees_the_winding(case) or case.build.diode_reversed or case.build.motor_on_pin:
        return None
    limit, name, lesson = case.known(case.drive.diode, "reverse_voltage", "V"), "reverse voltage of the diode", 7
    reason = (
        "While the transistor is on, the diode stands the whole supply the blocking way, and a spike at each turn-on."
    )
    if limit is None:
        if case.voltage <= EVERY_DIODE:
            return None
        return unknown(name, missing="the greatest reverse voltage of the diode", reason=reason, lesson=lesson)
    return judged(
        name, case.voltage, limit, "V", lesson=lesson, reason=reason,
        formula=f"V_R = V = {Si(case.voltage):V} against the rated {Si(limit):V}",
        remedy=f"Take a diode of {Si(2 * case.voltage):V} or more.",
        caution="A diode that breaks down fails short: it then joins + to the transistor, which shorts the supply.",
    )  # fmt: skip


#: No freewheel diode is made for less [V] (common practice, no source): below it the figure need not be known.
EVERY_DIODE = 10.0

#: What looks, and the part of the drive that its finding is about.
FINDINGS = {
    kick_has_a_way: "diode",
    reversed_diode: "diode",
    diode_current: "diode",
    recovery: "diode",
    blocks: "diode",
}
