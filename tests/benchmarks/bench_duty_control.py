"""1,000 points of ``pwm_operating_point`` in one call, against integrating points of them to their steady state.

Fan load, duties and frequencies at random. The rotor is made light, so that the baseline has fewer periods to step;
a few points are integrated, and their mean time stands for all. The kit takes the speed as constant over a period, a
light rotor's is not: the speeds are compared after a second, untimed run with twice the inertia, extrapolated to none
of that ripple.
"""

from __future__ import annotations

import dataclasses
import statistics
import time

import numpy as np
from scipy.integrate import solve_ivp

from labkit import Q_, desk_wind_tunnel, gate_drive_voltage, on_resistance, pwm_operating_point

POINTS, INTEGRATED, TURNS = 1000, 4, 5
SOLVER = {"method": "DOP853", "rtol": 1e-8, "atol": 1e-10}
INERTIA = 2e-7
BASELINE = "solve_ivp(DOP853, rtol=1e-8, atol=1e-10) with events, each point run up until it is steady to 1e-7"


def _stopped(_, x):
    return x[0]


_stopped.terminal, _stopped.direction = True, -1


def steady_state(duty, frequency, inertia):
    """Return the mean speed [rad/s] that stepping segment by segment ends at."""
    fan = desk_wind_tunnel()
    channel = float(on_resistance(fan.switch, gate_drive_voltage(fan)).magnitude)
    k, inductance, friction, load = 5.4e-3, 0.9e-3, 0.594e-3, 1.6e-9

    def slope(volts, ohms):
        def right(_, x):
            i, w, _ = x
            return [(volts - k * w - ohms * i) / inductance, (k * i - friction - load * w * w) / inertia, w]

        return right

    def coast(_, x):
        return [0.0, (-friction - load * x[1] ** 2) / inertia, x[1]]

    closed, opened = slope(6.0, 2.8 + 0.6 + channel), slope(-0.4, 2.8)
    on, off = duty / frequency, (1 - duty) / frequency
    i, w, before = 0.0, 100.0, 0.0
    calm = 0
    while calm < 20:
        state = solve_ivp(closed, (0, on), [i, w, 0.0], **SOLVER).y[:, -1]
        run = solve_ivp(opened, (0, off), state, events=_stopped, **SOLVER)
        state = run.y[:, -1]
        if run.t[-1] < off:
            state = solve_ivp(coast, (0, off - run.t[-1]), [0.0, *state[1:]], **SOLVER).y[:, -1]
        i, w, angle = state
        mean = angle * frequency
        calm = calm + 1 if abs(mean - before) < 1e-9 * mean else 0
        before = mean
    return before


def run():
    """Return the ratio of the times, with how far the two speeds are apart in the name."""
    draw = np.random.default_rng(20)
    duty, frequency = draw.uniform(0.3, 0.95, POINTS), 10.0 ** draw.uniform(3.7, 4.5, POINTS)
    fan = desk_wind_tunnel()
    light = dataclasses.replace(
        fan,
        motor=dataclasses.replace(fan.motor, inertia=Q_(INERTIA, "kg*m**2")),
        load=dataclasses.replace(fan.load, inertia="0 kg*m**2"),
    )
    kit, baseline, apart = [], [], []
    for turn in range(max(TURNS, INTEGRATED)):
        begin = time.process_time()
        speeds = pwm_operating_point(light, duty, Q_(frequency, "Hz")).speed.magnitude
        kit.append(time.process_time() - begin)
        if turn < INTEGRATED:
            begin = time.process_time()
            light_speed = steady_state(duty[turn], frequency[turn], INERTIA)
            baseline.append(time.process_time() - begin)
            heavy_speed = steady_state(duty[turn], frequency[turn], 2 * INERTIA)
            apart.append(abs((2 * heavy_speed - light_speed) / speeds[turn] - 1.0))
    ratio = statistics.mean(baseline) * POINTS / statistics.median(kit)
    name = f"pwm_operating_point, {POINTS} points in one call; mean speeds apart by {max(apart):.0e} at most"
    return [(name, ratio, BASELINE)]
