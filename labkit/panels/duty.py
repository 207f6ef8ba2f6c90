"""The panel on speed control by duty."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from labkit.figures.duty import DutyChart, DutyRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import BATTERIES, HOLD, tunnel_with
from labkit.panels.working import note, worked
from labkit.parts import Drive, Load, Motor, Supply, desk_wind_tunnel
from labkit.simulation import PwmOperatingPoint, operating_point, pick, pwm_operating_point, pwm_period
from labkit.units import Q_, Quantity

__all__ = ["DutyState", "duty_panel", "duty_run"]

FAN, FREE, HELD = "the fan", "nothing (free)", "held still (stalled)"
_FREQUENCIES = (100.0, 150.0, 200.0, 300.0, 500.0, 700.0, 1e3, 1.5e3, 2e3, 3e3, 5e3, 7e3, 1e4, 1.5e4, 2e4, 3e4, 4e4)
_PRESETS: dict[str, dict[str, object]] = {
    **BATTERIES,
    "Fan": {"load": FAN},
    "Free": {"load": FREE},
    "Stalled": {"load": HELD},
}
_SWEEP = np.linspace(0.0, 1.0, 41)


@dataclass(frozen=True, kw_only=True, slots=True)
class DutyState:
    """What the panel is set to."""

    duty: Quantity = Q_(40.0, "percent")
    frequency: Quantity = Q_(2.0, "kHz")
    battery_voltage: Quantity = Q_(6.0, "V")
    battery_resistance: Quantity = Q_(0.6, "ohm")
    load: str = FAN


class _Setting(NamedTuple):
    """What does not change while only the duty is moved."""

    drive: Drive
    #: The drive's own load, and torques from none to what holds the motor at full duty.
    loads: list[Load]
    #: The drive with its load at every duty, and the motor against every torque at full duty.
    sweep: PwmOperatingPoint
    full: PwmOperatingPoint


def _settings(drive: Drive) -> Kept[_Setting]:
    return Kept(
        lambda state: _setting(_fitted(drive, state), state.frequency),
        "frequency", "battery_voltage", "battery_resistance", "load",
    )  # fmt: skip


def duty_run(state: DutyState, settings: Kept[_Setting] | None = None) -> DutyRun:
    """Return all that the picture shows at *state*; for the desk wind tunnel where no settings are given."""
    known = _settings(desk_wind_tunnel()) if settings is None else settings
    drive, loads, sweep, full = known(state)
    points = pwm_operating_point(drive, state.duty, state.frequency, load=loads)
    point = pick(points, 0)
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
    load = {FAN: drive.load, FREE: Load(), HELD: HOLD}[state.load]
    supply = Supply(voltage=state.battery_voltage, internal_resistance=state.battery_resistance)
    return dataclasses.replace(drive, load=load, supply=supply)


def _setting(drive: Drive, frequency: Quantity) -> _Setting:
    held = operating_point(drive.motor, drive.supply.voltage, HOLD).electromagnetic_torque
    # closer together where the torque is small, since the line bends there
    torques = [Load(friction=share**2 * held) for share in np.linspace(0.0, 1.0, 21)]
    return _Setting(
        drive=drive,
        loads=[drive.load, *torques],
        sweep=pwm_operating_point(drive, _SWEEP, frequency),
        full=pwm_operating_point(drive, 1.0, frequency, load=torques),
    )


def duty_panel(*, after: Prediction | None = None, motor: Motor | None = None) -> Panel[DutyState]:
    """Return the panel: set duty and frequency, see waveform, ripple, speed, load line and heat.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.
    motor : Motor, optional
        Such as a fit gives; what it does not say is the desk wind tunnel's.

    Examples
    --------
    >>> panel = duty_panel()
    >>> panel.controls["duty"].type_in("100 %")
    >>> print(panel.image.finding.split(".")[0])
    At 100 % duty and 2
    """
    chart, drive, start = DutyChart(), tunnel_with(motor), DutyState()
    settings = _settings(drive)
    return Panel(
        start,
        controls={
            "duty": QuantitySlider("Duty", stops(0, 100, 1), "percent", start.duty),
            "frequency": QuantitySlider("Switching frequency", _FREQUENCIES, "Hz", start.frequency, page=4),
            "battery_voltage": QuantitySlider(
                "Battery, nothing connected", stops(3, 9, 0.1), "V", start.battery_voltage
            ),
            "battery_resistance": QuantitySlider(
                "Battery's own resistance", stops(0, 5, 0.1), "ohm", start.battery_resistance
            ),
            "load": Choice("On the shaft", [FAN, FREE, HELD], start.load),
        },
        presets=_PRESETS,
        draw=lambda state: chart.draw(duty_run(state, settings)),
        working=lambda state: _working(state, drive),
        after=after,
    )


def _working(state: DutyState, drive: Drive) -> str:
    fitted = _fitted(drive, state)
    point = pwm_operating_point(fitted, state.duty, state.frequency)
    motor, diode = fitted.motor, fitted.diode.forward_voltage if fitted.diode else Q_(0.0, "V")
    if not state.duty.magnitude:
        return note("The switch stays open: no current flows.")
    if not point.continuous:
        return note(
            "The current stops in each period, so the formulas for mean voltage and speed do not hold: "
            "while no current flows the terminals show the generator EMF. The picture counts that in."
        ) + worked("back-EMF", emf_constant=motor.emf_constant, speed=point.speed)
    given = {"duty": state.duty, "supply_voltage": point.supply_voltage, "diode_drop": diode}
    winding = {"mean_current": point.mean_current, "resistance": motor.resistance}
    ripple = {"resistance": motor.resistance, "inductance": motor.inductance, "frequency": state.frequency}
    return "".join(
        (
            note("The supply's voltage below is that at the drive: the battery's own resistance has taken its share."),
            worked("mean voltage under duty", **given),
            worked("speed against duty", emf_constant=motor.emf_constant, **given, **winding) if point.turning else "",
            worked("ripple", **ripple, **given) if point.ripple.magnitude else "",
            worked("supply current under duty", duty=state.duty, mean_current=point.mean_current),
            note("The picture counts the switch's resistance too, so its numbers differ a little from these."),
        )
    )
