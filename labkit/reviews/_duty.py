"""Findings on duty and frequency: does it start, creep, hum; what the number in the program means."""

from __future__ import annotations

from labkit.reviews._case import Case, Si, size
from labkit.reviews._finding import Finding, Outcome, judged, unknown

__all__ = ["FINDINGS"]


def starts_at_least_duty(case: Case) -> Finding | None:
    """Below some duty a motor only hums."""
    if not case.pulsed or case.build.motor_on_pin or case.build.start_boost:
        return None
    name, lesson = "duty to start the motor", 8
    reason = "At rest the mean voltage must push enough current through the winding to overcome the starting friction."
    if case.breakaway_current is None:
        return unknown(
            name, missing="the starting voltage of your motor, at several shaft positions", reason=reason, lesson=lesson
        )
    drop, starting, whole = _mean_voltages(case, case.breakaway_current)
    least, across = (starting + drop) / (whole + drop), "V - V_CE" if case.switch_drop else "V"
    return judged(
        name, case.least_duty, least, "", at_least=True, lesson=lesson, reason=reason, tight=0.1,
        formula=f"(V_start + V_F)/({across} + V_F) = ({Si(starting):V} + {Si(drop):V})/{Si(whole + drop):V} = {least:.2f} to start; "
        f"your least is {case.least_duty:.2f}",
        remedy=f"Do not start below a duty of {min(1.1 * least, 1.0):.2f}, or start at full duty and drop.",
    )  # fmt: skip


def _mean_voltages(case: Case, amps: float) -> tuple[float, float, float]:
    """Return the diode's drop, what that current takes across winding and leads, and what pulses bring there [V]."""
    whole = max(case.voltage - case.switch_drop, 1e-9)
    return case.diode_drop, amps * (case.winding + case.series), whole


def creeps(case: Case) -> Finding | None:
    """Running friction is less than starting friction: between the two a motor runs on, but does not start."""
    if not case.pulsed or case.breakaway_current is None or case.build.start_boost or case.build.motor_on_pin:
        return None
    friction = size(case.drive.motor.friction_torque, "N*m") + case.load_torque
    needed = (_mean_voltages(case, amps) for amps in (friction / case.k, case.breakaway_current))
    runs, starts = ((across + drop) / (whole + drop) for drop, across, whole in needed)
    if not runs < case.least_duty < starts:
        return None
    return judged(
        "duty to creep without a boost", case.least_duty, starts, "", at_least=True, lesson=8,
        reason="It takes more to get a shaft moving than to keep it moving: at this duty a running motor runs on, and a resting one only hums.",
        formula=f"runs on above D = {runs:.2f}, starts above D = {starts:.2f}",
        remedy="Let the program start at full duty for about 50 ms, then drop to the duty you want.",
    )  # fmt: skip


def count_is_not_per_cent(case: Case) -> Finding | None:
    """A duty is the count over the top of the counter."""
    if case.duty_count is None:
        return None
    given, meant = case.duty_count / case.build.duty_top, case.duty
    return judged(
        "duty that the program's number gives", abs(given - meant), 0.02, "", lesson=11, tight=0.0,
        reason="The number in the program counts up to the timer's top; it is no percentage.",
        formula=f"D = n/top = {case.duty_count:g}/{case.build.duty_top:g} = {100 * given:.1f} %, meant {100 * meant:.1f} %",
        remedy=f"Write {round(meant * case.build.duty_top)} for {100 * meant:.0f} %.",
    )  # fmt: skip


def pin_can_pulse(case: Case) -> Finding | None:
    """A pin without a PWM unit is on or off, nothing between."""
    if case.build.pin_has_pwm or not case.pulsed:
        return None
    return Finding(
        name="PWM on this pin", outcome=Outcome.EXCEEDED, lesson=11,
        reason="This pin knows only on and off: below half of the range it is off, above it is on.",
        remedy="Move the gate to a pin with PWM.",
    )  # fmt: skip


def whine(case: Case) -> Finding | None:
    """A frequency within hearing is heard."""
    if not case.pulsed or case.build.motor_on_pin:
        return None
    audible = judged(
        "frequency above hearing", case.frequency, 20e3, "Hz", at_least=True, lesson=8, tight=0.0,
        reason="Winding and fan follow the switching frequency: within hearing it is a whine.",
        formula=f"f = {Si(case.frequency):Hz}; people hear up to about 20 kHz",
        remedy="Raise it to 20 kHz or more, and look at the switching loss again.",
    )  # fmt: skip
    return audible.softened("It is a nuisance, not a danger.") if audible.outcome is Outcome.EXCEEDED else audible


def smooth_current(case: Case) -> Finding | None:
    """Speed follows duty in proportion only while the current never stops."""
    if not case.pulsed or case.build.motor_on_pin or not case.runs:
        return None
    name, lesson = "ripple against the mean current", 8
    reason = "While the current stops in every period, the motor runs faster than duty times voltage says."
    inductance = case.known(case.drive.motor, "inductance", "H")
    if inductance is None:
        return unknown(name, missing="the inductance of the motor", reason=reason, lesson=lesson)
    duty = case.least_duty
    half = case.voltage * duty * (1 - duty) / (2 * inductance * case.frequency)
    amps = case.low_current
    least = case.voltage * duty * (1 - duty) / (2 * inductance * amps) if amps > 0 else 20e3
    found = judged(
        name, half, amps, "A", lesson=lesson, reason=reason, tight=0.0,
        formula=f"V·D(1 - D)/(2·L·f) = {Si(half):A} against a mean of {Si(amps):A} at D = {duty:g}",
        remedy=f"Switch at {Si(1.2 * least):Hz} or more, or measure speed against duty and use the curve.",
    )  # fmt: skip
    return found.softened("The speed is then a curve, not a line.") if found.outcome is Outcome.EXCEEDED else found


def motor_capacitor(case: Case) -> Finding | None:
    """A capacitor across a chopped motor is charged anew in every period."""
    if case.build.motor_capacitor is None or not case.pulsed or case.build.motor_on_pin:
        return None
    farads = size(case.build.motor_capacitor, "F")
    watts = farads * case.voltage**2 * case.frequency
    most = 0.8 * CAPACITOR_LIMIT / (case.voltage**2 * case.frequency)
    return judged(
        "power to charge the motor's capacitor", watts, CAPACITOR_LIMIT, "W", lesson=8,
        reason="In every period the transistor charges the capacitor afresh, with a current that only its resistance limits.",
        formula=f"C·V²·f = {Si(farads):F}·({Si(case.voltage):V})²·{Si(case.frequency):Hz} = {Si(watts):W} "
        f"against {Si(CAPACITOR_LIMIT):W}",
        remedy=f"Leave it out, or keep it below {Si(most):F}: about 100 nF against noise is enough.",
        caution="The transistor that charges it gets hot.",
    )  # fmt: skip


#: A loss that a small transistor without heat sink does not notice [W] (common practice, no source).
CAPACITOR_LIMIT = 0.1


def jerk(case: Case) -> Finding | None:
    """A start at once takes many times the running current."""
    if case.build.motor_on_pin or not case.runs or size(case.build.start_ramp, "s") > 0:
        return None
    times = case.duty * case.starting_current / case.running_current
    found = judged(
        "starting current over running current", times, 5.0, "", lesson=11,
        reason="Switched on at once, the motor jerks, and everything in its loop sees the stalled current.",
        formula=f"D·V/R over the running current = {Si(case.duty * case.starting_current):A}/{Si(case.running_current):A} = {times:.1f}",
        remedy="Raise the duty over about one second.",
    )  # fmt: skip
    return (
        found.softened("It is hard on cells and gears, not a danger.") if found.outcome is Outcome.EXCEEDED else found
    )


#: What looks, and the part of the drive that its finding is about.
FINDINGS = {
    starts_at_least_duty: "motor",
    creeps: "pin",
    count_is_not_per_cent: "pin",
    pin_can_pulse: "pin",
    whine: "motor",
    smooth_current: "motor",
    motor_capacitor: "motor",
    jerk: "motor",
}
