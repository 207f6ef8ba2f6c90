"""Lesson 9, supply, ground and wiring: the source has a resistance, and so has every lead."""

from __future__ import annotations

from labkit.checks import Mistake, Numbers, Option, Parts, Question, Value
from labkit.parts import Drive, desk_wind_tunnel
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M2, M3, M26, M35
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]

SHEET = SheetPlan(
    name="supply-and-wiring",
    lesson=LESSONS[9],
    about="The same motor on different sources, through real leads, and a board that does not like to lose its supply.",
    values=(
        Value.stepped(
            "block_voltage",
            "an old nine-volt block, no load",
            "V",
            least="8.2",
            most="9.4",
            step="0.1",
            reference="9.0",
        ),
        Value.stepped(
            "block_resistance", "what the block has inside", "Ω", least="7", most="14", step="0.5", reference="10.0"
        ),
        Value.stepped(
            "resistance", "the winding's resistance", "Ω", least="2.2", most="3.8", step="0.1", reference="2.8"
        ),
        Value.stepped("voltage", "four AA cells, no load", "V", least="5.4", most="6.4", step="0.1", reference="6.0"),
        Value.stepped(
            "inner", "what the cells have inside", "Ω", least="0.4", most="0.9", step="0.05", reference="0.60"
        ),
        Value.stepped(
            "current", "the running motor's current", "A", least="0.30", most="0.48", step="0.02", reference="0.44"
        ),
        Value("rating", "a bigger supply's rating", "A", ("2", "3", "4", "5"), "5"),
        Value.stepped("ground", "the shared ground lead", "mΩ", least="60", most="180", step="10", reference="100"),
        Value("gap", "how long the supply dips", "ms", ("6", "8", "12", "15", "18"), "12"),
        Value("board_current", "what the board draws", "mA", ("40", "45", "55", "60", "70", "80"), "45"),
        Value("dip", "how far its voltage may dip", "V", ("0.3", "0.4", "0.6", "0.7"), "0.4"),
        Value("cell_voltage", "a lithium cell", "V", ("3.5", "3.6", "3.7", "3.8"), "3.7"),
        Value("converter", "the booster's efficiency", "", ("0.80", "0.82", "0.85", "0.88"), "0.85"),
    ),
    questions=(
        Question(
            title="Start current from an old block",
            wording="An old nine-volt block shows {block_voltage} with nothing connected and has "
            "{block_resistance} inside. "
            "Which current flows as the motor ({resistance}) starts?",
            unit="A",
            answer=lambda n: n.block_voltage / (n.resistance + n.block_resistance),
            gives="start_current",
            mistakes=(
                Mistake(M35, "the block is taken to keep its voltage", lambda n: n.block_voltage / n.resistance),
                Mistake(
                    "winding forgotten",
                    "only the block's own resistance is counted",
                    lambda n: n.block_voltage / n.block_resistance,
                ),
                Mistake(M2, "the running current is taken", lambda n: n.current),
            ),
            why="The block's own resistance is the largest in the loop.",
            hints=("What does a standing motor look like to the source?", "Both resistances are in one loop."),
            worked=("I = {block_voltage} / ({resistance} + {block_resistance}) = {answer}",),
        ),
        Question(
            title="Terminal voltage of an old block",
            wording="Which voltage is left at the block's terminals then ({block_voltage}, {block_resistance} inside, "
            "motor {resistance})?",
            unit="V",
            answer=lambda n: n.start_current * n.resistance,
            mistakes=(
                Mistake(M35, "the label's voltage is taken", lambda n: n.block_voltage),
                Mistake(
                    "the other part of the divider",
                    "the drop inside the block is taken",
                    lambda n: n.block_voltage - n.start_current * n.resistance,
                ),
            ),
            why="Most of the voltage is lost inside: that is why a good label does not turn a motor.",
            hints=("The same current flows in the motor.", "I · R of the motor, or V − I · r of the block."),
            worked=("V = {start_current:A} · {resistance} = {answer}",),
        ),
        Question(
            title="Current from a bigger supply",
            wording="The fan motor draws {current} from a supply that can give 1 A at most. "
            "It is put on another of the same voltage that can give {rating}. Which current does it draw?",
            unit="A",
            answer=lambda n: n.current,
            mistakes=(
                Mistake(M3, "the supply's rating is taken to be pushed through", lambda n: n.rating),
                Mistake(M3, "the current is taken to grow with the rating", lambda n: n.current * n.rating),
            ),
            why="Same voltage, same load, same current. The rating is only what it could give.",
            hints=(
                "What decides the current: what a source could give, or what the load takes?",
                "Voltage and load are the same.",
            ),
            worked=("Nothing in the motor's loop has changed: {answer}",),
        ),
        Question(
            title="Voltage at the start",
            wording="Four AA cells: {voltage} with nothing connected, {inner} inside. "
            "What is left at their terminals while the motor ({resistance}) starts? Running, it draws {current}.",
            unit="V",
            answer=lambda n: n.voltage * n.resistance / (n.resistance + n.inner),
            mistakes=(
                Mistake(M35, "the label's voltage is taken", lambda n: n.voltage),
                Mistake(M2, "the running current's drop is taken off", lambda n: n.voltage - n.current * n.inner),
                Mistake(
                    "the other part of the divider",
                    "the drop inside the cells is taken",
                    lambda n: n.voltage * n.inner / (n.resistance + n.inner),
                ),
            ),
            why="At the start the current is largest, and so is the dip: that is when boards reset.",
            hints=("Which current flows before the rotor turns?", "I = V / (R + r); left: V − I · r."),
            worked=("I = {voltage} / ({resistance} + {inner})", "V = {voltage} − I · {inner} = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Shift of a shared ground",
            wording="Motor and sensor share a ground lead of {ground}. The motor starts on {voltage}, and its winding "
            "of {resistance} alone sets the current (running it draws {current}). "
            "By how much is the sensor's ground lifted?",
            unit="mV",
            answer=lambda n: n.voltage / n.resistance * n.ground,
            mistakes=(
                Mistake(M2, "the running current is used", lambda n: n.current * n.ground),
                Mistake(
                    "divided instead of multiplied",
                    "the current is divided by the lead's resistance",
                    lambda n: n.voltage / n.resistance / n.ground,
                ),
            ),
            why="Current times the lead's resistance. Let the motor's return go to the supply on its own.",
            hints=("Which current flows in the shared lead at the start?", "I · R of the lead."),
            worked=("I = {voltage} / {resistance}", "V = I · {ground} = {answer}"),
        ),
        Question(
            title="Buffer for the board",
            wording="The supply dips for {gap}. Behind a diode, a capacitor is to feed the board "
            "({board_current}) meanwhile, "
            "and its voltage may fall by {dip}. Which capacitance is needed?",
            unit="µF",
            answer=lambda n: n.board_current * n.gap / n.dip,
            mistakes=(
                Mistake(
                    "multiplied instead of divided", "the dip is multiplied", lambda n: n.board_current * n.gap * n.dip
                ),
                Mistake("motor for board", "the motor's current is used", lambda n: n.current * n.gap / n.dip),
                Mistake(
                    "half or double", "a ½ is put in, as for an energy", lambda n: 0.5 * n.board_current * n.gap / n.dip
                ),
            ),
            why="Buffer the board, not the motor: that takes a fraction of the capacitance.",
            hints=("How much charge does the board take meanwhile?", "Q = I · t, and C = Q / ΔV."),
            worked=("Q = {board_current} · {gap}", "C = Q / {dip} = {answer}"),
        ),
        Question(
            title="Cell current behind a booster",
            wording="A booster makes 6 V from a lithium cell of {cell_voltage} with an efficiency of {converter}. "
            "The motor takes {current}. Which current does the cell give?",
            unit="A",
            answer=lambda n: 6 * n.current / (n.converter * n.cell_voltage),
            mistakes=(
                Mistake("motor's current for the cell's", "the cell is taken to give as much", lambda n: n.current),
                Mistake(
                    "efficiency forgotten", "nothing is taken to be lost", lambda n: 6 * n.current / n.cell_voltage
                ),
                Mistake(
                    "efficiency the wrong way",
                    "the efficiency is multiplied",
                    lambda n: 6 * n.current * n.converter / n.cell_voltage,
                ),
            ),
            why="Power is what passes through, less the losses: fewer volts need more amperes.",
            hints=("Which quantity is nearly the same before and after a booster?", "V · I out = η · V · I in."),
            worked=("P out = 6 V · {current}", "I = P out / ({converter} · {cell_voltage}) = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Two supplies and nothing happens",
            wording="Board and motor have a supply each, and the motor does not react to the pin. What is missing"
            " most likely?",
            options=(
                Option(
                    "A connection between the two negatives, so that the gate's voltage has something to count from."
                ),
                Option(
                    "A motor supply with more amperes, to push the current through.",
                    M3,
                    "A supply does not push more than the load takes.",
                ),
                Option(
                    "A higher voltage on the label of the motor's battery.",
                    M35,
                    "The label does not close the gate's loop.",
                ),
            ),
            why="A gate voltage is between gate and source; without a common ground there is none.",
            hints=("Between which two points is the gate's voltage, and does the pin reach both?",),
            worked=("With supplies off, an ohmmeter between the two negatives shows under 1 Ω when they are joined.",),
        ),
    ),
)


def _tunnel(_: Numbers) -> Drive:
    return desk_wind_tunnel()


#: Every plan that was handed out, and the one of today.
SHEETS = (
    SHEET,
    SHEET.later(
        "2026-12",
        questions=(
            Question(
                title="A bigger supply, and why",
                wording="The fan motor runs on a 6 V supply that can give 1 A. "
                "It is put on another 6 V supply, which can give {rating}. What becomes of its current, and why?",
                options=(
                    Option("It grows to what the new supply can give.", M3, "The motor does not take what it can get."),
                    Option("It stays as it was."),
                    Option(
                        "It falls, since a bigger supply spreads its current.",
                        "supply spreads its current",
                        "Nothing is spread: one loop, one current.",
                    ),
                ),
                reasons=(
                    Option(
                        "a supply pushes its rated current through whatever is connected.",
                        M3,
                        "The rating is the most that it can give.",
                    ),
                    Option("the voltage is the same, and motor and load decide the current."),
                    Option(
                        "a motor always draws the one current that is printed on it.",
                        M2,
                        "Hold the shaft, and it draws many times as much from the same supply.",
                    ),
                ),
                why="Same volts, same motor, same load: same current. The rest of the amperes stay where they are.",
                hints=("What of the loop has changed: a voltage, a resistance, a load?", "Which rating is a limit?"),
                worked=("The voltage is 6 V as before, and so are R, k and the load: {answer}",),
                kit=(),
            ),
            Question(
                title="A supply and a transistor that start this motor",
                wording="The desk wind tunnel's motor (2.8 Ω, rated 6 V) is switched by a 3.3 V pin, full on. "
                "Choose a supply that leaves the motor half of its voltage or more as it starts, and a transistor that "
                "is fully on, so that the review finds nothing that is exceeded.",
                parts=Parts(
                    names=("supply", "transistor"),
                    around=_tunnel,
                    example="supply = four AA alkaline cells; transistor = logic-level MOSFET",
                ),
                ideas={
                    "supply while the motor starts": M35,
                    "share of the voltage that reaches the stalled motor": M35,
                    "on-resistance at the real gate voltage": M26,
                    "current that the gate lets through": M26,
                },
                why="Even while the bare winding draws its current, the motor keeps half of the voltage or more.",
                hints=(
                    "At the start the motor is nothing but its winding. Which current is that?",
                    "What does that current leave of the voltage behind the supply's own resistance?",
                ),
                worked=("Start current, times the supply's own resistance, is what is lost: {answer}",),
                difficulty=2,
                kit=("review", "generic_part"),
            ),
        ),
    ),
)
