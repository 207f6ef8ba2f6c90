"""Lesson 1, what a pin can give: a pin is a weak source with a resistance of its own."""

from __future__ import annotations

from labkit.checks import Mistake, Option, Question, Value
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M3, M4, M6, M27, M35
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]

SHEET = SheetPlan(
    name="pin-limits",
    lesson=LESSONS[1],
    about="Before the fan motor meets the board, a few sums say what a pin can do, and what it cannot.",
    values=(
        Value("high_level", "the pin's voltage, nothing connected", "V", ("3.0", "3.1", "3.2", "3.3"), "3.3"),
        Value.stepped(
            "output_resistance", "the pin's own resistance", "Ω", least="28", most="60", step="2", reference="40"
        ),
        Value("limit", "the pin's rated current", "mA", ("4", "6", "8", "12"), "12"),
        Value.stepped("led_voltage", "the LED's voltage", "V", least="1.7", most="2.1", step="0.05", reference="1.8"),
        Value("resistor", "the LED's resistor", "Ω", ("120", "150", "180", "220", "270", "330"), "150"),
        Value.stepped("winding", "the motor's winding", "Ω", least="9.0", most="14", step="0.5", reference="12.0"),
        Value.stepped(
            "input_voltage", "what feeds the board", "V", least="7.0", most="12", step="0.5", reference="9.0"
        ),
        Value.stepped(
            "board_current", "what the 5 V rail gives", "mA", least="120", most="380", step="10", reference="250"
        ),
    ),
    questions=(
        Question(
            title="Current through an LED on a pin",
            wording="A pin of {high_level} with {output_resistance} inside feeds an LED of {led_voltage} "
            "through {resistor}. Which current flows?",
            unit="mA",
            answer=lambda n: (n.high_level - n.led_voltage) / (n.resistor + n.output_resistance),
            mistakes=(
                Mistake(
                    "LED's drop forgotten",
                    "the LED is taken to drop nothing",
                    lambda n: n.high_level / (n.resistor + n.output_resistance),
                ),
                Mistake(
                    "inner resistance forgotten",
                    "the pin's own resistance is left out",
                    lambda n: (n.high_level - n.led_voltage) / n.resistor,
                ),
                Mistake(M3, "the pin's rating is taken for the current", lambda n: n.limit),
            ),
            why="What the LED leaves of the voltage drives the current through both resistances.",
            hints=(
                "How much voltage is left for the resistances?",
                "The pin's resistance and the resistor are in one loop: add them.",
            ),
            worked=(
                "left for the resistances: {high_level} − {led_voltage}",
                "I = that / ({resistor} + {output_resistance}) = {answer}",
            ),
        ),
        Question(
            title="Current of a motor straight on a pin",
            wording="Someone connects a small motor of {winding} straight to that pin ({high_level}, "
            "{output_resistance} inside) "
            "and it cannot turn. Which current would flow, if nothing but these two resistances limited it?",
            unit="mA",
            answer=lambda n: n.high_level / (n.winding + n.output_resistance),
            gives="motor_current",
            mistakes=(
                Mistake(
                    M35, "the pin is taken to keep its voltage, whatever it gives", lambda n: n.high_level / n.winding
                ),
                Mistake(M3, "the pin's rating is taken for the current", lambda n: n.limit),
                Mistake(
                    "winding forgotten",
                    "only the pin's own resistance is counted",
                    lambda n: n.high_level / n.output_resistance,
                ),
            ),
            why="Pin and motor share one voltage: most of it is lost inside the pin.",
            hints=(
                "A motor that stands is a resistance.",
                "Which two resistances are in the loop?",
                "I = V / (winding + pin).",
            ),
            worked=("I = {high_level} / ({winding} + {output_resistance}) = {answer}",),
        ),
        Question(
            title="Voltage that is left for the motor",
            wording="In that loop ({high_level}, {output_resistance} inside the pin, winding {winding}): "
            "which voltage is across the motor?",
            unit="V",
            answer=lambda n: n.motor_current * n.winding,
            mistakes=(
                Mistake(M35, "the pin is taken to keep its voltage", lambda n: n.high_level),
                Mistake(
                    "the other part of the divider",
                    "the drop inside the pin is taken",
                    lambda n: n.high_level - n.motor_current * n.winding,
                ),
            ),
            why="Too little to start it: a motor that works on the rail stops on a pin.",
            hints=(
                "The same current flows in pin and motor.",
                "Across the winding stands I · R, with the current of the step before.",
            ),
            worked=("V = I · winding = {motor_current:mA} · {winding} = {answer}",),
        ),
        Question(
            title="How far over its rating the pin is",
            wording="The pin is rated for {limit}. How many times that would the standing motor "
            "({winding}, pin {high_level} with {output_resistance}) draw?",
            answer=lambda n: n.motor_current / n.limit,
            mistakes=(
                Mistake("inverse", "the rating is divided by the current", lambda n: n.limit / n.motor_current),
                Mistake(M35, "the pin's own resistance is left out", lambda n: n.high_level / n.winding / n.limit),
            ),
            why="So a pin only gives the signal, and a transistor carries the current.",
            hints=("A ratio has no unit.", "Current over rating."),
            worked=("{motor_current:mA} / {limit} = {answer}",),
        ),
        Question(
            title="Heat inside the pin",
            wording="While the standing motor hangs on the pin ({high_level}, {output_resistance} inside, winding"
            " {winding}), "
            "how much heat arises inside the chip?",
            unit="mW",
            answer=lambda n: n.motor_current**2 * n.output_resistance,
            mistakes=(
                Mistake(
                    M27, "the whole voltage is multiplied by the current", lambda n: n.high_level * n.motor_current
                ),
                Mistake("the motor's heat", "the winding's heat is taken", lambda n: n.motor_current**2 * n.winding),
                Mistake(
                    "forgotten square", "the current is not squared", lambda n: n.motor_current * n.output_resistance
                ),
            ),
            why="The heat arises where the drop is: inside the chip, which is not made for it.",
            hints=("Which resistance is inside the chip?", "P = I² · R, with the pin's own resistance."),
            worked=("P = ({motor_current:mA})² · {output_resistance} = {answer}",),
        ),
        Question(
            title="Smallest resistor for this pin",
            wording="A transistor's gate is to draw no more than {limit} from the pin at first ({high_level}, "
            "{output_resistance} inside). Which series resistor is needed at least?",
            unit="Ω",
            answer=lambda n: n.high_level / n.limit - n.output_resistance,
            mistakes=(
                Mistake(
                    "inner resistance counted twice",
                    "the pin's own resistance is added",
                    lambda n: n.high_level / n.limit + n.output_resistance,
                ),
                Mistake(
                    "inner resistance forgotten",
                    "the pin's own resistance is left out",
                    lambda n: n.high_level / n.limit,
                ),
            ),
            why="The pin brings part of the resistance itself; the resistor has to bring the rest.",
            hints=("How much resistance does the loop need in all?", "V / I in all, and the pin has some already."),
            worked=("in all: {high_level} / {limit}", "less the pin's own {output_resistance}: {answer}"),
        ),
        Question(
            title="Heat in the board's regulator",
            wording="The board is fed with {input_voltage}; its regulator makes 5 V of it by turning the rest "
            "into heat, "
            "and the rail gives {board_current}. How much heat is that?",
            unit="W",
            answer=lambda n: (n.input_voltage - 5) * n.board_current,
            mistakes=(
                Mistake(
                    M27,
                    "the whole input voltage is multiplied by the current",
                    lambda n: n.input_voltage * n.board_current,
                ),
                Mistake(M27, "the 5 V of the rail are multiplied by the current", lambda n: 5 * n.board_current),
            ),
            why="Its own voltage, in minus out, times the current. About two watts is all that a small board sheds.",
            hints=("Which voltage is across the regulator itself?", "In minus out, times the current."),
            worked=("P = ({input_voltage} − 5 V) · {board_current} = {answer}",),
        ),
        Question(
            title="Across and through",
            wording="You want to know what the motor gets while it runs at {high_level}. How are the meter's "
            "leads put?",
            options=(
                Option(
                    "Voltage and current both with the leads across the motor.",
                    M6,
                    "Set to current and put across, a meter is a short circuit.",
                ),
                Option("Voltage in line with the motor, current across it.", M6, "It is the other way round."),
                Option("Voltage across the motor, current in line with it."),
            ),
            why="Between two points, or through one place: that is the whole difference.",
            hints=("Which of the two would you have to cut a wire for?",),
            worked=("A voltage is between two points: across. A current flows through one place: in line.",),
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
                title="The pin's voltage under load, and why",
                wording="A pin of {high_level} with {output_resistance} inside feeds an LED through {resistor}. "
                "You measure at the pin itself, without the LED and then with it. What does the meter show, and why?",
                options=(
                    Option("Less with the LED."),
                    Option("The same both times.", M35, "Even a pin has a resistance of its own."),
                    Option("More with the LED.", "load raises the voltage", "A load never lifts what feeds it."),
                ),
                reasons=(
                    Option(
                        "a pin holds its voltage whatever it feeds.", M35, "That would be a pin without resistance."
                    ),
                    Option("the current drops a part of the voltage inside the pin."),
                    Option(
                        "the LED uses up the current before it reaches the meter.",
                        M4,
                        "The same current flows through pin, resistor and LED.",
                    ),
                ),
                why="Whatever feeds something has a resistance of its own, and its current leaves some volts there.",
                hints=("What does the current flow through before it leaves the board?", "I · R, inside the pin."),
                worked=("V at the pin = {high_level} − I · {output_resistance}: {answer}",),
                kit=(),
            ),
        ),
    ),
)
