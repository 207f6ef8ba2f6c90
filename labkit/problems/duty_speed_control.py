"""Lesson 8, duty-cycle speed control: what a number in the program does to voltage, speed, current and heat."""

from __future__ import annotations

import math

from labkit._kernels.chopper import ChopperSI, chopper
from labkit.checks import Mistake, Numbers, Option, Question, Value
from labkit.problems.floats import RPM, arrays
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M13, M14, M32, M33, M34, M36
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]

_FREQUENCY = 20e3  # Hz, as the sheet says


def _ripple(n: Numbers) -> float:
    """Return the ripple of the motor's current at the duty that the number gives."""
    loop = arrays(
        supply_voltage=n.voltage, resistance=n.resistance, inductance=n.inductance, brush_drop=0.0,
        switch_resistance=0.0, switch_drop=0.0, diode_drop=n.diode_drop, diode_resistance=0.0, source_resistance=0.0,
        body_diode_drop=math.nan, breakdown_voltage=math.nan,
    )  # fmt: skip
    emf = n.mean_voltage - n.current * n.resistance
    return float(chopper(ChopperSI(**loop), **arrays(emf=emf, frequency=_FREQUENCY, duty=n.duty)).ripple)


SHEET = SheetPlan(
    name="duty-speed-control",
    lesson=LESSONS[8],
    about="The program of the desk wind tunnel writes a number to its PWM pin. "
    "The frequency is 20 kHz, so the motor's current is nearly smooth.",
    values=(
        Value.stepped("count", "the number written", "", least="70", most="180", step="5", reference="100"),
        Value("top", "the timer's top", "", ("250", "255"), "255"),
        Value.stepped("voltage", "the supply", "V", least="5.0", most="7.2", step="0.1", reference="6.0"),
        Value("diode_drop", "the freewheel diode's drop", "V", ("0.35", "0.4", "0.45", "0.6", "0.7", "0.75"), "0.4"),
        Value.stepped("current", "the motor's current", "A", least="0.20", most="0.48", step="0.02", reference="0.30"),
        Value.stepped(
            "resistance", "the winding's resistance", "Ω", least="2.2", most="3.4", step="0.1", reference="2.8"
        ),
        Value.stepped(
            "emf_constant", "the motor's constant", "mV·s/rad", least="4.6", most="6.2", step="0.1", reference="5.4"
        ),
        Value.stepped(
            "inductance", "the winding's inductance", "mH", least="0.60", most="1.40", step="0.05", reference="0.90"
        ),
    ),
    sensible=lambda n: n.speed > 150 and abs(n.duty - 0.5) > 0.02,
    questions=(
        Question(
            title="Duty of this number",
            wording="The program writes {count} to a timer whose top is {top}. What is the duty?",
            answer=lambda n: n.count / n.top,
            gives="duty",
            mistakes=(
                Mistake(M36, "the number is read as a per cent", lambda n: n.count / 100),
                Mistake(M36, "the number is divided by half of the top", lambda n: 2 * n.count / (n.top + 1)),
                Mistake(
                    "off share for on share", "the share of time when it is off is given", lambda n: 1 - n.count / n.top
                ),
                Mistake("inverse", "the top is divided by the number", lambda n: n.top / n.count),
            ),
            why="The number counts steps, and the top is all of them.",
            hints=("The number counts steps of the timer. How many are there in all?", "D = number / top."),
            worked=("D = {count} / {top} = {answer}",),
        ),
        Question(
            title="Mean voltage at this duty",
            wording="The program writes {count} of {top}. The supply is {voltage}, the freewheel diode drops "
            "{diode_drop}, "
            "and the current never stops. Leave the transistor's drop aside. Which mean voltage does the motor get?",
            unit="V",
            answer=lambda n: n.duty * n.voltage - (1 - n.duty) * n.diode_drop,
            gives="mean_voltage",
            mistakes=(
                Mistake(M32, "the RMS voltage is taken, V·√D", lambda n: n.voltage * math.sqrt(abs(n.duty))),
                Mistake(
                    "diode forgotten",
                    "the motor is taken to see nothing while the switch is off",
                    lambda n: n.duty * n.voltage,
                ),
                Mistake(
                    "sign", "the diode's drop is added", lambda n: n.duty * n.voltage + (1 - n.duty) * n.diode_drop
                ),
                Mistake(
                    "diode all the time",
                    "the diode's drop is taken off for the whole period",
                    lambda n: n.duty * n.voltage - n.diode_drop,
                ),
            ),
            why="Supply while on, minus one diode drop while off: the mean of the two.",
            hints=(
                "What is across the motor while the switch is off and its current goes round through the diode?",
                "While off it is the diode's drop, the other way round.",
                "D · V − (1 − D) · V_F.",
            ),
            worked=(
                "D = {count} / {top} = {duty}",
                "V = D · {voltage} − (1 − D) · {diode_drop} = {answer}",
            ),
            difficulty=2,
        ),
        Question(
            title="Speed at this duty",
            wording="At that duty ({count} of {top}, {voltage}, diode {diode_drop}) the motor draws {current}. "
            "Its winding has {resistance}, its constant is {emf_constant}. How fast does it turn?",
            unit="rpm",
            tolerance=0.03,
            answer=lambda n: (n.mean_voltage - n.current * n.resistance) / n.emf_constant,
            gives="speed",
            mistakes=(
                Mistake(M13, "the drop across the winding is left out", lambda n: n.mean_voltage / n.emf_constant),
                Mistake(
                    M32,
                    "the RMS voltage is taken, V·√D",
                    lambda n: (n.voltage * math.sqrt(abs(n.duty)) - n.current * n.resistance) / n.emf_constant,
                ),
                Mistake(
                    M14,
                    "the radians a second are called rpm",
                    lambda n: (n.mean_voltage - n.current * n.resistance) / n.emf_constant / RPM,
                ),
                Mistake(
                    "speed in proportion to duty",
                    "the free speed is multiplied by the duty, as if nothing dropped",
                    lambda n: n.duty * n.voltage / n.emf_constant,
                ),
            ),
            why="What the winding leaves of the mean voltage is generator EMF, and that sets the speed.",
            hints=(
                "Of the mean voltage, how much does the current use up in the winding?",
                "EMF = mean voltage − I · R, and ω = EMF / k.",
                "rpm = rad/s · 60 / 2π.",
            ),
            worked=(
                "mean voltage: {mean_voltage:V}",
                "EMF = {mean_voltage:V} − {current} · {resistance}",
                "ω = EMF / k = {speed:rad/s}, which is {answer}",
            ),
            difficulty=2,
        ),
        Question(
            title="Battery current under PWM",
            wording="The motor's current is smooth, {current}, and the program writes {count} of {top}. "
            "Which average current does the battery give?",
            unit="A",
            answer=lambda n: n.duty * n.current,
            mistakes=(
                Mistake(M34, "the battery is taken to give the motor's current all the time", lambda n: n.current),
                Mistake(M34, "the duty is counted twice", lambda n: n.duty**2 * n.current),
                Mistake("off share for on share", "the diode's share is taken", lambda n: (1 - n.duty) * n.current),
                Mistake(
                    "divided instead of multiplied", "the current is divided by the duty", lambda n: n.current / n.duty
                ),
            ),
            why="The battery is in the loop only while the switch is on.",
            hints=(
                "When is the battery in the motor's loop?",
                "It gives the motor's current for the share D of the time.",
            ),
            worked=("I = D · {current} = {answer}",),
        ),
        Question(
            title="Diode current under PWM",
            wording="Same motor: {current}, smooth, {count} of {top}. Which average current does the freewheel diode "
            "carry?",
            unit="A",
            answer=lambda n: (1 - n.duty) * n.current,
            mistakes=(
                Mistake("on share for off share", "the switch's share is taken", lambda n: n.duty * n.current),
                Mistake("all the time", "the diode is taken to carry the current all the time", lambda n: n.current),
                Mistake("kick only", "the diode is taken to carry only a short kick", lambda _: 0.0),
            ),
            why="The diode carries the motor's current whenever the switch does not.",
            hints=("Where does the motor's current go while the switch is off?", "It is off for 1 − D of the time."),
            worked=("I = (1 − D) · {current} = {answer}",),
        ),
        Question(
            title="Copper loss of a held rotor, slow PWM",
            wording="Someone holds the shaft and switches slowly, so that in each pulse the current rises fully. "
            "{voltage} at the motor, winding {resistance}, {count} of {top}, ideal diode. "
            "How much heat arises in the winding on average?",
            unit="W",
            answer=lambda n: n.duty * n.voltage**2 / n.resistance,
            gives="slow_loss",
            mistakes=(
                Mistake(
                    M33,
                    "the mean voltage is squared, as fast PWM would allow",
                    lambda n: (n.duty * n.voltage) ** 2 / n.resistance,
                ),
                Mistake("duty forgotten", "the pulse is taken to last for ever", lambda n: n.voltage**2 / n.resistance),
            ),
            why="Full heat for a share D of the time. Never hold a shaft for more than three seconds.",
            hints=(
                "How much heat arises during one pulse, once the current has risen?",
                "V²/R while on, nothing while off.",
            ),
            worked=("while on: V² / R", "on average: D · ({voltage})² / {resistance} = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Copper loss of a held rotor, fast PWM",
            wording="The same held rotor ({voltage}, {resistance}, {count} of {top}, ideal diode) is switched so fast "
            "that its current stays smooth. How much heat arises in the winding now?",
            unit="W",
            answer=lambda n: (n.duty * n.voltage) ** 2 / n.resistance,
            mistakes=(
                Mistake(M33, "fast PWM is taken to heat like slow PWM", lambda n: n.duty * n.voltage**2 / n.resistance),
                Mistake(
                    "duty forgotten", "the switch is taken to be on all the time", lambda n: n.voltage**2 / n.resistance
                ),
                Mistake(
                    "square forgotten on the duty and the voltage",
                    "the mean voltage is not squared",
                    lambda n: n.duty * n.voltage / n.resistance,
                ),
            ),
            why="A smooth current D·V/R heats with its square: D times less than the same in bursts.",
            hints=("Which smooth current flows?", "I = D · V / R, and the heat is I² · R."),
            worked=("I = D · {voltage} / {resistance}", "P = I² · {resistance} = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Ripple of the motor's current",
            wording="Running with {count} of {top} at 20 kHz ({voltage}, diode {diode_drop}, winding {resistance} "
            "and {inductance}, mean current {current}): by how much does the current rise and fall in each period?",
            unit="mA",
            tolerance=0.03,
            answer=_ripple,
            gives="ripple",
            mistakes=(
                Mistake(
                    "whole voltage for the whole on-time",
                    "the generator EMF is left out while the switch is on",
                    lambda n: n.duty * n.voltage / (n.inductance * _FREQUENCY),
                ),
                Mistake(
                    "half or double",
                    "half of the swing is taken, from the mean to the peak",
                    lambda n: 0.5 * n.duty * (1 - n.duty) * (n.voltage + n.diode_drop) / (n.inductance * _FREQUENCY),
                ),
                Mistake(
                    "duty forgotten",
                    "the voltage is taken for the whole period",
                    lambda n: n.voltage / (n.inductance * _FREQUENCY),
                ),
            ),
            why="While off, EMF, drop and diode pull it down by what it rises while on. High frequency keeps it small.",
            hints=(
                "How long is the switch off in each period, and which voltage is across the inductance then?",
                "While off it is about the mean voltage plus the diode's drop, D · (V + V_F).",
                "ΔI ≈ D · (1 − D) · (V + V_F) / (L · f).",
            ),
            worked=(
                "D = {duty}",
                "ΔI ≈ D · (1 − D) · ({voltage} + {diode_drop}) / ({inductance} · 20 kHz)",
                "exactly, with exponentials: {answer}",
            ),
            difficulty=3,
        ),
        Question(
            title="What sets the speed",
            wording="You write {count} of {top} and look at the voltage across the motor. What of it sets the speed?",
            options=(
                Option("Its mean, less what the current drops in the winding."),
                Option("Its RMS value.", M32, "RMS tells how a resistor heats."),
                Option(
                    "Its peak, since the pulses are always at full voltage.",
                    "peak for mean",
                    "The rotor is far too heavy to follow single pulses.",
                ),
            ),
            why="The rotor evens out the pulses, and only the mean remains.",
            hints=("The rotor cannot follow 20 000 pulses a second. What is left when they are evened out?",),
            worked=("Over one period the winding's own L·di/dt averages to nothing: mean voltage = I·R + k·ω.",),
        ),
    ),
)

#: Every plan that was handed out, and the one of today.
SHEETS = (SHEET, SHEET.later("2026-12"))
