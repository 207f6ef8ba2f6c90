"""One stretch: on which rung the current flows, whether the shaft turns, the flow from there, and what ends it."""

# ruff: noqa: PLR0917 (compiled functions, and the fast plain ones, pass floats by position)

from __future__ import annotations

from labkit._kernels.engine.circuit import DriveSI, Ladder
from labkit._kernels.engine.compiled import compiled
from labkit._kernels.engine.crossing import NEVER, Guard, first_negative
from labkit._kernels.engine.modes import Flow, growth, pair_growth, three_modes, two_modes

__all__ = [
    "BACKWARD", "FALLS", "FORWARD", "LOWER", "NOTHING", "RISES", "STOP", "UPPER",
    "after", "event", "flow_from", "place_of", "quiet", "shaft", "way_of",
]  # fmt: skip

#: What ends a stretch before its time.
NOTHING, LOWER, UPPER, STOP, BACKWARD, FORWARD, RISES, FALLS = 0, 1, 2, 3, 4, 5, 6, 7


@compiled
def place_of(circuit: DriveSI, ladder: Ladder, i: float, w: float, v: float, let_go: int) -> int:
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
def way_of(circuit: DriveSI, i: float, w: float, let_go: int) -> int:
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
def shaft(circuit: DriveSI, way: int, i: float, w: float, rise: float, length: float) -> tuple[float, float, float]:
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
def flow_from(  # noqa: PLR0911 (one return a kind of circuit)
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
        dw, b, reference = shaft(circuit, way, i, w, rise, length)
        if w == 0.0 and dw * way < 0.0:
            dw = 0.0  # just let go: the torque meets the friction to the last figure
    g = circuit.leak
    dv = (-v - circuit.source_resistance * (fixed + follows * i)) * g
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
def after(flow: Flow, time: float) -> tuple[float, float, float]:
    """What a flow has added to i, ω and v after a time."""
    rate1, rate2, rate3, i1, i2, i3, w1, w2, w3, v1, v2, v3, m, s, yi, yw, yv, zi, zw, zv = flow
    e1, e2, e3 = growth(rate1, time), growth(rate2, time), growth(rate3, time)
    i, w, v = i1 * e1 + i2 * e2 + i3 * e3, w1 * e1 + w2 * e2 + w3 * e3, v1 * e1 + v2 * e2 + v3 * e3
    if m != 0.0:
        h, k, _, _ = pair_growth(m, s, time)
        i, w, v = i + yi * h + zi * k, w + yw * h + zw * k, v + yv * h + zv * k
    return i, w, v


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
def event(
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
def quiet(
    circuit: DriveSI, ladder: Ladder, place: int, way: int, flow: Flow,
    i: float, w: float, v: float, new_i: float, length: float,
) -> bool:  # fmt: skip
    """Whether a stretch surely holds no event: the common case, told without a look inside.

    E and H never exceed the time, nor K half its square: that bounds how far ω and v can go, and so how far the slope
    can swing that the current has *at a bound*. While that slope keeps its sign the current can cross the bound one way
    only, and where it ends tells whether it has; a held current stays held while both slopes keep theirs.
    """
    _, _, _, _, _, _, w1, w2, w3, v1, v2, v3, _, _, _, yw, yv, _, zw, zv = flow
    far_w = length * (abs(w1) + abs(w2) + abs(w3) + abs(yw) + 0.5 * length * abs(zw))
    if way == 0 or far_w >= abs(w):
        return False
    bounds, rungs = ladder
    n, emf, swing = place >> 1, circuit.emf_constant * w, circuit.emf_constant * far_w
    far_v = length * (abs(v1) + abs(v2) + abs(v3) + abs(yv) + 0.5 * length * abs(zv)) if circuit.leak > 0.0 else 0.0
    drive, share, resistance, _, _ = rungs[n]
    push, far = drive + share * v - emf, swing + share * far_v
    if place & 1:
        above, above_share, above_resistance, _, _ = rungs[n + 1]
        falls = above + above_share * v - emf - above_resistance * i < -swing - above_share * far_v
        return falls and push - resistance * i > far
    if new_i >= bounds[n] or abs(push - resistance * bounds[n]) <= far:
        return False
    return n == 0 or (new_i > bounds[n - 1] and abs(push - resistance * bounds[n - 1]) > far)
