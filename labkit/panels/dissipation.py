"""The panel on driver dissipation."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import lru_cache
from typing import cast

import numpy as np

from labkit.errors import NoSolutionError
from labkit.figures.dissipation import DissipationChart, DissipationRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import FLAT, HOLD
from labkit.panels.working import note, worked
from labkit.parts import Load, Mosfet, Supply, desk_wind_tunnel
from labkit.simulation import (
    JunctionState,
    junction_temperature,
    junction_warming,
    max_dissipation,
    on_resistance,
    pwm_operating_point,
    saturation_current,
)
from labkit.symbolic import derivation
from labkit.units import Q_, Quantity
from labkit.writing import show

__all__ = ["DissipationState", "dissipation_panel", "dissipation_run"]

LOW_GATE, HIGH_GATE = "for 3.3 V gates", "for 10 V gates"
#: Invented, as all parts of the desk wind tunnel.
HIGH_GATE_PART = Mosfet(
    on_resistance=(("3.3 V", "200 mOhm"), ("4.5 V", "60 mOhm"), ("10 V", "22 mOhm")),  # type: ignore[arg-type]
    threshold=Q_(2.3, "V"),
    transconductance=Q_(6.0, "A/V**2"),
)
_TUNNEL = desk_wind_tunnel()
_PARTS = {LOW_GATE: cast("Mosfet", _TUNNEL.switch), HIGH_GATE: HIGH_GATE_PART}
_GATES = Q_(np.linspace(1.0, 10.0, 181), "V")
_TIME_CONSTANT = Q_(60.0, "s")
_TIMES = Q_(np.linspace(0.0, 300.0, 121), "s")
_ENDS = Q_(np.array([0.0, 200.0]), "degC")


@dataclass(frozen=True, kw_only=True, slots=True)
class DissipationState:
    """What the panel is set to."""

    gate_voltage: Quantity = Q_(10.0, "V")
    current: Quantity = Q_(1.5, "A")
    transistor: str = HIGH_GATE
    #: Junction to ambient: the case, and a heat sink if there is one.
    thermal_resistance: Quantity = Q_(62.0, "kelvin/W")
    ambient: Quantity = Q_(25.0, "degC")


_SWEEPS = Kept(lambda state: on_resistance(_PARTS[state.transistor], _GATES), "transistor")


def dissipation_run(state: DissipationState) -> DissipationRun:
    """Return all that the picture shows at *state*."""
    mosfet = _PARTS[state.transistor]
    cold = on_resistance(mosfet, state.gate_voltage)
    if np.isinf(cold.magnitude):
        raise NoSolutionError(
            f"With {show(state.gate_voltage)} on its gate the transistor stays off: its threshold is "
            f"{mosfet.threshold and show(mosfet.threshold)}. No current flows, and it holds the whole supply."
        )
    surroundings = {"ambient": state.ambient, "thermal_resistance": state.thermal_resistance}
    climb = junction_warming(
        mosfet, state.current, _TIMES, gate_voltage=state.gate_voltage, time_constant=_TIME_CONSTANT, **surroundings
    )
    settled, begins = _settled(mosfet, state)
    return DissipationRun(
        mosfet=mosfet,
        gate_voltage=state.gate_voltage,
        current=state.current,
        ambient=state.ambient,
        resistance=cold,
        settled=settled,
        runaway_current=begins,
        most_current=saturation_current(mosfet, state.gate_voltage),
        gate_sweep=_GATES,
        resistance_sweep=_SWEEPS(state),
        climb=climb,
        times=_TIMES,
        made=(_ENDS, _made(mosfet, state)),
        carried=_carried(state),
        heat=_heat(state.current, settled.power if settled else _heat_in(state.current, cold)),
    )


def _settled(mosfet: Mosfet, state: DissipationState) -> tuple[JunctionState | None, Quantity]:
    """Return the balance, if there is one, and the current from which on there is none."""
    given = {"gate_voltage": state.gate_voltage, "ambient": state.ambient}
    begins = junction_temperature(mosfet, "0 A", thermal_resistance=state.thermal_resistance, **given).runaway_current
    begins = Q_(np.inf, "A") if begins is None else begins
    try:
        return junction_temperature(mosfet, state.current, thermal_resistance=state.thermal_resistance, **given), begins
    except NoSolutionError:
        return None, begins


def _made(mosfet: Mosfet, state: DissipationState) -> Quantity:
    """Return the heat made at both ends of the temperature axis; between them it runs straight."""
    ohms = on_resistance(mosfet, state.gate_voltage, _ENDS)
    return Q_([_heat_in(state.current, ohms[end]).m_as("W") for end in (0, 1)], "W")


def _carried(state: DissipationState) -> tuple[Quantity, Quantity]:
    """Return two points of what the path to the air carries away: nothing at its own temperature, the rest straight."""
    most = max_dissipation(_ENDS[1], state.thermal_resistance, ambient=state.ambient)
    temperatures = [state.ambient.m_as("degC"), _ENDS[1].m_as("degC")]
    return Q_(temperatures, "degC"), Q_([0.0, most.m_as("W")], "W")


def _heat(current: Quantity, in_transistor: Quantity) -> dict[str, Quantity]:
    return {
        "transistor": in_transistor,
        "winding": _heat_in(current, _TUNNEL.motor.resistance),
        "battery": _heat_in(current, _TUNNEL.supply.internal_resistance),
    }


def _heat_in(current: Quantity, resistance: Quantity) -> Quantity:
    return derivation("power from current and resistance").evaluate(current=current, resistance=resistance)


def dissipation_panel(*, after: Prediction | None = None) -> Panel[DissipationState]:
    """Return the panel: set gate voltage and current, see on-resistance, heat and the junction's temperature.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.

    Examples
    --------
    >>> panel = dissipation_panel()
    >>> panel.controls["gate_voltage"].type_in("3.3 V")
    >>> print(panel.image.finding.split(".")[1].strip())
    30 V on its gate the transistor has 200 mΩ when cold
    """
    chart, start = DissipationChart(), DissipationState()
    return Panel(
        start,
        controls={
            "gate_voltage": QuantitySlider("Gate voltage", stops(1, 10, 0.1), "V", start.gate_voltage),
            "current": QuantitySlider("Current through motor and transistor", stops(0.1, 4, 0.05), "A", start.current),
            "transistor": Choice("Transistor made", [LOW_GATE, HIGH_GATE], start.transistor),
            "thermal_resistance": QuantitySlider(
                "Junction to air",
                [5, 10, 15, 20, 30, 40, 50, 62, 80, 100, 125, 150, 200, 250, 300],
                "kelvin/W",
                start.thermal_resistance,
                page=3,
            ),
            "ambient": QuantitySlider("Air around it", stops(0, 60, 1), "degC", start.ambient),
        },
        presets={
            "Free": {"current": _motor_current(Load())},
            "Fan": {"current": _motor_current(None)},
            "Stalled": {"current": _motor_current(HOLD)},
            "Stalled, flat battery": {"current": _motor_current(HOLD, FLAT)},
            "Gate at 3.3 V": {"gate_voltage": Q_(3.3, "V")},
            "Gate at 10 V": {"gate_voltage": Q_(10.0, "V")},
        },
        chart=chart,
        run=dissipation_run,
        working=_working,
        after=after,
    )


@lru_cache(maxsize=8)
def _motor_current(load: Load | None, supply: Supply | None = None) -> Quantity:
    """Return what the desk wind tunnel draws with the switch always on."""
    drive = dataclasses.replace(_TUNNEL, load=load or _TUNNEL.load, supply=supply or _TUNNEL.supply)
    return Q_(round(float(pwm_operating_point(drive, 1.0, "1 kHz").mean_current.m_as("A")), 3), "A")


def _working(state: DissipationState) -> str:
    mosfet = _PARTS[state.transistor]
    cold = on_resistance(mosfet, state.gate_voltage)
    path = {
        "on_resistance": cold,
        "temperature_coefficient": mosfet.resistance_temperature_coefficient,
        "junction_to_ambient": state.thermal_resistance,
    }
    air = {"ambient": state.ambient, "reference_temperature": Q_(25.0, "degC")}
    return "".join(
        (
            note("First with the resistance as it is at 25 °C. The transistor stays on, so the duty is 1."),
            worked("conduction loss", duty=1.0, on_resistance=cold, current=state.current),
            note("Then with the resistance that rises as the junction warms."),
            worked("junction temperature with rising resistance", current=state.current, **air, **path),
            worked("runaway current", **path),
        )
    )
