"""The motor at a steady speed: what it draws, how fast it turns, what it gives."""

# ruff: noqa: SIM300 (an inequality of symbols is data)

from __future__ import annotations

from sympy import Derivative

from labkit.symbolic import laws
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.laws import condition
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = [
    "ABLE", "DERIVATIONS", "ENDS", "FREE_CURRENT", "FREE_SPEED", "LINE", "LOOP", "MACHINE",
    "STALLED", "STALL_TORQUE", "STARTS", "STEADY",
]  # fmt: skip

t, w = q.time, q.momentary_speed
V, I, R, k = q.voltage, q.current, q.resistance, q.emf_constant  # noqa: E741 (the trade's letter)
T, T_e, T_f = q.shaft_torque, q.electromagnetic_torque, q.friction_torque
I_0, I_st = q.no_load_current, q.stall_current

STEADY = "Speed and current are steady."
_COLD = "The winding is at the temperature at which its resistance was measured."
STARTS = "The motor must be able to start: k times the stall current must be above its friction."
ENDS = (
    "Speed falls along a straight line from free running to stall; this holds for real catalogue motors too, "
    "even where k from torque and k from speed disagree."
)
MACHINE = (laws.WINDING, laws.EMF, laws.TORQUE, laws.SHAFT)
ABLE = k * V / R > T_f

LOOP = Step(equal(V, R * I + k * q.speed), "Put the back-EMF into the voltage law.", "Both hold at every steady speed.")
STALLED = Step(
    equal(I_st, V / R),
    "Put the speed 0, and call the current there the stall current.",
    "A shaft that is held makes no EMF.",
    Put({q.speed: 0, I: I_st, q.emf: 0}),
)
FREE_CURRENT = Step(
    equal(I_0, T_f / k),
    "Put no load torque, and call the current there the no-load current.",
    "A free shaft gives its load nothing, so the field's torque is friction alone.",
    Put({T: 0, I: I_0, T_e: T_f}),
)
LINE = Step(
    equal(q.speed, V / k - R * (T + T_f) / k**2),
    "Put the current that the torque needs, and solve for the speed.",
    "The current follows from the torque, and the speed from the current.",
)
FREE_SPEED = Step(
    equal(q.no_load_speed, V / k - R * T_f / k**2),
    "Put no load torque, and call the speed there the no-load speed.",
    "A free shaft gives its load nothing.",
    Put({T: 0, q.speed: q.no_load_speed}),
)
STALL_TORQUE = Step(
    equal(q.stall_torque, k * V / R - T_f),
    "Put the speed 0, and call the torque there the stall torque.",
    "A shaft that is held does not turn.",
    Put({q.speed: 0, T: q.stall_torque}),
)
DERIVATIONS = (
    Derivation(
        name="back-EMF",
        title="What voltage does a turning winding make?",
        given=(
            laws.FARADAY,
            laws.SPEED,
            condition(
                q.flux_linkage,
                k * q.angle,
                "The commutator switches so that each radian changes the flux by the same amount, k.",
                name="magnet and commutator",
            ),
        ),
        assumptions=("Magnet and commutator are ideal, so that the EMF has no ripple.",),
        validity="It holds driven or driving, at any current, while the magnet is neither hot nor weakened.",
        steps=(
            Step(
                equal(q.momentary_emf, k * Derivative(q.angle, t)),
                "Put the flux of each angle into the law of induction.",
                "The constant k does not change with time.",
            ),
            Step(equal(q.momentary_emf, k * w), "Write speed for the rate of the angle.", "That is what speed means."),
            Step(
                equal(q.emf, k * q.speed),
                "Write E and ω for the two at a steady speed.",
                "It holds at every moment.",
                Put({q.momentary_emf: q.emf, w: q.speed}),
            ),
        ),
    ),
    Derivation(
        name="torque",
        title="What torque does a current make?",
        given=(
            laws.EMF,
            condition(
                q.converted_power,
                q.emf * I,
                "What does not heat the winding is turned from electrical to mechanical.",
                name="electrical side",
            ),
            condition(q.converted_power, T_e * q.speed, "No energy is lost in between.", name="mechanical side"),
        ),
        assumptions=("Iron losses are counted as friction.",),
        validity="It holds at every speed; the same k serves for EMF in V·s/rad and for torque in N·m/A.",
        steps=(
            Step(equal(T_e * q.speed, q.emf * I), "Set both sides of the conversion equal.", "Energy is kept."),
            Step(equal(T_e, k * I), "Put the EMF in, and divide by the speed.", "The shaft turns."),
        ),
    ),
    Derivation(
        name="winding current",
        title="What does a motor draw while it turns?",
        given=(laws.WINDING, laws.EMF),
        assumptions=(STEADY, laws.BRUSH),
        validity="It holds while the terminal voltage is above the EMF; turned faster, the machine is a generator.",
        conditions=(V > k * q.speed,),
        steps=(LOOP, Step(equal(I, (V - k * q.speed) / R), "Solve for the current.", "The resistance is not zero.")),
    ),
    Derivation(
        name="stall current",
        title="What does the motor draw while its shaft is held?",
        given=(laws.WINDING, laws.EMF),
        assumptions=("The shaft is held, so the speed is zero.", laws.BRUSH),
        validity="It holds from a few L/R after switching on, and while the winding is cold.",
        steps=(LOOP, STALLED),
    ),
    Derivation(
        name="stall torque",
        title="What torque does the shaft give while it is held?",
        given=MACHINE,
        assumptions=("The shaft is held, so the speed is zero.", laws.BRUSH, "Friction at rest is that of running."),
        validity=STARTS,
        conditions=(ABLE,),
        steps=(LINE, STALL_TORQUE),
    ),
    Derivation(
        name="no-load current",
        title="What does a motor draw while it turns free?",
        given=MACHINE,
        assumptions=(STEADY, laws.COULOMB),
        validity="It holds at any voltage at which the motor turns.",
        steps=(FREE_CURRENT,),
    ),
    Derivation(
        name="no-load speed",
        title="How fast does a free shaft turn?",
        given=MACHINE,
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB),
        validity=STARTS,
        conditions=(ABLE,),
        steps=(LINE, FREE_SPEED),
    ),
    Derivation(
        name="no-load speed from the no-load current",
        title="How fast does a free shaft turn, when its current is known?",
        given=(laws.WINDING, laws.EMF),
        assumptions=(STEADY, laws.BRUSH),
        validity="It holds while the drop in the winding is below the voltage.",
        conditions=(V > R * I_0,),
        steps=(
            LOOP,
            Step(
                equal(q.no_load_speed, (V - R * I_0) / k),
                "Take the free shaft's current and speed, and solve for the speed.",
                "The law holds for a free shaft too.",
                Put({I: I_0, q.speed: q.no_load_speed}),
            ),
        ),
    ),
    Derivation(
        name="speed-torque line",
        title="How does the speed fall with the load?",
        given=MACHINE,
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB, _COLD),
        validity="It holds from the free shaft to stall.",
        conditions=(k * V / R > T + T_f,),
        steps=(
            Step(
                equal(k * I, T + T_f),
                "Set the field's torque equal to load and friction.",
                "At a steady speed nothing is left to speed up.",
            ),
            LOOP,
            LINE,
        ),
    ),
    Derivation(
        name="speed from the two ends",
        title="How fast does a motor turn at a torque, when only its catalogue line is known?",
        given=MACHINE,
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB),
        validity=ENDS,
        conditions=(q.stall_torque > T, ABLE),
        steps=(
            LINE,
            FREE_SPEED,
            STALL_TORQUE,
            Step(
                equal(q.speed, q.no_load_speed * (1 - T / q.stall_torque)),
                "Write the line by its two ends.",
                "A straight line is known by two points.",
            ),
        ),
    ),
    Derivation(
        name="speed gradient",
        title="How much speed does each unit of torque cost?",
        given=(
            *MACHINE,
            condition(
                q.speed_gradient,
                (q.no_load_speed - q.speed) / T,
                "The gradient is the speed lost, for each unit of torque.",
                name="speed gradient",
            ),
            condition(V, R * I_0 + k * q.no_load_speed, "The voltage law for the free shaft.", name="free shaft"),
            condition(k * I_0, T_f, "A free shaft works against friction alone.", name="free shaft's torque"),
        ),
        assumptions=(STEADY, laws.BRUSH, laws.COULOMB),
        validity="It holds from the free shaft to stall, at any voltage.",
        steps=(
            LINE,
            Step(
                equal(q.no_load_speed - q.speed, R * T / k**2),
                "Take the speed under load from the free speed.",
                "Voltage and friction drop out.",
            ),
            Step(equal(q.speed_gradient, R / k**2), "Divide by the torque.", "That is the gradient."),
        ),
    ),
    Derivation(
        name="current under load",
        title="What does a motor draw at a torque?",
        given=MACHINE,
        assumptions=(STEADY, laws.COULOMB),
        validity="It holds from the free shaft to stall, at any voltage.",
        steps=(
            FREE_CURRENT,
            Step(
                equal(I, I_0 + T / k),
                "Divide load and friction by k.",
                "Each torque asks for its own current, and the two add.",
            ),
        ),
    ),
)
