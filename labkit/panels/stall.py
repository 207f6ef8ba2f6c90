"""The panel on the motor as a load."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from labkit.figures.stall import StallChart, StallRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import BATTERIES, FAN, FREE, HELD, HOLD, battery_sliders, tunnel_with
from labkit.panels.working import note, worked
from labkit.parts import Load, Motor, Supply, desk_wind_tunnel
from labkit.simulation import (
    THERMAL_CLASSES,
    OnSupply,
    WindingCourse,
    load_current,
    loaded_supply,
    motor_on_supply,
    pick,
    winding_warming,
)
from labkit.units import Q_, Quantity
from labkit.writing import show

__all__ = ["StallState", "stall_panel", "stall_run"]

#: In the order of the picture's bars, with their short names.
_SHAFTS = {FREE: "free", FAN: "fan", HELD: "held"}
_LOADS = [Load(), desk_wind_tunnel().load, HOLD]
_TIMES = Q_(np.linspace(0.0, 180.0, 91), "s")


@dataclass(frozen=True, kw_only=True, slots=True)
class StallState:
    """What the panel is set to."""

    shaft: str = FAN
    time: Quantity = Q_(0.0, "s")
    battery_voltage: Quantity = Q_(6.0, "V")
    battery_resistance: Quantity = Q_(0.6, "ohm")
    resistance: Quantity = Q_(2.8, "ohm")
    brush_drop: Quantity = Q_(0.0, "V")


class _Scene(NamedTuple):
    """What does not change while only the time is scrubbed."""

    #: The winding at given times from a cold start on.
    warming: Callable[[Quantity], WindingCourse]
    #: The run, at the start.
    run: StallRun


def _scenes(motor: Motor) -> Kept[_Scene]:
    return Kept(
        lambda state: _scene(state, motor), "shaft", "battery_voltage", "battery_resistance", "resistance", "brush_drop"
    )


def stall_run(state: StallState, scenes: Kept[_Scene] | None = None) -> StallRun:
    """Return all that the picture shows at *state*; for the desk wind tunnel where no scenes are given."""
    scene = (scenes or _scenes(desk_wind_tunnel().motor))(state)
    return dataclasses.replace(scene.run, now=scene.warming(state.time))


def _scene(state: StallState, motor: Motor) -> _Scene:
    fitted = dataclasses.replace(motor, resistance=state.resistance, brush_drop=state.brush_drop)
    battery = Supply(voltage=state.battery_voltage, internal_resistance=state.battery_resistance)
    points, terminals = motor_on_supply(battery, fitted, _LOADS)
    settled = tuple(OnSupply(pick(points, place), terminals[place]) for place in range(len(_LOADS)))
    point = settled[list(_SHAFTS).index(state.shaft)].point
    held = {"voltage": battery.voltage, "source_resistance": battery.internal_resistance}
    heated = {"current": point.current} if point.turning else held

    def warming(times: Quantity) -> WindingCourse:
        return winding_warming(fitted, times, **heated)

    volts = Q_([0.0, state.brush_drop.m_as("V"), battery.voltage.m_as("V")], "V")
    amps = Q_([0.0, settled[-1].point.current.m_as("A")], "A")
    limit = fitted.max_winding_temperature
    run = StallRun(
        shafts=tuple(_SHAFTS.values()),
        shaft=_SHAFTS[state.shaft],
        settled=settled,
        held_currents=load_current(fitted, volts, shaft=HOLD),
        held_voltages=volts,
        battery_currents=amps,
        battery_voltages=loaded_supply(battery, current=amps).voltage,
        course=warming(_TIMES),
        now=warming(_TIMES[0]),
        limit=THERMAL_CLASSES["B"] if limit is None else limit,
    )
    return _Scene(warming, run)


def stall_panel(*, after: Prediction | None = None, motor: Motor | None = None) -> Panel[StallState]:
    """Return the panel: a motor on a battery, free, with its fan or held; its heat, and the winding through time.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.
    motor : Motor, optional
        Such as a fit gives; what it does not say is the desk wind tunnel's.

    Examples
    --------
    >>> panel = stall_panel()
    >>> panel.presets.press("Stalled")
    >>> print(panel.image.finding.split(",")[0])
    It stands still and draws 1.76 A at 4.94 V
    """
    turned = tunnel_with(motor).motor
    start = StallState(resistance=turned.resistance, brush_drop=turned.brush_drop)
    chart, scenes = StallChart(tuple(_SHAFTS.values())), _scenes(turned)
    return Panel(
        start,
        controls={
            "time": QuantitySlider("Time since switching on", stops(0, 180, 1), "s", start.time, page=10),
            "shaft": Choice("On the shaft", list(_SHAFTS), start.shaft),
            **battery_sliders(volts=(1.5, 9)),
            "resistance": QuantitySlider("Winding, cold", stops(0.5, 15, 0.1), "ohm", start.resistance),
            "brush_drop": QuantitySlider("Drop of the brushes", stops(0, 1, 0.05), "V", start.brush_drop),
        },
        presets={**BATTERIES, "Free": {"shaft": FREE}, "Fan": {"shaft": FAN}, "Stalled": {"shaft": HELD}},
        chart=chart,
        run=lambda state: stall_run(state, scenes),
        working=lambda state: _working(state, turned, stall_run(state, scenes)),
        after=after,
    )


def _working(state: StallState, motor: Motor, run: StallRun) -> str:
    point, now, winding = run.point, run.now, {"resistance": state.resistance}
    shown = note(f"The brushes keep {show(state.brush_drop)}; what is left of the voltage is put in below.")
    shown = shown if state.brush_drop.magnitude else ""
    if point.turning:
        turning = {"speed": point.speed, "emf_constant": motor.emf_constant, **winding}
        shown += worked("winding current", voltage=run.voltage - state.brush_drop, **turning)
    else:
        loop = {"supply_voltage": state.battery_voltage - state.brush_drop, "on_resistance": Q_(0.0, "ohm"), **winding}
        inner = {"internal_resistance": state.battery_resistance}
        shown += note("There is no switch in this loop yet, so its resistance is 0.")
        shown += worked("starting current with the source's resistance", **inner, **loop)
    shown += worked("power from current and resistance", current=point.current, **winding)
    if not state.time.magnitude:
        return shown
    warm = f"After {show(state.time)} the winding has {show(now.winding)}, and so {show(now.resistance)}:"
    hot = {"current": now.current, "resistance": now.resistance}
    return shown + note(warm) + worked("power from current and resistance", **hot)
