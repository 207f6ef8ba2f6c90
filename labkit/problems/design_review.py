"""Lesson 12, design review: margins, and which part fails first."""

from __future__ import annotations

from labkit.checks import Mistake, Option, Question, Value
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M2, M19, M20, M25, M26, M27, M29, M31
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]

SHEET = SheetPlan(
    name="design-review",
    lesson=LESSONS[12],
    about="Parts for a machine of your own: does each bear what it will meet, on the worst day too?",
    values=(
        Value.stepped("voltage", "the supply", "V", least="5.0", most="8.0", step="0.5", reference="6.0"),
        Value.stepped(
            "resistance", "the winding's resistance", "Ω", least="2.4", most="3.8", step="0.1", reference="2.8"
        ),
        Value.stepped(
            "current",
            "the running motor's current",
            "A",
            least="0.40",
            most="0.75",
            step="0.05",
            reference="0.45",
            without="0.50",
        ),
        Value.stepped(
            "on_resistance",
            "on-resistance at the real gate voltage",
            "mΩ",
            least="90",
            most="180",
            step="5",
            reference="120",
        ),
        Value("junction_to_ambient", "junction to air", "°C/W", ("62", "75", "83", "90", "100"), "90"),
        Value.stepped("ambient", "air inside the case", "°C", least="25", most="40", step="1", reference="30"),
        Value("hottest", "the hottest junction allowed", "°C", ("110", "120", "125"), "125"),
        Value.stepped("duty", "the duty", "", least="0.20", most="0.40", step="0.05", reference="0.25"),
        Value("diode_drop", "the freewheel diode's drop", "V", ("0.4", "0.45", "0.6", "0.7", "0.75"), "0.4"),
        Value("breakdown", "the transistor's breakdown voltage", "V", ("20", "30", "40"), "30"),
        Value("edges", "both edges together", "µs", ("1.2", "1.4", "1.6", "1.8", "2.2"), "1.6"),
        Value.stepped("frequency", "the PWM frequency", "kHz", least="16", most="25", step="1", reference="20"),
        Value("wire", "each jumper lead to the motor", "mΩ", ("130", "150", "170", "190"), "150"),
    ),
    sensible=lambda n: n.stall_loss * n.junction_to_ambient < 100,
    questions=(
        Question(
            title="Worst on-state loss",
            wording="The motor may be held ({voltage}, winding {resistance}, transistor {on_resistance}; running "
            "{current}). "
            "How much heat arises in the transistor then?",
            unit="W",
            answer=lambda n: (n.voltage / (n.resistance + n.on_resistance)) ** 2 * n.on_resistance,
            gives="stall_loss",
            mistakes=(
                Mistake(M2, "the running current is used", lambda n: n.current**2 * n.on_resistance),
                Mistake(
                    M27, "supply and current are multiplied", lambda n: n.voltage**2 / (n.resistance + n.on_resistance)
                ),
                Mistake(
                    "transistor left out of the loop",
                    "the transistor's resistance is left out of the current",
                    lambda n: (n.voltage / n.resistance) ** 2 * n.on_resistance,
                ),
            ),
            why="A design is judged with the current of the worst moment.",
            hints=(
                "Which current flows while the motor is held, with the transistor in the loop?",
                "P = I² · R of the transistor.",
            ),
            worked=("I = {voltage} / ({resistance} + {on_resistance})", "P = I² · {on_resistance} = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Junction temperature of a long stall",
            wording="If the stall lasts ({voltage}, {resistance}, {on_resistance} taken as constant), how hot "
            "does the junction "
            "become at {junction_to_ambient} in air of {ambient}? (Running it draws {current}.)",
            unit="°C",
            tolerance=0.0,
            allowance=1.5,
            answer=lambda n: n.ambient + n.stall_loss * n.junction_to_ambient,
            mistakes=(
                Mistake(
                    "air temperature forgotten",
                    "only the rise is given",
                    lambda n: 273.15 + n.stall_loss * n.junction_to_ambient,
                ),
                Mistake(
                    M19,
                    "the rise is taken to grow with the current, not with its square",
                    lambda n: (
                        n.ambient
                        + n.junction_to_ambient
                        * n.on_resistance
                        * n.current
                        * n.voltage
                        / (n.resistance + n.on_resistance)
                    ),
                ),
                Mistake(
                    M2,
                    "the running current is used",
                    lambda n: n.ambient + n.current**2 * n.on_resistance * n.junction_to_ambient,
                ),
            ),
            why="Air plus watts times °C/W, with the watts of the stall.",
            hints=("Rise = P · (°C/W).", "Add the air's temperature, inside the case."),
            worked=("P = {stall_loss:W}", "T = {ambient} + {stall_loss:W} · {junction_to_ambient} = {answer}"),
        ),
        Question(
            title="Thermal resistance that is needed",
            wording="The junction may reach {hottest} in air of {ambient}, and the held motor ("
            "{voltage}, {resistance}, {on_resistance}) may stay so. Which thermal resistance to air is "
            "allowed at most?",
            unit="°C/W",
            answer=lambda n: (n.hottest - n.ambient) / n.stall_loss,
            mistakes=(
                Mistake(
                    "air temperature forgotten",
                    "the whole temperature is divided by the power",
                    lambda n: (n.hottest - 273.15) / n.stall_loss,
                ),
                Mistake(
                    "multiplied instead of divided",
                    "the rise is multiplied by the power",
                    lambda n: (n.hottest - n.ambient) * n.stall_loss,
                ),
                Mistake(
                    "inverse", "the power is divided by the rise", lambda n: n.stall_loss / (n.hottest - n.ambient)
                ),
            ),
            why="The rise that is allowed, over the heat that is made.",
            hints=("How much warmer than the air may it become?", "Rise over power, with the power of the first step."),
            worked=("P = {stall_loss:W}", "({hottest} − {ambient}) / {stall_loss:W} = {answer}"),
        ),
        Question(
            title="Margin of the breakdown voltage",
            wording="The freewheel diode ({diode_drop}) is fitted across the motor on {voltage}; the transistor "
            "breaks down at "
            "{breakdown}. How many times the highest drain voltage is that?",
            answer=lambda n: n.breakdown / (n.voltage + n.diode_drop),
            tolerance=0.01,
            mistakes=(
                Mistake(M20, "the diode is taken to hold the drain at the supply", lambda n: n.breakdown / n.voltage),
                Mistake(
                    "inverse",
                    "the voltage is divided by the breakdown voltage",
                    lambda n: (n.voltage + n.diode_drop) / n.breakdown,
                ),
                Mistake(
                    M20, "the diode's own drop is taken for the drain's voltage", lambda n: n.breakdown / n.diode_drop
                ),
            ),
            why="Twice or more is a good margin; much more costs on-resistance.",
            hints=("How high does the drain get when the switch opens?", "Breakdown over supply plus diode drop."),
            worked=("{breakdown} / ({voltage} + {diode_drop}) = {answer}",),
        ),
        Question(
            title="Heat in the freewheel diode",
            wording="Smooth {current} at a duty of {duty}: how much heat arises in the freewheel diode of "
            "{diode_drop} on average? "
            "(Supply {voltage}.)",
            unit="mW",
            answer=lambda n: (1 - n.duty) * n.current * n.diode_drop,
            mistakes=(
                Mistake(
                    "on share for off share", "the switch's share is taken", lambda n: n.duty * n.current * n.diode_drop
                ),
                Mistake(
                    "all the time", "the diode is taken to conduct all the time", lambda n: n.current * n.diode_drop
                ),
                Mistake(M27, "the supply is multiplied by the current", lambda n: (1 - n.duty) * n.current * n.voltage),
            ),
            why="Its own drop, the motor's current, and the share of the time that the switch is off.",
            hints=("When does the diode conduct?", "(1 − D) · I · V_F."),
            worked=("P = (1 − {duty}) · {current} · {diode_drop} = {answer}",),
        ),
        Question(
            title="Heat in the transistor under PWM",
            wording="Smooth {current}, duty {duty}, {on_resistance}; both edges together {edges} at {frequency} "
            "on {voltage} "
            "(voltage and current change in straight lines, one after the other; leave the diode's drop aside). "
            "How much heat arises in the transistor in all?",
            unit="mW",
            answer=lambda n: (
                n.duty * n.current**2 * n.on_resistance + 0.5 * n.voltage * n.current * n.edges * n.frequency
            ),
            mistakes=(
                Mistake(M29, "switching is taken to cost nothing", lambda n: n.duty * n.current**2 * n.on_resistance),
                Mistake(
                    M31,
                    "the average current is squared",
                    lambda n: (
                        (n.duty * n.current) ** 2 * n.on_resistance
                        + 0.5 * n.voltage * n.current * n.edges * n.frequency
                    ),
                ),
                Mistake(
                    M29,
                    "the ½ of the edges is left out",
                    lambda n: n.duty * n.current**2 * n.on_resistance + n.voltage * n.current * n.edges * n.frequency,
                ),
            ),
            why="On-state and edges add; at 20 kHz the edges can be the larger part.",
            hints=("Two heats: while it is on, and while it switches.", "D · I² · R + ½ · V · I · edges · f."),
            worked=(
                "on: {duty} · ({current})² · {on_resistance}",
                "edges: ½ · {voltage} · {current} · {edges} · {frequency}",
                "together: {answer}",
            ),
            difficulty=3,
        ),
        Question(
            title="Drop in two leads",
            wording="Two thin jumper leads of {wire} each go to the motor. Which voltage do they take while it starts "
            "({voltage}, winding {resistance}, leave the transistor aside; running {current})?",
            unit="mV",
            answer=lambda n: n.voltage / (n.resistance + 2 * n.wire) * 2 * n.wire,
            mistakes=(
                Mistake(
                    "one lead only", "the way back is forgotten", lambda n: n.voltage / (n.resistance + n.wire) * n.wire
                ),
                Mistake(M2, "the running current is used", lambda n: n.current * 2 * n.wire),
                Mistake(
                    "leads left out of the loop",
                    "the leads are left out of the current",
                    lambda n: n.voltage / n.resistance * 2 * n.wire,
                ),
            ),
            why="There and back, at the largest current.",
            hints=("How many leads does the current pass?", "I = V / (R + both leads), times both leads."),
            worked=("I = {voltage} / ({resistance} + 2 · {wire})", "V = I · 2 · {wire} = {answer}"),
            difficulty=2,
        ),
        Question(
            title="What to change first",
            wording="On a 3.3 V pin a transistor with a threshold of 2 V and 22 mΩ at 10 V gets very hot at {current}, "
            "though the freewheel diode is fitted. What do you change first?",
            options=(
                Option(
                    "Take the freewheel diode out, since the body diode does its work.",
                    M25,
                    "The body diode is not in the motor's loop.",
                ),
                Option(
                    "Nothing on the transistor: 3.3 V is above its threshold.",
                    M26,
                    "Above the threshold is not fully on.",
                ),
                Option("Fit a transistor with a printed on-resistance at 2.5 V or 3.3 V."),
                Option(
                    "Use a smaller supply for the board's own rail.",
                    M27,
                    "Its heat is its own voltage times its current.",
                ),
            ),
            why="Only an on-resistance that is printed for your gate voltage is a promise.",
            hints=("At which gate voltage does the data sheet promise its on-resistance?",),
            worked=("At 3.3 V the promise of 10 V does not hold: look for one at your gate voltage.",),
        ),
    ),
)

#: Every plan that was handed out, and the one of today.
SHEETS = (SHEET, SHEET.later("2026-12"))
