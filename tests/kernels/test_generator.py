"""A turned motor's load lines and run-down: against bracketing, 50 digits and step-by-step integration."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from labkit._kernels.generator import ShockleySI, coast, into_diode, into_led, into_resistor, led_voltage
from labkit._kernels.steady import MotorSI

pytestmark = pytest.mark.core


def _motor(resistance, brush_drop=0.0):
    return MotorSI(*map(np.asarray, (resistance, 5.4e-3, brush_drop)))


def _fifty_digits(emf, resistance, leak, slope):
    with mpmath.workdps(60):
        emf, resistance, leak, slope = map(mpmath.mpf, (emf, resistance, leak, slope))
        scale = leak * resistance / slope
        argument = scale * mpmath.exp((emf + leak * resistance) / slope)
        return float(slope / resistance * mpmath.lambertw(argument) - leak)


@given(
    emf=st.floats(-30, 60), resistance=st.floats(-2, 4).map(lambda p: 10**p), slope=st.floats(0.025, 0.2),
    leak=st.floats(-25, -6).map(lambda p: 10**p),
)  # fmt: skip
def test_the_led_current_agrees_with_fifty_digits(emf, resistance, slope, leak):
    """Shockley's law on a load line, by Lambert's W, holds over many decades, where e^(E/nV_T) would overflow too."""
    led = ShockleySI(*map(np.asarray, (leak, slope, 0.0)))
    got = float(into_led(np.asarray(emf), _motor(resistance), led))
    exact = _fifty_digits(emf, resistance, leak, slope)

    assert got == pytest.approx(exact, rel=1e-12, abs=5e-14 * leak)


@given(emf=st.floats(0.1, 20), brush_drop=st.floats(0, 0.09), resistance=st.floats(0, 100))
def test_the_led_current_lies_on_both_lines(emf, brush_drop, resistance):
    """EMF = brush drop + R·i + the voltage that the LED has at that current."""
    led = ShockleySI(*map(np.asarray, (1e-17, 0.05, resistance)))
    current = into_led(np.asarray(emf), _motor(2.8, brush_drop), led)

    assert brush_drop + 2.8 * current + led_voltage(current, led) == pytest.approx(emf, rel=1e-12)


def test_straight_lines_and_nothing():
    """A resistor and a diode's straight line by hand; below the knee, backwards and at blocking brushes nothing."""
    motor = _motor(2.0, 0.5)

    assert into_resistor(np.array([-4.5, 0.4, 4.5]), motor, np.asarray(6.0)) == pytest.approx([-0.5, 0.0, 0.5])
    assert into_resistor(np.asarray(4.5), motor, np.asarray(np.inf)) == 0.0
    assert into_diode(np.array([-9.0, 2.0, 4.5]), motor, np.asarray(1.8), np.asarray(0.2)) == pytest.approx([0, 0, 1.0])


@pytest.mark.parametrize(("viscous", "fan", "brake"), [(0, 0, 0), (1e-7, 0, 0), (0, 2e-9, 0), (1e-7, 2e-9, 3e-6)])
def test_the_run_down_agrees_with_integration(viscous, fan, brake):
    """Time, angle and both energies of a shaft that coasts to rest."""
    speed, inertia, friction = 900.0, 3.7e-6, 0.6e-3

    def drag(w):
        return friction + viscous * w + fan * w * w

    def slope(_, y):
        w = y[0]
        return [-(drag(w) + brake * w) / inertia, w, drag(w) * w, brake * w * w]

    def rest(_, y):
        return y[0]

    rest.terminal = True
    end = solve_ivp(slope, (0, 100), [speed, 0, 0, 0], events=rest, method="DOP853", rtol=1e-11, atol=1e-13)
    down = coast(speed, inertia, drag, lambda w: brake * w)

    assert down.time == pytest.approx(end.t[-1], rel=1e-8)
    assert [*down[1:]] == pytest.approx(end.y[1:, -1], rel=1e-8)
    assert down.mechanical_loss + down.electrical_loss == pytest.approx(0.5 * inertia * speed**2, rel=1e-11)


@pytest.mark.parametrize("strength", [1e2, 1e4, 1e6])
@pytest.mark.parametrize("knee", [37.3, 412.9, 880.1])
def test_a_brake_that_is_felt_from_a_knee_on(strength, knee):
    """Constant friction below the knee, c·(ω - knee) more above: t = J·knee/F + J/c·ln(1 + c·(ω - knee)/F), by hand."""
    inertia, friction, speed = 1e-5, 1e-6, 900.0
    slope = strength * friction
    down = coast(speed, inertia, lambda _: friction, lambda w: slope * max(w - knee, 0.0), knee=knee)
    above = inertia / slope * np.log1p(slope * (speed - knee) / friction)

    assert down.time == pytest.approx(inertia * knee / friction + above, rel=1e-9)
    assert down.mechanical_loss + down.electrical_loss == pytest.approx(0.5 * inertia * speed**2, rel=1e-9)
