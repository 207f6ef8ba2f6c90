"""The panel on the running motor."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from labkit.figures.running import RunningChart, RunningRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import BATTERIES, FAN, FREE, FRESH, HELD, HOLD, battery_sliders, tunnel_with
from labkit.panels.working import note, worked
from labkit.parts import Drive, Load, Motor, Supply, desk_wind_tunnel
from labkit.simulation import OperatingPoint, motor_on_supply, operating_point
from labkit.symbolic import derivation
from labkit.units import Q_, Quantity
from labkit.writing import show

__all__ = ["RunningState", "running_panel", "running_run"]

BRAKE = "a steady brake"
_LOADED = {FREE: "Free", FAN: "With the fan", BRAKE: "Against the brake", HELD: "Held,"}
#: Closer together where the torque is small, since the efficiency bends there.
_SHARES = np.linspace(0.0, 1.0, 31) ** 2
_RISING = np.linspace(0.0, 1.2, 41)


@dataclass(frozen=True, kw_only=True, slots=True)
class RunningState:
    """What the panel is set to."""

    load: str = FAN
    fan_size: Quantity = Q_(100.0, "percent")
    brake: Quantity = Q_(2.0, "mN*m")
    battery_voltage: Quantity = Q_(6.0, "V")
    battery_resistance: Quantity = Q_(0.6, "ohm")


class _Setting(NamedTuple):
    """What does not change while only the load is moved."""

    battery: Supply
    line: OperatingPoint


class _Tunnel:
    """One motor with its fan, and what was computed for it lately."""

    def __init__(self, drive: Drive) -> None:
        self.motor, self.fan = drive.motor, drive.load.fan
        self.setting = Kept(self._setting, "battery_voltage", "battery_resistance")
        self.fresh = _line(FRESH, drive.motor)

    def _setting(self, state: RunningState) -> _Setting:
        battery = Supply(voltage=state.battery_voltage, internal_resistance=state.battery_resistance)
        return _Setting(battery, _line(battery, self.motor))

    def load(self, state: RunningState) -> Load:
        """Return what is on the shaft."""
        size = state.fan_size.to("")
        return {FREE: Load(), FAN: Load(fan=size * self.fan), BRAKE: Load(friction=state.brake), HELD: HOLD}[state.load]


def _line(battery: Supply, motor: Motor) -> OperatingPoint:
    held = motor_on_supply(battery, motor, HOLD).point.shaft_torque
    return motor_on_supply(battery, motor, [Load(friction=share * held) for share in _SHARES.tolist()]).point


def running_run(state: RunningState, tunnel: _Tunnel | None = None) -> RunningRun:
    """Return all that the picture shows at *state*; for the desk wind tunnel's motor where none is given."""
    tunnel = tunnel or _Tunnel(desk_wind_tunnel())
    (battery, line), load = tunnel.setting(state), tunnel.load(state)
    point, voltage = motor_on_supply(battery, tunnel.motor, load)
    return RunningRun(
        loaded=_LOADED[state.load],
        point=point,
        voltage=voltage,
        line=line,
        fresh=tunnel.fresh,
        load=operating_point(
            tunnel.motor, voltage * _RISING, load
        ),  # a load's own line: where it settles on any voltage
    )


def running_panel(*, after: Prediction | None = None, motor: Motor | None = None) -> Panel[RunningState]:
    """Return the panel: load the shaft, see speed, current, power and efficiency against torque.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.
    motor : Motor, optional
        Such as a fit gives; what it does not say is the desk wind tunnel's.

    Examples
    --------
    >>> panel = running_panel()
    >>> print(panel.image.finding.split(":")[0])
    With the fan it settles at 893 rad/s (8530 rpm)
    """
    chart, tunnel, start = RunningChart(), _Tunnel(tunnel_with(motor)), RunningState()
    return Panel(
        start,
        controls={
            **battery_sliders(volts=(2, 9)),
            "load": Choice("On the shaft", [FREE, FAN, BRAKE, HELD], start.load),
            "fan_size": QuantitySlider("Fan, against the wind tunnel's", stops(10, 400, 10), "percent", start.fan_size),
            "brake": QuantitySlider("The brake", stops(0, 12, 0.1), "mN*m", start.brake),
        },
        presets={
            **BATTERIES,
            "Free": {"load": FREE},
            "Fan": {"load": FAN},
            "Stalled": {"load": HELD},
        },
        chart=chart,
        run=lambda state: running_run(state, tunnel),
        working=lambda state: _working(running_run(state, tunnel), tunnel.motor),
        idle=lambda state: {"fan_size", "brake"} - {{FAN: "fan_size", BRAKE: "brake"}.get(state.load, "")},
        after=after,
    )


def _working(run: RunningRun, motor: Motor) -> str:
    point, constant = run.point, {"emf_constant": motor.emf_constant}
    loop = {"voltage": run.voltage, "resistance": motor.resistance}
    friction = {"friction_torque": motor.friction_torque}
    at_terminals = note(f"With the {show(run.voltage)} that are left at the motor's terminals:")
    if not point.turning:
        return at_terminals + worked("stall current", **loop) + worked("stall torque", **loop, **constant, **friction)
    free = {"no_load_current": derivation("no-load current").evaluate(**friction, **constant)}
    stalled = {"stall_current": derivation("stall current").evaluate(**loop)}
    torque, shown = {"shaft_torque": point.shaft_torque}, ""
    if motor.brush_drop.magnitude or motor.viscous_friction.magnitude:
        shown = note("A drop at the brushes, and friction that grows with speed, are in the picture but not in these.")
    return "".join(
        (
            at_terminals,
            shown,
            worked("speed-torque line", **torque, **loop, **constant, **friction),
            worked("current under load", **torque, **free, **constant),
            worked("shaft power", speed=point.speed, current=point.current, **free, **constant),
            worked("efficiency", current=point.current, **free, **stalled),
            note("The best that it could have, if this voltage stayed whatever it draws:"),
            worked("maximum efficiency", **free, **stalled),
        )
    )
