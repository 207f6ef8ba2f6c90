"""The panel on design review: choose parts, and see which limit fails first."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from labkit.figures.review import ReviewChart
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import BATTERIES, battery_sliders, tunnel_with
from labkit.parts import Bipolar, Diode, Drive, Mosfet, Motor
from labkit.reports.review import review_html
from labkit.reviews import Review, generic_part, review
from labkit.units import Q_, Quantity

__all__ = ["ReviewState", "design_review", "review_panel"]

_TRANSISTORS = ("logic-level MOSFET", "standard-level MOSFET", "small-signal MOSFET", "small bipolar", "Darlington")
_DIODES = ("Schottky diode", "silicon diode", "none")
_FREQUENCIES = (100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 1e4, 1.6e4, 2e4, 2.5e4, 3e4, 4e4, 6e4, 1e5)
_RESISTORS = (10.0, 22.0, 47.0, 100.0, 150.0, 220.0, 330.0, 470.0, 1e3, 2.2e3, 4.7e3, 1e4)


@dataclass(frozen=True, kw_only=True, slots=True)
class ReviewState:
    """What the panel is set to."""

    battery_voltage: Quantity = Q_(6.0, "V")
    battery_resistance: Quantity = Q_(0.6, "ohm")
    winding: Quantity = Q_(2.8, "ohm")
    transistor: str = _TRANSISTORS[0]
    gate_resistor: Quantity = Q_(150.0, "ohm")
    diode: str = _DIODES[0]
    least_duty: Quantity = Q_(30.0, "percent")
    frequency: Quantity = Q_(20.0, "kHz")


_PRESETS: dict[str, dict[str, object]] = {
    **BATTERIES,
    "Threshold taken for on": {"transistor": "standard-level MOSFET"},
    "No diode": {"diode": "none"},
    "Edges too slow": {"gate_resistor": Q_(4700.0, "ohm"), "frequency": Q_(40.0, "kHz")},
}


def design_review(state: ReviewState, drive: Drive | None = None) -> Review:
    """Return the review of the drive at *state*; of the desk wind tunnel where none is given."""
    base = tunnel_with(None) if drive is None else drive
    switch, diode = generic_part(state.transistor), None if state.diode == "none" else generic_part(state.diode)
    assert isinstance(switch, Mosfet | Bipolar)  # noqa: S101 (what the names above stand for)
    assert diode is None or isinstance(diode, Diode)  # noqa: S101 (as above)
    if isinstance(switch, Bipolar):
        switch = dataclasses.replace(switch, base_resistor=state.gate_resistor)
    chosen = dataclasses.replace(
        base,
        supply=dataclasses.replace(
            base.supply, voltage=state.battery_voltage, internal_resistance=state.battery_resistance
        ),
        motor=dataclasses.replace(base.motor, resistance=state.winding),
        switch=switch,
        diode=diode,
        gate_resistor=state.gate_resistor,
    )
    return review(chosen, (float(state.least_duty.m_as("")), 1.0), state.frequency)


def review_panel(*, after: Prediction | None = None, motor: Motor | None = None) -> Panel[ReviewState]:
    """Return the panel: choose the parts of a drive, see every limit and which fails first.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.
    motor : Motor, optional
        Such as a fit gives; what it does not say is the desk wind tunnel's.

    Examples
    --------
    >>> panel = review_panel()
    >>> panel.presets.press("No diode")
    >>> print(panel.image.finding.split(" (")[0])
    Exceeded: energy into the transistor at each switch-off
    """
    chart, drive = ReviewChart(), tunnel_with(motor)
    start = ReviewState(winding=drive.motor.resistance)
    kept = Kept(lambda state: design_review(state, drive), *(one.name for one in dataclasses.fields(ReviewState)))
    return Panel(
        start,
        controls={
            "transistor": Choice("Transistor", list(_TRANSISTORS), start.transistor),
            "diode": Choice("Freewheel diode", list(_DIODES), start.diode),
            "gate_resistor": QuantitySlider("Gate or base resistor", _RESISTORS, "ohm", start.gate_resistor, page=3),
            "frequency": QuantitySlider("Switching frequency", _FREQUENCIES, "Hz", start.frequency, page=4),
            "least_duty": QuantitySlider("Least duty", stops(5, 100, 5), "percent", start.least_duty),
            "winding": QuantitySlider("The motor's winding", stops(0.4, 12, 0.1), "ohm", start.winding),
            **battery_sliders(volts=(3, 12)),
        },
        presets=_PRESETS,
        chart=chart,
        run=kept,
        working=lambda state: review_html(kept(state)),
        after=after,
    )
