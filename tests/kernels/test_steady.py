"""Steady running: against time integration, against the balance of torques and powers, and at rest."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from labkit._kernels.steady import BrakesSI, MotorSI, run

pytestmark = pytest.mark.core

MOTOR = MotorSI(resistance=np.asarray(2.8), emf_constant=np.asarray(5.4e-3), brush_drop=np.asarray(0.0))
torques = st.just(0.0) | st.floats(1e-9, 5e-3)
slopes = st.just(0.0) | st.floats(1e-12, 1e-5)
fans = st.just(0.0) | st.floats(1e-14, 1e-7)


def _brakes(*, friction=0.0, viscous=0.0, fan=0.0, weight=0.0, holding=None, own=0.0):
    values = (friction + own, viscous, fan, weight, (friction + own) if holding is None else holding, own, 0.0, own)
    return BrakesSI(*map(np.asarray, values))


def _residual(speed, volts, brakes, brush_drop=0.0):
    across = volts - 5.4e-3 * speed
    current = np.sign(across) * max(abs(across) - brush_drop, 0.0) / 2.8
    return (
        5.4e-3 * current
        - brakes.friction * np.sign(speed)
        - brakes.viscous * speed
        - brakes.fan * speed * abs(speed)
        - brakes.weight
    )


@given(
    volts=st.floats(-12, 12),
    friction=torques,
    viscous=slopes,
    fan=fans,
    weight=st.floats(-8e-3, 8e-3),
    brush_drop=st.floats(0, 1),
)
def test_speed_is_the_root_of_the_torque_balance(*, volts, friction, viscous, fan, weight, brush_drop):
    """A bracketing root search over the speed finds the same speed; a shaft at rest is held."""
    brakes = _brakes(friction=friction, viscous=viscous, fan=fan, weight=weight)
    motor = MOTOR._replace(brush_drop=np.asarray(brush_drop))
    running = run(np.asarray(volts), motor, brakes)
    speed = float(running.speed)
    at_rest = _residual(0.0, volts, brakes, brush_drop)
    assume(abs(abs(at_rest) - friction) > 1e-9)
    # else any speed in the brushes' dead band will do
    assume(brush_drop == 0 or viscous + fan > 0 or abs(abs(weight) - friction) > 1e-9)

    assert bool(running.turning) == (abs(at_rest) > friction)
    if running.turning:
        way = np.sign(at_rest)
        found = brentq(lambda s: way * _residual(way * s, volts, brakes, brush_drop), 1e-12, 1e5, xtol=1e-10)
        assert speed == pytest.approx(way * found, abs=2e-9 * (1.0 + found))


@given(
    volts=st.floats(-12, 12),
    own=torques,
    friction=torques,
    fan=fans,
    weight=st.floats(-8e-3, 8e-3),
)
def test_power_in_is_power_out(volts, own, friction, fan, weight):
    """Input = copper + friction + shaft, and the shaft gives exactly what the load asks for."""
    running = run(np.asarray(volts), MOTOR, _brakes(friction=friction, own=own, fan=fan, weight=weight))
    out = float(running.copper_loss + running.brush_loss + running.friction_loss + running.shaft_power)
    size = float(running.copper_loss + running.friction_loss + abs(running.shaft_power))
    speed = float(running.speed)
    load = friction * np.sign(speed) + fan * speed * abs(speed) + weight

    assert out == pytest.approx(float(running.input_power), abs=1e-12 * size + 1e-15)
    if running.turning:
        assert float(running.shaft_torque) == pytest.approx(load, abs=1e-11 + 1e-11 * abs(load))
    else:
        assert abs(float(running.shaft_torque) - weight) <= friction + 1e-15
    assert -1e-12 <= float(running.efficiency) <= 1.0


def test_the_motor_runs_up_to_the_stated_speed():
    """Integrating current and speed from rest ends at the closed form."""
    brakes = _brakes(own=0.594e-3, fan=1.6e-9)

    def slope(_, y):
        i, w = y
        drag = (brakes.friction * np.tanh(w / 1e-6)) + brakes.fan * w * abs(w)
        return [(6.0 - 2.8 * i - 5.4e-3 * w) / 0.9e-3, (5.4e-3 * i - drag) / 3.7e-6]

    end = solve_ivp(slope, (0.0, 8.0), [0.0, 0.0], method="LSODA", rtol=1e-11, atol=1e-12).y[:, -1]
    running = run(np.asarray(6.0), MOTOR, brakes)

    assert float(running.current) == pytest.approx(end[0], rel=1e-7)
    assert float(running.speed) == pytest.approx(end[1], rel=1e-7)


@given(volts=st.floats(0.1, 12), friction=torques, fan=fans, weight=st.floats(-5e-3, 5e-3))
def test_the_mirror_image_runs_the_mirror_way(volts, friction, fan, weight):
    """Turning voltage and weight round turns speed, current and torque round, and leaves the powers."""
    one = run(np.asarray(volts), MOTOR, _brakes(friction=friction, fan=fan, weight=weight))
    other = run(np.asarray(-volts), MOTOR, _brakes(friction=friction, fan=fan, weight=-weight))

    assert float(one.speed) == -float(other.speed)
    assert float(one.current) == -float(other.current)
    assert float(one.shaft_power) == float(other.shaft_power)


def test_an_overhauling_weight_makes_a_generator():
    """A weight that drives forward faster than free running feeds the source, and the efficiency says out over in."""
    running = run(np.asarray(6.0), MOTOR, _brakes(weight=-2e-3))

    assert float(running.speed) == pytest.approx((6.0 + 2.8 * 2e-3 / 5.4e-3) / 5.4e-3)
    assert float(running.current) == pytest.approx(-2e-3 / 5.4e-3)
    assert float(running.input_power) < 0.0
    assert float(running.shaft_power) < 0.0
    assert float(running.efficiency) == pytest.approx(6.0 / float(running.emf))


def test_stiction_holds_what_running_friction_would_not():
    """A starting torque above the running friction keeps the shaft at rest, at stall current, until it is exceeded."""
    brakes = _brakes(own=0.5e-3, holding=2e-3)
    held, started = (run(np.asarray(volts), MOTOR, brakes) for volts in (1.0, 1.1))

    assert not held.turning
    assert float(held.current) == pytest.approx(1.0 / 2.8)
    assert float(held.speed) == float(held.shaft_power) == float(held.efficiency) == 0.0
    assert float(started.speed) == pytest.approx((1.1 - 2.8 * 0.5e-3 / 5.4e-3) / 5.4e-3)
