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


@pytest.mark.parametrize(("speed", "way"), [("2000 rpm", 1), ("-2000 rpm", -1)])
def test_a_weight_brakes_one_way_and_drives_the_other(speed, way):
    """A weight of half the friction stops a shaft in a third of the time of the other way round, in the engine too."""
    load, motor = Load(weight="0.297 mN*m"), TUNNEL.motor  # the friction is 0.594 mN·m
    down = coast_down(motor, speed, load=load)
    run = simulate(dataclasses.replace(TUNNEL, load=load, diode=None), always_off(), "3 s", speed=speed, samples=2)

    by_hand = 1.2e-6 * (2000 * np.pi / 30) / (0.594e-3 + way * 0.297e-3)
    assert _si(down.time) == pytest.approx(by_hand, rel=1e-10)
    assert _si(run.event("rotor stops").first) == pytest.approx(by_hand, rel=1e-10)


@pytest.mark.parametrize("speed", ["3000 rpm", "-3000 rpm"])
def test_a_diode_brakes_a_coasting_shaft_one_way_only(speed):
    """The engine's freewheel diode brakes backward turning; to coast_down it is one whose band is at the other end."""
    light = dataclasses.replace(TUNNEL.motor, inductance="1 uH")  # coast_down leaves the inductance's delay out
    drive = dataclasses.replace(TUNNEL, motor=light, load=Load(), wiring="0 ohm", ambient=Q_(25, "degC"))
    run = simulate(drive, always_off(), "3 s", speed=speed, samples=2)
    down = coast_down(light, f"{-float(speed.split()[0])} rpm", connected=drive.diode)

    assert _si(run.event("rotor stops").first) == pytest.approx(_si(down.time), rel=1e-5)


@pytest.mark.parametrize("esr", ["0 ohm", "0.3 ohm"])
def test_a_large_buffer_capacitor_shares_the_current_as_in_the_engine(esr):
    """With 100 mF and a flywheel the engine's capacitor carries the stated current, and its source the stated mean."""
    supply = dataclasses.replace(TUNNEL.supply, capacitance="100 mF", capacitor_resistance=esr)
    drive = dataclasses.replace(FLYWHEEL, supply=supply)
    point = pwm_operating_point(drive, 0.5, "2 kHz", junction_temperature="40 degC", winding_temperature="40 degC")
    rests = Q_(6.0 - 0.6 * _si(point.supply_current), "V")
    times = Q_(0.05 + np.arange(20001) / 20000 * 0.01, "s")

    run = simulate(drive, pwm(0.5, "2 kHz"), "60 ms", speed=point.speed, capacitor_voltage=rests, samples=times)
    through = (run.supply_current - run.switch_current).magnitude

    assert np.sqrt(np.mean(through**2)) == pytest.approx(_si(point.capacitor_current), rel=1e-3)
    assert np.mean(run.supply_current.magnitude) == pytest.approx(_si(point.supply_current), rel=1e-3)
