"""Heat: how hot the switch and the winding get, how soon, and which heat sink is enough."""

# ruff: noqa: N816 (letters as the trade writes them)

from __future__ import annotations

from sympy import Derivative, exp, log, sqrt

from labkit.symbolic import laws
from labkit.symbolic.calculus import SolvesOde
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import at_start, condition
from labkit.symbolic.rules import Put, Root
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

t, y = q.time, q.momentary_rise
P, I, R, V, dT = q.power, q.current, q.resistance, q.voltage, q.temperature_rise  # noqa: E741 (the trade's letter)
T_A, T_J, T_0, T_max = q.ambient, q.junction_temperature, q.reference_temperature, q.max_junction_temperature
theta, alpha, R_on, theta_w = q.junction_to_ambient, q.temperature_coefficient, q.on_resistance, q.winding_to_ambient
C_th, CHAIN = q.heat_capacity, q.junction_to_case + q.case_to_sink + q.sink_to_ambient

_SETTLED = "The temperature has settled, which takes minutes."
_BOARD = "The thermal resistance is that of the part as it is mounted, in still air."
_LINEAR = "Resistance rises evenly with temperature: about 0.39 % of its 20 °C value for each kelvin in copper."
_EVEN = "The part has one temperature throughout."
_FLOW = condition(
    dT, theta * P, "Heat flows out in proportion to the rise: that is what a thermal resistance says.", name="heat flow"
)
_ABOVE = condition(T_J, T_A + dT, "The rise is counted from the air around.", name="rise")
_HOT_SWITCH = (
    condition(P, I**2 * q.resistance_now, "The hot resistance makes the heat.", name="heat"),
    condition(q.resistance_now, R_on * (1 + alpha * (T_J - T_0)), "Hot silicon resists more.", name="hot resistance"),
)
_COPPER = condition(
    (q.hot_resistance - R) / R,
    alpha * (q.winding_temperature - T_0),
    "The part by which a resistance rises goes with the rise of temperature.",
    name="temperature coefficient",
)
_WARMING = (
    condition(C_th * Derivative(y, t), P - y / theta_w, "What does not flow out warms the part.", name="heat balance"),
    at_start(y, 0, "The part is as warm as the air."),
)
_CURVE = Step(
    equal(y, P * theta_w * (1 - exp(-t / (theta_w * C_th)))),
    "Solve for the rise that begins at zero.",
    laws.ONE_CURVE,
    SolvesOde(),
)
_JUNCTION = Step(equal(T_J, T_A + theta * P), "Add the rise to the air's temperature.", "Both are settled.")
_LIMIT = Step(
    equal(T_max, T_A + theta * q.max_loss),
    "Put the highest temperature, and call the heat there the most.",
    "The law holds there too.",
    Put({T_J: T_max, P: q.max_loss}),
)

DERIVATIONS = (
    Derivation(
        name="junction temperature",
        title="How hot does the switch get inside?",
        given=(_FLOW, _ABOVE),
        assumptions=(_SETTLED, _BOARD),
        validity="It holds for a heat that does not itself change with the temperature.",
        steps=(_JUNCTION,),
    ),
    Derivation(
        name="greatest loss without a heat sink",
        title="How much heat may the switch make, as it is mounted?",
        given=(_FLOW, _ABOVE),
        assumptions=(_SETTLED, _BOARD),
        validity="A part held at its limit does not last: keep well below it.",
        conditions=(T_max > T_A,),
        steps=(_JUNCTION, _LIMIT, Step(equal(q.max_loss, (T_max - T_A) / theta), "Solve for the heat.", "It is so.")),
    ),
    Derivation(
        name="junction temperature with rising resistance",
        title="How hot does a MOSFET get, when its resistance rises with the heat?",
        given=(_FLOW, _ABOVE, *_HOT_SWITCH),
        assumptions=(_SETTLED, _BOARD, "On-resistance rises evenly with temperature.", "The current stays as it is."),
        validity="Above the runaway current there is no steady temperature.",
        conditions=(theta * alpha * R_on * I**2 < 1,),
        steps=(
            _JUNCTION,
            Step(
                equal(T_J, T_A + theta * I**2 * R_on * (1 + alpha * (T_J - T_0))),
                "Put the heat of the hot resistance in.",
                "The temperature now stands on both sides.",
            ),
            Step(
                equal(
                    T_J,
                    (T_A + theta * I**2 * R_on * (1 - alpha * T_0)) / (1 - theta * alpha * R_on * I**2),
                ),
                "Gather the temperature on one side, and divide.",
                "It appears in the first power only.",
            ),
        ),
    ),
    Derivation(
        name="runaway current",
        title="Above which current does a MOSFET never find a steady temperature?",
        given=(
            condition(
                1 / theta,
                alpha * R_on * q.runaway_current**2,
                "Each kelvin more lets so much more heat out; here it also makes as much more.",
                name="on the verge",
            ),
        ),
        assumptions=(_BOARD, "On-resistance rises evenly with temperature.", "The current stays as it is."),
        validity="The motor's own resistance may limit the current before; then it settles.",
        steps=(
            Step(
                equal(q.runaway_current, 1 / sqrt(theta * alpha * R_on)),
                "Solve for the current.",
                "It is more than zero.",
            ),
        ),
    ),
    Derivation(
        name="heat sink",
        title="Which heat sink keeps the switch below its limit?",
        given=(
            condition(dT, CHAIN * P, "Three thermal resistances lie in a row.", name="heat flow"),
            condition(T_max, T_A + dT, "At the limit the rise reaches the highest temperature.", name="limit"),
        ),
        assumptions=(_SETTLED, "All heat leaves through the heat sink."),
        validity="The heat sink must have this thermal resistance or less; none exists where it comes out below zero.",
        conditions=(T_max - T_A > P * (q.junction_to_case + q.case_to_sink),),
        steps=(
            Step(equal(T_max - T_A, CHAIN * P), "Take the rise from both.", "It is the same rise."),
            Step(
                equal(q.sink_to_ambient, (T_max - T_A) / P - q.junction_to_case - q.case_to_sink),
                "Divide by the heat, and take off what is inside.",
                "What is left is for the heat sink.",
            ),
        ),
    ),
    Derivation(
        name="resistance of a hot winding",
        title="What resistance has a hot winding?",
        given=(_COPPER,),
        assumptions=(_LINEAR,),
        validity="It holds from -50 °C to 200 °C; the coefficient must belong to the temperature that it starts from.",
        steps=(
            Step(
                equal(q.hot_resistance, R * (1 + alpha * (q.winding_temperature - T_0))),
                "Multiply by the cold resistance.",
                "It is not zero.",
            ),
        ),
    ),
    Derivation(
        name="winding temperature from its resistance",
        title="How hot is the winding, by its resistance?",
        given=(_COPPER,),
        assumptions=(_LINEAR, "Both were measured with the shaft held, at a small current."),
        validity="It gives the mean over the winding; the hottest place is some kelvin above.",
        steps=(
            Step(
                equal(q.winding_temperature, T_0 + (q.hot_resistance / R - 1) / alpha),
                "Solve for the temperature.",
                "The coefficient is not zero.",
            ),
        ),
    ),
    Derivation(
        name="rise of a held motor at a steady voltage",
        title="How much hotter than the air does a held winding get?",
        given=(
            condition(dT, theta_w * P, "Heat flows out in proportion to the rise.", name="heat flow"),
            condition(P, V**2 / q.hot_resistance, "The hot winding draws less.", name="heat"),
            condition(q.hot_resistance, R * (1 + alpha * dT), "Copper resists more when hot.", name="hot resistance"),
        ),
        assumptions=(_SETTLED, _LINEAR, "Cold resistance and coefficient are those at the temperature of the air."),
        validity="Most windings burn before they get there: cut the power in time.",
        steps=(
            Step(
                equal(dT * R * (1 + alpha * dT), theta_w * V**2),
                "Put heat and resistance in, and multiply.",
                "The rise now appears squared.",
            ),
            Step(
                equal(dT, (sqrt(1 + 4 * alpha * theta_w * V**2 / R) - 1) / (2 * alpha)),
                "Solve the square equation, and keep the root that is more than zero.",
                "Heat makes no cold.",
                Root(),
            ),
        ),
    ),
    Derivation(
        name="warming",
        title="How does a part warm up?",
        given=_WARMING,
        assumptions=(_EVEN, "The heat does not change."),
        validity="A winding in a housing warms in two steps: the winding soon, the housing later.",
        steps=(_CURVE,),
    ),
    Derivation(
        name="time to a temperature rise",
        title="How long until a part has warmed by so much?",
        given=_WARMING,
        assumptions=(_EVEN, "The heat does not change."),
        validity="The rise asked for must be below the settled one, which is never passed.",
        conditions=(P * theta_w > dT,),
        steps=(
            _CURVE,
            Step(
                equal(dT, P * theta_w * (1 - exp(-q.heating_time / (theta_w * C_th)))),
                "Put the rise asked for, and call that moment the heating time.",
                "The curve holds at every moment.",
                Put({y: dT, t: q.heating_time}),
            ),
            Step(
                equal(q.heating_time, -theta_w * C_th * log(1 - dT / (P * theta_w))),
                "Take the logarithm.",
                "The curve rises all the way, so each rise is reached once.",
            ),
        ),
    ),
    Derivation(
        name="time to a rise without cooling",
        title="How long does a held winding take to warm, at the least?",
        given=(
            condition(q.energy, q.wire_mass * q.specific_heat * dT, "Heat warms the copper.", name="heat capacity"),
            condition(q.energy, I**2 * R * q.heating_time, "The current makes heat all the time.", name="heat"),
        ),
        assumptions=("No heat flows out: it goes too fast for that.", "The resistance stays at its cold value."),
        validity="It holds for the first seconds; copper takes 385 J for each kilogram and kelvin.",
        steps=(
            Step(
                equal(I**2 * R * q.heating_time, q.wire_mass * q.specific_heat * dT),
                "Set both energies equal.",
                "No heat is lost.",
            ),
            Step(
                equal(q.heating_time, q.wire_mass * q.specific_heat * dT / (I**2 * R)),
                "Divide by the power.",
                "It is not zero.",
            ),
        ),
    ),
)
