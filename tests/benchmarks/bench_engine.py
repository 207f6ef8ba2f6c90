"""``simulate`` on the desk wind tunnel, against the same circuit stepped segment by segment by an ODE solver.

D = 0.4, 2 kHz, 1 s from standstill, fan load. Plain Python and compiled stepping each run in a process of their own,
in which a twentieth of the baseline and three whole runs of the kit take turns, so that a busy machine slows both;
times are the processor's, the kit's the median of its runs.
"""

from __future__ import annotations

import importlib.util
import json
import os
import statistics
import subprocess
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

from labkit import Q_, Drive, Supply, desk_wind_tunnel, on_resistance, pwm, simulate
from labkit.simulation import gate_drive_voltage

DUTY, FREQUENCY, PERIODS, TURNS, RUNS = 0.4, 2000.0, 2000, 20, 3
SOLVER = {"method": "DOP853", "rtol": 1e-8, "atol": 1e-10}
BASELINE = "solve_ivp(DOP853, rtol=1e-8, atol=1e-10) with events, segment by segment"


def _drive(capacitance):
    drive = desk_wind_tunnel()
    supply = Supply(voltage="6 V", internal_resistance="0.6 ohm", capacitance=capacitance,
                    capacitor_resistance="0.05 ohm", brown_out="2.7 V")  # fmt: skip
    return Drive(supply=supply, motor=drive.motor, switch=drive.switch, diode=drive.diode, load=drive.load)


def _ends(sign, index):
    def event(_, x):
        return x[index]

    event.terminal, event.direction = True, sign
    return event


def segments(buffered, first, periods, x):  # noqa: C901 (one small function for each state of the circuit)
    """Step *periods* from period *first*; return the states at the periods' ends."""
    voltage, source, esr, capacitance = 6.0, 0.6, 0.05, 470e-6
    gate = gate_drive_voltage(desk_wind_tunnel())
    channel = on_resistance(desk_wind_tunnel().switch, gate).magnitude
    resistance, inductance, k, inertia, friction, fan = 2.8, 0.9e-3, 5.4e-3, 3.7e-6, 0.594e-3, 1.6e-9
    if not buffered:
        esr, capacitance = 0.0, np.inf

    def rail(i, v):
        return (voltage * esr + v * source - source * esr * i) / (source + esr) if buffered else voltage - source * i

    def charge(i, v):
        return (voltage - v - source * i) / ((source + esr) * capacitance)

    def starting(_, x):
        i, _, v = x
        return (rail(i, v) - (resistance + channel) * i) / inductance, 0.0, charge(i, v)

    def on(_, x):
        i, w, v = x
        slope = (rail(i, v) - (resistance + channel) * i - k * w) / inductance
        return slope, (k * i - friction - fan * w * w) / inertia, charge(i, v)

    def freewheel(_, x):
        i, w, v = x
        return (-0.4 - resistance * i - k * w) / inductance, (k * i - friction - fan * w * w) / inertia, charge(0.0, v)

    def idle(_, x):
        _, w, v = x
        return 0.0, (-friction - fan * w * w) / inertia, charge(0.0, v)

    def breaks_away(_, x):
        return k * x[0] - friction

    breaks_away.terminal = True
    current_ends, shaft_stops = _ends(-1, 0), _ends(-1, 1)
    states = []
    for n in range(first, first + periods):
        time_now, end = n / FREQUENCY, (n + DUTY) / FREQUENCY
        if x[1] == 0.0:
            run = solve_ivp(starting, (time_now, end), x, events=breaks_away, **SOLVER)
            time_now, x = run.t[-1], run.y[:, -1]
        x = solve_ivp(on, (time_now, end), x, events=None if x[1] == 0.0 else shaft_stops, **SOLVER).y[:, -1]
        time_now, end = end, (n + 1) / FREQUENCY
        run = solve_ivp(freewheel, (time_now, end), x, events=(current_ends, shaft_stops), **SOLVER)
        x = run.y[:, -1]
        if run.status == 1:
            x[0] = 0.0
            x = solve_ivp(idle, (run.t[-1], end), x, events=shaft_stops, **SOLVER).y[:, -1]
        states.append(x)
    return states


def compare(buffered):
    """Return the ratio of times and the largest difference of states at period starts over the largest value."""
    drive, gate = _drive("470 uF" if buffered else None), pwm(DUTY, Q_(FREQUENCY, "Hz"))
    simulate(drive, gate, "1 ms")  # compiles, or loads what was compiled before
    states, ours, theirs = [np.array([0.0, 0.0, 6.0])], [], 0.0
    for turn in range(TURNS):
        start = time.process_time()
        states += segments(buffered, turn * PERIODS // TURNS, PERIODS // TURNS, states[-1])
        theirs += time.process_time() - start
        for _ in range(RUNS):
            start = time.process_time()
            trace = simulate(drive, gate, Q_(PERIODS / FREQUENCY, "s"), samples=PERIODS + 1)
            ours.append(time.process_time() - start)
    want = np.array(states).T
    have = [trace.current.magnitude, trace.speed.magnitude]
    difference = max(np.max(np.abs(a - b)) / np.max(np.abs(b)) for a, b in zip(have, want[:2], strict=True))
    return theirs / statistics.median(ours), float(difference), theirs, statistics.median(ours)


def _in_process(way, buffered):
    environment = os.environ | {"NUMBA_DISABLE_JIT": "1" if way == "plain Python" else "0"}
    command = [sys.executable, __file__, "buffered" if buffered else "stiff"]
    answer = subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout
    return json.loads(answer)


def many_periods():
    """Return (periods, time per period over that of the fewest) for 10² to 10⁵ periods, few samples asked for."""
    drive, costs = desk_wind_tunnel(), {}
    simulate(drive, pwm(DUTY, "20 kHz"), "1 ms")
    for periods in (10**2, 10**3, 10**4, 10**5):
        runs = []
        for _ in range(RUNS):
            start = time.process_time()
            simulate(drive, pwm(DUTY, "20 kHz"), Q_(periods / 20e3, "s"), samples=11)
            runs.append(time.process_time() - start)
        costs[periods] = statistics.median(runs) / periods
    return [(periods, cost / costs[10**2]) for periods, cost in costs.items()]


def run():
    """Return (name, ratio, baseline) of each comparison."""
    ways = ["plain Python"] + (["compiled"] if importlib.util.find_spec("numba") else [])
    results = []
    for buffered in (False, True):
        for way in ways:
            ratio, difference, theirs, ours = _in_process(way, buffered)
            circuit = "desk wind tunnel with 470 µF" if buffered else "desk wind tunnel"
            detail = f"apart by {difference:.1e} of the largest value, {1e3 * ours:.3g} ms for {theirs:.3g} s"
            results.append((f"simulate, {way}, {circuit}: {detail}", ratio, BASELINE))
    results += [(f"time per period at {n:.0e} periods", ratio, "the same at 1e+02") for n, ratio in many_periods()[1:]]
    return results


if __name__ == "__main__":
    sys.stdout.write(json.dumps(compare(sys.argv[1] == "buffered")))
