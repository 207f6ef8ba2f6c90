"""A thousand settled points in one call, each held against an integrated period of the same circuit.

A settled point is a state that one period brings back to itself, and in which the mean torque is what load and friction
take. Both are integrated here, from the equations written again, with the diode's stop as an event. From the torque to
the speed: where the torque left over is ΔT, the speed is off by ΔT over the slope of torque over speed.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from labkit.parts import Load, desk_wind_tunnel
from labkit.simulation import gate_drive_voltage, on_resistance, pwm_operating_point
from labkit.units import Q_

pytestmark = pytest.mark.core

POINTS = 1000
SHORT = 60  # so many of them in the short suite
TUNNEL = desk_wind_tunnel()
K, L, R, SOURCE, DROP, FRICTION = 5.4e-3, 0.9e-3, 2.8, 0.6, 0.4, 0.594e-3
OPTIONS = {"method": "DOP853", "rtol": 1e-11, "atol": 1e-14}


@pytest.fixture(scope="module")
def points():
    """Duties, frequencies, voltages and fans at random, and what one call says of them."""
    draw = np.random.default_rng(8)
    duty, frequency = draw.uniform(0.25, 0.99, POINTS), 10 ** draw.uniform(2.5, 5.0, POINTS)
    volts, fan = draw.uniform(4.0, 12.0, POINTS), 10 ** draw.uniform(-9.5, -8.0, POINTS)
    loads = [Load(fan=Q_(each, "N*m*s**2/rad**2")) for each in fan]
    answer = pwm_operating_point(TUNNEL, duty, Q_(frequency, "Hz"), voltage=Q_(volts, "V"), load=loads)
    return duty, frequency, volts, fan, answer


def _period(volts, speed, current, on, off):
    """Current after one period at a steady speed [A], its peak [A], and the charge [C] that passed."""
    channel = float(on_resistance(TUNNEL.switch, gate_drive_voltage(TUNNEL)).magnitude)

    def slope(drive, ohms):
        return lambda _, x: [(drive - K * speed - ohms * x[0]) / L, x[0]]

    def stopped(_, x):
        return x[0]

    stopped.terminal, stopped.direction = True, -1
    closed = solve_ivp(slope(volts, R + SOURCE + channel), (0, on), [current, 0.0], **OPTIONS).y[:, -1]
    opened = solve_ivp(slope(-DROP, R), (0, off), closed, events=stopped, **OPTIONS)
    end, charge = opened.y[:, -1]
    return (0.0 if opened.status == 1 else end), closed[0], charge


def _furthest_off(points, which):
    """The largest error of speed, current at the start, mean and peak current, each over its size."""
    duty, frequency, volts, fan, answer = (part for part in points)
    apart = []
    for n in which:
        speed, start, mean, peak = (
            float(getattr(answer, name).magnitude[n])
            for name in ("speed", "minimum_current", "mean_current", "peak_current")
        )
        on, off = duty[n] / frequency[n], (1 - duty[n]) / frequency[n]
        end, top, charge = _period(volts[n], speed, start, on, off)
        left = K * charge * frequency[n] - FRICTION - fan[n] * speed**2
        if answer.continuous[n]:
            slope = K**2 / (R + SOURCE + 0.1)  # a loop of less than so much resistance
        else:
            slower, faster = (_period(volts[n], part * speed, start, on, off)[2] for part in (0.999, 1.001))
            slope = K * (slower - faster) * frequency[n] / (0.002 * speed)
        slope += 2 * fan[n] * speed
        apart += [left / slope / speed, (end - start) / peak, charge * frequency[n] / mean - 1.0, top / peak - 1.0]
    return max(map(abs, apart))


def test_points_agree_with_integration(points):
    """The first sixty of the thousand turn, some with gaps in the current, and agree to a millionth."""
    answer = points[-1]
    some = answer.continuous[:SHORT]

    assert answer.turning.all()
    assert 10 < some.sum() < SHORT - 10
    assert _furthest_off(points, range(SHORT)) < 1e-6


@pytest.mark.slow
def test_all_thousand_points_agree_with_integration(points):
    """So do all of them."""
    assert _furthest_off(points, range(POINTS)) < 1e-6
