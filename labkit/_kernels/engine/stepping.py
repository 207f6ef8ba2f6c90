"""The drive's course, stretch by stretch: which rung conducts, does the shaft turn, how far until something changes.

Nothing here knows arrays or quantities, so that the same source runs as plain Python and compiled.
"""

from __future__ import annotations

import math
from typing import Any

from labkit._kernels.engine.circuit import DriveSI, Ladder
from labkit._kernels.engine.compiled import compiled
from labkit._kernels.engine.crossing import NEVER, Guard, first_negative
from labkit._kernels.engine.modes import APART, Flow, growth, pair_growth, three_modes, two_modes

__all__ = ["COLUMNS", "DONE", "FULL", "STUCK", "UNCLAMPED", "State", "run"]

#: What ends a run: all intervals done; the table is full; a current with no path; no progress.
DONE, FULL, UNCLAMPED, STUCK = 0, 1, 2, 3
#: What ends a stretch before its time.
NOTHING, LOWER, UPPER, STOP, BACKWARD, FORWARD, RISES, FALLS = 0, 1, 2, 3, 4, 5, 6, 7

#: A row of the table: when, how long, place (8·level + 2·rung, + 1 where held), way of turning, state, flow, ω_r.
COLUMNS = 28

#: Time, i, ω, v; then the ways in which a held current and a resting shaft were just let go (0: not).
State = tuple[float, float, float, float, int, int]


@compiled
def _place(circuit: DriveSI, ladder: Ladder, i: float, w: float, v: float, let_go: int) -> int:
    """Twice the rung on which the current flows, or one more where it is held at that rung's upper bound."""
    bounds, rungs = ladder
    n = 0
    while i > bounds[n]:
        n += 1
    if i < bounds[n]:
        return 2 * n
    if let_go != 0:
        return 2 * n + 1 + let_go
    emf = circuit.emf_constant * w
    above, below = rungs[n + 1], rungs[n]
    if above.drive + above.share * v - above.resistance * i - emf > 0.0:
        return 2 * n + 2
    if below.drive + below.share * v - below.resistance * i - emf < 0.0:
        return 2 * n
    return 2 * n + 1


@compiled
def _way(circuit: DriveSI, i: float, w: float, let_go: int) -> int:
    """The way of turning: 1, -1, or 0 for a shaft that its friction holds."""
    if w != 0.0:
        return 1 if w > 0.0 else -1
    if let_go != 0:
        return let_go
    torque = circuit.emf_constant * i - circuit.weight
    if abs(torque) <= circuit.holding:
        return 0
    return 1 if torque > 0.0 else -1


@compiled
def _shaft(circuit: DriveSI, way: int, i: float, w: float, rise: float, length: float) -> tuple[float, float, float]:
    """Acceleration [rad/s²], slope of the braking torque over J [1/s], and ω_r of the fan's straightened law.

    c·ω² becomes c·(2·ω_r·ω - ω_r²), its tangent at ω_r, the speed expected half way through the stretch;
    *rise* is the current's, in A/s, on average.
    """
    k, inertia, fan = circuit.emf_constant, circuit.inertia, circuit.fan
    torque = k * i - way * circuit.friction - circuit.weight
    viscous = circuit.viscous
    if fan == 0.0:
        return (torque - viscous * w) / inertia, viscous / inertia, 0.0
    size = abs(w)
    now = (torque - (viscous + fan * size) * w) / inertia
    reference = max(size + 0.5 * way * length * (now + 0.5 * length * k * rise / inertia), 0.0)
    slope = viscous + 2.0 * fan * reference
    return (torque + way * fan * reference * reference - slope * w) / inertia, slope / inertia, reference


@compiled
def _flow(
    circuit: DriveSI, ladder: Ladder, place: int, way: int, i: float, w: float, v: float, length: float
) -> tuple[Flow, float]:
    """The flow from a state, and the fan's reference speed."""
    drive, share, resistance, fixed, follows = ladder[1][place >> 1]
    inductance, k = circuit.inductance, circuit.emf_constant
    held = place & 1
    a, di, rise = resistance / inductance, 0.0, 0.0
    if not held:
        di = (drive + share * v - resistance * i - k * w) / inductance
        rise = di / (1.0 + a * length / 3.0)
    else:
        fixed, follows = i, 0.0
    dw, b, reference = 0.0, 0.0, 0.0
    if way != 0:
        dw, b, reference = _shaft(circuit, way, i, w, rise, length)
        if w == 0.0 and dw * way < 0.0:
            dw = 0.0  # just let go: the torque meets the friction to the last figure
    g = circuit.leak
    dv = (circuit.source_voltage - v - circuit.source_resistance * (fixed + follows * i)) * g
    if held:
        return (0.0, -b, -g, 0.0, 0.0, 0.0, 0.0, dw, 0.0, 0.0, 0.0, dv,
                0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0), reference  # fmt: skip
    if way == 0 and share == 0.0:
        return (-a, 0.0, -g, di, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, dv,
                0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0), reference  # fmt: skip
    if way == 0:
        apart, one, two, i1, i2, v1, v2 = two_modes(a, -share / inductance, -circuit.uptake, g, di, dv)
        if apart:
            return (one, two, 0.0, i1, i2, 0.0, 0.0, 0.0, 0.0, v1, v2, 0.0,
                    0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0), reference  # fmt: skip
        return (0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0,
                one, two, i1, 0.0, i2, v1, 0.0, v2), reference  # fmt: skip
    if share == 0.0:
        apart, one, two, i1, i2, w1, w2 = two_modes(a, k / inductance, k / circuit.inertia, b, di, dw)
        if apart:
            return (one, two, -g, i1, i2, 0.0, w1, w2, 0.0, 0.0, 0.0, dv,
                    0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0), reference  # fmt: skip
        return (0.0, 0.0, -g, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, dv,
                one, two, i1, i2, 0.0, w1, w2, 0.0), reference  # fmt: skip
    flow = three_modes(a, k / inductance, k / circuit.inertia, b, share / inductance, circuit.uptake, g, di, dw, dv)
    return flow, reference


@compiled
def _after(flow: Flow, time: float) -> tuple[float, float, float, float, float]:
    """What a flow has added to i, ω and v after a time, and the slopes of i and ω then."""
    rate1, rate2, rate3, i1, i2, i3, w1, w2, w3, v1, v2, v3, m, s, yi, yw, yv, zi, zw, zv = flow
    e1, e2, e3 = growth(rate1, time), growth(rate2, time), growth(rate3, time)
    i, w, v = i1 * e1 + i2 * e2 + i3 * e3, w1 * e1 + w2 * e2 + w3 * e3, v1 * e1 + v2 * e2 + v3 * e3
    d1, d2, d3 = 1.0 + rate1 * e1, 1.0 + rate2 * e2, 1.0 + rate3 * e3
    di, dw = i1 * d1 + i2 * d2 + i3 * d3, w1 * d1 + w2 * d2 + w3 * d3
    if m != 0.0:
        h, k, dh, dk = pair_growth(m, s, time)
        i, w, v = i + yi * h + zi * k, w + yw * h + zw * k, v + yv * h + zv * k
        di, dw = di + yi * dh + zi * dk, dw + yw * dh + zw * dk
    return i, w, v, di, dw


@compiled
def _guard(flow: Flow, start: float, on_i: float, on_w: float, on_v: float) -> Guard:
    """The guard start + on_i·Δi + on_w·Δω + on_v·Δv along a flow."""
    return (
        start,
        on_i * flow[3] + on_w * flow[6] + on_v * flow[9],
        on_i * flow[4] + on_w * flow[7] + on_v * flow[10],
        on_i * flow[5] + on_w * flow[8] + on_v * flow[11],
        on_i * flow[14] + on_w * flow[15] + on_v * flow[16],
        on_i * flow[17] + on_w * flow[18] + on_v * flow[19],
    )


@compiled
def _earlier(flow: Flow, length: float, found: tuple[float, int], kind: int, guard: Guard) -> tuple[float, int]:
    """The event found so far, or *kind* where its guard turns negative before that."""
    time = first_negative(guard, flow, min(length, found[0]))
    return (time, kind) if time < found[0] else found


@compiled
def _event(
    circuit: DriveSI, ladder: Ladder, place: int, way: int, flow: Flow, i: float, w: float, v: float, length: float
) -> tuple[float, int]:
    """The first event within a stretch, and when; infinite where nothing happens."""
    bounds, rungs = ladder
    n, k = place >> 1, circuit.emf_constant
    found = (NEVER, NOTHING)
    if place & 1:
        above, below = rungs[n + 1], rungs[n]
        start = k * w + above.resistance * i - above.share * v - above.drive
        if start < NEVER:
            found = _earlier(flow, length, found, RISES, _guard(flow, max(start, 0.0), 0.0, k, -above.share))
        start = below.drive + below.share * v - below.resistance * i - k * w
        if start < NEVER:
            found = _earlier(flow, length, found, FALLS, _guard(flow, max(start, 0.0), 0.0, -k, below.share))
    else:
        if n > 0:
            found = _earlier(flow, length, found, LOWER, _guard(flow, i - bounds[n - 1], 1.0, 0.0, 0.0))
        if bounds[n] < NEVER:
            found = _earlier(flow, length, found, UPPER, _guard(flow, bounds[n] - i, -1.0, 0.0, 0.0))
        if way == 0:
            low, high = (circuit.weight - circuit.holding) / k, (circuit.weight + circuit.holding) / k
            found = _earlier(flow, length, found, BACKWARD, _guard(flow, max(i - low, 0.0), 1.0, 0.0, 0.0))
            found = _earlier(flow, length, found, FORWARD, _guard(flow, max(high - i, 0.0), -1.0, 0.0, 0.0))
    if way != 0:
        found = _earlier(flow, length, found, STOP, _guard(flow, abs(w), 0.0, float(way), 0.0))
    return found


@compiled
def _quiet(
    k: float, ladder: Ladder, place: int, way: int, flow: Flow, i: float, w: float, end: Any, length: float
) -> bool:
    """Whether a stretch surely holds no event: the common case, told from its two ends alone.

    With at most one turning point, a quantity that ends inside its bounds left them only if its slope changed sign
    in between, towards the bound. A flow of a pair or of three modes is always looked at closely.
    """
    if flow[12] != 0.0 or way == 0 or flow[5] != 0.0 or (place & 1 and flow[2] != 0.0):
        return False
    bounds, rungs = ladder
    n = place >> 1
    if place & 1:
        emf, above, below = k * (w + end[1]), rungs[n + 1], rungs[n]
        if above.drive - above.resistance * i - emf > 0.0 or below.drive - below.resistance * i - emf < 0.0:
            return False
        return way * (w + end[1]) > 0.0
    new_i, slope = i + end[0], flow[3] + flow[4]
    if new_i >= bounds[n] or (slope > 0.0 > end[3] and bounds[n] < NEVER):
        return False
    if n > 0 and (new_i <= bounds[n - 1] or slope < 0.0 < end[3]):
        return False
    slope = way * (flow[6] + flow[7])
    if way * (w + end[1]) <= 0.0:
        return False
    return slope >= 0.0 or way * end[4] <= 0.0 or abs(w) > (abs(flow[6]) + abs(flow[7])) * length


@compiled
def _glide(
    circuit: DriveSI, ladder: Ladder, place: int, i: float, w: float, length: float
) -> tuple[bool, bool, float, float, float, float, float, float, float, float, float, float]:
    """The common stretch in one go: current flowing, shaft turning forward, no capacitor, two real modes.

    The formulas of `_shaft`, `two_modes`, `_after` and `_quiet`, written out for speed. Returns whether they hold here,
    whether the current falls to the rung's lower bound, the length, λ₁, λ₂, shares of i and of ω, ω_r, new i and ω.
    """
    inductance, k, inertia, friction, _, viscous, fan, weight, _, _, _, _, fan_step, slow_speed, _ = circuit
    bounds, rungs = ladder
    drive, _, resistance, _, _ = rungs[place >> 1]
    low, high = bounds[(place >> 1) - 1], bounds[place >> 1]
    a, p, q = resistance / inductance, k / inductance, k / inertia
    torque = k * i - friction - weight
    di = (drive - resistance * i - k * w) / inductance
    now = (torque - (viscous + fan * w) * w) / inertia
    reference = w + 0.5 * length * (now + 0.5 * length * q * di / (1.0 + a * length / 3.0))
    slope = viscous + 2.0 * fan * reference
    dw = (torque + fan * reference * reference - slope * w) / inertia
    b = slope / inertia
    m, d = 0.5 * (a + b), 0.5 * (a - b)
    s = d * d - p * q
    if s <= APART * m * m or d <= 0.0 or reference <= 0.0:
        return False, False, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    root = math.sqrt(s)
    f, half = d + root, 0.5 / root
    e = p * q / f
    fast = -m - root
    slow = (a * b + p * q) / fast
    i1, i2 = (f * di + p * dw) * half, -(e * di + p * dw) * half
    w1, w2 = -(q * di + e * dw) * half, (q * di + f * dw) * half
    e1, e2 = math.expm1(fast * length) / fast, math.expm1(slow * length) / slow
    new_i, new_w = i + i1 * e1 + i2 * e2, w + w1 * e1 + w2 * e2
    end_slope = drive - resistance * new_i - k * new_w
    falls = new_i <= low
    quiet = new_i < high and (end_slope <= 0.0 if di <= 0.0 else not falls and (end_slope >= 0.0 or high == NEVER))
    if falls and quiet:
        length = _fall(fast, slow, i1, i2, i - low, length)
        new_w = w + w1 * math.expm1(fast * length) / fast + w2 * math.expm1(slow * length) / slow
        new_i = low
    change, early = new_w - w, 0.25 * length * dw
    limit = fan_step * (w if w > slow_speed else slow_speed)
    quiet = quiet and w > (abs(w1) + abs(w2)) * length and change * change <= limit and early * early <= limit
    return quiet, falls, length, fast, slow, i1, i2, w1, w2, reference, new_i, new_w


@compiled
def _fall(fast: float, slow: float, i1: float, i2: float, drop: float, length: float) -> float:
    """When a current that falls all along has fallen by *drop* [A]: Halley's steps inside the bracket from 0 to *length* [s].

    A step's error is that of the time cubed: after one of 1e-5 of the length the next is beyond the last figure.
    """
    low, high = 0.0, length
    slope, bend = i1 + i2, i1 * fast + i2 * slow
    square = slope * slope - 2.0 * drop * bend
    time = 2.0 * drop / (math.sqrt(square) - slope) if square > 0.0 else 0.5 * length
    for _ in range(100):
        grown1, grown2 = math.expm1(fast * time), math.expm1(slow * time)
        value = drop + i1 * grown1 / fast + i2 * grown2 / slow
        slope1, slope2 = i1 + i1 * grown1, i2 + i2 * grown2
        slope = slope1 + slope2
        if value >= 0.0:
            low = time
        else:
            high = time
        new = time - value * slope / (slope * slope - 0.5 * value * (slope1 * fast + slope2 * slow))
        if not low < new < high:
            new = 0.5 * (low + high)
        if -1e-5 * length <= new - time <= 1e-5 * length:
            return new
        time = new
    return time


@compiled
def _coast(
    circuit: DriveSI, ladder: Ladder, place: int, i: float, w: float, v: float, new_v: float, length: float
) -> tuple[bool, float, float, float, float]:
    """The common stretch of a held current while the shaft turns forward: whether it is quiet, λ, ω', ω_r, new ω.

    Speed and capacitor voltage move one way each, so that their ends bound what they do together.
    """
    dw, b, reference = _shaft(circuit, 1, i, w, 0.0, length)
    change = dw * (-math.expm1(-b * length) / b if b > 0.0 else length)
    new_w = w + change
    above, below, k = ladder[1][(place >> 1) + 1], ladder[1][place >> 1], circuit.emf_constant
    low, high = (v, new_v) if v < new_v else (new_v, v)
    slowest, fastest = (w, new_w) if w < new_w else (new_w, w)
    stays = (
        above[0] + above[1] * high - above[2] * i <= k * slowest
        and k * fastest <= below[0] + below[1] * low - below[2] * i
    )
    quiet = stays and new_w > 0.0 and change * change <= circuit.fan_step * (w if w > circuit.slow else circuit.slow)
    return quiet, -b, dw, reference, new_w


@compiled
def _stretch(
    circuit: DriveSI, ladder: Ladder, place: int, way: int, i: float, w: float, v: float, length: float
) -> tuple[float, float, int, float, float, float, Flow, float]:
    """Any stretch: its length, how long the next may be, what ends it, what it adds to i, ω and v, flow, ω_r.

    A fan's stretch is shortened until its law may be straightened; an oscillation's, to half a cycle.
    """
    allowed = NEVER
    while True:
        flow, reference = _flow(circuit, ladder, place, way, i, w, v, length)
        if flow[13] < 0.0:
            length = min(length, math.pi / math.sqrt(-flow[13]))
        added = _after(flow, length)
        if circuit.fan == 0.0 or way == 0:
            break
        change = max(abs(added[1]), 0.25 * length * abs(flow[6] + flow[7] + flow[8] + flow[15]))
        memory = min(
            ladder[1][place >> 1][2] / circuit.inductance, (circuit.viscous + circuit.fan * abs(w)) / circuit.inertia
        )
        step = circuit.fan_step * max(1.0, memory * circuit.duration)
        excess = change * change / (step * max(abs(w), abs(w + added[1]), circuit.slow))
        if excess <= 1.0:
            if excess > 0.05:
                allowed = 0.9 * length / math.sqrt(excess)
            break
        length *= max(0.1, 0.9 / math.sqrt(excess))
    kind = NOTHING
    if not _quiet(circuit.emf_constant, ladder, place, way, flow, i, w, added, length):
        when, kind = _event(circuit, ladder, place, way, flow, i, w, v, length)
        if kind != NOTHING:
            length = when
            added = _after(flow, length)
    return length, allowed, kind, added[0], added[1], added[2], flow, reference


@compiled
def _settle(
    circuit: DriveSI, ladder: Ladder, place: int, way: int, kind: int, i: float, w: float
) -> tuple[float, float, int, int]:
    """Current and speed put exactly where the event has them, and the ways in which current and shaft are let go."""
    bounds = ladder[0]
    if kind == LOWER:
        return bounds[(place >> 1) - 1], w, 0, 0
    if kind == UPPER:
        return bounds[place >> 1], w, 0, 0
    if kind == BACKWARD:
        return (circuit.weight - circuit.holding) / circuit.emf_constant, w, 0, -1
    if kind == FORWARD:
        return (circuit.weight + circuit.holding) / circuit.emf_constant, w, 0, 1
    if kind == RISES or kind == FALLS:
        return i, w, 1 if kind == RISES else -1, 0
    return i, 0.0 if w * way <= 0.0 else w, 0, 0


@compiled
def run(
    circuit: DriveSI, ladders: tuple[Ladder, Ladder], ends: Any, levels: Any, first: int,
    state: State, table: Any, rows: int, room: int,
) -> tuple[int, int, int, State]:  # fmt: skip
    """Advance through intervals that end at *ends* [s] with the switch at *levels* (0 open, 1 closed).

    Begins with interval *first* and writes rows of `COLUMNS` numbers into the flat *table*, which has *rows* already and
    *room* for so many. Returns what ended the run, the interval that it is in, the rows in the table, and the state.
    """
    time, i, w, v, current_let_go, shaft_let_go = state
    leak = circuit.leak
    idle, allowed = 0, NEVER
    for index in range(first, len(ends)):
        end, level = ends[index], levels[index]
        ladder = ladders[level]
        while time < end:
            if rows == room:
                return FULL, index, rows, (time, i, w, v, current_let_go, shaft_let_go)
            place = _place(circuit, ladder, i, w, v, current_let_go)
            at, label, length = COLUMNS * rows, 8.0 * level + place, end - time
            held = place & 1
            _, share, _, fixed, _ = ladder[1][place >> 1]
            if w > 0.0 and allowed == NEVER and (held or share == 0.0):
                dv, new_v = 0.0, v
                if leak > 0.0:
                    dv = (circuit.source_voltage - v - circuit.source_resistance * (i if held else fixed)) * leak
                    new_v = v - dv * math.expm1(-leak * length) / leak
                if held:
                    quiet, rate, dw, reference, new_w = _coast(circuit, ladder, place, i, w, v, new_v, length)
                    if quiet:
                        table[at : at + COLUMNS] = (
                            time, length, label, 1.0, i, w, v, 0.0, rate, -leak, 0.0, 0.0, 0.0, 0.0, dw, 0.0, 0.0, 0.0, dv,
                            0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, reference,
                        )  # fmt: skip
                        rows, time, w, v, current_let_go = rows + 1, end, new_w, new_v, 0
                        continue
                elif place > 1 and current_let_go == 0:
                    quiet, falls, length, fast, slow, i1, i2, w1, w2, reference, new_i, new_w = _glide(
                        circuit, ladder, place, i, w, length
                    )
                    if quiet:
                        table[at : at + COLUMNS] = (
                            time, length, label, 1.0, i, w, v, fast, slow, -leak, i1, i2, 0.0, w1, w2, 0.0, 0.0, 0.0, dv,
                            0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, reference,
                        )  # fmt: skip
                        if falls and leak > 0.0:
                            new_v = v - dv * math.expm1(-leak * length) / leak
                        rows, time, i, w, v = rows + 1, time + length if falls else end, new_i, new_w, new_v
                        continue
                    length = end - time
            way = _way(circuit, i, w, shaft_let_go)
            if ladder[1][place >> 1][0] == -math.inf and not place & 1:
                return UNCLAMPED, index, rows, (time, i, w, v, current_let_go, shaft_let_go)
            length, allowed, kind, add_i, add_w, add_v, flow, reference = _stretch(
                circuit, ladder, place, way, i, w, v, min(length, allowed)
            )
            if length > 0.0:
                table[at : at + COLUMNS] = (time, length, label, float(way), i, w, v, *flow, reference)
                rows, idle = rows + 1, 0
            else:
                idle += 1
                if idle > 20:
                    return STUCK, index, rows, (time, i, w, v, current_let_go, shaft_let_go)
            time = end if kind == NOTHING and end - time - length <= 1e-15 * end else time + length
            i, w, current_let_go, shaft_let_go = _settle(circuit, ladder, place, way, kind, i + add_i, w + add_w)
            v += add_v
    return DONE, len(ends), rows, (time, i, w, v, current_let_go, shaft_let_go)
