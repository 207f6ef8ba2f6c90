"""Lesson 3, generator action: a motor that is turned gives a voltage, and drags when it is loaded."""

from __future__ import annotations

import math

from labkit.checks import Mistake, Option, Question, Symbol, Value
from labkit.problems.floats import RPM
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M8, M10, M12, M14, M15, M16, M35
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]


SHEET = SheetPlan(
    name="generator-action",
    lesson=LESSONS[3],
    about="The fan of the desk wind tunnel is blown on, or turned by a slow drill, and its motor becomes a generator.",
    values=(
        Value.stepped(
            "emf_constant", "the motor's constant", "mV·s/rad", least="4.6", most="6.2", step="0.1", reference="5.4"
        ),
        Value.stepped("speed", "the shaft's speed", "rpm", least="2600", most="4800", step="100", reference="3000"),
        Value.stepped(
            "resistance", "the winding's resistance", "Ω", least="2.2", most="3.8", step="0.1", reference="2.8"
        ),
        Value("resistor", "the resistor across the terminals", "Ω", ("10", "12", "15", "18", "22", "27"), "10"),
        Value.stepped(
            "led_voltage", "the LED's forward voltage", "V", least="1.7", most="2.2", step="0.05", reference="1.8"
        ),
        Value.stepped("drill_speed", "the drill's speed", "rpm", least="900", most="1600", step="50", reference="1500"),
        Value.stepped("reading", "the meter's reading", "mV", least="450", most="950", step="10", reference="850"),
        Value.stepped("voltage", "the voltage at the motor", "V", least="5.0", most="6.4", step="0.1", reference="6.0"),
        Value.stepped(
            "driven_speed", "the speed while driven", "rpm", least="6000", most="8800", step="100", reference="8400"
        ),
    ),
    sensible=lambda n: (
        n.emf_constant * n.driven_speed < 0.93 * n.voltage and 0.0042 < n.reading / n.drill_speed < 0.0066
    ),
    questions=(
        Question(
            title="Generator EMF at this speed",
            wording="The shaft turns at {speed} and nothing is connected to the motor. "
            "Its constant is {emf_constant}. Which voltage does it generate?",
            unit="V",
            answer=lambda n: n.emf_constant * n.speed,
            gives="emf",
            mistakes=(
                Mistake(M14, "k is multiplied by the speed in rpm", lambda n: n.emf_constant * n.speed * RPM),
                Mistake(M14, "k is multiplied by turns a second", lambda n: n.emf_constant * n.speed / (2 * math.pi)),
            ),
            why="The generator EMF is k times the speed in radians a second, and nothing else.",
            hints=(
                "Which unit of speed does k count in?",
                "One turn is 2π radians, one minute 60 seconds. Turn the speed into rad/s first.",
                "ω = 2π · rpm / 60, then EMF = k · ω.",
            ),
            worked=("ω = {speed} = {speed:rad/s}", "EMF = k · ω = {emf_constant} · {speed:rad/s} = {answer}"),
        ),
        Question(
            title="Current into a resistor",
            wording="The shaft is kept at {speed} (k = {emf_constant}, winding {resistance}) "
            "and a resistor of {resistor} is put across the motor's terminals. Which current flows?",
            unit="A",
            answer=lambda n: n.emf / (n.resistance + n.resistor),
            gives="load_current",
            mistakes=(
                Mistake(
                    "inner resistance forgotten",
                    "the winding's own resistance is left out of the loop",
                    lambda n: n.emf / n.resistor,
                ),
                Mistake("resistor forgotten", "only the winding is counted", lambda n: n.emf / n.resistance),
                Mistake(
                    M14,
                    "k is multiplied by the speed in rpm",
                    lambda n: n.emf_constant * n.speed * RPM / (n.resistance + n.resistor),
                ),
            ),
            why="The generator EMF drives one current through winding and resistor together.",
            hints=(
                "Which resistances does the current pass on its way round?",
                "The winding and the resistor are in one loop: add them.",
                "I = EMF / (R + resistor).",
            ),
            worked=("EMF = k · ω = {emf:V}", "I = {emf:V} / ({resistance} + {resistor}) = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Voltage left at the terminals",
            wording="In the same loop (winding {resistance}, resistor {resistor}, k = {emf_constant}, {speed}): "
            "which voltage does a meter show across the resistor?",
            unit="V",
            answer=lambda n: n.load_current * n.resistor,
            mistakes=(
                Mistake(M35, "the whole generator EMF is taken to be at the terminals", lambda n: n.emf),
                Mistake(
                    "the other part of the divider",
                    "the drop across the winding is taken",
                    lambda n: n.load_current * n.resistance,
                ),
            ),
            why="The meter sees the EMF less what the winding drops: a generator sags under load as a battery does.",
            hints=(
                "The meter is across the resistor. Which current passes it?",
                "Across a resistor stands current times resistance: take the current of the step before.",
                "V = I · resistor, or EMF − I · R.",
            ),
            worked=("I = {load_current:A}", "V = I · resistor = {load_current:A} · {resistor} = {answer}"),
        ),
        Question(
            title="Drag torque of the loaded generator",
            wording="With that resistor of {resistor} connected (winding {resistance}, k = {emf_constant}, {speed}), "
            "how much more torque does the shaft need than with nothing connected?",
            unit="mN·m",
            answer=lambda n: n.emf_constant * n.load_current,
            mistakes=(
                Mistake(M10, "a generator is taken to have no motor torque of its own", lambda _: 0.0),
                Mistake(M16, "the current is divided by Kv in rpm/V", lambda n: n.load_current * n.emf_constant / RPM),
                Mistake(
                    "power for torque", "the power into both resistances is taken", lambda n: n.emf * n.load_current
                ),
            ),
            why="The same k that makes volts from speed makes torque from current, and here it brakes.",
            hints=(
                "A current in the winding makes a torque, whichever way the energy goes.",
                "The constant is the same number for volts per speed and for torque per current.",
                "T = k · I, with the current of the loop.",
            ),
            worked=("I = {load_current:A}", "T = k · I = {emf_constant} · {load_current:A} = {answer}"),
        ),
        Question(
            title="Speed that lights the LED",
            wording="A red LED needs {led_voltage} before it lights. At which speed does the motor "
            "(k = {emf_constant}) just reach that?",
            unit="rpm",
            answer=lambda n: n.led_voltage / n.emf_constant,
            mistakes=(
                Mistake(M14, "the radians a second are called rpm", lambda n: n.led_voltage / n.emf_constant / RPM),
                Mistake(
                    "turns a second for rpm",
                    "the turns a second are called rpm",
                    lambda n: n.led_voltage / n.emf_constant / 60,
                ),
                Mistake(
                    "multiplied instead of divided",
                    "the voltage is multiplied by k",
                    lambda n: n.led_voltage * n.emf_constant,
                ),
            ),
            why="Below that speed nothing lights: say the number before anyone spins.",
            hints=(
                "Turn EMF = k · ω round.",
                "ω = V / k comes out in radians a second.",
                "Multiply the rad/s by 60 and divide by 2π to have rpm.",
            ),
            worked=("ω = V / k = {led_voltage} / {emf_constant}", "in turns a minute: {answer}"),
        ),
        Question(
            title="Motor constant from a spin",
            wording="Another fan motor is turned by a drill at {drill_speed}, nothing else connected. "
            "The meter across it shows {reading}. What is its constant k?",
            unit="mV·s/rad",
            answer=lambda n: n.reading / n.drill_speed,
            mistakes=(
                Mistake(M15, "the volts are divided by the rpm", lambda n: n.reading / (n.drill_speed * RPM)),
                Mistake(
                    M15,
                    "the volts are divided by turns a second",
                    lambda n: n.reading / (n.drill_speed / (2 * math.pi)),
                ),
                Mistake("inverse", "the speed is divided by the volts", lambda n: n.drill_speed / n.reading),
            ),
            why="No current flows, so neither winding nor brushes drop anything: the cleanest way to find k.",
            hints=(
                "With no current the meter shows the generator EMF itself.",
                "k = EMF / ω, with ω in radians a second.",
                "ω = 2π · rpm / 60.",
            ),
            worked=("ω = {drill_speed} = {drill_speed:rad/s}", "k = {reading} / {drill_speed:rad/s} = {answer}"),
        ),
        Question(
            title="Generator EMF while driven",
            wording="A motor (k = {emf_constant}) is driven with {voltage} at its terminals "
            "and turns at {driven_speed}. How large is its generator EMF?",
            unit="V",
            answer=lambda n: n.emf_constant * n.driven_speed,
            mistakes=(
                Mistake(M10, "a driven motor is taken to generate nothing", lambda _: 0.0),
                Mistake(M12, "the EMF is taken to equal the voltage at the terminals", lambda n: n.voltage),
                Mistake(
                    "the rest of the voltage",
                    "what is left for the winding is taken",
                    lambda n: n.voltage - n.emf_constant * n.driven_speed,
                ),
                Mistake(M14, "k is multiplied by the speed in rpm", lambda n: n.emf_constant * n.driven_speed * RPM),
            ),
            why="Driven or blown on, only the speed counts. What is left to the voltage drives the current.",
            hints=(
                "Does the winding know why the shaft turns?",
                "EMF = k · ω, whether the motor is driven or turned.",
                "ω = 2π · rpm / 60.",
            ),
            worked=("ω = {driven_speed:rad/s}", "EMF = {emf_constant} · {driven_speed:rad/s} = {answer}"),
        ),
        Question(
            title="Polarity of the generator EMF",
            wording="The motor is driven forward: its + terminal is at {voltage}. "
            "Which way does its generator EMF point at this moment?",
            options=(
                Option(
                    "The other way from the supply, which is why a diode has to catch it.",
                    M8,
                    "What the diode catches is the switch-off kick.",
                ),
                Option(
                    "The same way as the supply, + at the + terminal, so that less voltage is left for the winding."
                ),
                Option("No way: a motor that is driven does not generate.", M10, "It turns, so it generates."),
            ),
            why="It stands against the supply in the loop, + to +. That sign keeps the freewheel diode blocked.",
            hints=(
                "If it pointed the other way, a faster motor would draw more current.",
                "Turn the shaft forward by hand with a meter connected: which terminal is +?",
            ),
            worked=(
                "Turned forward by hand, the + terminal is positive. It is the same when the supply does the turning.",
            ),
        ),
    ),
)

#: Every plan that was handed out, and the one of today.
SHEETS = (
    SHEET,
    SHEET.later(
        "2026-12",
        questions=(
            Question(
                title="Drag torque as a formula",
                wording="A motor with the constant k and the winding R is turned at ω, and feeds a resistor r. "
                "Which torque does the current ask of whoever turns it (leave friction aside)? Write it as a formula.",
                unit="mN·m",
                symbols=(
                    Symbol("k", "the motor constant", "mV*s/rad", 3.0, 9.0),
                    Symbol("omega", "the shaft's speed", "rad/s", 100.0, 900.0, "ω"),
                    Symbol("R", "the winding", "ohm", 1.5, 6.0),
                    Symbol("r", "the resistor", "ohm", 8.0, 40.0),
                ),
                formula="k²·ω/(R + r)",
                answer=lambda n: n.k**2 * n.omega / (n.R + n.r),
                mistakes=(
                    Mistake("winding forgotten", "only the resistor is counted", lambda n: n.k**2 * n.omega / n.r),
                    Mistake("resistor forgotten", "only the winding is counted", lambda n: n.k**2 * n.omega / n.R),
                    Mistake(
                        "current for torque", "the current is given as it is", lambda n: n.k * n.omega / (n.R + n.r)
                    ),
                    Mistake(
                        "power for torque",
                        "the power that becomes heat is given",
                        lambda n: (n.k * n.omega) ** 2 / (n.R + n.r),
                    ),
                    Mistake(M16, "the current is divided by k", lambda n: n.omega / (n.R + n.r)),
                ),
                why="k makes the voltage, k makes the torque: so it stands there squared, and the drag grows with ω.",
                hints=(
                    "Which current flows in the loop of winding and resistor?",
                    "The torque of a current is k · I, whichever way the energy goes.",
                    "Put the current k · ω / (R + r) into k · I.",
                ),
                worked=("I = k·ω/(R + r)", "T = k·I = {answer}"),
                difficulty=2,
                kit=(),
            ),
        ),
    ),
)
