"""Lesson 6, driver dissipation: where a transistor's heat comes from, and how hot that makes it."""

from __future__ import annotations

from labkit.checks import Mistake, Numbers, Option, Question, Value
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M7, M26, M27, M28, M29, M31
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]


def _settled(n: Numbers) -> float:
    """Return where the junction settles when its on-resistance, given at 25 °C, rises by 0.5 % a degree.

    T = T_air + θ·P·(1 + 0.005·(T - 25 °C)), solved for T.
    """
    cold_rise, growth = n.on_loss * n.junction_to_ambient, 0.005
    return (n.ambient + cold_rise * (1 - growth * 298.15)) / (1 - growth * cold_rise)


SHEET = SheetPlan(
    name="driver-dissipation",
    lesson=LESSONS[6],
    about="A low-side N-channel MOSFET switches a fan motor from a 3.3 V pin. "
    "Its data sheet shouts about the on-resistance at 10 V.",
    values=(
        Value.stepped("voltage", "the supply", "V", least="5.0", most="9.0", step="0.5", reference="6.0"),
        Value.stepped("current", "the motor's current", "A", least="1.2", most="2.2", step="0.05", reference="1.5"),
        Value.stepped(
            "on_resistance", "on-resistance at 3.3 V", "mΩ", least="110", most="240", step="5", reference="200"
        ),
        Value.stepped(
            "best_resistance", "on-resistance at 10 V", "mΩ", least="14", most="32", step="1", reference="22"
        ),
        Value("junction_to_ambient", "junction to air", "°C/W", ("50", "55", "58", "60", "62", "65"), "62"),
        Value.stepped("ambient", "air temperature", "°C", least="18", most="35", step="1", reference="20"),
        Value.stepped("duty", "the duty", "", least="0.20", most="0.70", step="0.05", reference="0.25", without="0.50"),
        Value("edges", "both edges together", "µs", ("1.2", "1.4", "1.6", "1.8", "2.2", "2.4", "2.6", "2.8"), "1.6"),
        Value.stepped("frequency", "the PWM frequency", "kHz", least="15", most="25", step="1", reference="20"),
        Value.stepped("gate_charge", "the gate's charge", "nC", least="8", most="28", step="1", reference="20"),
        Value(
            "saturation_voltage", "the Darlington's voltage when on", "V", ("1.1", "1.2", "1.3", "1.4", "1.6"), "1.3"
        ),
    ),
    sensible=lambda n: 22 < n.on_loss * n.junction_to_ambient < 70,
    questions=(
        Question(
            title="Voltage across the open switch",
            wording="The transistor is off and the motor stands still. The supply is {voltage}. "
            "Which voltage stands between drain and source?",
            unit="V",
            answer=lambda n: n.voltage,
            mistakes=(Mistake(M7, "no current is taken to mean no voltage", lambda _: 0.0),),
            why="No current, so the motor drops nothing and the open switch holds it all.",
            hints=(
                "How much voltage is across the motor when no current flows in it?",
                "Go round the loop: supply = motor + switch.",
            ),
            worked=("The motor drops 0 A · R = 0 V.", "The switch holds the rest: {answer}."),
        ),
        Question(
            title="On-state loss at this gate voltage",
            wording="The gate gets 3.3 V. There the on-resistance is {on_resistance}; at 10 V it would be "
            "{best_resistance}. "
            "The supply is {voltage}, the motor draws {current}, the transistor stays on. How much heat arises in it?",
            unit="W",
            answer=lambda n: n.current**2 * n.on_resistance,
            gives="on_loss",
            mistakes=(
                Mistake(M26, "the on-resistance at 10 V is used", lambda n: n.current**2 * n.best_resistance),
                Mistake(M27, "the supply's voltage is multiplied by the current", lambda n: n.voltage * n.current),
                Mistake(
                    M27,
                    "the voltage at the motor is multiplied by the current",
                    lambda n: (n.voltage - n.current * n.on_resistance) * n.current,
                ),
                Mistake("forgotten square", "the current is not squared", lambda n: n.current * n.on_resistance),
            ),
            why="The heat in the transistor is its own voltage, I·R, times the current.",
            hints=(
                "Which on-resistance belongs to your gate voltage?",
                "The voltage across the transistor is I · R; its heat is that times I.",
                "P = I² · R, with R at 3.3 V.",
            ),
            worked=("R at 3.3 V is {on_resistance}", "P = I² · R = ({current})² · {on_resistance} = {answer}"),
        ),
        Question(
            title="Junction temperature in still air",
            wording="The transistor has {junction_to_ambient} from junction to air, and the air has {ambient}. "
            "How hot does the junction become, with {current} through {on_resistance}, "
            "if you take the on-resistance as it stands?",
            unit="°C",
            tolerance=0.0,
            allowance=1.5,
            answer=lambda n: n.ambient + n.on_loss * n.junction_to_ambient,
            mistakes=(
                Mistake(
                    "air temperature forgotten",
                    "only the rise is given",
                    lambda n: 273.15 + n.on_loss * n.junction_to_ambient,
                ),
                Mistake(
                    M26,
                    "the on-resistance at 10 V is used",
                    lambda n: n.ambient + n.current**2 * n.best_resistance * n.junction_to_ambient,
                ),
                Mistake(
                    M27,
                    "the supply's voltage is multiplied by the current",
                    lambda n: n.ambient + n.voltage * n.current * n.junction_to_ambient,
                ),
            ),
            why="The rise is watts times °C/W, on top of the air's temperature.",
            hints=(
                "°C/W tells how much hotter the junction is than the air, for each watt.",
                "Rise = P · (°C/W), with the loss of the step before.",
                "T = air + P · (°C/W).",
            ),
            worked=("P = {on_loss:W}", "T = {ambient} + {on_loss:W} · {junction_to_ambient} = {answer}"),
        ),
        Question(
            title="On-state loss under PWM",
            wording="Now the transistor is switched with a duty of {duty}, so fast that the motor's current stays"
            " at {current}. "
            "The on-resistance is {on_resistance}. How much heat does the on-state make on average?",
            unit="W",
            answer=lambda n: n.duty * n.current**2 * n.on_resistance,
            mistakes=(
                Mistake(
                    M31,
                    "the average current in the transistor is squared",
                    lambda n: (n.duty * n.current) ** 2 * n.on_resistance,
                ),
                Mistake(
                    M31,
                    "the transistor is taken to carry the current all the time",
                    lambda n: n.current**2 * n.on_resistance,
                ),
                Mistake(
                    "off share for on share",
                    "the share of time when it is off is used",
                    lambda n: (1 - n.duty) * n.current**2 * n.on_resistance,
                ),
            ),
            why="While on it makes I²R, and it is on for that share of the time.",
            hints=(
                "How large is the loss while it is on? And for which share of the time is that?",
                "The current while it is on is the motor's whole current.",
                "P = D · I² · R.",
            ),
            worked=("while on: {on_loss:W}", "on average: {duty} · {on_loss:W} = {answer}"),
        ),
        Question(
            title="Switching loss",
            wording="Both edges together take {edges}, and it switches at {frequency}. "
            "While off it holds {voltage} (leave the diode's drop aside), while on it carries {current}. "
            "Voltage and current change in straight lines, one after the other. How much heat do the edges make?",
            unit="W",
            answer=lambda n: 0.5 * n.voltage * n.current * n.edges * n.frequency,
            mistakes=(
                Mistake(M29, "switching is taken to cost nothing", lambda _: 0.0),
                Mistake(
                    M29,
                    "voltage and current are taken to be whole during the edges: the ½ is missing",
                    lambda n: n.voltage * n.current * n.edges * n.frequency,
                ),
            ),
            why="During an edge voltage and current meet; about half of their product counts.",
            hints=(
                "For which share of the time is the transistor neither on nor off?",
                "That share is the length of the edges times the frequency.",
                "P = ½ · V · I · edges · f.",
            ),
            worked=(
                "share of the time: {edges} · {frequency}",
                "P = ½ · {voltage} · {current} · {edges} · {frequency} = {answer}",
            ),
            difficulty=2,
        ),
        Question(
            title="Average gate current",
            wording="Each time it is switched on, the gate takes {gate_charge}. "
            "Which average current does that draw from the board at {frequency}?",
            unit="A",
            answer=lambda n: n.gate_charge * n.frequency,
            mistakes=(
                Mistake(M28, "a gate is taken to draw no current at all", lambda _: 0.0),
                Mistake(
                    "divided instead of multiplied",
                    "the charge is divided by the frequency",
                    lambda n: n.gate_charge / n.frequency,
                ),
                Mistake(
                    "half or double", "the charge is counted for both edges", lambda n: 2 * n.gate_charge * n.frequency
                ),
            ),
            why="A charge so many times a second is a current: small, but not none.",
            hints=(
                "A coulomb each second is an ampere.",
                "So much charge, so many times a second.",
                "I = Q · f.",
            ),
            worked=("I = {gate_charge} · {frequency} = {answer}",),
        ),
        Question(
            title="Loss in a Darlington",
            wording="Someone fits a Darlington transistor instead, which keeps {saturation_voltage} across itself"
            " when on. "
            "The supply is {voltage} and {current} flow. How much heat arises in it (leave the base current aside)?",
            unit="W",
            answer=lambda n: n.saturation_voltage * n.current,
            mistakes=(
                Mistake(M27, "the supply's voltage is multiplied by the current", lambda n: n.voltage * n.current),
                Mistake(
                    M27,
                    "the voltage at the motor is multiplied by the current",
                    lambda n: (n.voltage - n.saturation_voltage) * n.current,
                ),
                Mistake("square too many", "the current is squared", lambda n: n.saturation_voltage * n.current**2),
            ),
            why="Its own volts times its amperes: a Darlington gets hot where a good MOSFET stays cool.",
            hints=(
                "Which voltage is across the transistor itself?",
                "Heat in a part is the voltage across it times the current through it.",
            ),
            worked=("P = {saturation_voltage} · {current} = {answer}",),
        ),
        Question(
            title="Junction temperature with its own heat counted",
            wording="A warm transistor conducts worse: its on-resistance of {on_resistance} holds at 25 °C and grows "
            "by 0.5 % of that for each degree. With {current}, {junction_to_ambient} and air of {ambient}: "
            "where does the junction settle?",
            unit="°C",
            tolerance=0.0,
            allowance=0.8,
            answer=_settled,
            gives="settled",
            mistakes=(
                Mistake(
                    "feedback forgotten",
                    "the on-resistance is taken to stay",
                    lambda n: n.ambient + n.on_loss * n.junction_to_ambient,
                ),
            ),
            why="Warmer means more resistance means warmer still, until heat in and heat out balance.",
            hints=(
                "The loss that you look for depends on the temperature that you look for.",
                "Put the loss at T into the sum and solve for T, or repeat until nothing changes.",
                "T = air + (°C/W) · I² · R · (1 + 0.005 · (T − 25)).",
            ),
            worked=(
                "cold it would make {on_loss:W}",
                "T = {ambient} + {junction_to_ambient} · {on_loss:W} · (1 + 0.005 · (T − 25 °C))",
                "solved for T: {answer}",
            ),
            difficulty=3,
        ),
        Question(
            title="What cools this transistor best",
            wording="With {current} through {on_resistance} the transistor is too hot for comfort. "
            "Which change takes away the most heat at its origin?",
            options=(
                Option(
                    "A supply with fewer volts, since the heat is supply voltage times current.",
                    M27,
                    "The transistor has only its own small voltage across it.",
                ),
                Option("A transistor whose on-resistance is low at the 3.3 V that the pin gives."),
                Option(
                    "Nothing: 3.3 V is above the threshold, so it is fully on already.",
                    M26,
                    "The threshold only says where it begins to conduct.",
                ),
            ),
            why="Less on-resistance at the gate voltage that you have is less heat at once.",
            hints=("What is the formula of the heat, and which of its letters can you change?",),
            worked=("P = I² · R: the current is the motor's, so R at 3.3 V is what you can choose.",),
        ),
    ),
)

#: Every plan that was handed out, and the one of today.
SHEETS = (
    SHEET,
    SHEET.later("2026-12", kit={"Junction temperature with its own heat counted": ("junction_temperature",)}),
)
