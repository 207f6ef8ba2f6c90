"""Findings on ground and wiring."""

from __future__ import annotations

from labkit.reviews._case import Case, Si, size
from labkit.reviews._finding import Finding, Outcome, judged

__all__ = ["FINDINGS"]


def common_ground(case: Case) -> Finding | None:
    """Without a common ground the gate voltage is nobody's."""
    if case.build.common_ground:
        return None
    return Finding(
        name="common ground", outcome=Outcome.EXCEEDED, lesson=9,
        reason="The board's 0 V and the motor supply's negative are not joined, so the gate voltage is not defined.",
        remedy="Supplies off; join the two negatives, and measure less than 1 Ω between them.",
        caution="A voltmeter between two floating grounds can read zero and mislead you: use the ohmmeter, power off.",
    )  # fmt: skip


def shared_return(case: Case) -> Finding | None:
    """The motor's current in a ground lead shifts what the board measures."""
    ohms = size(case.build.shared_return, "ohm")
    if ohms == 0 or not case.runs:
        return None
    amps = case.running_current
    volts = amps * ohms
    return judged(
        "shift of the shared ground", volts, SHIFT, "V", lesson=9,
        reason="The motor's current drops voltage in the ground lead, and every reading of the board moves with it.",
        formula=f"I·R_gnd = {Si(amps):A}·{Si(ohms):ohm} = {Si(volts):V} against {Si(SHIFT):V}",
        remedy=f"Join the grounds at one star point, or bring the shared lead below {Si(0.8 * SHIFT / amps):ohm}.",
        caution="A thin lead that carries the motor's return gets hot.",
    )  # fmt: skip


#: About fifteen counts of a 10-bit reading of 3.3 V [V] (common practice, no source).
SHIFT = 0.05

#: What looks, and the part of the drive that its finding is about.
FINDINGS = {common_ground: "ground", shared_return: "ground"}
