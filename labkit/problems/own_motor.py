"""Lesson 10, measure your own motor: constants from readings, and how sure they are."""

from __future__ import annotations

import math
import random

from labkit.checks import Measured, Mistake, Numbers, Option, Question, Value
from labkit.problems.floats import RPM
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M10, M12, M15, M16, M23
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]


SHEET = SheetPlan(
    name="own-motor",
    lesson=LESSONS[10],
    about="A motor without a data sheet, a meter, a few minutes: what the readings say, and how well.",
    values=(
        Value.stepped(
            "low_current", "the smaller current, rotor locked", "mA", least="95", most="130", step="5", reference="100"
        ),
        Value.stepped("low_voltage", "the voltage then", "mV", least="430", most="620", step="10", reference="480"),
        Value.stepped(
            "high_current", "the larger current, rotor locked", "mA", least="270", most="340", step="5", reference="300"
        ),
        Value.stepped("high_voltage", "the voltage then", "mV", least="950", most="1250", step="10", reference="1040"),
        Value.stepped(
            "voltage", "the voltage, running free", "V", least="4.5", most="6.5", step="0.1", reference="6.0"
        ),
        Value.stepped(
            "free_current", "the current, running free", "A", least="0.20", most="0.32", step="0.01", reference="0.26"
        ),
        Value.stepped(
            "free_speed", "the speed, running free", "rpm", least="7000", most="9500", step="100", reference="9000"
        ),
        Value("resistance", "the winding's resistance", "Ω", ("2.6", "2.8", "3.0", "3.2", "3.4"), "2.8"),
        Value("shunt", "a shunt in the loop", "Ω", ("0.47", "0.56", "0.68", "0.82"), "0.56"),
        Value.stepped("rise", "time to 63 % of the current", "µs", least="220", most="380", step="10", reference="270"),
        Value.stepped(
            "spread", "scatter of single readings", "mΩ", least="180", most="420", step="20", reference="300"
        ),
        Value("readings", "how many readings", "", ("6", "8", "9", "12", "16"), "9"),
        Value("blades", "blades of the fan", "", ("3", "5", "6", "7"), "3"),
        Value.stepped("pitch", "pitch of the sound", "Hz", least="280", most="440", step="10", reference="360"),
    ),
    sensible=lambda n: 2.2 < n.slope < 4.2 and 0.08 < n.low_voltage - n.low_current * n.slope < 0.3,
    questions=(
        Question(
            title="Resistance from two readings",
            wording="Rotor locked: {low_voltage} at {low_current}, and {high_voltage} at {high_current}. "
            "The brushes drop the same voltage both times. What is the winding's resistance?",
            unit="Ω",
            answer=lambda n: (n.high_voltage - n.low_voltage) / (n.high_current - n.low_current),
            gives="slope",
            mistakes=(
                Mistake(
                    "brush drop counted as resistance",
                    "one reading's voltage is divided by its current",
                    lambda n: n.high_voltage / n.high_current,
                ),
                Mistake(
                    "brush drop counted as resistance",
                    "the smaller reading's voltage is divided by its current",
                    lambda n: n.low_voltage / n.low_current,
                ),
                Mistake(
                    "inverse",
                    "the currents' difference is divided by the voltages'",
                    lambda n: (n.high_current - n.low_current) / (n.high_voltage - n.low_voltage),
                ),
            ),
            why="What is the same in both readings drops out of the difference.",
            hints=("What do the two readings have in common?", "ΔV / ΔI."),
            worked=("ΔV = {high_voltage} − {low_voltage}", "R = ΔV / ({high_current} − {low_current}) = {answer}"),
        ),
        Question(
            title="Brush drop from two readings",
            wording="From the same readings ({low_voltage} at {low_current}, {high_voltage} at {high_current}): "
            "which constant voltage do the brushes drop?",
            unit="mV",
            tolerance=0.04,
            answer=lambda n: n.low_voltage - n.low_current * n.slope,
            mistakes=(
                Mistake("drop of the winding", "the winding's own drop is given", lambda n: n.low_current * n.slope),
                Mistake("sign", "the winding's drop is added", lambda n: n.low_voltage + n.low_current * n.slope),
                Mistake("reading for drop", "the smaller reading is given as it is", lambda n: n.low_voltage),
            ),
            why="Where the straight line meets zero current.",
            hints=(
                "What is left of a reading when the winding's I · R is taken off?",
                "V − I · R, with the R of the step before.",
            ),
            worked=("R = {slope:ohm}", "V = {low_voltage} − {low_current} · {slope:ohm} = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Motor constant from running free",
            wording="Free at {voltage} it draws {free_current} and turns at {free_speed}; the winding has "
            "{resistance}, "
            "its brushes' drop left aside. What is k?",
            unit="mV·s/rad",
            tolerance=0.015,
            answer=lambda n: (n.voltage - n.free_current * n.resistance) / n.free_speed,
            gives="emf_constant",
            mistakes=(
                Mistake(M12, "the whole voltage is taken for generator EMF", lambda n: n.voltage / n.free_speed),
                Mistake(
                    M15,
                    "the EMF is divided by the rpm",
                    lambda n: (n.voltage - n.free_current * n.resistance) / (n.free_speed * RPM),
                ),
                Mistake(
                    M15,
                    "the EMF is divided by turns a second",
                    lambda n: (n.voltage - n.free_current * n.resistance) * 2 * math.pi / n.free_speed,
                ),
            ),
            why="What the winding leaves is generator EMF, over the speed in radians a second.",
            hints=("How much of the voltage is generator EMF?", "k = (V − I · R) / ω.", "ω = 2π · rpm / 60."),
            worked=("EMF = {voltage} − {free_current} · {resistance}", "k = EMF / {free_speed:rad/s} = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Friction torque from running free",
            wording="Which torque does friction take then ({free_current}, and k from {voltage}, {resistance}, "
            "{free_speed})?",
            unit="mN·m",
            answer=lambda n: n.emf_constant * n.free_current,
            mistakes=(
                Mistake(M16, "the current is divided by Kv in rpm/V", lambda n: n.emf_constant * n.free_current / RPM),
                Mistake(
                    "divided instead of multiplied",
                    "the current is divided by k",
                    lambda n: n.free_current / n.emf_constant,
                ),
                Mistake("power for torque", "voltage and current are multiplied", lambda n: n.voltage * n.free_current),
            ),
            why="A free motor's torque goes into friction alone: k times the free current.",
            hints=("Running evenly, which torque balances friction?", "T = k · I₀."),
            worked=("T = {emf_constant:mV*s/rad} · {free_current} = {answer}",),
        ),
        Question(
            title="Inductance from the rise",
            wording="Rotor locked, the current through winding ({resistance}) and shunt ({shunt}) reaches 63 % "
            "after {rise}. "
            "What is the inductance?",
            unit="mH",
            answer=lambda n: n.rise * (n.resistance + n.shunt),
            mistakes=(
                Mistake("shunt forgotten", "the shunt is left out", lambda n: n.rise * n.resistance),
                Mistake(M23, "the time is divided by the resistance", lambda n: n.rise / (n.resistance + n.shunt)),
                Mistake(M23, "the resistance is divided by the time", lambda n: (n.resistance + n.shunt) / n.rise),
            ),
            why="L = τ · R, with every resistance that is in the loop.",
            hints=("63 % is one time constant.", "τ = L / R: turn it round, and count the shunt."),
            worked=("L = {rise} · ({resistance} + {shunt}) = {answer}",),
        ),
        Question(
            title="How sure the mean is",
            wording="{readings} readings of a resistance at different rotor positions scatter with a standard "
            "deviation of {spread}. "
            "Which standard uncertainty does their mean have?",
            unit="mΩ",
            answer=lambda n: n.spread / math.sqrt(n.readings),
            mistakes=(
                Mistake("scatter for uncertainty", "the scatter of a single reading is given", lambda n: n.spread),
                Mistake(
                    "root forgotten",
                    "the scatter is divided by the number of readings",
                    lambda n: n.spread / n.readings,
                ),
                Mistake(
                    "multiplied instead of divided",
                    "the scatter is multiplied by the root",
                    lambda n: n.spread * math.sqrt(n.readings),
                ),
            ),
            why="Four times the readings halve it; ten more seldom pay.",
            hints=(
                "More readings make the mean surer, but not in proportion.",
                "Scatter over the root of their number.",
            ),
            worked=("{spread} / √{readings} = {answer}",),
        ),
        Question(
            title="Speed from the sound",
            wording="A phone hears a tone of {pitch} from the fan, which has {blades} blades; each blade makes "
            "one beat. "
            "How fast does it turn?",
            unit="rpm",
            answer=lambda n: 2 * math.pi * n.pitch / n.blades,
            mistakes=(
                Mistake("blades forgotten", "each beat is taken for a turn", lambda n: 2 * math.pi * n.pitch),
                Mistake(
                    "turns a second for rpm", "the turns a second are called rpm", lambda n: n.pitch / n.blades / RPM
                ),
                Mistake(
                    "multiplied instead of divided",
                    "the pitch is multiplied by the blades",
                    lambda n: 2 * math.pi * n.pitch * n.blades,
                ),
            ),
            why="Beats a second, over blades, times sixty.",
            hints=("How many beats does one turn make?", "Turns a second = pitch / blades; times 60 is rpm."),
            worked=("turns a second: {pitch} / {blades}", "times 60: {answer}"),
        ),
        Question(
            title="Which reading of k to trust",
            wording="The motor is turned by a drill, nothing else connected. Why is k from this reading the surest?",
            options=(
                Option(
                    "Because the motor does not generate while a drill drives it.",
                    M10,
                    "It generates whenever it turns.",
                ),
                Option("Because no current flows, so winding and brushes drop nothing."),
                Option(
                    "Because a drill's rpm can be put in as they are.",
                    M15,
                    "They still have to become radians a second.",
                ),
            ),
            why="Without current the meter shows the generator EMF itself.",
            hints=("What stands between the EMF and the meter while a current flows?",),
            worked=("V = EMF − I · R − brush drop; with I = 0 the first is all.",),
        ),
    ),
)


def _constant(n: Numbers) -> float:
    """Return the motor constant behind a set of readings: each number of a set has its own [V·s/rad]."""
    return (4.2 + 0.04 * n.set) * 1e-3


def _turned(n: Numbers) -> str:
    """Return readings with a drill: speeds and open voltages, with the scatter of a hand-held tachometer."""
    chance = random.Random(f"readings {n.set:.0f}")  # noqa: S311 (no secret hangs on them)
    lines = ["voltmeter: 0.5 % + 2 counts", "table: generator", "speed [rpm], voltage [V]"]
    for about in (520, 780, 1130, 1420, 1770, 2350):
        speed = about + chance.randrange(-30, 31)
        off = 0.01 * (chance.random() + chance.random() - 1)
        lines.append(f"{speed}, {_constant(n) * speed / RPM * (1 + off):.3f}")
    return "\n".join(lines)


_LAYOUT = "table: locked rotor\nposition, voltage [V], current [mA]\n1, 0.91, 110\n1, 2.41, 310\n2, …"

#: Every plan that was handed out, and the one of today.
SHEETS = (
    SHEET,
    SHEET.later(
        "2026-12",
        caution="One question is for a motor of yours, which can burn you: clamp it, limit the supply to 0.4 A, hold "
        "the rotor under 3 s, then rest it for 30 s.\nAll others need no power: leave it off.",
        values=(Value("set", "the number of your readings", "", tuple(map(str, range(1, 61))), "30"),),
        questions=(
            Question(
                title="Motor constant and how sure it is",
                wording="A drill turned a motor with nothing connected: set {set} of readings. "
                "Find k, and how sure you are of it.",
                unit="mV·s/rad",
                measured=Measured(constant="emf_constant", cap=0.1, readings=_turned),
                answer=_constant,
                mistakes=(
                    Mistake(M15, "the voltage is divided by the rpm", lambda n: _constant(n) / RPM),
                    Mistake(M15, "the voltage is divided by turns a second", lambda n: _constant(n) * 2 * math.pi),
                ),
                why="It agrees with a fit of the readings, within what you and they are sure of.",
                hints=(
                    "Each reading gives a k of its own: V / ω, with ω = 2π · rpm / 60. How far do they scatter?",
                    "Twice the scatter over the root of their number is a fair ±.",
                ),
                worked=("V / ω of each reading, then their mean: about {answer}, ± 1 % or so",),
                difficulty=3,
                kit=("fit_motor", "read_bench"),
            ),
            Question(
                title="Resistance of your own motor",
                wording="Lock the rotor of a motor of yours, its supply limited to 0.4 A; read volts and amperes at "
                "two currents and four positions or more: under 3 s each, then 30 s of rest. "
                "What is the resistance of its winding? No motor? Take readings from bench/fan_motor.csv.",
                unit="ohm",
                measured=Measured(constant="resistance", cap=0.3, layout=_LAYOUT),
                why="It agrees with a fit of your readings, within what you and they are sure of.",
                hints=(
                    "What do two readings at one position have in common? ΔV/ΔI for each position.",
                    "The mean over the positions, ± twice their scatter over the root of their number.",
                ),
                worked=("R = ΔV/ΔI at each position; their mean, and what they scatter.",),
                difficulty=3,
                kit=("fit_motor", "read_bench"),
            ),
        ),
    ),
)
