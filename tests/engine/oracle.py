"""An independent route to a run: the same circuit integrated segment by segment with solve_ivp and events.

It shares nothing with the kit's engine: the circuit's equations are written again here, for the parts as given.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from scipy.integrate import solve_ivp


class Circuit(NamedTuple):
    """Floats in SI; ``capacitance`` 0 leaves the capacitor out, ``breakdown`` stands in for a missing diode."""

    voltage: float
    source_resistance: float
    resistance: float
    inductance: float
    emf_constant: float
    inertia: float
    friction: float = 0.0
    viscous: float = 0.0
    fan: float = 0.0
    weight: float = 0.0
    brush_drop: float = 0.0
    on_resistance: float = 0.05
    diode_drop: float = 0.4
    diode_resistance: float = 0.0
    capacitance: float = 0.0
    capacitor_resistance: float = 0.0
    breakdown: float = 0.0


def _torque(c, i, w):
    turning = 1.0 if w > 0 else 0.0
    return c.emf_constant * i - turning * c.friction - c.viscous * w - c.fan * w * abs(w) - c.weight


def _rail(c, switch_current, v):
    if not c.capacitance:
        return c.voltage - c.source_resistance * switch_current
    if not c.capacitor_resistance:
        return v
    feed = c.voltage / c.source_resistance + v / c.capacitor_resistance - switch_current
    return feed / (1 / c.source_resistance + 1 / c.capacitor_resistance)


def _capacitor(c, switch_current, v):
    if not c.capacitance:
        return 0.0
    source = (c.voltage - _rail(c, switch_current, v)) / c.source_resistance
    return (source - switch_current) / c.capacitance


def _flowing(c, closed):
    def slope(_, x):
        i, w, v = x
        if closed:
            through, motor = i, _rail(c, i, v) - c.on_resistance * i
        elif c.breakdown:
            through, motor = i, _rail(c, i, v) - c.breakdown
        else:
            through, motor = 0.0, -c.diode_drop - c.diode_resistance * i
        di = (motor - c.resistance * i - c.brush_drop - c.emf_constant * w) / c.inductance
        return [di, _torque(c, i, w) / c.inertia, _capacitor(c, through, v)]

    return slope


def _resting_current(c):
    def slope(_, x):
        _, w, v = x
        return [0.0, _torque(c, 0.0, w) / c.inertia, _capacitor(c, 0.0, v)]

    return slope


def _current_ends(_, x):
    return x[0]


def _shaft_stops(_, x):
    return x[1]


for _event in (_current_ends, _shaft_stops):
    _event.terminal, _event.direction = True, -1


def integrate(circuit, edges, state, *, rtol=1e-8, atol=1e-10, method="DOP853"):
    """States at the ends of intervals given as (end, closed), for a shaft that turns forward throughout.

    *state* is (current, speed, capacitor voltage); its speed must be above zero, or friction zero.
    """
    x, time, states = np.array(state, dtype=float), 0.0, [np.array(state, dtype=float)]
    for end, closed in edges:
        while time < end:
            flowing = closed or x[0] > 0
            run = solve_ivp(
                _flowing(circuit, closed) if flowing else _resting_current(circuit),
                (time, end), x, method=method, rtol=rtol, atol=atol,
                events=[_current_ends] if flowing else [_shaft_stops],
            )  # fmt: skip
            time, x = run.t[-1], run.y[:, -1].copy()
            if run.status == 1 and flowing:
                x[0] = 0.0
            elif run.status == 1:
                raise AssertionError("this oracle is for a shaft that keeps turning")
        states.append(x.copy())
    return np.array(states)
