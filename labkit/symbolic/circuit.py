"""The circuit: Ohm's law, power, dividers, wires, and a current that grows in a winding."""

from __future__ import annotations

from sympy import Derivative, Integral, exp, log

from labkit.symbolic import laws
from labkit.symbolic.calculus import SolvesOde
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import at_start, condition
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, i = q.time, q.momentary_current
V, I, R, R_2, L = q.voltage, q.current, q.resistance, q.other_resistance, q.inductance  # noqa: E741 (the trade's letter)

_METAL = "The resistance stays the same: the part is a metal and does not get hot."
_HELD = "The shaft is held, so there is no back-EMF."
_AT_ONCE = "The switch closes at once."
_RISE_GIVEN = (
    laws.MOMENTARY_WINDING,
    condition(q.momentary_voltage, V, "A steady voltage is switched on."),
    condition(q.emf, 0, "The shaft is held."),
    at_start(i, 0, "No current flows before."),
)
_RISE_STEPS = (
    Step(equal(V, R * i + L * Derivative(i, t)), "Put the steady voltage in, and no back-EMF.", "The shaft is held."),
    Step(
        equal(i, V / R * (1 - exp(-R * t / L))),
        "Solve for the current that begins at zero.",
        laws.ONE_CURVE,
        SolvesOde(),
    ),
)

DERIVATIONS = (
    Derivation(
        name="Ohm's law",
        title="What current does a voltage drive through a resistance?",
        given=(laws.OHM,),
        assumptions=(_METAL,),
        validity="It holds for wires, windings at rest and resistors, not for diodes, lamps or a turning motor.",
        steps=(Step(equal(I, V / R), "Divide by the resistance.", "It is not zero."),),
    ),
    Derivation(
        name="power from voltage and current",
        title="What power does a part take?",
        given=(laws.VOLTAGE, laws.CURRENT, laws.POWER_IS_RATE),
        assumptions=("Voltage and current are steady.",),
        validity="It holds for any part at any moment, whatever is in it.",
        steps=(
            Step(
                equal(q.power * q.duration, V * I * q.duration),
                "Put the charge that passes into the energy.",
                "The energy is the voltage for each charge, times the charge.",
            ),
            Step(equal(q.power, V * I), "Divide by the time.", "It is not zero."),
        ),
    ),
    Derivation(
        name="power from current and resistance",
        title="What heat does a current make in a resistance?",
        given=(laws.OHM, laws.POWER),
        assumptions=(_METAL,),
        validity="It holds for what heats alone, such as a winding or a wire, at a steady or RMS current.",
        steps=(
            Step(
                equal(q.power, I**2 * R),
                "Put the voltage from Ohm's law into the power.",
                "Both speak of the same part.",
            ),
        ),
    ),
    Derivation(
        name="power from voltage and resistance",
        title="What heat does a voltage make in a resistance?",
        given=(laws.OHM, laws.POWER),
        assumptions=(_METAL,),
        validity="The voltage is that across the resistance alone: not the supply's, where a motor turns.",
        steps=(
            Step(equal(I, V / R), "Take the current from Ohm's law.", "The resistance is not zero."),
            Step(equal(q.power, V**2 / R), "Put that current into the power.", "Both speak of the same part."),
        ),
    ),
    Derivation(
        name="resistances in series",
        title="What do two resistances in a row come to?",
        given=(
            condition(V, q.total_resistance * I, "The whole obeys Ohm's law.", name="the whole"),
            condition(q.part_voltage, R * I, "The same current flows in both.", name="first part"),
            condition(q.other_voltage, R_2 * I, "The same again.", name="second part"),
            condition(V, q.part_voltage + q.other_voltage, "The voltages add.", name="Kirchhoff"),
        ),
        assumptions=(_METAL,),
        validity="It holds where nothing branches off between the two.",
        steps=(
            Step(
                equal(q.total_resistance * I, R * I + R_2 * I),
                "Put both drops into the sum of the voltages.",
                "What goes in at one end comes out at the other.",
            ),
            Step(equal(q.total_resistance, R + R_2), "Divide by the current.", "It is not zero."),
        ),
    ),
    Derivation(
        name="resistances in parallel",
        title="What do two resistances side by side come to?",
        given=(
            condition(V, q.total_resistance * q.total_current, "The whole obeys Ohm's law.", name="the whole"),
            condition(V, R * I, "Both see the same voltage.", name="first branch"),
            condition(V, R_2 * q.other_current, "The same again.", name="second branch"),
            condition(q.total_current, I + q.other_current, "The currents add.", name="Kirchhoff"),
        ),
        assumptions=(_METAL,),
        validity="It holds where both ends of the two are joined.",
        steps=(
            Step(
                equal(V / q.total_resistance, V / R + V / R_2),
                "Put each branch's current into the sum of the currents.",
                "What flows in flows out.",
            ),
            Step(
                equal(q.total_resistance, R * R_2 / (R + R_2)),
                "Divide by the voltage and turn both sides over.",
                "It is not zero.",
            ),
        ),
    ),
    Derivation(
        name="voltage divider",
        title="What is left for the second of two resistances in a row?",
        given=(
            condition(V, R * I + R_2 * I, "The same current flows in both, and the voltages add.", name="Kirchhoff"),
            condition(q.other_voltage, R_2 * I, "Ohm's law.", name="second part"),
        ),
        assumptions=(_METAL, "Nothing else is joined to the middle."),
        validity="It holds while what is joined to the middle takes far less current than the two do.",
        steps=(
            Step(equal(I, V / (R + R_2)), "Solve for the current.", "Both resistances carry it."),
            Step(
                equal(q.other_voltage, V * R_2 / (R + R_2)),
                "Multiply by the second resistance.",
                "That is the voltage across it.",
            ),
        ),
    ),
    Derivation(
        name="wiring drop",
        title="What voltage do the leads take, there and back?",
        given=(
            laws.WIRE,
            condition(q.total_resistance, 2 * R, "The current goes there and back.", name="two leads"),
            condition(V, q.total_resistance * I, "Ohm's law.", name="both leads"),
        ),
        assumptions=(_METAL, "Plugs and contacts are left out; on a breadboard they take more than the wire."),
        validity="Copper has 0.0172 µΩ·m at 20 °C, and more when hot.",
        steps=(
            Step(
                equal(q.total_resistance, 2 * q.resistivity * q.length / q.area),
                "Double the resistance of one lead.",
                "The leads are in series.",
            ),
            Step(equal(V, 2 * q.resistivity * q.length * I / q.area), "Multiply by the current.", "Ohm's law."),
        ),
    ),
    Derivation(
        name="current rise",
        title="How does the current grow after switching on, with the shaft held?",
        given=_RISE_GIVEN,
        assumptions=(_HELD, _AT_ONCE, laws.BRUSH),
        validity="It holds until the shaft starts to turn, and as long as the iron does not saturate.",
        steps=_RISE_STEPS,
    ),
    Derivation(
        name="time to reach a current",
        title="How long does the current take to reach a value, with the shaft held?",
        given=_RISE_GIVEN,
        assumptions=(_HELD, _AT_ONCE, laws.BRUSH),
        validity="The current asked for must be below voltage over resistance, which it never passes.",
        conditions=(V > R * I,),
        steps=(
            *_RISE_STEPS,
            Step(
                equal(I, V / R * (1 - exp(-R * q.duration / L))),
                "Take the curve at the moment asked for.",
                "It holds at every moment.",
                Put({t: q.duration, i: I}),
            ),
            Step(
                equal(q.duration, -L / R * log(1 - R * I / V)),
                "Take the logarithm.",
                "The curve rises all the way, so each current is reached once.",
            ),
        ),
    ),
    Derivation(
        name="energy in the winding",
        title="What energy is in the winding's field at a current?",
        given=(
            laws.INDUCTOR,
            laws.MOMENTARY_POWER,
            condition(i, I * t / q.duration, "Let the current grow evenly.", name="the way there"),
            condition(
                q.stored_energy,
                Integral(q.momentary_power, (t, 0, q.duration)),
                "Energy is the area under the power.",
                name="energy",
            ),
        ),
        assumptions=("The inductance does not change with the current.",),
        validity="It holds whatever way the current came about: heat in the resistance is not in it.",
        steps=(
            Step(
                equal(q.momentary_voltage, L * I / q.duration),
                "Put the even growth into the inductor's law.",
                "Its rate is the current over the time.",
            ),
            Step(
                equal(q.momentary_power, L * I**2 * t / q.duration**2),
                "Multiply by the current at that moment.",
                "That is the power.",
            ),
            Step(
                equal(q.stored_energy, L * I**2 / 2),
                "Add the power up over the time.",
                "A triangle's area is half of base times height; how long it took drops out.",
            ),
        ),
    ),
)
