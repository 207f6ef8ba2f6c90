"""What a pin gives: against the derivation, Shockley's law by bisection, and the balance of powers."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from labkit._kernels.generator import into_diode
from labkit._kernels.steady import MotorSI
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Led, Load, Motor, Pin
from labkit.simulation import load_current, pin_point
from labkit.symbolic import derivation
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core

PIN = Pin(high_level="3.3 V", output_resistance="40 ohm", current_limit="20 mA")
MOTOR = Motor(resistance="12 ohm", emf_constant="5.4 mV*s/rad", friction_torque="0.594 mN*m")
HELD = Load(friction="1 N*m")


def test_a_held_motor_is_its_winding_and_the_derivation_agrees():
    """By hand 3.3 V/(40 + 12) ohm = 63.5 mA; resistance, held motor and derivation are three ways to it."""
    derived = derivation("motor on a pin").evaluate(high_level="3.3 V", output_resistance="40 ohm", resistance="12 ohm")

    assert_quantity_close(Q_(63.4615, "mA"), derived, relative=1e-5)
    assert_quantity_close(derived, pin_point(PIN, "12 ohm").current, relative=1e-12)
    assert_quantity_close(derived, pin_point(PIN, MOTOR, shaft=HELD).current, relative=1e-12)


@pytest.mark.parametrize("load", ["12 ohm", "0 ohm", Led(series_resistance="150 ohm"), MOTOR])
def test_what_leaves_the_source_is_heat_in_the_chip_or_power_in_the_load(load):
    """V_OH·I = loss inside the pin + power of the load."""
    point = pin_point(PIN, load)

    assert_quantity_close(Q_("3.3 V") * point.current, point.internal_loss + point.load_power, relative=1e-12)
    assert point.share_of_limit.magnitude == pytest.approx(point.current.m_as("mA") / 20.0)


def test_an_led_meets_the_pins_line_on_shockleys_law():
    """Bisection on i = I_S·(e^(v/(n·V_T)) - 1) through 1.8 V at 10 mA, n = 2, V_T = 25.69 mV at 25 °C."""
    slope = 2 * 25.6926e-3
    leak = 10e-3 / np.expm1(1.8 / slope)
    amps = brentq(lambda i: slope * np.log1p(i / leak) + (150 + 40) * i - 3.3, 0.0, 0.1, xtol=1e-15)

    assert_quantity_close(Q_(amps, "A"), pin_point(PIN, Led(series_resistance="150 ohm")).current, relative=1e-5)


def test_the_led_derivation_agrees_with_the_diode_kernel():
    """A straight-line diode behind the pin's resistance; by hand (3.3 - 1.8) V/(40 + 150) ohm = 7.89 mA."""
    given = {"led_voltage": "1.8 V", "led_slope_resistance": "150 ohm"}
    derived = derivation("LED on a pin").evaluate(high_level="3.3 V", output_resistance="40 ohm", **given)
    pin = MotorSI(resistance=np.asarray(40.0), emf_constant=np.asarray(0.0), brush_drop=np.asarray(0.0))
    kernel = into_diode(np.asarray(3.3), pin, np.asarray(1.8), np.asarray(150.0))

    assert_quantity_close(Q_(7.89474, "mA"), derived, relative=1e-6)
    assert_quantity_close(Q_(float(kernel), "A"), derived, relative=1e-12)


def test_a_free_motor_needs_more_than_a_pin_has():
    """It wants 0.594/5.4 = 110 mA merely to turn; a short circuit of this pin gives 82.5 mA. A strong one turns it."""
    assert not pin_point(PIN, MOTOR).turning
    assert_quantity_close(Q_(82.5, "mA"), pin_point(PIN, "0 ohm").current, relative=1e-12)
    strong = pin_point(Pin(high_level="3.3 V", output_resistance="1 ohm"), MOTOR)

    assert strong.turning
    assert_quantity_close(Q_(110, "mA"), strong.current, relative=1e-9)
    assert strong.share_of_limit is None


def test_a_motors_own_curve_rises_with_ohm_and_then_stands_upright():
    """Held by its own friction it is 12 ohm; once it turns free, any voltage draws the same 110 mA."""
    assert_quantity_close(Q_([50, 110, 110], "mA"), load_current(MOTOR, Q_([0.6, 3.0, 6.0], "V")), relative=1e-9)
    assert_quantity_close(
        Q_([50, 250, 500], "mA"), load_current(MOTOR, Q_([0.6, 3.0, 6.0], "V"), shaft=HELD), relative=1e-9
    )


def test_rising_levels_walk_along_the_loads_own_line():
    """For each level, what is across the load draws the same current from a stiff source."""
    for load in ("12 ohm", Led(series_resistance="150 ohm"), MOTOR):
        line = pin_point(PIN, load, level=Q_([0.5, 2.0, 3.3, 8.0], "V"))

        assert_quantity_close(load_current(load, line.voltage), line.current, relative=1e-9)


def test_bad_input_is_named():
    """A negative resistance is refused by name; so is a loop in which nothing limits the current."""
    with pytest.raises(PartError, match="level must be zero or more, in V; got -1 V"):
        pin_point(PIN, "12 ohm", level="-1 V")
    with pytest.raises(PartError, match=r"pin_point\.pin must be a Pin; got a Motor\. Write Pin"):
        pin_point(MOTOR, "12 ohm")
    with pytest.raises(NoSolutionError, match="Give the LED a series resistance"):
        load_current(Led(), "3.3 V")
    with pytest.raises(PartError, match=r"load must be zero or more, in ohm; got -1 ohm\. A resistance, an Led or a"):
        pin_point(PIN, "-1 ohm")
    with pytest.raises(NoSolutionError, match="Nothing in this loop limits the current"):
        load_current("0 ohm", "3.3 V")
