"""Two routes to one number: closed forms of steady and periodic states, and the engine that runs through time."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from labkit.parts import Diode, Load, desk_wind_tunnel
from labkit.simulation import (
    always_off,
    always_on,
    coast_down,
    operating_point,
    pwm,
    pwm_operating_point,
    simulate,
    turn_off_transient,
)
from labkit.units import Q_

pytestmark = pytest.mark.core

TUNNEL = dataclasses.replace(desk_wind_tunnel(), ambient=Q_(40, "degC"), wiring="0.1 ohm")
FLYWHEEL = dataclasses.replace(TUNNEL, load=dataclasses.replace(TUNNEL.load, inertia="0.1 kg*m**2"))
BARE = dataclasses.replace(TUNNEL, diode=None)


def _si(quantity):
    return float(quantity.to_base_units().magnitude)


@pytest.mark.parametrize(("duty", "frequency"), [(0.4, 2e3), (0.9, 2e3), (0.8, 20e3)])
def test_a_settled_drive_stays_as_it_is(duty, frequency):
    """From the stated state, with a flywheel on the shaft, the engine comes back to it, with the stated heats."""
    point = pwm_operating_point(FLYWHEEL, duty, Q_(frequency, "Hz"))
    periods = 40
    run = simulate(
        FLYWHEEL, pwm(duty, Q_(frequency, "Hz")), Q_(periods / frequency, "s"),
        current=point.minimum_current, speed=point.speed,
    )  # fmt: skip
    seconds = periods / frequency
    heats = {
        "winding": point.winding_loss + point.wiring_loss, "source_resistance": point.source_loss,
        "switch": point.switch_conduction_loss, "diode": point.diode_loss, "friction": point.friction_loss,
        "load": point.shaft_power,
    }  # fmt: skip

    assert _si(run.speed[-1]) == pytest.approx(_si(point.speed), rel=1e-9)
    assert _si(run.current[-1]) == pytest.approx(_si(point.minimum_current), abs=1e-7)
    assert _si(run.current.max()) == pytest.approx(_si(point.peak_current), rel=1e-6)
    for name, watts in heats.items():
        assert _si(getattr(run.energy, name)) == pytest.approx(_si(watts) * seconds, rel=2e-6), name


def test_a_steady_voltage_is_where_the_engine_ends():
    """Switched on from rest for many time constants, the drive settles at the operating point of its whole loop."""
    run = simulate(TUNNEL, always_on(), "8 s", samples=2)
    point = pwm_operating_point(TUNNEL, 1.0, "1 kHz")

    assert _si(run.speed[-1]) == pytest.approx(_si(point.speed), rel=1e-6)
    assert _si(run.current[-1]) == pytest.approx(_si(point.mean_current), rel=1e-6)
    assert point.turning
    assert operating_point(TUNNEL.motor, "6 V", TUNNEL.load).speed > point.speed


@pytest.mark.parametrize("drive", [TUNNEL, dataclasses.replace(TUNNEL, diode=Diode(slope_resistance="0.2 ohm")), BARE])
def test_a_switch_off_takes_the_same_time_and_energy(drive):
    """Off at 1.5 A and 300 rad/s, flywheel on the shaft: time to zero, and each energy."""
    heavy = dataclasses.replace(drive, load=Load(inertia="10 kg*m**2"))
    kick = turn_off_transient(heavy, "1.5 A", "300 rad/s")
    run = simulate(heavy, always_off(), 1.5 * kick.decay_time, current="1.5 A", speed="300 rad/s")
    stopped = run.time[np.argmax(run.current.magnitude < 1e-9)]

    assert _si(stopped) == pytest.approx(_si(kick.decay_time), rel=1e-7)
    assert _si(run.energy.winding) == pytest.approx(_si(kick.winding_loss + kick.wiring_loss), rel=1e-7)
    assert _si(run.energy.diode) == pytest.approx(_si(kick.diode_energy), rel=1e-7)
    assert _si(run.energy.breakdown) == pytest.approx(_si(kick.avalanche_energy), rel=1e-7)
    assert _si(run.energy.source) == pytest.approx(_si(kick.supplied_energy), rel=1e-7)
    assert -_si(run.energy.stored_in_winding) == pytest.approx(_si(kick.stored_energy), rel=1e-9)


def test_a_coasting_fan_stops_at_the_same_moment():
    """From 8000 rpm with nothing on, friction and fan bring it to rest: the engine's event, and one integral."""
    down = coast_down(TUNNEL.motor, "8000 rpm", load=TUNNEL.load)
    run = simulate(TUNNEL, always_off(), "6 s", speed="8000 rpm", samples=2)
    rest = next(event for event in run.events if event.name == "rotor stops")

    assert _si(rest.first) == pytest.approx(_si(down.time), rel=1e-5)
