"""Lesson 4, the running motor: the EMF takes most of the voltage, the rest drives current."""

from __future__ import annotations

import math

from labkit._kernels.steady import BrakesSI, MotorSI, run
from labkit.checks import Mistake, Numbers, Option, Question, Value
from labkit.problems.floats import RPM, arrays
from labkit.problems.lessons import LESSONS
from labkit.problems.misconceptions import M1, M2, M12, M13, M14, M16, M17
from labkit.problems.plans import SheetPlan

__all__ = ["SHEETS"]

_FAN_SPEED = 8000 / RPM  # rad/s, at which the fan's torque is given


def _with_fan(n: Numbers) -> float:
    """Return the speed at which the motor turns the fan."""
    friction = n.emf_constant * n.free_current
    fan = n.fan_torque / _FAN_SPEED**2
    brakes = arrays(
        friction=friction, viscous=0.0, fan=fan, weight=0.0, holding=friction,
        motor_friction=friction, motor_viscous=0.0, motor_holding=friction,
    )  # fmt: skip
    motor = arrays(resistance=n.resistance, emf_constant=n.emf_constant, brush_drop=0.0)
    return float(run(**arrays(voltage=n.voltage), motor=MotorSI(**motor), brakes=BrakesSI(**brakes)).speed)


SHEET = SheetPlan(
    name="running-motor",
    lesson=LESSONS[4],
    about="The fan motor runs. Speed, current, torque and power hang together, and two numbers tell all: R and k.",
    values=(
        Value.stepped("voltage", "the voltage at the motor", "V", least="5.2", most="6.4", step="0.1", reference="6.0"),
        Value.stepped(
            "resistance", "the winding's resistance", "Ω", least="2.4", most="3.8", step="0.1", reference="2.8"
        ),
        Value.stepped(
            "emf_constant", "the motor's constant", "mV·s/rad", least="4.6", most="6.2", step="0.1", reference="5.4"
        ),
        Value.stepped(
            "current", "the current under load", "A", least="0.34", most="0.48", step="0.01", reference="0.45"
        ),
        Value.stepped(
            "free_current", "the free motor's current", "A", least="0.10", most="0.16", step="0.01", reference="0.11"
        ),
        Value.stepped(
            "run_speed",
            "a speed read with a tachometer",
            "rpm",
            least="6000",
            most="9000",
            step="100",
            reference="8300",
        ),
        Value.stepped(
            "fan_torque", "the fan's torque at 8000 rpm", "mN·m", least="1.0", most="1.8", step="0.1", reference="1.2"
        ),
    ),
    sensible=lambda n: (
        0.2 < (n.voltage - n.emf_constant * n.run_speed) / n.resistance < 0.7
        and abs(n.voltage - 1000 * n.emf_constant) > 0.05
    ),
    questions=(
        Question(
            title="Current at this speed",
            wording="{voltage} are at the motor (winding {resistance}, k = {emf_constant}) and it turns at "
            "{run_speed}. "
            "Which current does it draw?",
            unit="A",
            tolerance=0.03,
            answer=lambda n: (n.voltage - n.emf_constant * n.run_speed) / n.resistance,
            mistakes=(
                Mistake(M1, "the whole voltage is divided by R", lambda n: n.voltage / n.resistance),
                Mistake(
                    "EMF over resistance",
                    "the generator EMF is divided by R",
                    lambda n: n.emf_constant * n.run_speed / n.resistance,
                ),
                Mistake(
                    M14,
                    "k is multiplied by turns a second",
                    lambda n: (n.voltage - n.emf_constant * n.run_speed / (2 * math.pi)) / n.resistance,
                ),
            ),
            why="Only what the generator EMF leaves of the voltage drives current.",
            hints=(
                "How large is the generator EMF at this speed?",
                "What does it leave of the voltage?",
                "I = (V − k·ω) / R.",
            ),
            worked=(
                "ω = {run_speed:rad/s}",
                "I = ({voltage} − {emf_constant} · {run_speed:rad/s}) / {resistance} = {answer}",
            ),
            difficulty=2,
        ),
        Question(
            title="Generator EMF at this current",
            wording="Under another load it draws {current} at {voltage}; the winding has {resistance}. "
            "How large is its generator EMF now?",
            unit="V",
            answer=lambda n: n.voltage - n.current * n.resistance,
            gives="emf",
            mistakes=(
                Mistake(M13, "the EMF is taken to equal the voltage", lambda n: n.voltage),
                Mistake(
                    "the rest of the voltage",
                    "the drop across the winding is taken",
                    lambda n: n.current * n.resistance,
                ),
                Mistake("sign", "the drop is added", lambda n: n.voltage + n.current * n.resistance),
            ),
            why="Voltage = drop + EMF, all the time.",
            hints=("How much of the voltage drops across the winding?", "EMF = V − I · R."),
            worked=("EMF = {voltage} − {current} · {resistance} = {answer}",),
        ),
        Question(
            title="Speed at this current",
            wording="How fast does it turn then ({voltage}, {current}, winding {resistance}, k = {emf_constant})?",
            unit="rpm",
            answer=lambda n: n.emf / n.emf_constant,
            mistakes=(
                Mistake(M13, "the drop across the winding is left out", lambda n: n.voltage / n.emf_constant),
                Mistake(M14, "the radians a second are called rpm", lambda n: n.emf / n.emf_constant / RPM),
                Mistake("drop over k", "the drop is divided by k", lambda n: n.current * n.resistance / n.emf_constant),
            ),
            why="The EMF sets the speed, so a load that draws more current slows it.",
            hints=("Which voltage goes with the speed?", "ω = EMF / k, in radians a second.", "rpm = rad/s · 60 / 2π."),
            worked=("EMF = {emf:V}", "ω = EMF / k, which is {answer}"),
        ),
        Question(
            title="Free speed",
            wording="With nothing on its shaft the motor draws {free_current} at {voltage} "
            "(winding {resistance}, k = {emf_constant}). How fast does it turn?",
            unit="rpm",
            tolerance=0.01,
            answer=lambda n: (n.voltage - n.free_current * n.resistance) / n.emf_constant,
            mistakes=(
                Mistake(M12, "the free motor is taken to draw no current", lambda n: n.voltage / n.emf_constant),
                Mistake(
                    M14,
                    "the radians a second are called rpm",
                    lambda n: (n.voltage - n.free_current * n.resistance) / n.emf_constant / RPM,
                ),
            ),
            why="Friction costs a little current even then, and that costs a little voltage.",
            hints=("Even a free motor draws current: how much voltage does that take?", "ω = (V − I₀·R) / k."),
            worked=("EMF = {voltage} − {free_current} · {resistance}", "ω = EMF / k, which is {answer}"),
        ),
        Question(
            title="Torque of this current",
            wording="Which torque does {current} make in the motor (k = {emf_constant}), "
            "before friction takes its part?",
            unit="mN·m",
            answer=lambda n: n.emf_constant * n.current,
            mistakes=(
                Mistake(M16, "the current is divided by Kv in rpm/V", lambda n: n.emf_constant * n.current / RPM),
                Mistake(
                    "divided instead of multiplied", "the current is divided by k", lambda n: n.current / n.emf_constant
                ),
                Mistake("power for torque", "voltage and current are multiplied", lambda n: n.voltage * n.current),
            ),
            why="One constant for both: volts per speed, and torque per current.",
            hints=("A torque goes with the current.", "T = k · I, with k in N·m/A, the same number as in V·s/rad."),
            worked=("T = k · I = {emf_constant} · {current} = {answer}",),
        ),
        Question(
            title="Kv of this motor",
            wording="Model shops print Kv, the speed for each volt, in rpm/V. What is it for k = {emf_constant}?",
            unit="rpm/V",
            answer=lambda n: 1 / n.emf_constant,
            mistakes=(
                Mistake(M16, "one is divided by k, and the result called rpm/V", lambda n: 1 / n.emf_constant / RPM),
                Mistake(M16, "k is taken for Kv", lambda n: n.emf_constant * 1000 / RPM),
            ),
            why="Kv is 1/k once the radians a second are turned into rpm.",
            hints=(
                "1/k gives radians a second for each volt.",
                "How many rpm is one radian a second?",
                "Kv = 60 / (2π · k).",
            ),
            worked=("1/k in (rad/s)/V, times 60/2π: {answer}",),
        ),
        Question(
            title="Shaft power at this current",
            wording="At {voltage} and {current} (free: {free_current}, winding {resistance}, the same friction torque "
            "at any speed), which power does the shaft give?",
            unit="W",
            answer=lambda n: (n.current - n.free_current) * n.emf,
            gives="shaft_power",
            mistakes=(
                Mistake(M17, "all of V·I is taken to be mechanical", lambda n: n.voltage * n.current),
                Mistake(M17, "friction is forgotten", lambda n: n.current * n.emf),
                Mistake(
                    M17, "the heat in the winding is forgotten", lambda n: n.voltage * (n.current - n.free_current)
                ),
            ),
            why="V·I less the winding's heat, less what friction eats.",
            hints=(
                "Which current is left for the shaft once friction has its part?",
                "Power turned into motion is EMF · I; friction takes the free current's share.",
                "P = (I − I₀) · EMF.",
            ),
            worked=("EMF = {emf:V}", "P = ({current} − {free_current}) · {emf:V} = {answer}"),
            difficulty=2,
        ),
        Question(
            title="Efficiency at this current",
            wording="Which part of the electrical power arrives at the shaft ({voltage}, {current}, free "
            "{free_current}, "
            "winding {resistance}, the same friction torque at any speed)?",
            answer=lambda n: n.shaft_power / (n.voltage * n.current),
            mistakes=(
                Mistake(M17, "friction is forgotten", lambda n: n.emf / n.voltage),
                Mistake(M17, "the heat in the winding is forgotten", lambda n: 1 - n.free_current / n.current),
                Mistake(
                    "loss for yield",
                    "the part that is lost is given",
                    lambda n: 1 - n.shaft_power / (n.voltage * n.current),
                ),
                Mistake("inverse", "input is divided by output", lambda n: n.voltage * n.current / n.shaft_power),
            ),
            why="Out over in. A small motor wastes a good third even at its best.",
            hints=("What comes out, and what goes in?", "Shaft power over V · I."),
            worked=("P out = {shaft_power:W}", "η = P out / ({voltage} · {current}) = {answer}"),
        ),
        Question(
            title="Speed with the fan",
            wording="A fan takes {fan_torque} at 8000 rpm, and its torque goes with the square of the speed. "
            "At which speed does the motor turn it ({voltage}, winding {resistance}, k = {emf_constant}, "
            "free current {free_current}, the same friction torque at any speed)?",
            unit="rpm",
            answer=_with_fan,
            gives="fan_speed",
            mistakes=(
                Mistake(
                    "load forgotten",
                    "the fan is left out, and only friction counted",
                    lambda n: (n.voltage - n.free_current * n.resistance) / n.emf_constant,
                ),
                Mistake(M13, "no current is taken to flow", lambda n: n.voltage / n.emf_constant),
                Mistake(M14, "the radians a second are called rpm", lambda n: n.fan_speed / RPM),
            ),
            why="It settles where the motor's torque meets friction and fan: one equation of the second degree.",
            hints=(
                "At the speed that you look for, which torques balance?",
                "k · (V − k·ω) / R = friction + c · ω²; friction is k · I₀, and c follows from the fan's torque.",
                "Solve for ω, the positive root.",
            ),
            worked=(
                "c = {fan_torque} / (8000 rpm)², friction = {emf_constant} · {free_current}",
                "k · (V − k·ω) / R = friction + c · ω², the positive root: {answer}",
            ),
            difficulty=3,
        ),
        Question(
            title="What more load does",
            wording="The fan gets heavier to turn while {voltage} stay at the motor. What happens?",
            options=(
                Option(
                    "The current stays at its rating, and the motor just slows.", M2, "The load decides the current."
                ),
                Option("It slows, its generator EMF falls, and the current rises."),
                Option(
                    "Speed and current stay: the voltage sets both.",
                    M13,
                    "The voltage is shared, and the share changes.",
                ),
            ),
            why="Slower means less EMF, and that leaves more voltage for current, until the torque is enough.",
            hints=("More torque needs more current. Where does the voltage for it come from?",),
            worked=("More torque needs more current; more I·R leaves less EMF; less EMF is less speed.",),
        ),
    ),
)

#: Every plan that was handed out, and the one of today.
SHEETS = (SHEET, SHEET.later("2026-12", kit={"Speed with the fan": ("operating_point",)}))
