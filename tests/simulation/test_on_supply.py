"""A motor straight on a source that sags: against bisection on the source's own line."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.optimize import brentq

from labkit.parts import Load, Supply, desk_wind_tunnel
from labkit.simulation import motor_on_supply, operating_point, pwm_operating_point
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core

TUNNEL = desk_wind_tunnel()
HELD = Load(friction="1 N*m")


@pytest.mark.parametrize("load", [Load(), TUNNEL.load, HELD], ids=["free", "fan", "held"])
@pytest.mark.parametrize("drop", ["0 V", "0.4 V"])
def test_the_motor_settles_on_the_sources_line(load, drop):
    """The terminal voltage at which V_oc - r·I(V) = V, found by bisection; current and speed are those there."""
    motor = dataclasses.replace(TUNNEL.motor, brush_drop=Q_(drop))

    def off(volts):
        return 6.0 - 0.6 * operating_point(motor, Q_(volts, "V"), load).current.m_as("A") - volts

    expected = brentq(off, 0.5, 6.0, xtol=1e-13)
    settled = motor_on_supply(TUNNEL.supply, motor, load)
    there = operating_point(motor, Q_(expected, "V"), load)

    assert settled.voltage.m_as("V") == pytest.approx(expected, rel=1e-10)
    assert_quantity_close(there.current, settled.point.current, relative=1e-9)
    assert settled.point.speed.m_as("rad/s") == pytest.approx(there.speed.m_as("rad/s"), rel=1e-9)


def test_it_agrees_with_the_switched_drive_that_is_always_on():
    """At full duty, through a transistor of a millionth of an ohm, the drive settles at the same speed."""
    ideal = dataclasses.replace(TUNNEL, switch=dataclasses.replace(TUNNEL.switch, on_resistance=Q_("1 uohm")))
    driven = pwm_operating_point(ideal, 1.0, "1 kHz")

    assert_quantity_close(
        driven.speed, motor_on_supply(TUNNEL.supply, TUNNEL.motor, TUNNEL.load).point.speed, relative=1e-5
    )


def test_many_loads_at_once_and_a_free_shaft_gives_exactly_nothing():
    """The shape is that of the loads, and rounding leaves no torque on a free shaft."""
    both = motor_on_supply(Supply(voltage="4.6 V", internal_resistance="2.5 ohm"), TUNNEL.motor, [Load(), HELD])

    assert np.shape(both.voltage.magnitude) == (2,)
    assert both.point.shaft_torque.magnitude[0] == 0.0
    assert both.point.shaft_power.magnitude[0] == 0.0
    assert_quantity_close(Q_(4.6 / 5.3, "A"), both.point.current[1], relative=1e-9)


def test_a_load_that_drives_the_motor_charges_the_source():
    """A weight of 2 mN·m against 0.594 mN·m of friction feeds (2 - 0.594)/5.4 A back through 0.6 Ω: 6.156 V."""
    settled = motor_on_supply(TUNNEL.supply, TUNNEL.motor, Load(weight="-2 mN*m"))
    amps = (2.0 - 0.594) / 5.4

    assert settled.point.current.m_as("A") == pytest.approx(-amps, rel=1e-9)
    assert settled.voltage.m_as("V") == pytest.approx(6.0 + 0.6 * amps, rel=1e-9)
