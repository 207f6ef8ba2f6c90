"""The motor: what it draws, how fast it turns, what it gives."""

from __future__ import annotations

from labkit.symbolic import laws
from labkit.symbolic.derivation import Derivation, Step, equal
from labkit.symbolic.rules import Put
from labkit.symbolic.symbols import q

__all__ = ["DERIVATIONS"]

_STALL = Derivation(
    name="stall current",
    title="What does the motor draw while its shaft is held?",
    given=(laws.WINDING, laws.EMF),
    assumptions=("The shaft is held, so the speed is zero.", "The brushes drop no voltage of their own."),
    validity="It holds once the current has settled, a few L/R after switching on, and while the winding is cold.",
    steps=(
        Step(
            equal(q.voltage, q.resistance * q.current + q.emf_constant * q.speed),
            "Put the back-EMF into the voltage law.",
            "Both laws hold at every steady speed.",
        ),
        Step(
            equal(q.voltage, q.resistance * q.stall_current),
            "Put the speed 0, and call the current there the stall current.",
            "A shaft that is held makes no EMF.",
            Put({q.speed: 0, q.current: q.stall_current, q.emf: 0}),
        ),
        Step(
            equal(q.stall_current, q.voltage / q.resistance),
            "Divide by the resistance.",
            "It is not zero.",
        ),
    ),
)

DERIVATIONS = (_STALL,)
