"""The panel on measuring a motor: choose how to read, and see what the fit can know from it."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

from labkit.bench import BenchRecord, Meter, practice_bench
from labkit.figures.measured import MeasuredChart, MeasuredRun
from labkit.fitting import fit_motor
from labkit.panels.controls import QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.working import note, worked
from labkit.parts import Motor, desk_wind_tunnel
from labkit.reports.fit import report_html
from labkit.units import Q_, Quantity

__all__ = ["MeasuredState", "measure_panel", "measured_run"]

_BRUSHES = Q_(50.0, "mV")


@dataclass(frozen=True, kw_only=True, slots=True)
class MeasuredState:
    """How the bench is read."""

    positions: Quantity = Q_(6.0, "")
    low_current: Quantity = Q_(100.0, "mA")
    high_current: Quantity = Q_(300.0, "mA")
    scatter: Quantity = Q_(250.0, "mohm")
    accuracy: Quantity = Q_(0.5, "percent")
    counts: Quantity = Q_(2.0, "")
    bench: Quantity = Q_(1.0, "")


_PRESETS: dict[str, dict[str, object]] = {
    "One position": {"positions": Q_(1.0, "")},
    "Twelve positions": {"positions": Q_(12.0, "")},
    "Better meter": {"accuracy": Q_(0.1, "percent"), "counts": Q_(1.0, "")},
    "Clean brushes": {"scatter": Q_(20.0, "mohm")},
    "Currents alike": {"low_current": Q_(270.0, "mA")},
}


def _motor() -> Motor:
    return dataclasses.replace(desk_wind_tunnel().motor, brush_drop=_BRUSHES)


def practice_readings(state: MeasuredState) -> BenchRecord:
    """Return the invented readings at *state*."""
    return practice_bench(
        _motor(),
        positions=_count(state.positions),
        currents=(state.low_current, state.high_current),
        scatter=state.scatter,
        meter=Meter(percent=float(state.accuracy.m_as("percent")), counts=float(state.counts.m_as(""))),
        seed=_count(state.bench),
    )


def _count(quantity: Quantity) -> int:
    return round(float(quantity.m_as("")))


def measured_run(state: MeasuredState) -> MeasuredRun:
    """Return all that the picture shows at *state*."""
    return MeasuredRun(truth=_motor(), fit=fit_motor(practice_readings(state)))


def measure_panel(*, after: Prediction | None = None) -> Panel[MeasuredState]:
    """Return the panel: choose positions, currents and meters, and see how sure the constants become.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.

    Examples
    --------
    >>> panel = measure_panel()
    >>> panel.presets.press("Twelve positions")
    >>> print(panel.image.finding.split(" = ")[0])
    R
    """
    chart, start = MeasuredChart(), MeasuredState()
    kept = Kept(measured_run, *(one.name for one in dataclasses.fields(MeasuredState)))  # a fit outlasts a frame
    return Panel(
        start,
        controls={
            "positions": QuantitySlider("Positions of the rotor", stops(1, 12, 1), "", start.positions),
            "low_current": QuantitySlider("Smaller current", stops(50, 290, 10), "mA", start.low_current),
            "high_current": QuantitySlider("Larger current", stops(300, 600, 10), "mA", start.high_current),
            "scatter": QuantitySlider("Scatter between positions", stops(0, 600, 10), "mohm", start.scatter),
            "accuracy": QuantitySlider("Meters, ± of the reading", stops(0.1, 3, 0.1), "percent", start.accuracy),
            "counts": QuantitySlider("Meters, ± counts", stops(0, 10, 1), "", start.counts),
            "bench": QuantitySlider("Another bench, number", stops(1, 60, 1), "", start.bench),
        },
        presets=_PRESETS,
        chart=chart,
        run=kept,
        working=lambda state: _working(kept(state)),
        after=after,
    )


def _working(run: MeasuredRun) -> str:
    current, voltage = run.held
    count = len(current) // 2
    rise = voltage[count] - voltage[0], current[count] - current[0]
    return "".join(
        (
            note("Of the first position alone, the slope from its two readings:"),
            worked("Ohm's law", voltage=rise[0], current=rise[1]) if rise[1].magnitude else "",
            note("The fit takes all readings at once, with what the meters' manuals say:"),
            report_html(run.fit),
        )
    )
