"""Two voltages at switch-off: the switch-off kick, and why the generator EMF is another thing.

Two voltages are easily taken for one.
The generator EMF k·ω goes with the speed and has the polarity of the drive.
The switch-off kick L·di/dt is there even with the shaft held, and has the opposite polarity across the motor.
``side_by_side("generator EMF at the freewheel diode", "switch-off kick at the freewheel diode")`` shows both at the
same diode.
"""

# ruff: noqa: N816 (letters as the trade writes them)

from __future__ import annotations

from labkit.symbolic import laws
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import condition
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, i = q.time, q.momentary_current
V_s, V_F, E, k = q.supply_voltage, q.diode_drop, q.emf, q.emf_constant
I, R, L = q.current, q.resistance, q.inductance  # noqa: E741 (the trade's letter)
V_w, V_DS, V_AK, r_I = q.winding_voltage, q.peak_switch_voltage, q.diode_voltage, q.current_rate

_FORWARD = "The shaft turns forward, as it was driven."
_ACROSS = condition(V_w, -V_AK, "The diode lies across the motor, the other way round.", name="diode across the motor")
_WINDING = condition(
    V_w,
    R * I - L * r_I + E,
    "Kirchhoff in the winding: drop, inductance and EMF; the current falls at this rate.",
    name="winding",
)

DERIVATIONS = (
    Derivation(
        name="generator EMF at the freewheel diode",
        title="Does the generator EMF open the freewheel diode?",
        given=(_WINDING, _ACROSS, laws.EMF),
        assumptions=("The current has died away, so that none flows and none changes.", _FORWARD),
        validity=(
            "It is below zero at every forward speed, so the diode blocks; and while the EMF is below the supply, "
            "the transistor's body diode blocks as well. Turned backwards, the shaft opens the diode."
        ),
        steps=(
            Step(equal(V_w, R * I - L * r_I + k * q.speed), "Put the EMF in.", "It is k times the speed."),
            Step(
                equal(V_AK, -k * q.speed),
                "Put no current and no change of it.",
                "What is left is the EMF alone, with the polarity of the drive: the diode sees it the blocking way.",
                Put({I: 0, r_I: 0}),
            ),
        ),
    ),
    Derivation(
        name="switch-off kick at the freewheel diode",
        title="Does the switch-off kick open the freewheel diode?",
        given=(_WINDING, _ACROSS, laws.EMF),
        assumptions=(laws.OPENS_AT_ONCE, _FORWARD, laws.BRUSH),
        validity="The current must go on, so it falls ever faster until a path opens: the diode, at its drop.",
        steps=(
            Step(equal(V_w, R * I - L * r_I + k * q.speed), "Put the EMF in.", "It is k times the speed."),
            Step(
                equal(V_AK, L * r_I - R * I - k * q.speed),
                "Turn the signs round for the diode.",
                "A falling current turns the inductance's voltage round, which opens the diode even at no speed.",
            ),
        ),
    ),
    Derivation(
        name="switch-off kick",
        title="How large is the inductance's own voltage, with a freewheel diode?",
        given=(
            _WINDING,
            _ACROSS,
            condition(V_AK, V_F, "The diode conducts.", name="diode"),
            condition(q.kick, L * r_I, "The kick is the inductance's share.", name="kick"),
        ),
        assumptions=(laws.OPENS_AT_ONCE, laws.FREEWHEEL, laws.BRUSH),
        validity="It holds just after opening; the kick is as large as it must be to keep the current going.",
        steps=(
            Step(equal(L * r_I, V_F + R * I + E), "Put the diode's drop in.", "The diode sets the winding's voltage."),
            Step(equal(q.kick, V_F + R * I + E), "Call it the kick.", "It makes up for drop, diode and EMF together."),
        ),
    ),
    Derivation(
        name="rate at which the current falls",
        title="How fast does the current fall just after opening?",
        given=(_WINDING, _ACROSS, condition(V_AK, V_F, "The diode conducts.", name="diode")),
        assumptions=(laws.OPENS_AT_ONCE, laws.FREEWHEEL, laws.BRUSH),
        validity="It holds at the first moment; later the current, and with it the rate, is less.",
        steps=(
            Step(
                equal(r_I, (V_F + R * I + E) / L), "Put the diode's drop in, and solve for the rate.", "L is not zero."
            ),
        ),
    ),
    Derivation(
        name="kick of a forced switch-off",
        title="How large is the kick when the current is made to stop within a time?",
        given=(
            laws.INDUCTOR,
            condition(i, I * (1 - t / q.duration), "The current falls evenly to zero.", name="forced fall"),
        ),
        assumptions=("Nothing gives the current another path.",),
        validity="In truth something breaks down first: the transistor, or the air between contacts.",
        steps=(
            Step(
                equal(q.momentary_voltage, -L * I / q.duration),
                "Put the even fall into the inductor's law.",
                "The current falls, so the voltage has the other sign.",
            ),
            Step(
                equal(q.kick, L * I / q.duration),
                "Call its size the kick.",
                "Only its size is asked for.",
                Put({q.momentary_voltage: -q.kick}),
            ),
        ),
    ),
    Derivation(
        name="peak switch voltage with a diode",
        title="What is the highest voltage across the switch, with a freewheel diode?",
        given=(
            condition(V_s, V_w + V_DS, "Kirchhoff: motor and switch share the supply.", name="loop"),
            _ACROSS,
            condition(V_AK, V_F, "The diode conducts.", name="diode"),
        ),
        assumptions=(laws.FREEWHEEL, "The leads to the diode are short, so that they make no kick of their own."),
        validity="It holds at any speed and any current: the EMF is not in it.",
        steps=(
            Step(equal(V_w, -V_F), "Take the motor's voltage from the diode.", "The diode sets it."),
            Step(equal(V_DS, V_s + V_F), "Take it off the supply's.", "What the motor does not take, the switch does."),
        ),
    ),
    Derivation(
        name="switch voltage while coasting",
        title="What voltage stands across the open switch once the current has stopped?",
        given=(
            condition(V_s, V_w + V_DS, "Kirchhoff: motor and switch share the supply.", name="loop"),
            condition(V_w, k * q.speed, "Without a current the motor shows its EMF alone.", name="motor"),
        ),
        assumptions=("The current has died away.", _FORWARD),
        validity="While the EMF is below the supply it stays above zero, which keeps the body diode blocked.",
        conditions=(V_s > k * q.speed,),
        steps=(
            Step(
                equal(V_DS, V_s - k * q.speed),
                "Take the EMF off the supply.",
                "Both have the same polarity round the loop.",
            ),
        ),
    ),
    Derivation(
        name="speed at which the body diode conducts",
        title="Above which speed does a driven shaft feed the supply through the transistor's body diode?",
        given=(
            condition(E, V_s + q.body_diode_drop, "The EMF just overcomes supply and body diode.", name="on the verge"),
            laws.EMF,
        ),
        assumptions=(
            "Something else drives the shaft, such as a weight or the wind.",
            "No current flows yet.",
            laws.BRUSH,
        ),
        validity="A supply that cannot take charge back rises in voltage from there on.",
        steps=(
            Step(
                equal(q.body_diode_speed, (V_s + q.body_diode_drop) / k),
                "Put the EMF in, solve for the speed, and call it so.",
                "The EMF is k times the speed.",
                Put({q.speed: q.body_diode_speed}),
            ),
        ),
    ),
    Derivation(
        name="current that an overhauling load feeds back",
        title="What current does a shaft that is driven too fast push back into the supply?",
        given=(
            condition(
                E,
                V_s + q.body_diode_drop + R * I,
                "The EMF drives the current through winding, supply and body diode, against the drive's own way.",
                name="loop",
            ),
            laws.EMF,
        ),
        assumptions=("The switch is open.", "The supply takes charge back at its voltage.", laws.BRUSH),
        validity="Here the generator EMF does matter: it brakes the load, and it charges the supply, like it or not.",
        conditions=(k * q.speed > V_s + q.body_diode_drop,),
        steps=(
            Step(equal(k * q.speed, V_s + q.body_diode_drop + R * I), "Put the EMF in.", "It is k times the speed."),
            Step(equal(I, (k * q.speed - V_s - q.body_diode_drop) / R), "Solve for the current.", "R is not zero."),
        ),
    ),
    Derivation(
        name="current of a shaft driven backwards",
        title="What current flows when the shaft is turned backwards with the switch open?",
        given=(
            condition(E, R * I + V_F, "Backwards, the EMF has the sign that opens the freewheel diode.", name="loop"),
            laws.EMF,
        ),
        assumptions=("The speed is counted as a size, backwards.", laws.FREEWHEEL, laws.BRUSH),
        validity="Here the generator EMF does matter: the diode brakes a shaft that is driven backwards.",
        conditions=(k * q.speed > V_F,),
        steps=(
            Step(equal(k * q.speed, R * I + V_F), "Put the EMF in.", "It is k times the speed."),
            Step(equal(I, (k * q.speed - V_F) / R), "Solve for the current.", "R is not zero."),
        ),
    ),
    Derivation(
        name="braking current in a bridge",
        title="What current flows when a bridge shorts a turning motor?",
        given=(
            condition(E, (R + 2 * q.on_resistance) * I, "Two switches that are on join the motor's ends.", name="loop"),
            laws.EMF,
        ),
        assumptions=("The inductance is left out: the current follows far faster than the speed.", laws.BRUSH),
        validity="Here the generator EMF does matter: it is the only source, and it brakes the shaft.",
        steps=(
            Step(equal(I, k * q.speed / (R + 2 * q.on_resistance)), "Put the EMF in, and solve.", "It is k times ω."),
        ),
    ),
)
