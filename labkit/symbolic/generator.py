"""The motor turned by the fan: a generator that feeds a resistor or an LED, and what that costs."""

# ruff: noqa: N816 (letters as the trade writes them)

from __future__ import annotations

from sympy import LambertW, cos, exp, log, pi, sin

from labkit.symbolic import laws
from labkit.symbolic.calculus import Extreme
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import condition
from labkit.symbolic.rules import Put, Root
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t = q.time
I, R, k, R_L = q.current, q.resistance, q.emf_constant, q.load_resistance  # noqa: E741 (the trade's letter)
V_LED, r_LED, V_T, I_sat = q.led_voltage, q.led_slope_resistance, q.thermal_voltage, q.saturation_current

_STEADY = "Speed and current are steady."
_DRIVER = "Whatever turns the shaft keeps its speed."
_LINE = "The LED follows a straight line above its forward voltage."
_SHARED = "They share the terminals."
_LOAD = condition(q.voltage, R_L * I, "Ohm's law for the load.", name="load")
_LED = condition(q.voltage, q.led_drop, "The LED is across the terminals, the right way round.", name="LED")
_POWER = condition(q.load_power, I**2 * R_L, "A resistance turns current squared into heat.", name="power in the load")

_LOOP = Step(equal(k * q.speed - R * I, R_L * I), "Set the generator's voltage equal to the load's.", _SHARED)
_INTO_LOAD = Step(equal(I, k * q.speed / (R + R_L)), "Solve for the current.", "Both resistances carry it.")
_LOAD_POWER = Step(
    equal(q.load_power, (k * q.speed) ** 2 * R_L / (R + R_L) ** 2),
    "Take the heat of that current in the load.",
    "The load is a resistance.",
)
_MATCHED = Step(
    equal(q.best_load_resistance, R),
    "Find the load that takes the most power.",
    "There the slope over the load resistance is zero.",
    Extreme(of=q.load_power, over=R_L),
)

DERIVATIONS = (
    Derivation(
        name="generator terminal voltage",
        title="What voltage does a generator give at its terminals?",
        given=(laws.GENERATOR, laws.EMF),
        assumptions=(_STEADY, laws.BRUSH),
        validity="It holds while current leaves the + terminal; with none it is the EMF itself.",
        conditions=(k * q.speed > R * I,),
        steps=(Step(equal(q.voltage, k * q.speed - R * I), "Put the EMF in.", "It is k times the speed."),),
    ),
    Derivation(
        name="generator current into a resistor",
        title="What current does a generator drive through a resistor?",
        given=(laws.GENERATOR, laws.EMF, _LOAD),
        assumptions=(_STEADY, laws.BRUSH),
        validity="It holds at any speed, either way round.",
        steps=(_LOOP, _INTO_LOAD),
    ),
    Derivation(
        name="generator power into a resistor",
        title="What power does a generator give to a resistor?",
        given=(laws.GENERATOR, laws.EMF, _LOAD, _POWER),
        assumptions=(_STEADY, laws.BRUSH, _DRIVER),
        validity="It holds at any speed, either way round.",
        steps=(_LOOP, _INTO_LOAD, _LOAD_POWER),
    ),
    Derivation(
        name="best load of a generator",
        title="Which load resistance takes the most power?",
        given=(laws.GENERATOR, laws.EMF, _LOAD, _POWER),
        assumptions=(_STEADY, laws.BRUSH, _DRIVER),
        validity="Half of the power then heats the winding: it is the most power, not the best efficiency.",
        steps=(_LOOP, _INTO_LOAD, _LOAD_POWER, _MATCHED),
    ),
    Derivation(
        name="maximum generator power",
        title="What is the most power that a generator can give at a speed?",
        given=(laws.GENERATOR, laws.EMF, _LOAD, _POWER),
        assumptions=(_STEADY, laws.BRUSH, _DRIVER),
        validity="As much again heats the winding, which must bear it.",
        steps=(
            _LOOP,
            _INTO_LOAD,
            _LOAD_POWER,
            _MATCHED,
            Step(
                equal(q.max_load_power, (k * q.speed) ** 2 / (4 * R)),
                "Take the power into that load.",
                "Half of the EMF is left at the terminals.",
                Put({R_L: q.best_load_resistance, q.load_power: q.max_load_power}),
            ),
        ),
    ),
    Derivation(
        name="generator current into an LED",
        title="What current does a generator drive through an LED?",
        given=(laws.GENERATOR, laws.EMF, laws.LED_LINE, _LED),
        assumptions=(_STEADY, laws.BRUSH, _LINE),
        validity="Below the speed at which the EMF is the forward voltage the LED stays dark.",
        conditions=(k * q.speed > V_LED,),
        steps=(
            Step(
                equal(k * q.speed - R * I, V_LED + r_LED * I),
                "Set the generator's voltage equal to the LED's.",
                _SHARED,
            ),
            Step(
                equal(I, (k * q.speed - V_LED) / (R + r_LED)),
                "Solve for the current.",
                "What the EMF has above the forward voltage is left for the resistances.",
            ),
        ),
    ),
    Derivation(
        name="generator current into an LED, exactly",
        title="What current does a generator drive through an LED that follows Shockley's law?",
        given=(laws.GENERATOR, laws.EMF, laws.SHOCKLEY, _LED),
        assumptions=(_STEADY, laws.BRUSH, "The resistance is the winding's and the LED's own, in series."),
        validity="It holds at every speed: such an LED has no threshold, its current only gets very small.",
        steps=(
            Step(
                equal(k * q.speed - R * I, V_T * log(1 + I / I_sat)),
                "Set the generator's voltage equal to the LED's.",
                _SHARED,
            ),
            Step(
                equal(I, V_T / R * LambertW(I_sat * R / V_T * exp((k * q.speed + R * I_sat) / V_T)) - I_sat),
                "Solve for the current with Lambert's W.",
                "W(x) is the number whose product with its own exponential is x.",
                Root(),
            ),
        ),
    ),
    Derivation(
        name="speed at which an LED lights",
        title="How fast must the shaft turn for a current in the LED?",
        given=(laws.GENERATOR, laws.EMF, laws.LED_LINE, _LED),
        assumptions=(_STEADY, laws.BRUSH, _LINE),
        validity="About 1 mA is seen indoors, a tenth of that in the dark (common practice, no source).",
        steps=(
            Step(equal(k * q.speed, V_LED + (R + r_LED) * I), "Add all that the EMF must make up.", _SHARED),
            Step(
                equal(q.lighting_speed, (V_LED + (R + r_LED) * I) / k),
                "Divide by k, and call it the lighting speed.",
                "The EMF is k times the speed.",
                Put({q.speed: q.lighting_speed}),
            ),
        ),
    ),
    Derivation(
        name="torque that a generator costs",
        title="What torque turns a loaded generator?",
        given=(
            laws.GENERATOR,
            laws.EMF,
            _LOAD,
            laws.TORQUE,
            condition(
                q.driving_torque,
                q.electromagnetic_torque + q.friction_torque,
                "The driver works against the field's torque and friction.",
                name="driving torque",
            ),
        ),
        assumptions=(_STEADY, laws.BRUSH),
        validity="It holds at any speed; it is greatest with the terminals shorted.",
        steps=(
            _LOOP,
            _INTO_LOAD,
            Step(
                equal(q.driving_torque, k**2 * q.speed / (R + R_L) + q.friction_torque),
                "Take the torque of that current, and add friction.",
                "A generated current brakes.",
            ),
        ),
    ),
    Derivation(
        name="EMF of a turning coil",
        title="What is the highest EMF of a coil that turns in a field?",
        given=(
            laws.FARADAY,
            condition(
                q.flux_linkage,
                q.turns * q.flux_density * q.coil_area * cos(q.angle),
                "The flux through the coil goes with the cosine of its angle.",
                name="flux",
            ),
            condition(q.angle, q.speed * t, "The coil turns evenly.", name="turning"),
        ),
        assumptions=("The field is the same over the whole coil.",),
        validity="It holds at slip rings; behind a commutator the mean over a half turn is 64 % of it.",
        plain_angle=True,
        steps=(
            Step(
                equal(q.momentary_emf, -q.turns * q.flux_density * q.coil_area * q.speed * sin(q.speed * t)),
                "Take the rate of the flux.",
                "The rate of a cosine is a sine, times the speed.",
            ),
            Step(
                equal(q.peak_emf, q.turns * q.flux_density * q.coil_area * q.speed),
                "Take it three quarters of a turn on.",
                "There the sine is minus one, the most that it can be.",
                Put({t: 3 * pi / (2 * q.speed), q.momentary_emf: q.peak_emf}),
            ),
        ),
    ),
)
