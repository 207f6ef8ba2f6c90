"""A winding that warms with time: against another integrator, the time to a limit, and the state it ends in."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Motor, desk_wind_tunnel
from labkit.simulation import time_to_winding_limit, winding_temperature, winding_warming
from labkit.symbolic import derivation
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core

MOTOR = desk_wind_tunnel().motor
TIMES = np.array([0.0, 1.0, 3.0, 10.0, 60.0, 300.0])
#: Copper's coefficient at 20 °C (IEC 60028), on its straight line at 25 °C.
ALPHA = 0.00393 / (1 + 0.00393 * 5)


def test_a_held_motor_on_a_real_battery_follows_the_differential_equation():
    """I = V/(r + R·h), P = I²·R·h, h = 1 + α·(T - 25 °C), written out and integrated by another method."""

    def slope(_, celsius):
        grown = 2.8 * (1 + ALPHA * (celsius[0] - 25))
        power = (6.0 / (0.6 + grown)) ** 2 * grown
        into, out = (celsius[0] - celsius[1]) / 8.0, (celsius[1] - 25.0) / 25.0
        return [(power - into) / (8.0 / 8.0), (into - out) / (300.0 / 25.0)]

    expected = solve_ivp(slope, (0, 300), [25.0, 25.0], t_eval=TIMES, method="DOP853", rtol=1e-11, atol=1e-11).y
    held = winding_warming(MOTOR, Q_(TIMES, "s"), voltage="6 V", source_resistance="0.6 ohm")

    np.testing.assert_allclose(held.winding.m_as("degC"), expected[0], rtol=0, atol=1e-4)
    np.testing.assert_allclose(held.housing.m_as("degC"), expected[1], rtol=0, atol=1e-4)
    np.testing.assert_allclose(held.power.m_as("W"), held.current.m_as("A") ** 2 * held.resistance.m_as("ohm"))
    np.testing.assert_allclose(held.current.m_as("A") * (0.6 + held.resistance.m_as("ohm")), 6.0, rtol=1e-12)


@pytest.mark.parametrize("heated_by", [{"voltage": "6 V"}, {"current": "1.5 A"}])
def test_it_reaches_the_limit_when_the_root_finder_says(heated_by):
    """The time to 130 °C comes from a matrix exponential or an event; after it the course stands at 130 °C."""
    time = time_to_winding_limit(MOTOR, **heated_by)

    assert winding_warming(MOTOR, time, **heated_by).winding.m_as("degC") == pytest.approx(130.0, abs=1e-4)


@pytest.mark.parametrize("heated_by", [{"voltage": "2 V"}, {"current": "0.5 A"}])
def test_it_ends_where_heat_in_and_heat_out_balance(heated_by):
    """After many time constants it is the steady state, which is a closed form."""
    late, settled = winding_warming(MOTOR, "10 hour", **heated_by), winding_temperature(MOTOR, **heated_by)

    assert late.winding.m_as("degC") == pytest.approx(settled.winding.m_as("degC"), abs=1e-4)
    assert late.housing.m_as("degC") == pytest.approx(settled.housing.m_as("degC"), abs=1e-4)


def test_its_resistance_is_the_derived_one():
    """R·(1 + α·(T - T_0)), from the derivation."""
    hot = winding_warming(MOTOR, "60 s", voltage="6 V")
    given = {"reference_temperature": "25 degC", "temperature_coefficient": Q_(ALPHA, "1/kelvin")}
    derived = derivation("resistance of a hot winding").evaluate(
        resistance="2.8 ohm", winding_temperature=Q_(hot.winding.m_as("degC"), "degC"), **given
    )

    assert_quantity_close(derived, Q_(hot.resistance.m_as("ohm"), "ohm"), relative=1e-9)


def test_a_brush_drop_takes_its_part_of_the_voltage():
    """6 V less 0.5 V over 2.8 + 0.6 ohm is 1.618 A at the start; below the drop nothing flows."""
    carbon = dataclasses.replace(MOTOR, brush_drop=Q_("0.5 V"))
    held = winding_warming(carbon, "0 s", voltage="6 V", source_resistance="0.6 ohm")

    assert held.current.m_as("A") == pytest.approx(5.5 / 3.4)
    assert winding_warming(carbon, "60 s", voltage="0.4 V").winding.m_as("degC") == pytest.approx(25.0)


def test_bad_input_is_named():
    """Both or neither of current and voltage, times that go back, an unknown path: each refused with its remedy."""
    with pytest.raises(PartError, match=r"current must be given, or else voltage; got both\. Give one of the two"):
        winding_warming(MOTOR, "1 s", current="1 A", voltage="6 V")
    with pytest.raises(
        PartError, match=r"time must be a row of rising instants; got \[0\.0 3\.0 2\.0\] second\. Sort them"
    ):
        winding_warming(MOTOR, Q_([0, 3, 2], "s"), voltage="6 V")
    with pytest.raises(PartError, match=r"winding_warming\.motor must be a Motor; got a Drive\. Give its \.motor"):
        winding_warming(desk_wind_tunnel(), "1 s", current="1 A")
    with pytest.raises(PartError, match="winding_to_housing"):
        winding_warming(Motor(resistance="1 ohm", emf_constant="5 mV*s/rad"), "1 s", current="1 A")


@pytest.mark.filterwarnings("error")
def test_a_runaway_is_shown_as_far_as_numbers_go():
    """At 5 A the temperature grows by a factor in each time constant; after hours no number holds it."""
    late = winding_warming(MOTOR, Q_([10.0, 1000.0], "s"), current="5 A").winding.m_as("degC")

    assert late[1] > 1e60 * late[0]
    with pytest.raises(NoSolutionError, match=r"Thermal runaway: by 10000 s the .* Ask for earlier times"):
        winding_warming(MOTOR, Q_([10.0, 1e4, 1e5], "s"), current="5 A")
