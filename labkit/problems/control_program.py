"""Lesson 11, the control program: numbers in a program, and what they mean outside it."""

from __future__ import annotations

import math

from labkit.checks import Mistake, Option, Question, Value
from labkit.problems.floats import RPM
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M2, M14, M32, M36
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]


SHEET = SheetPlan(
    name="control-program",
    lesson=LESSONS[11],
    about="The program of the desk wind tunnel counts in steps, ticks and pulses. Outside they are volts, "
    "amperes and turns.",
    values=(
        Value("duty", "the duty that is wanted", "", ("0.20", "0.30", "0.35", "0.60", "0.65", "0.70", "0.80"), "0.35"),
        Value("top", "the timer's top", "", ("250", "255", "999", "1023"), "255"),
        Value("clock", "the timer's clock", "MHz", ("8", "12", "16", "48"), "16"),
        Value("divider", "the clock divider", "", ("4", "8", "16", "64"), "8"),
        Value.stepped(
            "start_voltage", "voltage that starts the motor", "V", least="1.4", most="2.4", step="0.1", reference="2.0"
        ),
        Value.stepped("voltage", "the supply", "V", least="5.2", most="7.2", step="0.2", reference="6.0"),
        Value("diode_drop", "the freewheel diode's drop", "V", ("0.4", "0.45", "0.6", "0.7", "0.75"), "0.4"),
        Value.stepped("pulses", "pulses counted", "", least="130", most="290", step="10", reference="180"),
        Value("gate_time", "how long it counts", "s", ("0.2", "0.25", "0.4", "0.8"), "0.4"),
        Value("blades", "pulses for each turn", "", ("3", "5", "6", "7"), "3"),
        Value.stepped("reading", "the converter's number", "", least="90", most="340", step="10", reference="180"),
        Value("reference", "the converter's reference", "V", ("3.0", "3.3"), "3.3"),
        Value("shunt", "the shunt", "Ω", ("0.68", "0.82", "1.2", "1.5"), "1.2"),
        Value("ramp", "how long the ramp lasts", "s", ("0.8", "1.2", "1.5", "2.5"), "1.2"),
        Value("levels", "steps of the ramp", "", ("40", "60", "80", "120"), "60"),
    ),
    questions=(
        Question(
            title="Number for this duty",
            wording="The program is to give a duty of {duty} on a timer whose top is {top}. Which number does it "
            "write?",
            answer=lambda n: n.duty * n.top,
            mistakes=(
                Mistake(M36, "the duty is written as a per cent", lambda n: 100 * n.duty),
                Mistake(M36, "the duty is counted from half of the top", lambda n: n.duty * n.top / 2),
                Mistake("off share for on share", "the off share is counted", lambda n: (1 - n.duty) * n.top),
            ),
            why="The top is all of it, so the duty's share of the top.",
            hints=("The top stands for always on.", "D · top, rounded to a whole number."),
            worked=("{duty} · {top} = {answer}",),
        ),
        Question(
            title="PWM frequency of this timer",
            wording="The timer gets {clock} through a divider of {divider} and starts again after {top} (so top +"
            " 1 ticks). "
            "What is the PWM frequency?",
            unit="kHz",
            answer=lambda n: n.clock / (n.divider * (n.top + 1)),
            mistakes=(
                Mistake("divider forgotten", "the divider is left out", lambda n: n.clock / (n.top + 1)),
                Mistake("top forgotten", "the ticks themselves are taken", lambda n: n.clock / n.divider),
                Mistake("half or double", "up and down are counted", lambda n: n.clock / (2 * n.divider * (n.top + 1))),
                Mistake("inverse", "the period is given", lambda n: n.divider * (n.top + 1) / n.clock),
            ),
            why="Ticks a second over ticks a period. Below 20 kHz you can hear it.",
            hints=("How many ticks a second come out of the divider?", "One period has top + 1 ticks."),
            worked=("ticks: {clock} / {divider}", "f = ticks / ({top} + 1) = {answer}"),
        ),
        Question(
            title="Least duty that starts the motor",
            wording="The motor starts at {start_voltage} of mean voltage. The supply is {voltage}, "
            "the freewheel diode drops {diode_drop} and always conducts while the switch is off. Which duty is that?",
            answer=lambda n: (n.start_voltage + n.diode_drop) / (n.voltage + n.diode_drop),
            mistakes=(
                Mistake("diode forgotten", "the diode is left out", lambda n: n.start_voltage / n.voltage),
                Mistake(M32, "the RMS voltage is made equal", lambda n: (n.start_voltage / n.voltage) ** 2),
                Mistake(
                    "diode once",
                    "the diode's drop is added to one voltage only",
                    lambda n: (n.start_voltage + n.diode_drop) / n.voltage,
                ),
            ),
            tolerance=0.015,
            why="The mean is D·V − (1 − D)·V_F; turned round, that is the duty.",
            hints=("Write the mean voltage with D in it.", "D · V − (1 − D) · V_F = V start: solve for D."),
            worked=("D · ({voltage} + {diode_drop}) = {start_voltage} + {diode_drop}", "D = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Speed from counted pulses",
            wording="The program counts {pulses} pulses in {gate_time}; each turn gives {blades}. How fast does "
            "the fan turn?",
            unit="rpm",
            answer=lambda n: 2 * math.pi * n.pulses / (n.blades * n.gate_time),
            mistakes=(
                Mistake(
                    "turns a second for rpm",
                    "the turns a second are called rpm",
                    lambda n: n.pulses / (n.blades * n.gate_time) / RPM,
                ),
                Mistake(
                    "blades forgotten", "each pulse is taken for a turn", lambda n: 2 * math.pi * n.pulses / n.gate_time
                ),
                Mistake(
                    M14,
                    "the radians a second are called rpm",
                    lambda n: 2 * math.pi * n.pulses / (n.blades * n.gate_time) / RPM,
                ),
            ),
            why="Pulses over pulses a turn, over time, times sixty.",
            hints=("How many turns were that?", "Turns over seconds, times 60."),
            worked=("turns: {pulses} / {blades}", "over {gate_time}, times 60: {answer}"),
        ),
        Question(
            title="Voltage of a converter reading",
            wording="A 10-bit converter (top 1023, reference {reference}) reads {reading} from the shunt. Which "
            "voltage is that?",
            unit="V",
            answer=lambda n: n.reading / 1023 * n.reference,
            gives="shunt_voltage",
            mistakes=(
                Mistake(M36, "the number is read as a per cent", lambda n: n.reading / 100 * n.reference),
                Mistake("8 bits for 10", "the top is taken for 255", lambda n: n.reading / 255 * n.reference),
                Mistake("number for millivolts", "the number is taken for millivolts", lambda n: n.reading / 1000),
            ),
            why="The number's share of the top, of the reference.",
            hints=("The top stands for the reference.", "number / 1023 · reference."),
            worked=("V = {reading} / 1023 · {reference} = {answer}",),
        ),
        Question(
            title="Current of a converter reading",
            wording="The shunt has {shunt}. Which current was that ({reading} of 1023, reference {reference})?",
            unit="A",
            answer=lambda n: n.shunt_voltage / n.shunt,
            mistakes=(
                Mistake(
                    "multiplied instead of divided",
                    "the voltage is multiplied by the shunt",
                    lambda n: n.shunt_voltage * n.shunt,
                ),
                Mistake("volts for amperes", "the voltage is taken for the current", lambda n: n.shunt_voltage),
                Mistake("inverse", "the shunt is divided by the voltage", lambda n: n.shunt / n.shunt_voltage),
            ),
            why="A shunt turns amperes into volts by Ohm's law.",
            hints=("Ohm's law, with the shunt's own resistance.", "I = V / R."),
            worked=("V = {shunt_voltage:V}", "I = {shunt_voltage:V} / {shunt} = {answer}"),
        ),
        Question(
            title="Time between the steps of a ramp",
            wording="The duty is to rise in {levels} equal steps, with the same wait after each, and all of it takes "
            "{ramp}. How long is one wait?",
            unit="ms",
            answer=lambda n: n.ramp / n.levels,
            mistakes=(
                Mistake("multiplied instead of divided", "time and steps are multiplied", lambda n: n.ramp * n.levels),
                Mistake("inverse", "the steps are divided by the time", lambda n: n.levels / n.ramp),
                Mistake("half or double", "twice the steps are counted", lambda n: n.ramp / (2 * n.levels)),
            ),
            why="A ramp of about a second spares supply and brushes the full starting current.",
            hints=("All waits together take the whole ramp.", "Duration over number."),
            worked=("{ramp} / {levels} = {answer}",),
        ),
        Question(
            title="How a program sees a held fan",
            wording="The program reads the current and the pulses. The fan is blocked. What does it see, and do?",
            options=(
                Option("The same current as ever, so it has to wait for smoke.", M2, "A held motor draws the most."),
                Option("Much current and no pulses: it switches off, and waits before it tries again."),
                Option(
                    "No current, since nothing turns.", M2, "What stands generates nothing, so the current is largest."
                ),
            ),
            why="Current up, pulses gone: that pair means a held rotor, and three seconds are enough harm.",
            hints=("What limits the current of a motor that stands?",),
            worked=("No turning, no generator EMF, so V/R flows: off at once, and a pause of half a minute or more.",),
        ),
    ),
)

#: Every plan that was handed out, and the one of today.
SHEETS = (SHEET, SHEET.later("2026-12"))
