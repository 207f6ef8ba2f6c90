"""When a guard first turns negative: a linear function of the state, found to the last figures of the time.

Along a stretch a guard is g(t) = start + Σ A·E(λ, t) + Y·H(t) + Z·K(t). Its derivative is a sum of exponentials, and
a sum of two vanishes at most once (between two zeros of a pair that oscillates lies half a cycle, which a stretch never
exceeds), so that two values and two slopes tell whether a guard can have dipped below zero in between. Three
exponentials may turn twice: such a stretch is looked at in parts that shorten towards its start.
"""

from __future__ import annotations

import math

from labkit._kernels.engine.compiled import compiled
from labkit._kernels.engine.modes import Flow, growth, pair_growth

__all__ = ["NEVER", "Guard", "first_negative"]

NEVER = math.inf
#: A guard is negative when it is below zero by more than this part of its summands.
ROUNDING = 1e-15

#: A guard: its start, A of the three modes, Y, Z.
Guard = tuple[float, float, float, float, float, float]


@compiled
def _probe(guard: Guard, flow: Flow, time: float) -> tuple[float, float, float]:
    """Value and slope of a guard, and the size of what the value is the sum of."""
    value, slope, size = guard[0], 0.0, abs(guard[0])
    for mode in range(3):
        if guard[1 + mode] != 0.0:
            risen = growth(flow[mode], time)
            value += guard[1 + mode] * risen
            slope += guard[1 + mode] * math.exp(
                flow[mode] * time
            )  # not 1 + λE: its sign is noise once the mode is gone
            size += abs(guard[1 + mode] * risen)
    if guard[4] != 0.0 or guard[5] != 0.0:
        h, k, dh, dk = pair_growth(flow[12], flow[13], time)
        value += guard[4] * h + guard[5] * k
        slope += guard[4] * dh + guard[5] * dk
        size += abs(guard[4] * h) + abs(guard[5] * k)
    return value, slope, size


@compiled
def _root(guard: Guard, flow: Flow, low: float, high: float) -> float:
    """The time between *low*, where the guard is not negative, and *high*, where it is: Newton inside the bracket."""
    at_low, at_high = _probe(guard, flow, low)[0], _probe(guard, flow, high)[0]
    time = low + (high - low) * at_low / (at_low - at_high)
    for _ in range(100):
        value, slope, _ = _probe(guard, flow, time)
        if value >= 0.0:
            low = time
        else:
            high = time
        new = time - value / slope if slope != 0.0 else low
        if not low < new < high:
            new = 0.5 * (low + high)
        if abs(new - time) <= 1e-10 * (high - low) or abs(new - time) <= 2.3e-16 * high:
            return new
        time = new
    return time


@compiled
def _turning(guard: Guard, flow: Flow, low: float, high: float) -> float:
    """The time of the extremum between *low* and *high*, whose slopes differ in sign."""
    rising = _probe(guard, flow, high)[1] > 0.0
    for _ in range(32):
        middle = 0.5 * (low + high)
        if (_probe(guard, flow, middle)[1] > 0.0) == rising:
            high = middle
        else:
            low = middle
    return 0.5 * (low + high)


@compiled
def first_negative(guard: Guard, flow: Flow, length: float) -> float:
    """The first time [s] up to *length* at which the guard turns negative; infinite where it does not.

    E and H never exceed the time, nor K half its square: most guards are told from that alone.
    """
    value, slope = guard[0], guard[1] + guard[2] + guard[3] + guard[4]
    reach = abs(guard[1]) + abs(guard[2]) + abs(guard[3]) + abs(guard[4]) + 0.5 * length * abs(guard[5])
    if value > reach * length:
        return NEVER
    parts = 1
    if (guard[3] != 0.0 and (guard[1] != 0.0 or guard[4] != 0.0)) or (value == 0.0 and slope <= 0.0):
        parts = 4
    low = 0.0
    for part in range(parts):
        high = length * 0.25 ** (parts - 1 - part)
        next_value, next_slope, size = _probe(guard, flow, high)
        if next_value < -ROUNDING * size:
            if value <= 0.0 < slope:
                low = _turning(guard, flow, low, high)  # it left zero upwards: the way back is beyond the top
            if _probe(guard, flow, low)[0] < 0.0:
                return low
            return _root(guard, flow, low, high)
        late = high
        while slope < 0.0 == next_slope and late > low:  # all modes have died away: where had they not?
            late = 0.5 * (low + late)
            next_slope = _probe(guard, flow, late)[1]
        if slope < 0.0 < next_slope and value > 0.0:  # a dip from zero itself is rounding: it was just let go
            bottom = _turning(guard, flow, low, late)
            least, _, size = _probe(guard, flow, bottom)
            if least < -ROUNDING * size:
                return _root(guard, flow, low, bottom)
        low, value, slope = high, next_value, next_slope
    return NEVER
