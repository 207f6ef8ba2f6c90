"""Findings on what gets hot: the transistor's junction, and the winding when it is stalled."""

from __future__ import annotations

from labkit.errors import NoSolutionError
from labkit.parts import Side
from labkit.reviews._case import Case, Si, size
from labkit.reviews._finding import Finding, Outcome, judged, unknown
from labkit.reviews._transistor import HOT

__all__ = ["FINDINGS"]

CELSIUS = 273.15


def junction(case: Case) -> Finding | None:
    """Junction temperature at the duty that makes it hottest, heat and thermal resistance put together."""
    if case.build.motor_on_pin or not case.runs or case.build.side is Side.HIGH:
        return None
    if case.running_current > case.let_through:
        return None  # it is no switch then, and its heat is that of the gate's own finding
    name, lesson = "junction temperature of the transistor", 6
    reason = "Heat that the transistor makes has to reach the air; without a heat sink each watt lifts the junction by tens of degrees."
    to_air = case.known(case.drive.switch, "junction_to_ambient", "kelvin/W")
    if to_air is None:
        return unknown(name, missing="the junction-to-ambient thermal resistance", reason=reason, lesson=lesson)
    try:
        state = case.junction
    except NoSolutionError as error:
        return Finding(name=name, outcome=Outcome.EXCEEDED, reason=str(error), lesson=lesson,
                       remedy="Take a transistor with a lower on-resistance at your gate voltage.", caution=HOT)  # fmt: skip
    if state is None:
        return unknown(name, missing="the transistor's on-resistance at its gate voltage", reason=reason, lesson=lesson)
    ambient, limit = size(case.drive.ambient, "degC"), size(case.drive.switch.max_junction_temperature, "degC")
    watts, kelvins = state.power, state.temperature
    there = f" at D = {state.duty:.2f}" if case.pulsed else ""
    return judged(
        name, kelvins - ambient, limit - ambient, "kelvin", lesson=lesson, reason=reason, caution=HOT,
        formula=f"T_J = T_A + P·θ_JA = {ambient - CELSIUS:.0f} °C + {Si(watts):W}·{to_air:.0f} °C/W = {kelvins - CELSIUS:.0f} °C{there} "
        f"(limit {limit - CELSIUS:.0f} °C)",
        remedy=f"Bring the heat below {Si(0.8 * (limit - ambient) / to_air):W}, or the thermal resistance below "
        f"{0.8 * (limit - ambient) / max(watts, 1e-9):.0f} °C/W with a heat sink.",
    )  # fmt: skip


#: What looks, and the part of the drive that its finding is about.
FINDINGS = {junction: "switch"}
