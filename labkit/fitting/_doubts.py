"""What the readings do not give, and what a reader must know before trusting what they do."""

from __future__ import annotations

import numpy as np

from labkit.bench import BenchRecord, Problem
from labkit.fitting._design import Design
from labkit.fitting._result import NotIdentified
from labkit.fitting._solve import Solved

__all__ = ["doubts", "not_identified"]

_RARE = 3.0  # standard uncertainties
_FAR = 10.0  # the same: no chance, and no small slip
_FEW_POSITIONS = 3
_REMEDY = {
    "resistance": "Lock the rotor and read voltage and current at two currents and several rotor positions.",
    "brush_drop": "Read the locked rotor at two currents that differ by a factor of two or more.",
    "emf_constant": "Read voltage, current and speed of the free motor, or drive it and read voltage and speed.",
    "friction_torque": "Read voltage, current and speed of the free motor.",
    "viscous_friction": "Read the free motor at three or more voltages, the highest at least twice the lowest.",
}
_CONTAINER = {"brush_drop": "resistance", "viscous_friction": "friction_torque"}


def _words(name: str) -> str:
    return name.replace("_", " ").replace("emf", "EMF")


def not_identified(solved: Solved) -> tuple[NotIdentified, ...]:
    """Return each constant that the readings do not give, with the reason and what to read."""
    found = []
    for name in (*solved.unknown, *solved.at_zero):
        container = _CONTAINER.get(name)
        if container is None or container in solved.unknown:
            reason, held = f"The readings do not give the {_words(name)}.", False
        else:
            reason, held = (
                (
                    f"The readings do not tell the {_words(name)} from the {_words(container)}; it is taken as zero, "
                    f"and the {_words(container)} contains it."
                ),
                True,
            )
        found.append(NotIdentified(name=name, held_at_zero=held, reason=reason, remedy=_REMEDY[name]))
    return tuple(found)


def _positions(record: BenchRecord) -> int:
    """Return at how many rotor positions the locked rotor was read: where none is told, each reading has its own."""
    held = record.locked_rotor
    if held is None:
        return 0
    return len(held) if held.position is None else len(np.unique(held.position))


def doubts(record: BenchRecord, solved: Solved, design: Design) -> list[Problem]:
    """Return what a reader of the result must know before trusting it."""
    found = []

    def doubt(read: str, expected: str, consequence: str) -> None:
        found.append(Problem(source=record.source, read=read, expected=expected, consequence=consequence))

    if not design.shared:
        doubt(
            "no accuracy of any meter",
            "notes such as 'voltmeter: 0.5 % + 2 counts'",
            "The uncertainty holds rounding and scatter only; the meters' own errors come on top.",
        )
    if not solved.unbound.scatter.variance.any() and float(np.sum(solved.unbound.freedom)) < 1:
        doubt(
            "no more readings than constants",
            "several readings of each kind",
            "No scatter can be seen, so the uncertainty holds rounding and meters only.",
        )
    if 0 < (seen := _positions(record)) < _FEW_POSITIONS:
        doubt(
            f"{seen} rotor position{'s' * (seen > 1)}",
            "six or more",
            "From one position to the next the resistance of a small motor often differs by 10 % or more; "
            "the uncertainty does not hold that.",
        )
    for name, deviations in solved.negative:
        if deviations > _RARE:
            trust = " Until it is found, trust none of the constants." if deviations > _FAR else ""
            doubt(
                f"a {_words(name)} below zero by {deviations:.1f} standard uncertainties",
                "zero or more",
                f"It is taken as zero. Look for a wrong column, a warm winding or a slipping tachometer.{trust}",
            )
    if not solved.fit.success:
        doubt("a fit that did not settle", "one clear minimum", "Do not trust the numbers; look at the readings.")
    return found
