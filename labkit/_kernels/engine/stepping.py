"""The drive's course, stretch by stretch, from one edge of the gate to the next.

Nothing here knows arrays or quantities, so that the same source runs as plain Python and compiled.
"""

# ruff: noqa: PLR0917 (compiled functions, and the fast plain ones, pass floats by position)

from __future__ import annotations

import math
import struct
from typing import Any

from labkit._kernels.engine.circuit import DriveSI, Ladder
from labkit._kernels.engine.compiled import COMPILED, compiled
from labkit._kernels.engine.crossing import NEVER
from labkit._kernels.engine.gliding import coast, glide
from labkit._kernels.engine.modes import Flow
from labkit._kernels.engine.segment import (
    BACKWARD,
    FALLS,
    FORWARD,
    LOWER,
    NOTHING,
    RISES,
    STOP,
    UPPER,
    after,
    event,
    flow_from,
    place_of,
    quiet,
    way_of,
)  # fmt: skip

__all__ = ["BEYOND", "COLUMNS", "DONE", "ENDLESS", "FULL", "STUCK", "UNCLAMPED", "State", "run"]

#: What ends a run: all intervals done; the table is full; a current with no path; no progress; too many stretches;
#: numbers beyond what floats hold.
DONE, FULL, UNCLAMPED, STUCK, ENDLESS, BEYOND = 0, 1, 2, 3, 4, 5

#: A row of the table: when, how long, place (8·level + 2·rung, + 1 where held), way of turning, state, ω_r, flow.
COLUMNS = 28
_ROW = 8 * COLUMNS  # bytes
#: So many columns a row has where its modes are all apart; those of a pair are zero then.
_APART = 20

#: Time, i, ω, v (of the capacitor, above the source's voltage, so that rest is exactly 0);
#: then the ways in which a held current and a resting shaft were just let go (0: not).
State = tuple[float, float, float, float, int, int]


@compiled
def _write(table: Any, at: int, *row: float) -> None:
    """Write the row that begins at byte *at* into a *table* of shape (28, rows)."""
    for number in range(COLUMNS):
        table[number, at // _ROW] = row[number]


@compiled
def _write_apart(table: Any, at: int, *row: float) -> None:
    """Write a row whose modes are all apart."""
    for number in range(COLUMNS):
        table[number, at // _ROW] = row[number] if number < _APART else 0.0


#: The same in one step where nothing is compiled; that *table* has the shape (rows, 28).
write = _write if COMPILED else struct.Struct(f"{COLUMNS}d").pack_into
write_apart = _write_apart if COMPILED else struct.Struct(f"{_APART}d{_ROW - 8 * _APART}x").pack_into


@compiled
def _stretch(
    circuit: DriveSI, ladder: Ladder, place: int, way: int, i: float, w: float, v: float, length: float
) -> tuple[float, float, int, float, float, float, Flow, float]:
    """Any stretch: its length, how long the next may be, what ends it, what it adds to i, ω and v, flow, ω_r.

    A fan's stretch is shortened until its law may be straightened; an oscillation's, to half a cycle.
    An error that dies away within the run may be larger, but not within one stretch: `Record` counts that one whole.
    """
    allowed = NEVER
    while True:
        flow, reference = flow_from(circuit, ladder, place, way, i, w, v, length)
        half_cycle = math.pi / math.sqrt(-flow[13]) if flow[13] < 0.0 else NEVER
        if length > half_cycle:
            length = 0.99 * half_cycle
            continue
        added = after(flow, length)
        if circuit.fan == 0.0 or way == 0:
            break
        off = max(abs(reference - abs(w)), abs(reference - abs(w + added[1])))
        change = max(2.0 * off, 0.25 * length * abs(flow[6] + flow[7] + flow[8] + flow[15]))
        braked = (circuit.viscous + circuit.fan * abs(w)) / circuit.inertia
        memory = min(ladder[1][place >> 1][2] / circuit.inductance, braked)
        if memory * length > 1.0:
            memory = 1.0 / length
        step = circuit.fan_step * max(1.0, memory * circuit.duration)
        excess = change * change / (step * max(abs(w), abs(w + added[1]), circuit.slow))
        if not excess > 1.0:
            if excess > 0.05:
                allowed = 0.9 * length / math.sqrt(excess)
            break
        length *= max(0.1, 0.9 / math.sqrt(excess))
    kind = NOTHING
    if not quiet(circuit, ladder, place, way, flow, i, w, v, i + added[0], length):
        when, kind = event(circuit, ladder, place, way, flow, i, w, v, length)
        if kind != NOTHING:
            length = when
            added = after(flow, length)
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
    if kind in (RISES, FALLS):
        return i, w, 1 if kind == RISES else -1, 0
    return i, 0.0 if kind == STOP or w * way <= 0.0 else w, 0, 0


@compiled
def run(  # noqa: C901, PLR0912 (the one loop, written out for speed)
    circuit: DriveSI, ladders: tuple[Ladder, Ladder], ends: Any, levels: Any, first: int,
    state: State, table: Any, rows: int, room: int,
) -> tuple[int, int, int, State]:  # fmt: skip
    """Advance through intervals that end at *ends* [s] with the switch at *levels* (0 open, 1 closed).

    Begins with interval *first* and writes rows of `COLUMNS` floats into the *table*, which has *rows* already
    and *room* for so many. Returns what ended the run, the interval it is in, the rows in the table, and the state.
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
            place = place_of(circuit, ladder, i, w, v, current_let_go)
            at, label, length = _ROW * rows, 8.0 * level + place, end - time
            held = place & 1
            _, share, _, fixed, _ = ladder[1][place >> 1]
            if w > 0.0 and allowed >= length and (held or share == 0.0):
                dv, new_v = 0.0, v
                if leak > 0.0:
                    dv = (-v - circuit.source_resistance * (i if held else fixed)) * leak
                    new_v = v - dv * math.expm1(-leak * length) / leak
                if held:
                    calm, rate, dw, reference, new_w = coast(circuit, ladder, place, i, w, v, new_v, length)
                    if calm:
                        write_apart(
                            table, at, time, length, label, 1.0, i, w, v, reference, 0.0, rate, -leak,
                            0.0, 0.0, 0.0, 0.0, dw, 0.0, 0.0, 0.0, dv,
                        )  # fmt: skip
                        rows, time, w, v, current_let_go = rows + 1, end, new_w, new_v, 0
                        continue
                elif place > 1 and current_let_go == 0:
                    calm, falls, length, fast, slow, i1, i2, w1, w2, reference, new_i, new_w = glide(
                        circuit, ladder, place, i, w, length
                    )
                    if calm:
                        write_apart(
                            table, at, time, length, label, 1.0, i, w, v, reference, fast, slow, -leak,
                            i1, i2, 0.0, w1, w2, 0.0, 0.0, 0.0, dv,
                        )  # fmt: skip
                        if falls and leak > 0.0:
                            new_v = v - dv * math.expm1(-leak * length) / leak
                        rows, time, i, w, v = rows + 1, time + length if falls else end, new_i, new_w, new_v
                        continue
                    length = end - time
            way = way_of(circuit, i, w, shaft_let_go)
            if ladder[1][place >> 1][0] == -math.inf and not place & 1:
                return UNCLAMPED, index, rows, (time, i, w, v, current_let_go, shaft_let_go)
            length, allowed, kind, add_i, add_w, add_v, flow, reference = _stretch(
                circuit, ladder, place, way, i, w, v, min(length, allowed)
            )
            if length > 0.0:
                write(table, at, time, length, label, float(way), i, w, v, reference, *flow)
                rows, idle = rows + 1, 0
            else:
                idle += 1
                if idle > 20:
                    return STUCK, index, rows, (time, i, w, v, current_let_go, shaft_let_go)
            time = end if kind == NOTHING and end - time - length <= 1e-15 * end else time + length
            i, w, current_let_go, shaft_let_go = _settle(circuit, ladder, place, way, kind, i + add_i, w + add_w)
            v += add_v
    return DONE, len(ends), rows, (time, i, w, v, current_let_go, shaft_let_go)
