"""Lesson 2, the motor as a load: resistance, stall, and heat that grows with the square."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from labkit.checks import Axis, Mistake, Numbers, Option, Plot, Question, Value
from labkit.problems.floats import RPM
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M2, M4, M5, M18, M19, M35
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]


SHEET = SheetPlan(
    name="motor-as-load",
    lesson=LESSONS[2],
    about="The fan motor on four AA cells: what it draws when it runs, and what it draws when something holds it.",
    values=(
        Value.stepped("voltage", "the voltage at the motor", "V", least="4.5", most="6.4", step="0.1", reference="6.0"),
        Value.stepped(
            "resistance", "the winding's resistance", "Ω", least="2.2", most="3.8", step="0.1", reference="2.8"
        ),
        Value.stepped(
            "current", "the running motor's current", "A", least="0.30", most="0.48", step="0.01", reference="0.45"
        ),
        Value.stepped(
            "free_current", "the free motor's current", "A", least="0.08", most="0.16", step="0.01", reference="0.11"
        ),
        Value.stepped("inner", "the cells' own resistance", "Ω", least="0.4", most="0.9", step="0.1", reference="0.6"),
        Value.stepped("series", "a resistor in the loop", "Ω", least="1.0", most="2.0", step="0.2", reference="1.2"),
    ),
    sensible=lambda n: n.voltage - n.current * n.resistance > 2.5 and abs(n.series - n.resistance) > 0.15,
    questions=(
        Question(
            title="Current when held still",
            wording="The motor runs with {current}, free with {free_current}. Its winding has {resistance}, and "
            "{voltage} are at it. "
            "Which current flows while the shaft is held still?",
            unit="A",
            answer=lambda n: n.voltage / n.resistance,
            gives="stall_current",
            mistakes=(
                Mistake(M2, "the running current is taken to stay", lambda n: n.current),
                Mistake(M2, "the free current is taken to stay", lambda n: n.free_current),
                Mistake(
                    "multiplied instead of divided",
                    "voltage and resistance are multiplied",
                    lambda n: n.voltage * n.resistance,
                ),
            ),
            why="A rotor that stands generates nothing, so only the winding limits the current.",
            hints=("What does a standing rotor generate?", "All of the voltage is left for the winding: Ohm's law."),
            worked=("I = V / R = {voltage} / {resistance} = {answer}",),
        ),
        Question(
            title="Heat of the held motor",
            wording="Held still at {voltage}, with {resistance} in the winding: how much heat arises in it? "
            "(Running, it draws {current}.)",
            unit="W",
            answer=lambda n: n.stall_current**2 * n.resistance,
            mistakes=(
                Mistake(M2, "the running current is used", lambda n: n.current**2 * n.resistance),
                Mistake(M2, "the voltage is multiplied by the running current", lambda n: n.voltage * n.current),
                Mistake("forgotten square", "the current is not squared", lambda n: n.stall_current * n.resistance),
            ),
            why="All of V·I becomes heat in the winding. Never hold a shaft longer than three seconds.",
            hints=("Where does the energy go when nothing turns?", "P = I² · R, with the current of the held motor."),
            worked=("I = {stall_current:A}", "P = I² · {resistance} = {answer}"),
        ),
        Question(
            title="Copper loss while running",
            wording="Running at {voltage} it draws {current}; the winding has {resistance}. How much heat arises "
            "in the winding?",
            unit="W",
            answer=lambda n: n.current**2 * n.resistance,
            gives="copper_loss",
            mistakes=(
                Mistake(M18, "the voltage at the motor is squared over R", lambda n: n.voltage**2 / n.resistance),
                Mistake(M18, "all of V·I is taken for heat", lambda n: n.voltage * n.current),
                Mistake(
                    M18,
                    "the generator EMF is squared over R",
                    lambda n: (n.voltage - n.current * n.resistance) ** 2 / n.resistance,
                ),
                Mistake("forgotten square", "the current is not squared", lambda n: n.current * n.resistance),
            ),
            why="Only the drop across the winding itself, I·R, makes heat there.",
            hints=("Which voltage is across the winding's resistance itself?", "I · R is across it: P = I² · R."),
            worked=("P = ({current})² · {resistance} = {answer}",),
        ),
        Question(
            title="How much hotter a stall is",
            wording="By which factor is the copper loss of the held motor ({voltage}, {resistance}) larger "
            "than that of the running one ({current})?",
            answer=lambda n: (n.stall_current / n.current) ** 2,
            tolerance=0.03,
            mistakes=(
                Mistake(M19, "the currents are compared, not their squares", lambda n: n.stall_current / n.current),
                Mistake(
                    "inverse",
                    "the running loss is divided by the stalled one",
                    lambda n: (n.current / n.stall_current) ** 2,
                ),
            ),
            why="Several times the current is many times the heat, and the case cannot shed it.",
            hints=(
                "How does the heat go with the current?",
                "The resistance is the same: square the ratio of the currents.",
            ),
            worked=("I held / I running = {stall_current:A} / {current}", "squared: {answer}"),
            difficulty=2,
        ),
        Question(
            title="Current after the motor",
            wording="A meter in the lead that goes into the running motor shows {current} (free it would be "
            "{free_current}). "
            "What does a meter in the lead that comes out of it show?",
            unit="A",
            answer=lambda n: n.current,
            mistakes=(
                Mistake(M4, "the free current is taken to be used up inside", lambda n: n.current - n.free_current),
                Mistake(M4, "all current is taken to be used up inside", lambda _: 0.0),
                Mistake(M4, "only the free current is taken to come out", lambda n: n.free_current),
            ),
            why="What goes in comes out: charge is not used up. The energy is what stays behind.",
            hints=("Where else could charge go?", "One loop, one current."),
            worked=("There is no branch inside the motor, so the same current comes out: {answer}",),
        ),
        Question(
            title="A resistor after the motor",
            wording="A resistor of {series} is put into the lead that comes out of the motor. Where does the "
            "current change?",
            options=(
                Option("Everywhere in the loop, at once."),
                Option("Only after the resistor, since the motor comes first.", M5, "The motor notices at once."),
                Option("Nowhere: the motor draws what it draws.", M2, "What it draws depends on the whole loop."),
                Option("Only in the motor, since the resistor uses up a part.", M4, "A resistor uses up no current."),
            ),
            why="A loop has one current, and every part of it has its say.",
            hints=("Could two parts of one loop carry different currents for long?",),
            worked=(
                "The voltage is shared by all parts of the loop, so one more part changes the one current everywhere.",
            ),
        ),
        Question(
            title="Held current through a resistor",
            wording="With that resistor of {series} in the loop ({voltage} over both, winding {resistance}), "
            "which current flows while the shaft is held?",
            unit="A",
            answer=lambda n: n.voltage / (n.resistance + n.series),
            mistakes=(
                Mistake(
                    M5,
                    "the resistor after the motor is taken to make no difference",
                    lambda n: n.voltage / n.resistance,
                ),
                Mistake("winding forgotten", "only the resistor is counted", lambda n: n.voltage / n.series),
                Mistake(
                    "side by side",
                    "both are taken to be side by side",
                    lambda n: n.voltage * (1 / n.resistance + 1 / n.series),
                ),
            ),
            why="Resistances in one loop add, before or after.",
            hints=("Which resistances does the current pass?", "Add them, then Ohm's law."),
            worked=("I = {voltage} / ({resistance} + {series}) = {answer}",),
        ),
        Question(
            title="Held current with real cells",
            wording="The cells give {voltage} with nothing connected and have {inner} inside. "
            "Which current flows while the shaft is held (winding {resistance})?",
            unit="A",
            answer=lambda n: n.voltage / (n.resistance + n.inner),
            mistakes=(
                Mistake(M35, "the cells are taken to keep their voltage", lambda n: n.voltage / n.resistance),
                Mistake(
                    "winding forgotten", "only the cells' own resistance is counted", lambda n: n.voltage / n.inner
                ),
                Mistake(M2, "the running current is taken to stay", lambda n: n.current),
            ),
            why="The source's own resistance is part of the loop.",
            hints=("What else than the winding does the current pass?", "Cells and winding: add their resistances."),
            worked=("I = {voltage} / ({resistance} + {inner}) = {answer}",),
        ),
    ),
)


def _held(n: Numbers) -> float:
    """Return the current of the drawn motor when it is held still [A]."""
    return 1.5 + 0.04 * n.curve


def _falling(n: Numbers, speed: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the current at each speed: nobody took readings below 2000 rpm, and free it still draws a little [A]."""
    current = _held(n) * (1 - speed * RPM / (9000 + 100 * (n.curve % 10)))
    return np.where((speed * RPM < 1999) | (current < _FREE), np.nan, current)


def _running(n: Numbers) -> tuple[float, float]:
    """Return the marked point: a running motor at 6400 rpm [rad/s, A]."""
    return 6400 / RPM, float(_falling(n, np.array(6400 / RPM)))


_FREE = 0.12  # A, which the drawn motor's friction takes
_CURRENT = Axis("current", "A", 3.0, 0.5, 5)

#: Every plan that was handed out, and the one of today.
SHEETS = (
    SHEET,
    SHEET.later(
        "2026-12",
        values=(Value.stepped("curve", "the number of your line", "", least="1", most="28", step="1", reference="7"),),
        questions=(
            Question(
                title="Held current off a line",
                wording="The picture shows line number {curve}: another motor on a steady voltage, loaded more and "
                "more by a brake. The readings end at 2000 rpm; the dot is where it usually runs. "
                "Read off which current it will draw when it is held still.",
                unit="A",
                tolerance=0.0,
                plot=Plot(
                    subject="Current of a motor against its speed: a straight line that falls, on ruled paper.",
                    across=Axis("speed", "rpm", 10000.0, 2000.0, 5),
                    up=_CURRENT,
                    curve=_falling,
                    reads=_CURRENT,
                    dot=_running,
                ),
                answer=_held,
                mistakes=(
                    Mistake(M2, "the current at which it usually runs is read", lambda n: _running(n)[1]),
                    Mistake(
                        "end of the readings for the axis",
                        "the line is read where the readings end",
                        lambda n: float(_falling(n, np.array(2000 / RPM))),
                    ),
                    Mistake("free for held", "the current of the free motor is read", lambda _: _FREE),
                ),
                why="Held still it generates nothing, and the line meets the axis where only R is left.",
                hints=(
                    "At which speed does a motor turn that is held still?",
                    "Lay a ruler along the line and go on to the left, to 0 rpm.",
                ),
                worked=("Prolonged to 0 rpm the line meets the axis at {answer}.",),
                kit=(),
            ),
        ),
    ),
)
