"""Findings on the pin and the supply: who can feed the motor, and what the board sees when it starts."""

from __future__ import annotations

import math

from labkit.parts import Converter, Regulator
from labkit.reviews._case import Case, Si, size
from labkit.reviews._finding import TIGHT, Finding, Outcome, judged, unknown

__all__ = ["FINDINGS"]

HOT = "It burns fingers before it fails: do not touch it, and switch off first."


def pin_feeds_motor(case: Case) -> Finding | None:
    """A motor hung on the pin itself takes V/R at the start, whatever it takes later."""
    if not case.build.motor_on_pin:
        return None
    name, lesson = "current out of the pin", 1
    limit = case.known(case.drive.pin, "current_limit", "A")
    reason = "At the start a motor is only its winding, and the pin is asked for all that the winding takes."
    if limit is None:
        return unknown(
            name, missing="the test current of your pin, in the board's data sheet", reason=reason, lesson=lesson
        )
    amps = case.pin_current
    return judged(
        name, amps, limit, "A", lesson=lesson, reason=reason,
        formula=f"V_pin/(R + R_series + R_pin) = {Si(case.pin_voltage):V}/{Si(case.pin_voltage / amps):ohm} = {Si(amps):A} "
        f"against {Si(limit):A}",
        remedy=f"Let a transistor carry the motor: the pin then gives no more than {Si(limit):A} for an instant.",
    )  # fmt: skip


def motor_starts(case: Case) -> Finding | None:
    """The current at standstill must reach what gets the shaft off its rest."""
    needed, name, lesson = case.breakaway_current, "current to start the shaft", 2
    if needed is None:
        return None
    on_pin = case.build.motor_on_pin
    if not on_pin and case.standing_current < case.starting_current:
        return None  # the transistor holds the current back, which the findings on gate and base say
    volts, amps = (case.pin_voltage, case.pin_current) if on_pin else (case.voltage, case.starting_current)
    most = (volts if on_pin else max(volts - case.switch_drop, 0.0)) / (1 + TIGHT) / needed if needed else math.inf
    return judged(
        name, amps, needed, "A", at_least=True, lesson=lesson,
        reason="Below this current the shaft stays where it is, and all that the winding takes becomes heat.",
        formula=f"k·I = {Si(case.k):V*s/rad}·{Si(amps):A} = {Si(case.k * amps):N*m} against {Si(case.k * needed):N*m} to start",
        remedy=f"Bring all resistance in the loop below {Si(most):ohm}, or raise the voltage.",
    )  # fmt: skip


def regulator_heat(case: Case) -> Finding | None:
    """A linear regulator burns what it drops."""
    made_by = case.drive.supply.made_by
    if not isinstance(made_by, Regulator) or not case.runs:
        return None
    drop = size(made_by.input_voltage, "V") - case.voltage
    watts, limit = drop * case.running_current, size(made_by.max_dissipation, "W")
    return judged(
        "heat in the regulator", watts, limit, "W", lesson=9, caution=HOT,
        reason="The regulator turns the voltage that it takes off, times the motor's current, into heat.",
        formula=f"(V_in - V_out)·I = {Si(drop):V}·{Si(case.running_current):A} = {Si(watts):W} against {Si(limit):W}",
        remedy=f"Feed the motor before the regulator, or keep it below {Si((1 - TIGHT) * limit / max(drop, 1e-9)):A}.",
    )  # fmt: skip


def converter_cell(case: Case) -> Finding | None:
    """A boosted cell gives the motor's power at its own lower voltage."""
    made_by = case.drive.supply.made_by
    if not isinstance(made_by, Converter):
        return None
    name, lesson = "current out of the cell", 9
    cell = size(made_by.cell_voltage, "V")
    times = case.voltage / (made_by.efficiency * cell)
    amps = times * case.starting_current
    reason = f"A converter takes the motor's power from the cell at the cell's own voltage: {times:.1f} times the motor's current."
    limit = case.known(made_by, "cell_current_limit", "A")
    if limit is None:
        return unknown(name, missing="the current that your cell may give", reason=reason, lesson=lesson)
    return judged(
        name, amps, limit, "A", lesson=lesson, reason=reason,
        formula=f"V·I/(η·V_cell) = {Si(case.voltage):V}·{Si(case.starting_current):A}"
        f"/({made_by.efficiency:g}·{Si(cell):V}) = {Si(amps):A} against {Si(limit):A}",
        remedy="Feed the motor from the cell itself, or put enough cells in parallel: a bigger converter changes nothing.",
        caution="A lithium cell that is asked for too much gets hot and can catch fire: put a fuse at the cell.",
    )  # fmt: skip


def start_against_limit(case: Case) -> Finding | None:
    """What the source is made to give, against the motor's current at standstill."""
    limit = case.known(case.drive.supply, "current_limit", "A")
    if limit is None or case.build.motor_on_pin:
        return None
    amps, demand = case.starting_current, case.demand
    volts, sums = case.voltage - case.switch_drop, "(V - V_CE)/(R + r)" if case.switch_drop else "V/(R + R_on + r)"
    sums = f"{sums} = {Si(volts):V}/{Si(volts / amps):ohm} = {Si(amps):A}" if amps > 0 else "0 A"
    if case.ramped:
        sums = f"with a ramp little more than the running current, {Si(demand):A}; without it {Si(amps):A}"
    return judged(
        "starting current from the supply", demand, limit, "A", lesson=9,
        reason="For an instant every start is a stall: a supply that folds back there lets the motor twitch and try again.",
        formula=f"{sums}; the supply gives {Si(limit):A}",
        remedy=f"Take a supply of {Si(1.25 * demand):A} or more, or raise the duty over about one second.",
    )  # fmt: skip


def sag_at_start(case: Case) -> Finding | None:
    """The voltage that is left for the board while the motor starts."""
    limit = case.known(case.drive.supply, "brown_out", "V")
    if limit is None or case.build.motor_on_pin:
        return None
    amps = case.demand
    volts = case.voltage - amps * case.source
    return judged(
        "supply while the motor starts", volts, limit, "V", at_least=True, lesson=9,
        reason="The motor's starting current drops voltage in the source, and the board on the same source may reset.",
        formula=f"V - I·r = {Si(case.voltage):V} - {Si(amps):A}·{Si(case.source):ohm} = {Si(volts):V} against {Si(limit):V}",
        remedy=_against_sag(case, limit, amps),
    )  # fmt: skip


def _against_sag(case: Case, limit: float, amps: float) -> str:
    """Return what keeps the board up; a smaller source resistance lets more current flow, and that is counted."""
    if case.voltage <= limit or amps <= 0:
        return "Give the board a supply of its own: this one is too low for it without any motor."
    aim = limit * (1 + TIGHT) if case.voltage > limit * (1 + TIGHT) else limit
    others = (case.voltage - case.switch_drop) / amps - case.source  # what else limits the current
    flows = amps if case.ramped else (aim - case.switch_drop) / others
    most = (case.voltage - aim) / flows if flows > 0 else math.inf
    ramp = "" if case.ramped else "start with a ramp, "
    return f"Bring the source below {Si(most):ohm}, {ramp}or give the board a supply of its own."


def source_against_winding(case: Case) -> Finding | None:
    """A weak source keeps the voltage to itself: what of it reaches a stalled motor."""
    if case.build.motor_on_pin:
        return None
    share = case.winding / (case.winding + case.source)
    return judged(
        "share of the voltage that reaches the stalled motor", share, 0.5, "", at_least=True, lesson=9,
        reason="A source with as many ohms as the winding keeps half of its voltage just when the motor needs it.",
        formula=f"R/(R + r) = {Si(case.winding):ohm}/{Si(case.winding + case.source):ohm} = {share:.2f}; "
        f"{Si(case.voltage * share):V} is left",
        remedy=f"Take a source below {Si(0.6 * case.winding):ohm}: more cells in parallel, or larger ones.",
    )  # fmt: skip


def voltage_on_motor(case: Case) -> Finding | None:
    """A motor on much more than it was wound for overheats and overspeeds."""
    rated = case.known(case.drive.motor, "rated_voltage", "V")
    if rated is None:
        return None
    whole = case.pin_voltage if case.build.motor_on_pin else case.voltage
    volts = case.duty * whole
    return judged(
        "voltage on the motor", volts, 1.3 * rated, "V", lesson=4,
        reason="Free speed grows with the voltage, stalled heat with its square, and with a fan the running heat nearly with its fourth power.",
        formula=f"D·V = {case.duty:g}·{Si(whole):V} = {Si(volts):V} against 1.3 times the rated {Si(rated):V}; "
        f"stalled heat x {(volts / rated) ** 2:.1f}",
        remedy=f"Keep the duty below {min(1.0, rated / whole):.2f}, or take fewer cells.",
        caution="A fan beyond its speed can throw a blade: wear eye protection and stand out of its plane.",
    )  # fmt: skip


def series_resistor(case: Case) -> Finding | None:
    """Slowing by a resistor costs starting torque and burns power."""
    if case.build.series_resistor is None or case.build.motor_on_pin:
        return None
    ohms = size(case.build.series_resistor, "ohm")
    share = case.winding / (case.winding + ohms)
    burnt = case.running_current**2 * ohms
    return judged(
        "starting torque behind the series resistor", share, 0.8, "", at_least=True, lesson=8,
        reason="The resistor takes starting torque away, lets the speed sag with load, and burns power.",
        formula=f"R/(R + R_s) = {share:.2f} of the torque; I²·R_s = {Si(burnt):W}",
        remedy="Leave the resistor out and lower the duty instead.",
        caution=HOT,
    )  # fmt: skip


#: A cartridge fuse needs about this multiple of its rating to melt in seconds (from memory).
MELTS = 2.75


def running_current(case: Case) -> Finding | None:
    """Half of the sums need to know what the motor takes while it runs."""
    if case.runs or case.build.motor_on_pin:
        return None
    return unknown(
        "running current", missing="the motor's friction torque (k times its free current), or its load", lesson=4,
        reason="Without friction and load the motor would run on no current at all, and no sum on heat, fuse or diode is left.",
    )  # fmt: skip


def fuse(case: Case) -> Finding | None:
    """A fuse must hold the running current and end a stall."""
    if case.build.motor_on_pin or not case.runs:
        return None
    name, lesson = "fuse on a stall", 9
    stall, run = case.starting_current, case.running_current
    if stall > case.let_through:
        stall = case.bare_current  # what a transistor that is a switch will let it take
    reason = "A fuse has to hold while the motor runs and to open when it is held, or it protects nothing."
    remedy = _which_fuse(run, stall)
    if case.build.fuse is None:
        return Finding(name=name, outcome=Outcome.TIGHT, reason=reason, lesson=lesson, remedy=remedy,
                       caution="Without a fuse a short circuit is ended by whatever burns first.")  # fmt: skip
    rating = size(case.build.fuse.rating, "A")
    if run > rating:
        return judged(name, run, rating, "A", lesson=lesson, reason=reason, remedy=remedy,
                      formula=f"running current {Si(run):A} against {Si(rating):A}")  # fmt: skip
    opens = MELTS * rating if case.build.fuse.trip is None else size(case.build.fuse.trip, "A")
    return judged(
        name, stall, opens, "A", at_least=True, lesson=lesson, reason=reason, remedy=remedy,
        formula=f"stall {Si(stall):A} against {Si(opens):A} that opens it; running {Si(run):A}",
    )  # fmt: skip


def _which_fuse(run: float, stall: float) -> str:
    opens = stall / (1 + TIGHT)
    if run < opens / MELTS:
        return f"Take a cartridge fuse rated between {Si(run):A} and {Si(opens / MELTS):A}."
    return (
        f"No cartridge fuse fits: take a resettable one that holds {Si(run):A} and trips below {Si(opens):A}, "
        "or let the program cut a stall."
    )


#: What looks, and the part of the drive that its finding is about.
FINDINGS = {
    running_current: "motor",
    pin_feeds_motor: "pin",
    motor_starts: "motor",
    regulator_heat: "supply",
    converter_cell: "supply",
    start_against_limit: "supply",
    sag_at_start: "supply",
    source_against_winding: "supply",
    voltage_on_motor: "motor",
    series_resistor: "motor",
    fuse: "fuse",
}
