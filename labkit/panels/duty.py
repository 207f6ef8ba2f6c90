"""The panel on speed control by duty."""

from __future__ import annotations

import copy
import dataclasses
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from labkit.figures.duty import DutyChart, DutyRun, TorqueCurve
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import BATTERIES, FAN, FREE, HELD, HOLD, battery_sliders, tunnel_with
from labkit.panels.working import note, worked
from labkit.parts import Drive, Load, Motor, Supply, desk_wind_tunnel
from labkit.simulation import PwmOperatingPoint, operating_point, pick, pwm_operating_point, pwm_period
from labkit.units import Q_, Quantity

__all__ = ["DutyState", "duty_panel", "duty_run"]

_FREQUENCIES = (100.0, 150.0, 200.0, 300.0, 500.0, 700.0, 1e3, 1.5e3, 2e3, 3e3, 5e3, 7e3, 1e4, 1.5e4, 2e4, 3e4, 4e4)
_PRESETS: dict[str, dict[str, object]] = {
    **BATTERIES,
    "Fan": {"load": FAN},
    "Free": {"load": FREE},
    "Stalled": {"load": HELD},
}
#: The stops of the duty's slider [%].
_STOPS = stops(0, 100, 1)
#: Of what holds the motor: closer together where the torque is small, since the line bends there.
_SHARES = np.linspace(0.0, 1.0, 21) ** 2


@dataclass(frozen=True, kw_only=True, slots=True)
class DutyState:
    """What the panel is set to."""

    duty: Quantity = Q_(40.0, "percent")
    frequency: Quantity = Q_(2.0, "kHz")
    battery_voltage: Quantity = Q_(6.0, "V")
    battery_resistance: Quantity = Q_(0.6, "ohm")
    load: str = FAN


class _Setting(NamedTuple):
    """What does not change while only the duty is moved: solved at once for every stop of its slider."""

    drive: Drive
    #: The drive's own load, and torques from none to what holds the motor at full duty.
    loads: list[Load]
    #: The drive with its own load at every stop, of shape (101,).
    sweep: PwmOperatingPoint
    #: The motor against every torque at every stop, of shape (21, 101).
    curves: TorqueCurve


def _settings(drive: Drive) -> Kept[_Setting]:
    return Kept(
        lambda state: _setting(_fitted(drive, state), state.frequency),
        "frequency", "battery_voltage", "battery_resistance", "load",
    )  # fmt: skip


def duty_run(state: DutyState, settings: Kept[_Setting] | None = None) -> DutyRun:
    """Return all that the picture shows at *state*; for the desk wind tunnel where no settings are given."""
    known = _settings(desk_wind_tunnel()) if settings is None else settings
    drive, loads, sweep, curves = known(state)
    percent = float(state.duty.m_as("percent"))
    if percent in _STOPS:
        place = _STOPS.index(percent)
        point, line = pick(sweep, place), _at(curves, place)
    else:  # typed
        point, line = _own_and_rising(pwm_operating_point(drive, state.duty, state.frequency, load=loads))
    return DutyRun(
        duty=state.duty,
        frequency=state.frequency,
        point=point,
        period=pwm_period(drive, point, state.duty, state.frequency),
        line=line,
        full=_at(curves, -1),
        sweep=sweep,
        sweep_duty=Q_(_STOPS, "percent"),
    )


def _at(curves: TorqueCurve, place: int) -> TorqueCurve:
    return TorqueCurve(*(values[:, place] for values in curves))


def _own_and_rising(points: PwmOperatingPoint) -> tuple[PwmOperatingPoint, TorqueCurve]:
    """Return where the drive's own load settles, the first of all, and where the rising torques do."""
    return pick(points, 0), TorqueCurve(points.speed[1:], points.shaft_torque[1:])


def _fitted(drive: Drive, state: DutyState) -> Drive:
    load = {FAN: drive.load, FREE: Load(), HELD: HOLD}[state.load]
    supply = Supply(voltage=state.battery_voltage, internal_resistance=state.battery_resistance)
    return dataclasses.replace(drive, load=load, supply=supply)


def _setting(drive: Drive, frequency: Quantity) -> _Setting:
    held = operating_point(drive.motor, drive.supply.voltage, HOLD).electromagnetic_torque
    loads = [drive.load, *(Load(friction=share * held) for share in _SHARES.tolist())]
    every = pwm_operating_point(drive, Q_(_STOPS, "percent"), frequency, load=[[load] for load in loads])
    own, curves = _own_and_rising(every)
    return _Setting(drive, loads, copy.deepcopy(own), curves)  # a view would keep every field of all loads


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
            "duty": QuantitySlider("Duty", _STOPS, "percent", start.duty),
            "frequency": QuantitySlider("Switching frequency", _FREQUENCIES, "Hz", start.frequency, page=4),
            **battery_sliders(),
            "load": Choice("On the shaft", [FAN, FREE, HELD], start.load),
        },
        presets=_PRESETS,
        chart=chart,
        run=lambda state: duty_run(state, settings),
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
