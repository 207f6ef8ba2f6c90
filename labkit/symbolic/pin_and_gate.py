"""Pin and gate: what a pin can give, which resistors belong to a gate, and how long a gate takes."""

# ruff: noqa: SIM300 (an inequality of symbols is data)

from __future__ import annotations

from sympy import Derivative, exp, log

from labkit.symbolic import laws
from labkit.symbolic.calculus import SolvesOde
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import FREQUENCY, at_start, condition
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, v_g, f = q.time, q.momentary_gate_voltage, q.frequency
V_OH, R_out, R_g, R_pd, I_pin = q.high_level, q.output_resistance, q.gate_resistor, q.pull_down, q.pin_current
V_g, V_th, V_pl, V_BE, Q_gd = (
    q.gate_voltage,
    q.threshold,
    q.plateau_voltage,
    q.base_emitter_voltage,
    q.gate_drain_charge,
)
SERIES = R_out + R_g

_PIN = "The pin is a source with a resistance: its voltage falls evenly with its current."
_NO_CURRENT = "A gate takes current only while its voltage changes."
_PLATEAU = "The gate's voltage stays at its plateau while the drain swings."
_CHARGING = (
    condition(
        SERIES * q.gate_capacitance * Derivative(v_g, t),
        V_OH - v_g,
        "What the gate still lacks drives the current that charges it.",
        name="charging",
    ),
    at_start(v_g, 0, "The gate is empty."),
)
_CURVE = Step(
    equal(v_g, V_OH * (1 - exp(-t / (SERIES * q.gate_capacitance)))),
    "Solve for the voltage that begins at zero.",
    laws.ONE_CURVE,
    SolvesOde(),
)
_TURN_ON = (
    condition(
        q.gate_current, (V_OH - V_pl) / SERIES, "What the pin has above the plateau drives the current.", name="pin"
    ),
    condition(Q_gd, q.gate_current * q.turn_on_time, "A steady current brings the charge in.", name="charge"),
)
_BASE = (
    condition(q.base_current, (V_OH - V_BE) / q.base_resistor, "The resistor takes the rest.", name="base"),
    condition(
        q.current,
        q.gain * q.base_current,
        "So much collector current may be relied on, with the transistor still fully on.",
        name="gain",
    ),
)
_GAIN = "Count on a gain of about 10 when switching, whatever the data sheet promises (common practice, no source)."

DERIVATIONS = (
    Derivation(
        name="output resistance of a pin",
        title="What resistance has a pin inside?",
        given=(condition(q.loaded_level, V_OH - R_out * I_pin, "The pin's resistance takes a drop.", name="pin"),),
        assumptions=(_PIN,),
        validity="It holds up to the data sheet's test current, at its supply voltage.",
        conditions=(V_OH > q.loaded_level,),
        steps=(
            Step(
                equal(R_out, (V_OH - q.loaded_level) / I_pin), "Solve for the resistance.", "The current is not zero."
            ),
        ),
    ),
    Derivation(
        name="motor on a pin",
        title="What current would a motor draw straight from a pin?",
        given=(condition(V_OH, (R_out + q.resistance) * q.current, "Ohm's law; a start has no EMF.", name="loop"),),
        assumptions=(_PIN, "The shaft does not turn yet.", laws.BRUSH),
        validity="Compare it with the pin's limit, which it exceeds for nearly every motor: use a transistor.",
        steps=(Step(equal(q.current, V_OH / (R_out + q.resistance)), "Solve for the current.", "R is not zero."),),
    ),
    Derivation(
        name="LED on a pin",
        title="What current does an LED draw from a pin, through its resistor?",
        given=(
            condition(
                V_OH,
                q.led_voltage + (R_out + q.led_slope_resistance) * q.current,
                "Kirchhoff: the LED's voltage, and the drop in resistor and pin.",
                name="loop",
            ),
        ),
        assumptions=(_PIN, "The LED is a straight line: its forward voltage, and a resistance above it."),
        validity="Below the forward voltage an LED lets almost nothing through.",
        conditions=(V_OH > q.led_voltage,),
        steps=(
            Step(
                equal(q.current, (V_OH - q.led_voltage) / (R_out + q.led_slope_resistance)),
                "Solve for the current.",
                "What the LED leaves of the voltage drives the current through both resistances.",
            ),
        ),
    ),
    Derivation(
        name="peak gate current",
        title="What current does the pin give when it begins to charge a gate?",
        given=(condition(V_OH - V_g, SERIES * q.gate_current, "What the gate lacks drives the current.", name="loop"),),
        assumptions=(_PIN, _NO_CURRENT),
        validity="It lasts far less than a microsecond, but the pin must bear it each time.",
        steps=(
            Step(
                equal(q.gate_current, V_OH / SERIES),
                "Put the empty gate's voltage, 0, and solve.",
                "The first current is the largest.",
                Put({V_g: 0}),
            ),
        ),
    ),
    Derivation(
        name="gate resistor",
        title="Which gate resistor keeps the pin within its current?",
        given=(condition(V_OH, SERIES * I_pin, "An empty gate is a short for a moment.", name="first moment"),),
        assumptions=(_PIN,),
        validity="None is needed where the pin's own resistance is enough already.",
        conditions=(V_OH > R_out * I_pin,),
        steps=(
            Step(
                equal(R_g, V_OH / I_pin - R_out),
                "Divide by the current, and take off the pin's own.",
                "Both are in series.",
            ),
        ),
    ),
    Derivation(
        name="mean gate current",
        title="What mean current does a gate take?",
        given=(
            condition(
                q.mean_gate_current * q.period, q.gate_charge, "Each period brings the charge in once.", name="charge"
            ),
            FREQUENCY,
        ),
        assumptions=("The gate charge is the one at the pin's voltage.",),
        validity="It is small, but it is not nothing: it grows with the frequency.",
        steps=(
            Step(equal(q.mean_gate_current, q.gate_charge * f), "Divide by the period.", "So many are in a second."),
        ),
    ),
    Derivation(
        name="gate voltage with a pull-down",
        title="What voltage reaches a gate whose pull-down sits behind the gate resistor?",
        given=(
            condition(V_OH, (SERIES + R_pd) * I_pin, "One current flows through all three.", name="loop"),
            condition(V_g, R_pd * I_pin, "The gate sees the pull-down's voltage.", name="gate"),
        ),
        assumptions=(_PIN, _NO_CURRENT),
        validity="With the pull-down on the pin's side the gate resistor takes nothing.",
        steps=(
            Step(equal(I_pin, V_OH / (SERIES + R_pd)), "Solve for the current.", "It is one loop."),
            Step(
                equal(V_g, V_OH * R_pd / (SERIES + R_pd)), "Multiply by the pull-down.", "That is what the gate sees."
            ),
        ),
    ),
    Derivation(
        name="pull-down for a leakage",
        title="What is the largest pull-down that keeps the transistor off while the pin floats?",
        given=(
            condition(V_g, q.leakage_current * R_pd, "The leakage flows through the pull-down.", name="floating pin"),
        ),
        assumptions=("The pin is no output yet, and lets through its leakage only.",),
        validity="Stay well below it: 10 kΩ to 100 kΩ is usual (common practice, no source).",
        steps=(
            Step(
                equal(R_pd, V_th / q.leakage_current),
                "Put the threshold, and solve for the pull-down.",
                "At the threshold the transistor begins to conduct.",
                Put({V_g: V_th}),
            ),
        ),
    ),
    Derivation(
        name="gate voltage against a pull-up",
        title="What voltage does a pull-up inside the pin leave on the gate?",
        given=(
            condition(V_OH, (q.pull_up + R_pd) * I_pin, "One current flows through both.", name="loop"),
            condition(V_g, R_pd * I_pin, "The gate sees the pull-down's voltage.", name="gate"),
        ),
        assumptions=("The pin is no output, with its pull-up on, as many are at a start.", _NO_CURRENT),
        validity="Above the threshold the motor runs while the board starts: choose a smaller pull-down.",
        steps=(
            Step(equal(I_pin, V_OH / (q.pull_up + R_pd)), "Solve for the current.", "It is one loop."),
            Step(equal(V_g, V_OH * R_pd / (q.pull_up + R_pd)), "Multiply by the pull-down.", "The gate sees that."),
        ),
    ),
    Derivation(
        name="gate charging",
        title="How does a gate's voltage rise?",
        given=_CHARGING,
        assumptions=(_PIN, "The gate is a steady capacitance, as it is before the drain swings."),
        validity="It holds up to the plateau.",
        steps=(_CURVE,),
    ),
    Derivation(
        name="time to the threshold",
        title="How long until the transistor begins to conduct?",
        given=_CHARGING,
        assumptions=(_PIN, "The gate is a steady capacitance, as it is before the drain swings."),
        validity="The pin's voltage must be above the threshold.",
        conditions=(V_OH > V_th,),
        steps=(
            _CURVE,
            Step(
                equal(V_th, V_OH * (1 - exp(-q.duration / (SERIES * q.gate_capacitance)))),
                "Put the threshold, and call that moment the duration.",
                "The curve holds at every moment.",
                Put({v_g: V_th, t: q.duration}),
            ),
            Step(
                equal(q.duration, SERIES * q.gate_capacitance * log(V_OH / (V_OH - V_th))),
                "Take the logarithm.",
                "The curve rises all the way, so each voltage is reached once.",
            ),
        ),
    ),
    Derivation(
        name="turn-on time",
        title="How long does the drain take to fall?",
        given=_TURN_ON,
        assumptions=(_PIN, _PLATEAU),
        validity="With the plateau at or above the pin's voltage the transistor never turns fully on.",
        conditions=(V_OH > V_pl,),
        steps=(
            Step(
                equal(q.turn_on_time, Q_gd * SERIES / (V_OH - V_pl)),
                "Divide the charge by the current.",
                "It is steady.",
            ),
        ),
    ),
    Derivation(
        name="turn-off time",
        title="How long does the drain take to rise?",
        given=(
            condition(q.gate_current, V_pl / SERIES, "The plateau's voltage drives the current out.", name="pin"),
            condition(Q_gd, q.gate_current * q.turn_off_time, "A steady current takes the charge out.", name="charge"),
        ),
        assumptions=(_PIN, _PLATEAU, "The pin pulls down with the same resistance."),
        validity="It holds for a pin that pulls down to 0 V.",
        steps=(
            Step(equal(q.turn_off_time, Q_gd * SERIES / V_pl), "Divide the charge by the current.", "It is steady."),
        ),
    ),
    Derivation(
        name="gate resistor for a turn-on time",
        title="Which gate resistor gives a turn-on time?",
        given=_TURN_ON,
        assumptions=(_PIN, _PLATEAU),
        validity="Quicker than the pin's own resistance allows, it cannot be.",
        conditions=(V_OH > V_pl, q.turn_on_time * (V_OH - V_pl) / Q_gd > R_out),
        steps=(
            Step(
                equal(R_g, q.turn_on_time * (V_OH - V_pl) / Q_gd - R_out),
                "Solve for the resistor.",
                "Pin and resistor are in series.",
            ),
        ),
    ),
    Derivation(
        name="base resistor",
        title="Which base resistor turns a bipolar transistor fully on?",
        given=_BASE,
        assumptions=("The pin's own resistance is counted with the resistor.", _GAIN),
        validity="The base current must also be within what the pin gives.",
        conditions=(V_OH > V_BE,),
        steps=(
            Step(
                equal(q.current, q.gain * (V_OH - V_BE) / q.base_resistor),
                "Put the base current in.",
                "It is the pin's.",
            ),
            Step(
                equal(q.base_resistor, q.gain * (V_OH - V_BE) / q.current),
                "Solve for the resistor.",
                "The current is not zero.",
            ),
        ),
    ),
)
