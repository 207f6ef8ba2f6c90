"""Switching off: the switch-off kick, where the winding's energy goes, and why the generator EMF is another thing.

Two voltages are easily taken for one.
The generator EMF k·ω goes with the speed and has the polarity of the drive.
The switch-off kick L·di/dt is there even with the shaft held, and has the opposite polarity across the motor.
``side_by_side(derivation("generator EMF at the freewheel diode"), derivation("switch-off kick at the freewheel diode"))``
shows both at the same diode.
"""

from __future__ import annotations

from sympy import Derivative, Integral, exp, log

from labkit.symbolic import laws
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import at_start, condition
from labkit.symbolic.rules import Put, SolvesOde
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, i = q.time, q.momentary_current
V_s, V_F, V_BR, E, k = q.supply_voltage, q.diode_drop, q.breakdown_voltage, q.emf, q.emf_constant
I, R, L, t_d = q.current, q.resistance, q.inductance, q.decay_time  # noqa: E741 (the trade's letter)
V_w, V_DS, V_AK, r_I = q.winding_voltage, q.peak_switch_voltage, q.diode_voltage, q.current_rate

_AT_ONCE = "The switch opens at once, far faster than L/R."
_STEADY_SPEED = "The speed hardly changes while the current dies away."
_DIODE = "The freewheel diode lies across the motor, band to the supply's +, with a drop that does not change."
_FORWARD = "The shaft turns forward, as it was driven."
_NO_DIODE = "There is no freewheel diode, so that the transistor breaks down at its breakdown voltage."
_ACROSS = condition(V_w, -V_AK, "The diode lies across the motor, the other way round.", name="diode across the motor")
_WINDING = condition(
    V_w,
    R * I - L * r_I + E,
    "Kirchhoff in the winding: drop, inductance and EMF; the current falls at this rate.",
    name="winding",
)
_FREEWHEEL = (
    condition(-V_F, R * i + L * Derivative(i, t) + E, "Kirchhoff: the diode holds the motor at minus its drop.", name="loop"),
    at_start(i, I, "The current goes on as it was."),
)
_DYING = Step(
    equal(i, (I + (V_F + E) / R) * exp(-R * t / L) - (V_F + E) / R),
    "Solve for the current.",
    "Only this curve obeys the equation and starts there.",
    SolvesOde(),
)
_ENDS = Step(
    equal((I + (V_F + E) / R) * exp(-R * t_d / L), (V_F + E) / R),
    "Put the current 0, and call that moment the decay time.",
    "The diode lets no current flow back.",
    Put({i: 0, t: t_d}),
)
_DECAY = Step(
    equal(t_d, L / R * log(1 + R * I / (V_F + E))),
    "Take the logarithm.",
    "The curve falls all the way, so it meets zero once.",
)
_BREAKDOWN = condition(
    V_BR,
    V_s + L * r_I,
    "Kirchhoff: the supply and the kick together stand across the transistor.",
    name="loop in breakdown",
)

DERIVATIONS = (
    Derivation(
        name="generator EMF at the freewheel diode",
        title="Does the generator EMF open the freewheel diode?",
        given=(_WINDING, _ACROSS, laws.EMF),
        assumptions=("The current has died away, so that none flows and none changes.", _FORWARD),
        validity="It is below zero at every forward speed, so the diode blocks; turned backwards, it would open.",
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
        assumptions=(_AT_ONCE, _FORWARD),
        validity="The current must go on, so it falls ever faster until a path opens: the diode, at its drop.",
        steps=(
            Step(equal(V_w, R * I - L * r_I + k * q.speed), "Put the EMF in.", "It is k times the speed."),
            Step(
                equal(V_AK, L * r_I - R * I - k * q.speed),
                "Turn the signs round for the diode.",
                "A falling current turns the inductance's voltage round: it opens the diode, and needs no speed for that.",
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
        assumptions=(_AT_ONCE, _DIODE),
        validity="It holds just after opening; the kick is as large as it must be to keep the current going.",
        steps=(
            Step(equal(L * r_I, V_F + R * I + E), "Put the diode's drop in.", "The diode sets the winding's voltage."),
            Step(equal(q.kick, V_F + R * I + E), "Call it the kick.", "It outweighs drop, diode and EMF together."),
        ),
    ),
    Derivation(
        name="rate at which the current falls",
        title="How fast does the current fall just after opening?",
        given=(_WINDING, _ACROSS, condition(V_AK, V_F, "The diode conducts.", name="diode")),
        assumptions=(_AT_ONCE, _DIODE),
        validity="It holds at the first moment; later the current, and with it the rate, is less.",
        steps=(
            Step(equal(r_I, (V_F + R * I + E) / L), "Put the diode's drop in, and solve for the rate.", "L is not zero."),
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
        assumptions=(_DIODE, "The leads to the diode are short, so that they make no kick of their own."),
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
        validity="It stays above zero while the EMF is below the supply, which keeps the transistor's body diode blocked.",
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
            condition(
                E, V_s + q.body_diode_drop, "The EMF just overcomes supply and body diode.", name="on the verge"
            ),
            laws.EMF,
        ),
        assumptions=("Something else drives the shaft, such as a weight or the wind.", "No current flows yet."),
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
        name="current of a shaft driven backwards",
        title="What current flows when the shaft is turned backwards with the switch open?",
        given=(
            condition(
                E, R * I + V_F, "Backwards, the EMF has the sign that opens the freewheel diode.", name="loop"
            ),
            laws.EMF,
        ),
        assumptions=("The speed is counted as a size, backwards.", _DIODE),
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
            condition(
                E, (R + 2 * q.on_resistance) * I, "Two switches that are on join the motor's ends.", name="loop"
            ),
            laws.EMF,
        ),
        assumptions=("The inductance is left out: the current follows far faster than the speed.",),
        validity="Here the generator EMF does matter: it is the only source, and it brakes the shaft.",
        steps=(
            Step(equal(I, k * q.speed / (R + 2 * q.on_resistance)), "Put the EMF in, and solve.", "It is k times ω."),
        ),
    ),
    Derivation(
        name="freewheel current",
        title="How does the current die away through the freewheel diode?",
        given=_FREEWHEEL,
        assumptions=(_AT_ONCE, _DIODE, _STEADY_SPEED),
        validity="It holds until the current reaches zero; there the diode blocks.",
        steps=(_DYING,),
    ),
    Derivation(
        name="freewheel decay time",
        title="How long does the current flow on through the freewheel diode?",
        given=_FREEWHEEL,
        assumptions=(_AT_ONCE, _DIODE, _STEADY_SPEED),
        validity="With no drop and no EMF it would never quite end; either of them ends it.",
        conditions=(V_F + E > 0,),
        steps=(_DYING, _ENDS, _DECAY),
    ),
    Derivation(
        name="energy in the freewheel diode",
        title="How much of the winding's energy heats the freewheel diode?",
        given=(
            *_FREEWHEEL,
            condition(
                q.diode_energy, Integral(V_F * i, (t, 0, t_d)), "Energy is the area under the power.", name="energy"
            ),
        ),
        assumptions=(_AT_ONCE, _DIODE, _STEADY_SPEED),
        validity="The rest heats the winding, or turns the shaft where there is an EMF.",
        conditions=(V_F + E > 0,),
        steps=(
            _DYING,
            _ENDS,
            _DECAY,
            Step(
                equal(q.diode_energy, V_F / R * (L * I - (V_F + E) * L / R * log(1 + R * I / (V_F + E)))),
                "Add up drop times current until it stops.",
                "The area under the curve follows from the curve.",
            ),
        ),
    ),
    Derivation(
        name="breakdown decay time",
        title="How long does the current flow on without a freewheel diode?",
        given=(
            _BREAKDOWN,
            condition(t_d * r_I, I, "The current falls evenly.", name="even fall"),
        ),
        assumptions=(_NO_DIODE, _AT_ONCE, "Resistance and EMF are small beside the breakdown voltage."),
        validity="The breakdown voltage must be above the supply.",
        conditions=(V_BR > V_s,),
        steps=(
            Step(equal(r_I, (V_BR - V_s) / L), "Solve for the rate.", "L is not zero."),
            Step(equal(t_d, L * I / (V_BR - V_s)), "Divide the current by it.", "It falls at this rate to zero."),
        ),
    ),
    Derivation(
        name="energy in a transistor that breaks down",
        title="What energy does the transistor take without a freewheel diode?",
        given=(
            _BREAKDOWN,
            condition(t_d * r_I, I, "The current falls evenly.", name="even fall"),
            condition(i, I - r_I * t, "The current falls evenly.", name="current"),
            condition(
                q.switch_energy, Integral(V_BR * i, (t, 0, t_d)), "Energy is the area under the power.", name="energy"
            ),
        ),
        assumptions=(_NO_DIODE, _AT_ONCE, "Resistance and EMF are small beside the breakdown voltage."),
        validity="It is more than was stored, since the supply feeds on during the fall; resistance makes it less.",
        conditions=(V_BR > V_s,),
        steps=(
            Step(equal(t_d, L * I / (V_BR - V_s)), "Find how long the fall takes.", "It is even."),
            Step(equal(q.switch_energy, V_BR * I * t_d / 2), "Add the power up.", "A triangle's area is half of its box."),
            Step(
                equal(q.switch_energy, L * I**2 / 2 * V_BR / (V_BR - V_s)),
                "Put the time in.",
                "The stored energy appears, times a factor above one.",
            ),
        ),
    ),
)
