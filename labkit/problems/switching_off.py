"""Lesson 7, switching off: the winding's current goes on, and something has to carry it."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from labkit.checks import Axis, Mistake, Numbers, Option, Plot, Question, Symbol, Value
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M2, M8, M9, M11, M20, M21, M22, M23, M24, M25
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]

SHEET = SheetPlan(
    name="switching-off",
    lesson=LESSONS[7],
    about="The transistor opens. The winding's current cannot stop at once, and the freewheel diode shows it a way.",
    values=(
        Value.stepped("voltage", "the supply", "V", least="4.8", most="7.2", step="0.1", reference="6.0"),
        Value("diode_drop", "the freewheel diode's drop", "V", ("0.35", "0.4", "0.45", "0.6", "0.7", "0.75"), "0.4"),
        Value.stepped("current", "the motor's current", "A", least="0.28", most="0.48", step="0.01", reference="0.45"),
        Value.stepped(
            "resistance", "the winding's resistance", "Ω", least="2.2", most="3.8", step="0.1", reference="2.8"
        ),
        Value.stepped(
            "inductance", "the winding's inductance", "mH", least="0.60", most="1.40", step="0.05", reference="0.90"
        ),
        Value.stepped(
            "emf_constant", "the motor's constant", "mV·s/rad", least="4.4", most="5.4", step="0.1", reference="5.4"
        ),
        Value.stepped("speed", "the shaft's speed", "rpm", least="5500", most="7500", step="100", reference="7500"),
        Value("fall", "how fast the current falls", "µs", ("4", "5", "6", "8", "12"), "5"),
    ),
    sensible=lambda n: n.emf_constant * n.speed < n.voltage - 0.5,
    questions=(
        Question(
            title="Drain voltage just after switch-off",
            wording="The motor (k = {emf_constant}) turned at {speed} on {voltage}, and the low-side switch has "
            "just opened. "
            "The freewheel diode carries the current and drops {diode_drop}. "
            "Which voltage stands at the drain, against ground?",
            unit="V",
            tolerance=0.01,
            answer=lambda n: n.voltage + n.diode_drop,
            mistakes=(
                Mistake(M8, "the generator EMF is taken for the kick", lambda n: n.emf_constant * n.speed),
                Mistake(M8, "the generator EMF is added to the supply", lambda n: n.voltage + n.emf_constant * n.speed),
                Mistake(
                    M8,
                    "the generator EMF is taken from the supply, as once the diode has stopped",
                    lambda n: n.voltage - n.emf_constant * n.speed,
                ),
                Mistake(M20, "the diode is taken to bring the kick to nothing", lambda _: 0.0),
                Mistake(M20, "the diode is taken to hold the drain at the supply", lambda n: n.voltage),
                Mistake(M20, "the diode's own drop is taken", lambda n: n.diode_drop),
                Mistake("sign", "the diode's drop is taken off", lambda n: n.voltage - n.diode_drop),
            ),
            why="One diode drop above the supply, whatever the speed: the diode holds it there.",
            hints=(
                "The diode's band end is at the supply. Which end conducts at the higher voltage?",
                "A diode that conducts has its drop across it: the drain is above the supply.",
            ),
            worked=("V = {voltage} + {diode_drop} = {answer}",),
        ),
        Question(
            title="Diode current just after switch-off",
            wording="The motor drew {current} from {voltage} through {resistance}. Which current flows in the "
            "winding just after "
            "the switch has opened? Count the direction from before as positive.",
            unit="A",
            answer=lambda n: n.current,
            mistakes=(
                Mistake(M21, "the current is taken to turn round", lambda n: -n.current),
                Mistake(M21, "the current is taken to stop at once", lambda _: 0.0),
                Mistake(M21, "the supply over the winding is taken", lambda n: n.voltage / n.resistance),
            ),
            why="A winding's current goes on as it was; it only takes another way.",
            hints=("Can a current in a winding jump?", "It goes on, with its size and its direction."),
            worked=("Just after as just before: {answer}",),
        ),
        Question(
            title="Energy stored in the winding",
            wording="How much energy is stored in the winding of {inductance} at {current}? ({voltage} are at the"
            " motor.)",
            unit="µJ",
            answer=lambda n: 0.5 * n.inductance * n.current**2,
            mistakes=(
                Mistake(M24, "the ½ is left out", lambda n: n.inductance * n.current**2),
                Mistake(M24, "the current is not squared", lambda n: 0.5 * n.inductance * n.current),
                Mistake(
                    M24, "the voltage is squared instead of the current", lambda n: 0.5 * n.inductance * n.voltage**2
                ),
            ),
            why="Half L times the square of the current: twice the current is four times the energy.",
            hints=("It goes with the square of something that flows.", "W = ½ · L · I²."),
            worked=("W = ½ · {inductance} · ({current})² = {answer}",),
        ),
        Question(
            title="Energy with a jammed rotor",
            wording="The rotor is jammed, and its current has risen as far as it goes: {voltage} at a winding of "
            "{resistance} and {inductance} (running it drew {current}). "
            "How much energy is in the winding when the switch opens?",
            unit="mJ",
            answer=lambda n: 0.5 * n.inductance * (n.voltage / n.resistance) ** 2,
            mistakes=(
                Mistake(M9, "a rotor that stands is taken to give no kick", lambda _: 0.0),
                Mistake(M24, "the ½ is left out", lambda n: n.inductance * (n.voltage / n.resistance) ** 2),
                Mistake(M2, "the running current is used", lambda n: 0.5 * n.inductance * n.current**2),
                Mistake(M24, "the current is not squared", lambda n: 0.5 * n.inductance * n.voltage / n.resistance),
            ),
            why="No speed, no generator EMF, but the most current, so the worst kick of all.",
            hints=("Which current flows in a jammed motor?", "W = ½ · L · I², with I = V / R."),
            worked=("I = {voltage} / {resistance}", "W = ½ · {inductance} · I² = {answer}"),
        ),
        Question(
            title="Time constant of the winding",
            wording="The winding has {inductance} and {resistance}. What is its time constant?",
            unit="ms",
            answer=lambda n: n.inductance / n.resistance,
            mistakes=(
                Mistake(M23, "R is divided by L", lambda n: n.resistance / n.inductance),
                Mistake(M23, "R and L are multiplied", lambda n: n.resistance * n.inductance),
            ),
            why="Inductance over resistance: a fraction of a millisecond.",
            hints=("Does more resistance make it slower or faster?", "Only one of L/R, R/L and R·L is a time."),
            worked=("τ = {inductance} / {resistance} = {answer}",),
        ),
        Question(
            title="Current after one time constant",
            wording="The rotor is held and the switch closes: {voltage}, {resistance}, {inductance}. "
            "Which current flows one time constant later?",
            unit="A",
            answer=lambda n: (1 - math.exp(-1)) * n.voltage / n.resistance,
            mistakes=(
                Mistake(M22, "the current is taken to be there at once", lambda n: n.voltage / n.resistance),
                Mistake(M22, "the current is taken not to have begun", lambda _: 0.0),
                Mistake(M22, "what is still missing is taken, 37 %", lambda n: math.exp(-1) * n.voltage / n.resistance),
            ),
            why="63 % of the way after one time constant, 95 % after three.",
            hints=(
                "Where does the current end, after a long time?",
                "After one time constant it has gone 1 − 1/e of the way.",
            ),
            worked=("in the end: {voltage} / {resistance}", "after one time constant: 63 % of it, {answer}"),
            difficulty=2,
        ),
        Question(
            title="Induced voltage at a steady current",
            wording="{current} flow steadily through the winding of {inductance} and {resistance}. "
            "Which voltage does its inductance take, L·di/dt?",
            unit="V",
            allowance=2e-5,
            answer=lambda _: 0.0,
            mistakes=(
                Mistake(M11, "current and resistance are multiplied", lambda n: n.current * n.resistance),
                Mistake(M11, "inductance and current are multiplied", lambda n: n.inductance * n.current),
            ),
            why="Steady means no change, and an inductance answers only to change.",
            hints=("How fast does a steady current change?", "L times a rate of nothing."),
            worked=("di/dt = 0, so L · di/dt = {answer}",),
        ),
        Question(
            title="Kick without a diode",
            wording="Without a diode the current of {current} in {inductance} falls to nothing within {fall}, evenly. "
            "(k = {emf_constant}, {speed}, {resistance}.) How large is the voltage that the inductance makes?",
            unit="V",
            answer=lambda n: n.inductance * n.current / n.fall,
            mistakes=(
                Mistake(M8, "the generator EMF is taken for the kick", lambda n: n.emf_constant * n.speed),
                Mistake(M11, "current and resistance are multiplied", lambda n: n.current * n.resistance),
                Mistake(
                    "half or double",
                    "half of it is taken, as for the energy",
                    lambda n: 0.5 * n.inductance * n.current / n.fall,
                ),
            ),
            why="The faster the current has to stop, the higher the kick: it is the rate that counts.",
            hints=("How many amperes a second is that?", "L · di/dt."),
            worked=("di/dt = {current} / {fall}", "V = {inductance} · di/dt = {answer}"),
        ),
        Question(
            title="The path without a freewheel diode",
            wording="No freewheel diode is fitted and the low-side switch opens at {current}. Which way does the "
            "current take?",
            options=(
                Option(
                    "Through the transistor's body diode, at 0.7 V.",
                    M25,
                    "It does not conduct that way.",
                ),
                Option(
                    "None: without the diode the current just stops.",
                    M22,
                    "A winding does not let its current stop at once.",
                ),
                Option("None is open, so the drain climbs until the transistor breaks down, and then through it."),
                Option("Backwards through the supply.", M21, "The current goes on the same way round."),
            ),
            why="It must go on, so the voltage climbs until something gives way, usually the transistor.",
            hints=("Draw the body diode into the transistor: which way does it conduct?",),
            worked=(
                "Body diode: from ground to drain.",
                "The current wants out of the motor into the drain: blocked, until breakdown.",
            ),
        ),
    ),
)


def _rise_constant(n: Numbers) -> float:
    """Return the time constant of the drawn curve: each number of a curve has its own [s]."""
    return (0.52 + 0.01 * n.curve) * 1e-3


def _rise(n: Numbers, time: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the current of the drawn curve, which ends at 1.30 to 2.05 A [A]."""
    return (1.3 + 0.05 * (7 * n.curve % 16)) * (1 - np.exp(-time / _rise_constant(n)))


_TIME = Axis("time", "ms", 4.0, 0.5, 10)

#: Every plan that was handed out, and the one of today.
SHEETS = (
    SHEET,
    SHEET.later(
        "2026-12",
        values=(Value.stepped("curve", "the number of your curve", "", least="1", most="28", step="1", reference="7"),),
        questions=(
            Question(
                title="Energy in the winding as a formula",
                wording="A winding has the inductance L and the resistance R, V is at it and I flows. "
                "Which energy does its magnetic field hold? Write it as a formula.",
                unit="J",
                symbols=(
                    Symbol("L", "the inductance", "mH", 0.3, 3.0),
                    Symbol("I", "the current", "A", 0.2, 3.0),
                    Symbol("V", "the voltage at the winding", "V", 3.0, 9.0),
                    Symbol("R", "the winding's resistance", "ohm", 1.5, 12.0),
                ),
                formula="½·L·I²",
                answer=lambda n: 0.5 * n.L * n.I**2,
                mistakes=(
                    Mistake(M24, "the half is left out", lambda n: n.L * n.I**2),
                    Mistake(M24, "the current is not squared", lambda n: 0.5 * n.L * n.I),
                    Mistake(M24, "the voltage is squared instead of the current", lambda n: 0.5 * n.L * n.V**2),
                ),
                why="It grows with the square of the current, and R and V have no part in it.",
                hints=(
                    "Only what makes a magnetic field can stand in it.",
                    "Twice the current holds four times the energy.",
                    "It is built as ½·m·v² is.",
                ),
                worked=("The power into the field is L·I·dI/dt.", "Summed up from no current: {answer}"),
            ),
            Question(
                title="Time constant off a curve",
                wording="The rotor is held, and the switch is closed at 0 ms. The picture shows the current of curve "
                "number {curve}. Read the time constant off it.",
                unit="ms",
                tolerance=0.0,
                plot=Plot(
                    subject="Current in a held motor after its switch is closed, on ruled paper.",
                    across=_TIME,
                    up=Axis("current", "A", 2.5, 0.5, 5),
                    curve=_rise,
                    reads=_TIME,
                ),
                answer=_rise_constant,
                mistakes=(
                    Mistake(
                        "half for 63 %",
                        "the time to half of the last current is read",
                        lambda n: math.log(2) * _rise_constant(n),
                    ),
                    Mistake(
                        M22,
                        "37 % of the last current is taken",
                        lambda n: -math.log(1 - math.exp(-1)) * _rise_constant(n),
                    ),
                    Mistake(
                        "end of the rise for its time constant",
                        "the time until nothing changes any more is read",
                        lambda n: 5 * _rise_constant(n),
                    ),
                ),
                why="After one time constant the current has gone 63 % of its way.",
                hints=(
                    "Where does the current end? Which part of that is there after one time constant?",
                    "Go along at 63 % of the last current until you meet the curve, then down.",
                ),
                worked=("63 % of the last current, along to the curve, and down to the time: {answer}",),
            ),
        ),
    ),
)
