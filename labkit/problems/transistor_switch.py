"""Lesson 5, the transistor as a switch: gate voltage, on-resistance, base current."""

from __future__ import annotations

import dataclasses
import math

from labkit.checks import Mistake, Numbers, Option, Parts, Question, Symbol, Value
from labkit.parts import Drive, desk_wind_tunnel
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M7, M25, M26, M28, M29, M30
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]

SHEET = SheetPlan(
    name="transistor-switch",
    lesson=LESSONS[5],
    about="Between pin and motor stands a transistor: a small voltage at its gate lets a large current through.",
    values=(
        Value("high_level", "the pin's high level", "V", ("3.1", "3.2", "3.3"), "3.3"),
        Value.stepped(
            "output_resistance", "the pin's own resistance", "Ω", least="30", most="60", step="2", reference="40"
        ),
        Value("gate_resistor", "the gate resistor", "Ω", ("150", "180", "220", "270", "330"), "150"),
        Value("pull_down", "the pull-down", "kΩ", ("0.82", "1.0", "1.2", "1.5"), "1.0"),
        Value.stepped("voltage", "the supply", "V", least="5.0", most="7.5", step="0.5", reference="6.0"),
        Value.stepped("resistance", "the motor's winding", "Ω", least="2.4", most="3.8", step="0.1", reference="2.8"),
        Value.stepped(
            "small_resistance",
            "a small transistor's on-resistance",
            "Ω",
            least="1.2",
            most="2.0",
            step="0.1",
            reference="1.8",
        ),
        Value.stepped(
            "drain_reading", "drain to source, switched on", "mV", least="60", most="140", step="5", reference="75"
        ),
        Value.stepped("current", "the motor's current", "A", least="0.30", most="0.48", step="0.02", reference="0.40"),
        Value("base_resistor", "the base resistor", "Ω", ("330", "390", "470", "560", "680"), "470"),
    ),
    questions=(
        Question(
            title="Gate voltage with this pull-down",
            wording="The pull-down of {pull_down} sits on the gate's side of the gate resistor of {gate_resistor}; "
            "the pin gives {high_level} (leave its own resistance aside). Which voltage does the gate get?",
            unit="V",
            answer=lambda n: n.high_level * n.pull_down / (n.pull_down + n.gate_resistor),
            mistakes=(
                Mistake(
                    "pull-down forgotten", "nothing is taken to flow through the pull-down", lambda n: n.high_level
                ),
                Mistake(
                    "the other part of the divider",
                    "the drop across the gate resistor is taken",
                    lambda n: n.high_level * n.gate_resistor / (n.pull_down + n.gate_resistor),
                ),
            ),
            why="The gate takes none, but the pull-down does: both resistors divide the voltage.",
            hints=("Which current flows through the two resistors?", "V · pull-down / (pull-down + gate resistor)."),
            worked=("V = {high_level} · {pull_down} / ({pull_down} + {gate_resistor}) = {answer}",),
        ),
        Question(
            title="First current into the gate",
            wording="At the moment of switching on, the gate is an empty capacitor. The pin gives {high_level} "
            "through its own {output_resistance} and the gate resistor of {gate_resistor}. Which current "
            "flows at first?",
            unit="mA",
            answer=lambda n: n.high_level / (n.gate_resistor + n.output_resistance),
            mistakes=(
                Mistake(M28, "a gate is taken to draw no current, ever", lambda _: 0.0),
                Mistake(
                    "inner resistance forgotten",
                    "the pin's own resistance is left out",
                    lambda n: n.high_level / n.gate_resistor,
                ),
                Mistake(
                    "gate resistor forgotten",
                    "only the pin's own resistance is counted",
                    lambda n: n.high_level / n.output_resistance,
                ),
            ),
            why="Only the resistances limit that first gulp; then it dies away.",
            hints=("An empty capacitor is a short circuit at first.", "Which resistances are in the way?"),
            worked=("I = {high_level} / ({gate_resistor} + {output_resistance}) = {answer}",),
        ),
        Question(
            title="On-resistance from a reading",
            wording="Switched on, with {current} flowing from {voltage}, the meter shows {drain_reading} from "
            "drain to source. "
            "What is the on-resistance?",
            unit="mΩ",
            answer=lambda n: n.drain_reading / n.current,
            mistakes=(
                Mistake("supply for drain", "the supply is divided by the current", lambda n: n.voltage / n.current),
                Mistake("inverse", "the current is divided by the voltage", lambda n: n.current / n.drain_reading),
                Mistake(
                    "multiplied instead of divided",
                    "reading and current are multiplied",
                    lambda n: n.drain_reading * n.current,
                ),
            ),
            why="Two readings tell what your transistor does at your gate voltage.",
            hints=("Which voltage belongs to the transistor itself?", "R = V / I, with the drain's reading."),
            worked=("R = {drain_reading} / {current} = {answer}",),
        ),
        Question(
            title="Voltage that a small transistor leaves",
            wording="A small transistor has {small_resistance} at this gate voltage, the winding {resistance}, "
            "the supply {voltage}. "
            "Which voltage is at the motor while it still stands?",
            unit="V",
            answer=lambda n: n.voltage * n.resistance / (n.resistance + n.small_resistance),
            mistakes=(
                Mistake(M26, "a transistor above its threshold is taken to drop nothing", lambda n: n.voltage),
                Mistake(
                    "the other part of the divider",
                    "the transistor's own drop is taken",
                    lambda n: n.voltage * n.small_resistance / (n.resistance + n.small_resistance),
                ),
            ),
            why="On-resistance and winding share the supply, most unkindly at the start.",
            hints=(
                "A standing motor is a resistance, and so is a transistor that is on.",
                "The two divide the supply.",
            ),
            worked=("V = {voltage} · {resistance} / ({resistance} + {small_resistance}) = {answer}",),
        ),
        Question(
            title="Drain voltage while off",
            wording="The gate is at 0 V, the motor stands, the supply is {voltage}. What does the meter show from"
            " drain to source?",
            unit="V",
            answer=lambda n: n.voltage,
            mistakes=(
                Mistake(M7, "no current is taken to mean no voltage", lambda _: 0.0),
                Mistake("body diode", "the body diode's 0.7 V are taken", lambda _: 0.7),
            ),
            why="Nothing flows, nothing drops in the motor, so the switch holds it all.",
            hints=("What drops across a motor without current?", "Go round the loop."),
            worked=("motor: nothing", "switch: {answer}"),
        ),
        Question(
            title="Base current of a bipolar transistor",
            wording="A bipolar transistor instead: the pin gives {high_level} (its own resistance left aside) "
            "through {base_resistor}; the base sits at 0.7 V. Which base current flows?",
            unit="mA",
            answer=lambda n: (n.high_level - 0.7) / n.base_resistor,
            gives="base_current",
            mistakes=(
                Mistake(
                    "base drop forgotten", "the base is taken to drop nothing", lambda n: n.high_level / n.base_resistor
                ),
                Mistake(M28, "a base is taken for a gate that draws nothing", lambda _: 0.0),
                Mistake("sign", "the base's 0.7 V are added", lambda n: (n.high_level + 0.7) / n.base_resistor),
            ),
            why="The resistor sees what the base leaves of the pin's voltage.",
            hints=("Which voltage is across the base resistor?", "Pin minus 0.7 V, over the resistor."),
            worked=("I = ({high_level} − 0.7 V) / {base_resistor} = {answer}",),
        ),
        Question(
            title="Current that this base can switch",
            wording="For hard switching count on ten times the base current (pin {high_level}, {base_resistor}, "
            "base at 0.7 V). "
            "Which motor current can it switch?",
            unit="mA",
            answer=lambda n: 10 * n.base_current,
            mistakes=(
                Mistake("small-signal gain", "the data sheet's gain of 100 is used", lambda n: 100 * n.base_current),
                Mistake("base for collector", "the base current itself is given", lambda n: n.base_current),
                Mistake(
                    "divided instead of multiplied", "the base current is divided by ten", lambda n: n.base_current / 10
                ),
            ),
            why="A motor that needs amperes is out of a bare pin's reach this way.",
            hints=(
                "The large gain of the data sheet holds only while the transistor is half open.",
                "Ten times the base current.",
            ),
            worked=("I = 10 · {base_current:mA} = {answer}",),
        ),
        Question(
            title="Drain and source",
            wording="An N-channel MOSFET switches the low side of a motor on {voltage}. How is it connected?",
            options=(
                Option(
                    "Source to the motor, drain to ground: current runs from source to drain.",
                    M30,
                    "That way round its body diode conducts, and the motor never stops.",
                ),
                Option("Drain to the motor, source to ground: current runs from drain to source."),
                Option(
                    "Gate to the motor, so that the motor's current opens it.", M28, "The gate only takes the signal."
                ),
            ),
            why="The drain is nearer to +; the gate's voltage counts from the source, which is at ground.",
            hints=("Which terminal must be nearer to + for the body diode to block?",),
            worked=(
                "Body diode: from source to drain. To keep it blocked, the drain has to be the more positive one.",
            ),
        ),
    ),
)


def _circuit(n: Numbers) -> Drive:
    """Return the desk wind tunnel with this learner's supply and motor, and nothing chosen yet."""
    drive = desk_wind_tunnel()
    return dataclasses.replace(
        drive,
        supply=dataclasses.replace(drive.supply, voltage=n.quantity("voltage")),
        motor=dataclasses.replace(
            drive.motor, resistance=n.quantity("resistance"), rated_voltage=n.quantity("voltage")
        ),
    )


#: Every plan that was handed out, and the one of today.
SHEETS = (
    SHEET,
    SHEET.later(
        "2026-12",
        questions=(
            Question(
                title="Gate voltage while it charges as a formula",
                wording="At t = 0 the pin goes to V and charges the gate through R, gate resistor and pin together. "
                "Take the gate for a capacitor C, empty at first. Which voltage does it have at t? "
                "Write it as a formula.",
                unit="V",
                symbols=(
                    Symbol("V", "the pin's high level", "V", 2.5, 5.0),
                    Symbol("R", "gate resistor and pin", "ohm", 100.0, 400.0),
                    Symbol("C", "the gate's capacitance", "nF", 1.0, 4.0),
                    Symbol("t", "the time since then", "ns", 50.0, 900.0),
                ),
                formula="V·(1 − exp(−t/(R·C)))",
                answer=lambda n: n.V * (1 - math.exp(-n.t / (n.R * n.C))),
                mistakes=(
                    Mistake(
                        "falling for rising", "the gate is taken to empty", lambda n: n.V * math.exp(-n.t / (n.R * n.C))
                    ),
                    Mistake("straight for bent", "it is taken to rise evenly", lambda n: n.V * n.t / (n.R * n.C)),
                    Mistake(M28, "the gate is taken to need no charge, so to be there at once", lambda n: n.V),
                ),
                why="Full current at first, less and less as the gate fills: 63 % after one R·C.",
                hints=(
                    "Which voltage does it have at the start, and which at the end?",
                    "The less is missing, the less current fills it: the current is (V − the gate's voltage)/R.",
                    "What is missing of V falls as exp(−t/(R·C)).",
                ),
                worked=("What is missing falls: V·exp(−t/(R·C))", "What is there: {answer}"),
                difficulty=3,
            ),
            Question(
                title="Parts that switch this motor",
                wording="A 3.3 V pin (40 Ω inside, 20 mA at most) is to switch a motor of {resistance} on {voltage}, "
                "with PWM of 20 kHz and a duty from 0.3 to 1. "
                "Choose transistor, gate resistor, pull-down and freewheel diode so that the review finds nothing "
                "that is exceeded.",
                parts=Parts(
                    names=("transistor", "gate resistor", "pull-down", "diode"),
                    around=_circuit,
                    duty=lambda _: (0.3, 1.0),
                    example="transistor = logic-level MOSFET; gate resistor = 150 ohm; pull-down = 10 kohm; "
                    "diode = Schottky diode",
                ),
                ideas={
                    "voltage that reaches the gate": "gate divided down",
                    "gate while the board starts": "gate left floating",
                    "on-resistance at the real gate voltage": M26,
                    "current that the gate lets through": M26,
                    "peak current into the gate": M28,
                    "share of each period spent switching": M29,
                    "switching loss": M29,
                    "energy into the transistor at each switch-off": M25,
                },
                why="It is fully on at the pin's voltage, off while the board starts, and the kick has its way.",
                hints=(
                    "Look at each part alone: what must the transistor bear, and at which gate voltage is it fully on?",
                    "A gate resistor small enough to switch fast, large enough for the pin; a far larger pull-down.",
                    "The winding's current needs a way to go on; a quick diode makes the least heat.",
                ),
                worked=("Each part by itself, then the review: {answer}",),
                difficulty=3,
                kit=("review", "generic_part"),
            ),
        ),
    ),
)
