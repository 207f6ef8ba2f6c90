"""The turned motor, as a person asks for it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit.errors import PartError
from labkit.parts import Diode, Led, Motor
from labkit.simulation import coil_emf, generator_point, lighting_speed
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core

MOTOR = Motor(
    resistance="2.8 ohm", emf_constant="5.4 mV*s/rad", friction_torque="0.594 mN*m", viscous_friction="1e-7 N*m*s/rad",
    brush_drop="0.1 V",
)  # fmt: skip
LOADS = [
    None,
    "10 ohm",
    "0 ohm",
    Diode(forward_voltage="1.8 V", slope_resistance="5 ohm"),
    Led(series_resistance="10 ohm"),
]


@given(speed=st.floats(-2000, 2000), load=st.sampled_from(LOADS))
def test_what_the_shaft_gives_is_heat_or_light(speed, load):
    """Shaft power = friction + copper + brush + load power, whichever way it turns."""
    point = generator_point(MOTOR, Q_(speed, "rad/s"), load)
    parts = [point.friction_loss, point.copper_loss, point.brush_loss, point.load_power]
    total = sum(float(part.magnitude) for part in parts)

    assert float(point.shaft_power.magnitude) == pytest.approx(total, rel=1e-10, abs=1e-14)
    assert all(float(part.magnitude) >= -1e-12 for part in parts)


def test_nothing_connected_shows_the_emf_and_costs_friction_only():
    """Open terminals: the voltmeter shows k·ω, and the shaft needs the motor's own friction."""
    point = generator_point(MOTOR, Q_([-500.0, 0.0, 500.0], "rad/s"))

    assert_quantity_close(Q_([-2.7, 0.0, 2.7], "V"), point.terminal_voltage, absolute=Q_(1e-12, "V"))
    assert_quantity_close(Q_([-0.644, 0.0, 0.644], "mN*m"), point.shaft_torque, absolute=Q_(1e-9, "N*m"))


def test_the_lighting_speed_is_where_the_led_has_its_current():
    """Turned at the stated speed, the LED carries the stated current."""
    led = Led(series_resistance="47 ohm")
    speeds = lighting_speed(MOTOR, led, Q_([0.1, 1.0, 20.0], "mA"))

    assert_quantity_close(Q_([0.1, 1.0, 20.0], "mA"), generator_point(MOTOR, speeds, led).current, relative=1e-9)


def test_the_led_goes_through_its_printed_point():
    """At the data sheet's test current it has the data sheet's voltage."""
    led = Led(forward_voltage="2.1 V", test_current="20 mA", ideality=1.8)
    point = generator_point(MOTOR, lighting_speed(MOTOR, led, "20 mA"), led)

    assert_quantity_close(Q_("2.1 V"), point.terminal_voltage, relative=1e-10)


def test_turned_backwards_an_led_stays_dark():
    """The EMF has the blocking sign: only the leakage flows."""
    point = generator_point(MOTOR, "-9000 rpm", Led())

    assert abs(float(point.current.magnitude)) < 1e-15
    assert float(point.terminal_voltage.magnitude) < -4.9


def test_a_loaded_shaft_is_harder_to_turn():
    """The lower the resistance, the more torque the same speed costs."""
    torques = generator_point(MOTOR, "3000 rpm", Q_([1e6, 100.0, 10.0, 1.0], "ohm")).shaft_torque.magnitude

    assert np.all(np.diff(torques) > 0)


def test_a_quarter_turn_averages_to_two_over_pi_of_the_peak():
    """N·B·A over the time of a quarter turn is the mean EMF, not the peak."""
    coil = coil_emf(turns=200, field="0.8 T", area="78.54 cm**2", speed=Q_(np.pi / 2 / 0.015, "rad/s"))

    assert float(coil.mean.magnitude) == pytest.approx(200 * 0.8 * 78.54e-4 / 0.015)
    assert float(coil.rms.magnitude) == pytest.approx(float(coil.peak.magnitude) / 2**0.5)


def test_turned_backwards_a_coil_has_the_same_root_mean_square():
    """The EMF changes its sign, and its root mean square has none."""
    forward, backward = (coil_emf(turns=10, field="1 T", area="1 cm**2", speed=speed) for speed in ("9 rpm", "-9 rpm"))

    assert backward.peak == -forward.peak
    assert backward.mean == -forward.mean
    assert backward.rms == forward.rms


def test_bad_input_is_named():
    """Hertz for a speed, a negative resistance and a voltage for a load are refused, with the remedy."""
    with pytest.raises(PartError, match="speed must be a quantity in rad/s; got '50 Hz'"):
        generator_point(MOTOR, "50 Hz")
    with pytest.raises(
        PartError, match=r"load must be zero or more, in ohm; got -1 ohm\. A resistance, a Diode or an Led"
    ):
        generator_point(MOTOR, "50 rpm", "-1 ohm")
    with pytest.raises(PartError, match="load must be a quantity in ohm"):
        generator_point(MOTOR, "50 rpm", "1 V")
    with pytest.raises(PartError, match="current must be more than zero, in A; got 0 A"):
        lighting_speed(MOTOR, Led(), "0 A")
