"""The panel on switching off, in slow motion."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cache

import numpy as np

from labkit.figures.switch_off import SwitchOffChart
from labkit.figures.switch_off_words import SwitchOffRun
from labkit.panels.controls import Choice, QuantitySlider, stops
from labkit.panels.kept import Kept
from labkit.panels.panel import Panel
from labkit.panels.prediction import Prediction
from labkit.panels.tunnel import FLAT, HOLD
from labkit.panels.working import note, worked
from labkit.parts import Drive, Load, desk_wind_tunnel
from labkit.simulation import pwm_operating_point, switch_off_course
from labkit.symbolic import derivation
from labkit.units import Q_, Quantity

__all__ = ["SwitchOffState", "switch_off_panel", "switch_off_run"]

DIODE, NO_DIODE = "freewheel diode", "no diode"
#: Twelve moments in every factor of ten.
_MOMENTS = [float(f"{10.0 ** (place / 12):.2g}") for place in range(-96, -20)]
_TIMES = Q_(np.geomspace(1e-8, 2e-2, 240), "s")


@dataclass(frozen=True, kw_only=True, slots=True)
class SwitchOffState:
    """What the panel is set to."""

    time: Quantity = Q_(1.0e-6, "s")
    #: In the winding when the transistor opens.
    current: Quantity = Q_(0.34, "A")
    speed: Quantity = Q_(8500.0, "rpm")
    battery_voltage: Quantity = Q_(6.0, "V")
    freewheel: str = DIODE


def switch_off_run(state: SwitchOffState) -> SwitchOffRun:
    """Return all that the picture shows at *state*, for the desk wind tunnel."""
    drive = _DRIVES(state)
    return SwitchOffRun(
        supply_voltage=state.battery_voltage,
        current=state.current,
        speed=state.speed,
        has_diode=state.freewheel == DIODE,
        now=switch_off_course(drive, state.time, state.current, state.speed),
        course=_COURSES(state),
    )


def _drive(state: SwitchOffState) -> Drive:
    drive = desk_wind_tunnel()
    supply = dataclasses.replace(drive.supply, voltage=state.battery_voltage)
    return dataclasses.replace(drive, supply=supply, diode=drive.diode if state.freewheel == DIODE else None)


_DRIVES = Kept(_drive, "battery_voltage", "freewheel")
#: The whole course, which stays while only the time is moved.
_COURSES = Kept(
    lambda state: switch_off_course(_DRIVES(state), _TIMES, state.current, state.speed),
    "current", "speed", "battery_voltage", "freewheel",
)  # fmt: skip


def switch_off_panel(*, after: Prediction | None = None) -> Panel[SwitchOffState]:
    """Return the panel: scrub through a switch-off, with and without freewheel diode, spinning and jammed.

    Parameters
    ----------
    after : Prediction, optional
        The panel stays closed until this is committed.

    Examples
    --------
    >>> panel = switch_off_panel()
    >>> panel.presets.press("Stalled")
    >>> print(panel.image.finding.split(", which")[0])
    1.00 µs after opening 1.73 A flows on through the freewheel diode
    """
    chart, start = SwitchOffChart(), SwitchOffState()
    return Panel(
        start,
        controls={
            "time": QuantitySlider("Time after opening", _MOMENTS, "s", start.time, page=12, prefixed=True),
            "freewheel": Choice("Across the motor", [DIODE, NO_DIODE], start.freewheel),
            "current": QuantitySlider("Current when it opens", stops(0.02, 3, 0.02), "A", start.current),
            "speed": QuantitySlider("Speed of the shaft", stops(0, 10000, 100), "rpm", start.speed, digits=4),
            "battery_voltage": QuantitySlider(
                "Battery, nothing connected", stops(3, 9, 0.1), "V", start.battery_voltage
            ),
        },
        presets={
            **_openings(),
            "Just after": {"time": Q_(1.0e-6, "s")},
            "Long after": {"time": Q_(1.0e-2, "s")},
        },
        chart=chart,
        run=switch_off_run,
        working=_working,
        after=after,
    )


@cache
def _openings() -> dict[str, dict[str, object]]:
    tunnel = desk_wind_tunnel()
    return {
        "Fan": _opened(tunnel),
        "Free": _opened(dataclasses.replace(tunnel, load=Load())),
        "Stalled": _opened(dataclasses.replace(tunnel, load=HOLD)),
        "Stalled, flat battery": _opened(dataclasses.replace(tunnel, load=HOLD, supply=FLAT)),
    }


def _opened(drive: Drive) -> dict[str, object]:
    """Return what a drive is doing when its transistor opens after a while of being closed."""
    point = pwm_operating_point(drive, 1.0, "1 kHz")
    current = Q_(round(float(point.mean_current.m_as("A")), 3), "A")
    speed = Q_(round(float(point.speed.m_as("rpm"))), "rpm")
    return {"current": current, "speed": speed, "battery_voltage": drive.supply.voltage}


def _working(state: SwitchOffState) -> str:
    drive = _DRIVES(state)
    motor, diode = drive.motor, drive.diode
    assert motor.inductance is not None  # noqa: S101 (for the type checker: it is the tunnel's)
    stored = worked("energy in the winding", inductance=motor.inductance, current=state.current)
    emf = worked("back-EMF", emf_constant=motor.emf_constant, speed=state.speed)
    if diode is None:
        breakdown = {
            "inductance": motor.inductance,
            "current": state.current,
            "breakdown_voltage": drive.switch.breakdown_voltage,
            "supply_voltage": state.battery_voltage,
        }
        return "".join(
            (
                note("Nothing else carries the current, so the transistor breaks down. Its data sheet says at what."),
                stored,
                worked("energy in a transistor that breaks down", **breakdown),
                worked("breakdown decay time", **breakdown),
                note("These leave out resistance and EMF, which the picture counts: it ends a little sooner."),
                emf,
            )
        )
    given = {"diode_drop": diode.forward_voltage, "resistance": motor.resistance, "current": state.current}
    given |= {"emf": derivation("back-EMF").evaluate(emf_constant=motor.emf_constant, speed=state.speed)}
    peak = {"supply_voltage": state.battery_voltage, "diode_drop": diode.forward_voltage}
    return "".join(
        (
            worked("peak switch voltage with a diode", **peak),
            stored,
            worked("freewheel decay time", inductance=motor.inductance, **given),
            worked("switch-off kick", **given),
            note("And the other voltage, which is there as long as the shaft turns:"),
            emf,
        )
    )
