"""The panel on speed control by duty."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from labkit.figures.duty import DutyChart, DutyRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.parts import Drive, Load, Supply, desk_wind_tunnel
from labkit.simulation import PwmOperatingPoint, operating_point, pick, pwm_operating_point, pwm_period
from labkit.units import Q_, Quantity

__all__ = ["DutyState", "duty_run"]

FAN, FREE, HELD = "the fan", "nothing (free)", "held still (stalled)"
_HOLD = Load(friction=Q_(1.0, "N*m"))
_FREQUENCIES = (100.0, 150.0, 200.0, 300.0, 500.0, 700.0, 1e3, 1.5e3, 2e3, 3e3, 5e3, 7e3, 1e4, 1.5e4, 2e4, 3e4, 4e4)
_SWEEP = np.linspace(0.0, 1.0, 41)


@dataclass(frozen=True, kw_only=True, slots=True)
class DutyState:
    """What the panel is set to."""

    duty: Quantity = Q_(40.0, "percent")
    frequency: Quantity = Q_(2.0, "kHz")
    battery_voltage: Quantity = Q_(6.0, "V")
    battery_resistance: Quantity = Q_(0.6, "ohm")
    load: str = FAN


def duty_run(state: DutyState, drive: Drive | None = None) -> DutyRun:
    """Return all that the picture shows at *state*, for the desk wind tunnel or another drive."""
    drive = _fitted(drive or desk_wind_tunnel(), state)
    points = pwm_operating_point(drive, state.duty, state.frequency, load=[drive.load, *_torques(drive)])
    point = pick(points, 0)
    sweep, full = _curves(drive, state.frequency)
    return DutyRun(
        duty=state.duty,
        frequency=state.frequency,
        point=point,
        period=pwm_period(drive, point, state.duty, state.frequency),
        line=pick(points, slice(1, None)),
        full=full,
        sweep=sweep,
        sweep_duty=Q_(_SWEEP, ""),
    )


def _fitted(drive: Drive, state: DutyState) -> Drive:
    load = {FAN: drive.load, FREE: Load(), HELD: _HOLD}[state.load]
    supply = Supply(voltage=state.battery_voltage, internal_resistance=state.battery_resistance)
    return dataclasses.replace(drive, load=load, supply=supply)


@lru_cache(maxsize=64)
def _torques(drive: Drive) -> tuple[Load, ...]:
    """Return loads from none to what holds the motor at full duty, closer together where the torque is small."""
    held = operating_point(drive.motor, drive.supply.voltage, _HOLD)
    return tuple(Load(friction=share**2 * held.electromagnetic_torque) for share in np.linspace(0.0, 1.0, 21))


@lru_cache(maxsize=64)
def _curves(drive: Drive, frequency: Quantity) -> tuple[PwmOperatingPoint, PwmOperatingPoint]:
    """Return the drive with its load at every duty, and the motor against every torque at full duty."""
    sweep = pwm_operating_point(drive, _SWEEP, frequency)
    return sweep, pwm_operating_point(drive, 1.0, frequency, load=list(_torques(drive)))
