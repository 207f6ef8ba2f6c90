"""The supply: how far it sags, what buffers it, and what it costs to make one voltage from another."""

# ruff: noqa: N816 (letters as the trade writes them)

from __future__ import annotations

from sympy import Integral, sqrt

from labkit.symbolic import laws
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import condition
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, T_p, D, I_m = q.time, q.period, q.duty, q.mean_current
V_s, V_t, r, R, R_on = q.supply_voltage, q.terminal_voltage, q.internal_resistance, q.resistance, q.on_resistance
I = q.current  # noqa: E741 (the trade's letter)
dV, C, LOOP = q.dip, q.capacitance, q.internal_resistance + q.resistance + q.on_resistance

_SOURCE = "The source is a steady voltage with a resistance, as a battery is for some seconds."
_HELD = "The shaft does not turn yet, so there is no back-EMF."
_ALONE = "During the gap the capacitor alone feeds the load, and the load's current is steady."
_SMOOTH = "The motor's current is smooth and never stops."
_SAG = condition(V_t, V_s - r * I, "The source's own resistance takes a drop.", name="source")
_START = condition(V_s, LOOP * q.stall_current, "Kirchhoff: one current through all of it.", name="loop")
_CHARGE = (
    condition(q.charge, C * dV, "A capacitor gives charge as its voltage falls.", name="capacitor"),
    condition(q.charge, I * q.duration, "A steady current takes charge.", name="load"),
)

DERIVATIONS = (
    Derivation(
        name="supply voltage under load",
        title="What voltage does a source give under load?",
        given=(_SAG,),
        assumptions=(_SOURCE,),
        validity="It holds until the source's own protection steps in.",
        conditions=(V_s > r * I,),
        steps=(Step(equal(V_t, V_s - r * I), "Take the drop off.", "It is lost inside the source."),),
    ),
    Derivation(
        name="internal resistance from two readings",
        title="What is the resistance of a source?",
        given=(_SAG,),
        assumptions=(_SOURCE, "The first reading was taken with nothing connected."),
        validity="Read both within a few seconds: a battery's resistance rises as it empties.",
        conditions=(V_s > V_t,),
        steps=(Step(equal(r, (V_s - V_t) / I), "Solve for the resistance.", "The current is not zero."),),
    ),
    Derivation(
        name="starting current with the source's resistance",
        title="What does a motor draw at its start, with source and switch counted?",
        given=(_START,),
        assumptions=(_SOURCE, _HELD, laws.BRUSH),
        validity="It holds from a few L/R after switching on.",
        steps=(Step(equal(q.stall_current, V_s / LOOP), "Solve for the current.", "All three are in series."),),
    ),
    Derivation(
        name="supply voltage at a start",
        title="How far does the supply sag when a motor starts?",
        given=(_START, condition(V_t, V_s - r * q.stall_current, "The source takes its drop.", name="source")),
        assumptions=(_SOURCE, _HELD, laws.BRUSH),
        validity="Below the board's brown-out voltage the board resets.",
        steps=(
            Step(equal(q.stall_current, V_s / LOOP), "Solve for the current.", "All three are in series."),
            Step(
                equal(V_t, V_s * (R + R_on) / LOOP),
                "Take the source's drop off.",
                "Source and motor divide the voltage.",
            ),
        ),
    ),
    Derivation(
        name="greatest current before a reset",
        title="What current may be drawn before the board resets?",
        given=(_SAG,),
        assumptions=(_SOURCE, "Board and motor share the supply."),
        validity="A short dip may be bridged by the board's own capacitor.",
        conditions=(V_s > q.brown_out,),
        steps=(
            Step(
                equal(I, (V_s - q.brown_out) / r),
                "Put the voltage at which the board resets, and solve.",
                "There the board just still runs.",
                Put({V_t: q.brown_out}),
            ),
        ),
    ),
    Derivation(
        name="buffer capacitor",
        title="Which capacitor holds a voltage up through a gap?",
        given=_CHARGE,
        assumptions=(_ALONE,),
        validity="Buffer the board, behind a diode, and not the motor: the motor asks for far more charge.",
        steps=(
            Step(equal(C * dV, I * q.duration), "Set both charges equal.", "What the load takes, the capacitor gives."),
            Step(equal(C, I * q.duration / dV), "Divide by the fall that is allowed.", "It is not zero."),
        ),
    ),
    Derivation(
        name="hold-up time",
        title="How long does a capacitor hold a voltage up?",
        given=_CHARGE,
        assumptions=(_ALONE,),
        validity="It holds while the fall is what the load can bear.",
        steps=(
            Step(equal(C * dV, I * q.duration), "Set both charges equal.", "What the load takes, the capacitor gives."),
            Step(equal(q.duration, C * dV / I), "Divide by the current.", "It is not zero."),
        ),
    ),
    Derivation(
        name="RMS current in the buffer capacitor",
        title="Which steady current would heat the buffer capacitor alike?",
        given=(
            condition(
                q.capacitor_current**2,
                (Integral((I_m - D * I_m) ** 2, (t, 0, D * T_p)) + Integral((D * I_m) ** 2, (t, D * T_p, T_p))) / T_p,
                "Switch on: it gives what the supply's mean current lacks. Switch off: it takes that back.",
                name="mean of the square",
            ),
        ),
        assumptions=(_SMOOTH, "The supply gives its mean current all the time: the capacitor is large enough."),
        validity="It is greatest at half on, where it is half of the motor's current.",
        steps=(
            Step(
                equal(q.capacitor_current**2, D * (1 - D) * I_m**2),
                "Work out both areas.",
                "Heat goes with the current squared, so its mean counts.",
            ),
            Step(
                equal(q.capacitor_current, I_m * sqrt(D * (1 - D))), "Take the root.", "A current's size is positive."
            ),
        ),
    ),
    Derivation(
        name="heat in a regulator",
        title="What heat does a linear regulator make?",
        given=(
            condition(
                q.regulator_loss + q.output_voltage * q.output_current,
                q.input_voltage * q.output_current,
                "The same current flows in and out; what does not come out is heat.",
                name="power balance",
            ),
        ),
        assumptions=("The regulator's own current is small.",),
        validity="A regulator that only its board cools sheds about 2 W at most (common practice, no source).",
        conditions=(q.input_voltage > q.output_voltage,),
        steps=(
            Step(
                equal(q.regulator_loss, (q.input_voltage - q.output_voltage) * q.output_current),
                "Take the power out from the power in.",
                "Energy is kept.",
            ),
        ),
    ),
    Derivation(
        name="cell current of a boost converter",
        title="What current does a boost converter draw from its cell?",
        given=(
            condition(
                q.efficiency * q.cell_voltage * q.cell_current,
                q.output_voltage * q.output_current,
                "The power out is the efficient part of the power in.",
                name="power balance",
            ),
        ),
        assumptions=("Its efficiency at this load is known: 0.8 to 0.9 is usual (common practice, no source).",),
        validity="The cell's voltage is the one under this very load.",
        steps=(
            Step(
                equal(q.cell_current, q.output_voltage * q.output_current / (q.efficiency * q.cell_voltage)),
                "Solve for the cell's current.",
                "None of the others is zero.",
            ),
        ),
    ),
    Derivation(
        name="ground offset",
        title="By how much does the motor's current lift the board's ground?",
        given=(condition(q.ground_offset, q.ground_resistance * I, "The shared wire takes a drop.", name="Ohm's law"),),
        assumptions=("Motor and board share this piece of the ground wire.",),
        validity="Every reading against the board's ground is off by it: lead both wires to one point.",
        steps=(
            Step(
                equal(q.ground_offset, I * q.ground_resistance), "Multiply current and resistance.", "It is in series."
            ),
        ),
    ),
    Derivation(
        name="battery run time",
        title="How long does a battery run a motor?",
        given=(
            condition(q.battery_charge, q.supply_current * q.run_time, "A steady current takes charge.", name="charge"),
        ),
        assumptions=("The charge is what the maker's curve gives at this very current; the label promises more.",),
        validity="Count the supply's mean current, not the motor's.",
        steps=(
            Step(equal(q.run_time, q.battery_charge / q.supply_current), "Divide by the current.", "It is not zero."),
        ),
    ),
)
