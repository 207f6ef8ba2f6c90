"""The ripple of a switched current: exact, as straight lines, and turned round for coil and frequency."""

# ruff: noqa: N816 (letters as the trade writes them)

from __future__ import annotations

from sympy import Derivative, Rational, exp, log

from labkit.symbolic import laws
from labkit.symbolic.calculus import Approaches, Extreme, SolvesOde
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import at_start, condition
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, T_p, D, f = q.time, q.period, q.duty, q.frequency
V_s, V_F, E, R, L = q.supply_voltage, q.diode_drop, q.emf, q.resistance, q.inductance
on, off = q.on_current, q.off_current
I_pk, I_min, dI = q.peak_current, q.minimum_current, q.ripple
V_both = V_s + V_F

_STEADY_SPEED = "The speed, and with it the EMF, hardly changes within a period."
_PERIODIC = "The motor has settled, so that each period is like the last."
_CONTINUOUS = "It holds while the current never stops within the period, so that the lowest current is above zero."
_STRAIGHT = "It holds while the period is far shorter than L/R, and the current never stops."

_ON = (
    condition(V_s, R * on + L * Derivative(on, t) + E, "Kirchhoff while the switch is on.", name="on"),
    at_start(on, I_min, "The on-part begins with the lowest current."),
)
_OFF = (
    condition(-V_F, R * off + L * Derivative(off, t) + E, "Kirchhoff while the diode carries the current.", name="off"),
    at_start(off, I_pk, "The off-part begins with the highest current."),
)
_PERIOD = (
    condition(on.func(D * T_p), I_pk, "The on-part ends with the highest current.", name="opening"),
    condition(off.func((1 - D) * T_p), I_min, "The off-part ends with the lowest current.", name="closing"),
    laws.FREQUENCY,
)
_RISE = Step(
    equal(on, (V_s - E) / R + (I_min - (V_s - E) / R) * exp(-R * t / L)),
    "Solve for the current while the switch is on.",
    laws.ONE_CURVE,
    SolvesOde(),
)
_FALL = Step(
    equal(off, (I_pk + (V_F + E) / R) * exp(-R * t / L) - (V_F + E) / R),
    "Solve for the current while it is off.",
    laws.ONE_CURVE,
    SolvesOde(),
)
_PEAK = Step(
    equal(I_pk, V_both / R * (1 - exp(-D * R / (L * f))) / (1 - exp(-R / (L * f))) - (V_F + E) / R),
    "Join both curves at their ends, and solve for the highest current.",
    "Each part begins where the other ended.",
)
_LEAST = Step(
    equal(I_min, V_both / R * (exp(D * R / (L * f)) - 1) / (exp(R / (L * f)) - 1) - (V_F + E) / R),
    "Solve for the lowest current in the same way.",
    "Each part begins where the other ended.",
)
_SWING = condition(dI, I_pk - I_min, "The ripple is the highest current less the lowest.", name="ripple")
_EXACT_RIPPLE = Step(
    equal(
        dI,
        V_both / R * (1 - exp(-D * R / (L * f))) * (1 - exp(-(1 - D) * R / (L * f))) / (1 - exp(-R / (L * f))),
    ),
    "Take the lowest current from the highest.",
    "The EMF drops out.",
)
_STRAIGHT_RIPPLE = Derivation(
    name="ripple, straight lines",
    title="How large is the ripple when the switching is fast?",
    given=(*_ON, *_OFF, *_PERIOD, _SWING),
    assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, _PERIODIC),
    validity=_STRAIGHT,
    steps=(
        _RISE,
        _FALL,
        _PEAK,
        _LEAST,
        _EXACT_RIPPLE,
        Step(
            equal(dI, V_both * D * (1 - D) / (L * f)),
            "Let the drop in the resistance be small.",
            "Short pieces of the curves are straight lines.",
            Approaches(small=R),
        ),
    ),
)
_GIVEN_STRAIGHT = laws.derived(_STRAIGHT_RIPPLE)
_WORST = Step(
    equal(q.worst_duty, Rational(1, 2)),
    "Find the duty at which the ripple is greatest.",
    "There its slope over the duty is zero.",
    Extreme(of=dI, over=D),
)
_AGAIN = Step(
    equal(dI, V_both * D * (1 - D) / (L * f)), "Write the ripple of fast switching.", "It was derived under that name."
)

DERIVATIONS = (
    Derivation(
        name="peak current under duty",
        title="What is the highest current in a period?",
        given=(*_ON, *_OFF, *_PERIOD),
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, _PERIODIC, laws.BRUSH),
        validity=_CONTINUOUS,
        conditions=(V_both * (exp(D * R / (L * f)) - 1) / (exp(R / (L * f)) - 1) > V_F + E,),
        steps=(_RISE, _FALL, _PEAK),
    ),
    Derivation(
        name="minimum current under duty",
        title="What is the lowest current in a period?",
        given=(*_ON, *_OFF, *_PERIOD),
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, _PERIODIC, laws.BRUSH),
        validity=_CONTINUOUS,
        steps=(_RISE, _FALL, _PEAK, _LEAST),
    ),
    Derivation(
        name="ripple",
        title="How large is the ripple of the current?",
        given=(*_ON, *_OFF, *_PERIOD, _SWING),
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, _PERIODIC),
        validity=_CONTINUOUS,
        steps=(_RISE, _FALL, _PEAK, _LEAST, _EXACT_RIPPLE),
    ),
    _STRAIGHT_RIPPLE,
    Derivation(
        name="duty of the largest ripple",
        title="At which duty is the ripple largest?",
        given=(_GIVEN_STRAIGHT,),
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, _PERIODIC),
        validity=_STRAIGHT,
        steps=(_AGAIN, _WORST),
    ),
    Derivation(
        name="largest ripple",
        title="How large can the ripple get at any duty?",
        given=(_GIVEN_STRAIGHT,),
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, _PERIODIC),
        validity=_STRAIGHT,
        steps=(
            _AGAIN,
            _WORST,
            Step(equal(dI, V_both / (4 * L * f)), "Take the ripple there.", "It is half on.", Put({D: q.worst_duty})),
        ),
    ),
    Derivation(
        name="inductance for a ripple",
        title="Which inductance keeps the ripple to a value?",
        given=(_GIVEN_STRAIGHT,),
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, _PERIODIC),
        validity=f"{_STRAIGHT} A coil in series adds to the motor's own inductance.",
        steps=(Step(equal(L, V_both * D * (1 - D) / (dI * f)), "Solve for the inductance.", "None of them is zero."),),
    ),
    Derivation(
        name="frequency for a ripple",
        title="Which switching frequency keeps the ripple to a value?",
        given=(_GIVEN_STRAIGHT,),
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, _PERIODIC),
        validity=f"{_STRAIGHT} A higher frequency heats the switch more.",
        steps=(Step(equal(f, V_both * D * (1 - D) / (L * dI)), "Solve for the frequency.", "None of them is zero."),),
    ),
    Derivation(
        name="frequency for continuous current",
        title="Above which switching frequency does the current never stop?",
        given=(
            _GIVEN_STRAIGHT,
            condition(
                q.mean_current,
                I_min + dI / 2,
                "Straight rises and falls have their mean half-way up.",
                name="mean of straight lines",
            ),
        ),
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, _PERIODIC),
        validity="It holds while the period is far shorter than L/R.",
        steps=(
            Step(
                equal(q.mean_current, V_both * D * (1 - D) / (2 * L * q.limit_frequency)),
                "Put the lowest current 0, and call the frequency there the limit.",
                "There the current just touches zero.",
                Put({I_min: 0, f: q.limit_frequency}),
            ),
            Step(
                equal(q.limit_frequency, V_both * D * (1 - D) / (2 * L * q.mean_current)),
                "Solve for the frequency.",
                "The current is not zero.",
            ),
        ),
    ),
    Derivation(
        name="peak current of a broken current",
        title="How high does the current get when it starts each period from zero?",
        given=(
            condition(V_s, R * on + L * Derivative(on, t) + E, "Kirchhoff while the switch is on.", name="on"),
            at_start(on, 0, "The current had stopped before."),
            condition(on.func(D * T_p), I_pk, "The on-part ends with the highest current.", name="opening"),
            laws.FREQUENCY,
        ),
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, laws.BRUSH),
        validity="The current must have stopped before the period ends, and the EMF must be below the supply.",
        conditions=(V_s > E,),
        steps=(
            Step(
                equal(on, (V_s - E) / R * (1 - exp(-R * t / L))),
                "Solve for the current that begins at zero.",
                laws.ONE_CURVE,
                SolvesOde(),
            ),
            Step(
                equal(I_pk, (V_s - E) / R * (1 - exp(-D * R / (L * f)))),
                "Take it at the end of the on-part.",
                "There the switch opens.",
            ),
        ),
    ),
    Derivation(
        name="extinction time",
        title="How long after opening does a broken current flow on?",
        given=_OFF,
        assumptions=(laws.IDEAL_SWITCH, _STEADY_SPEED, laws.BRUSH),
        validity="It must be shorter than the off-part of the period; else the current never stops.",
        conditions=(V_F + E > 0,),
        steps=(
            _FALL,
            Step(
                equal((I_pk + (V_F + E) / R) * exp(-R * q.extinction_time / L), (V_F + E) / R),
                "Put the current 0, and call that moment the extinction time.",
                "The diode lets no current flow back.",
                Put({off: 0, t: q.extinction_time}),
            ),
            Step(
                equal(q.extinction_time, L / R * log(1 + R * I_pk / (V_F + E))),
                "Take the logarithm.",
                "The curve falls all the way, so it meets zero once.",
            ),
        ),
    ),
)
