"""A run from its start to its end: stepping in blocks, and what each block adds to the record."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import accumulate
from typing import Any

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.engine.circuit import DriveSI, Ladder
from labkit._kernels.engine.compiled import COMPILED
from labkit._kernels.engine.crossing import NEVER, Guard, first_negative
from labkit._kernels.engine.readings import (
    BODY,
    BREAKDOWN,
    DIODE,
    LIMIT,
    NOTHING,
    REVERSE,
    Bench,
    integrals,
    look,
    no_sums,
)
from labkit._kernels.engine.segment import place_of
from labkit._kernels.engine.stepping import BEYOND, COLUMNS, DONE, ENDLESS, FULL, State, run
from labkit._kernels.engine.stretches import Floats, States, Stretches, read_table, state_at

__all__ = ["Course", "Record"]

_ROOM = 2000  # no power of two: the columns of a row would then fall onto the same few lines of the cache
#: So many stretches, and so many more for each interval of the gate, are a run; more is a circuit that makes no sense.
_MOST, _EACH = 300_000, 100
_GRID = np.linspace(0.0, 1.0, 9)


class Course:
    """Steps a drive through intervals of its gate, and hands the stretches on in tables of some thousand at most."""

    def __init__(
        self, circuit: DriveSI, ladders: tuple[Ladder, Ladder], current: float, speed: float, capacitor: float
    ) -> None:
        self.circuit, self.ladders = circuit, ladders
        self.state: State = (0.0, current, speed, capacitor, 0, 0)
        self.status = DONE
        #: Where on the ladder the last stretch was; before the first, where an open switch has it.
        self.place = place_of(circuit, ladders[0], current, speed, capacitor, 0)
        self._table = np.empty((COLUMNS, _ROOM) if COMPILED else (_ROOM, COLUMNS))
        self._columns = self._table if COMPILED else self._table.T
        self._rows = 0
        self.stretches = self.intervals = 0

    def through(self, ends: Floats, levels: NDArray[np.int64]) -> Iterator[Floats]:
        """Advance to the last of *ends* [s]; yield each table that fills up."""
        given: tuple[Any, Any] = (ends, levels) if COMPILED else (ends.tolist(), levels.tolist())
        index = 0
        self.intervals += len(ends)
        while True:
            self.status, index, self._rows, self.state = run(
                self.circuit, self.ladders, *given, index, self.state, self._table, self._rows, _ROOM
            )
            if self._rows:
                self.place = int(self._columns[2, self._rows - 1])
            if not all(map(math.isfinite, self.state)):
                self.status = BEYOND
            if self.status != FULL:
                return
            yield self.rest()
            if self.stretches > _MOST + _EACH * self.intervals:
                self.status = ENDLESS
                return

    def rest(self) -> Floats:
        """The stretches that have not been handed on, shape (28, n); they last until the next call."""
        rows, self._rows = self._rows, 0
        self.stretches += rows
        found = self._columns[:, :rows]
        return found if COMPILED else found.copy()


class Record:
    """What a run leaves: samples, sums of energy, events, the largest speed."""

    def __init__(
        self, circuit: DriveSI, test: Bench, instants: Floats | None, *, brown_out: float, limited: bool
    ) -> None:
        self.circuit, self.test, self.instants = circuit, test, instants
        self.brown_out, self.limited = brown_out, limited
        self.largest_speed = self.largest_current = 0.0
        #: Largest current out of a source that has a limit, at the ends of stretches.
        self.largest_supply = -math.inf
        #: ∫c·(ω - ω_r)²dt [N·m·s], and the largest of the error's bound [√J]: see `_bound_error`.
        self.left_over = self.bound = self._bound = 0.0
        self.sums = no_sums()
        #: Lowest and highest drain voltage while the freewheel diode conducts.
        self.drain = (math.inf, -math.inf)
        #: Of each event: how often, when first, when last.
        self.events: dict[str, tuple[int, float, float]] = {}
        self._samples: list[tuple[Any, ...]] = []
        self._sampled = 0
        self._before: tuple[int, float, bool] = (-1, 0.0, False)
        self._last = -1

    def add(self, table: Floats) -> None:
        """Take a table in."""
        if not table.size:
            return
        stretches = read_table(table)
        sums, left_over = integrals(self.circuit, stretches)
        self.sums = self.sums.plus(sums)
        self.largest_speed = max(self.largest_speed, float(np.abs(stretches.state[1]).max()))
        self._draw(stretches.place, stretches.state)
        if self.circuit.fan > 0.0:
            self._bound_error(stretches, left_over)
        self._watch_diode(stretches)
        self._sample(stretches)
        self._changes(stretches)
        if self.brown_out > 0.0:
            self._brown_outs(stretches)

    def _watch_diode(self, stretches: Stretches) -> None:
        """Keep the drain's lowest and highest voltage while the diode conducts, where that is not always one value."""
        steady = self.circuit.leak == 0.0 and self.test.loop.diode_resistance == 0.0
        if steady and self.largest_current < self.test.closed.limit:
            return
        wheel = self.test.carrier[stretches.place] == DIODE
        if wheel.any():
            drain = look(self.test.forms.switch_voltage, stretches.place[wheel], stretches.state[:, wheel])
            self.drain = (min(self.drain[0], float(drain.min())), max(self.drain[1], float(drain.max())))

    def _draw(self, place: NDArray[np.int64], state: Floats) -> None:
        """Keep the largest currents, the source's on both sides of where each stretch begins."""
        self.largest_current = max(self.largest_current, float(state[0].max()))
        if not self.limited:
            return
        before = np.concatenate((place[:1] if self._last < 0 else [self._last], place[:-1]))
        drawn = max(float(look(self.test.forms.supply_current, each, state).max()) for each in (before, place))
        self.largest_supply, self._last = max(self.largest_supply, drawn), int(place[-1])

    def _bound_error(self, stretches: Stretches, left_over: Floats) -> None:
        """Carry on the bound E of the error, √(L·Δi² + J·Δω²) [√J], from one stretch to the next.

        Two runs that differ by a torque d apart obey E' ≤ |d|/√J - rate·E, where the rate is the lesser of R/L and
        (viscous + fan·ω)/J: resistance, friction, fan, diode and switch all only take from the difference.
        A buffer capacitor keeps its share of it; there the rate counts as zero.
        """
        circuit = self.circuit
        self.left_over += float(left_over.sum())
        braked = (circuit.viscous + circuit.fan * np.abs(stretches.state[1])) / circuit.inertia
        np.minimum(braked[:-1], braked[1:], out=braked[:-1])
        braked[-1] = 0.0
        rate = np.minimum(self.test.loop.winding_resistance / circuit.inductance, braked)
        fade = np.cumsum((rate if circuit.leak == 0.0 else 0.0 * rate) * stretches.length)
        gain = left_over / np.sqrt(circuit.inertia)
        if fade[-1] < 500.0:
            grown = np.exp(fade)
            bound = (self._bound + np.cumsum(gain * grown)) / grown
        else:
            steps = zip(np.exp(-np.diff(fade, prepend=0.0)).tolist(), gain.tolist(), strict=True)
            bound = np.array(list(accumulate(steps, lambda e, step: e * step[0] + step[1], initial=self._bound)))
        self._bound = float(bound[-1])
        self.bound = max(self.bound, float(bound.max()))

    def _sample(self, stretches: Stretches) -> None:
        if self.instants is None:
            time = np.multiply.outer(_GRID, stretches.length)
            place = np.repeat(stretches.place, len(_GRID))
            i, w, v = (part.T.ravel() for part in state_at(stretches, time))
            self._samples.append((place, (stretches.start + time).T.ravel(), i, w, v))
            return
        end = stretches.start[-1] + stretches.length[-1]
        upto = int(np.searchsorted(self.instants, end * (1.0 - 1e-15), side="left"))
        if upto > self._sampled:
            self._pick(stretches, self.instants[self._sampled : upto])
            self._sampled = upto

    def _pick(self, stretches: Stretches, instants: Floats) -> None:
        index = np.maximum(np.searchsorted(stretches.start, instants, side="right") - 1, 0)
        some = stretches.rows(index)
        self._samples.append((some.place, instants, *state_at(some, instants - some.start)))

    def finish(self, table: Floats, end: State) -> tuple[NDArray[np.int64], Floats, States]:
        """Take the last table and the end in, and return places, times and states of all samples."""
        self.add(table)
        self.largest_speed = max(self.largest_speed, abs(end[2]))
        self._draw(np.array([self._last]), np.array(end[1:4])[:, None])
        if self.instants is not None and self._sampled < len(self.instants) and table.size:
            self._pick(read_table(table[:, -1:]), self.instants[self._sampled :])
        place, time, i, w, v = (np.concatenate(parts) for parts in zip(*self._samples, strict=True))
        return place, time, (i, w, v)

    def _note(self, name: str, times: Floats) -> None:
        if len(times):
            count, first, _ = self.events.get(name, (0, float(times[0]), 0.0))
            self.events[name] = (count + len(times), first, float(times[-1]))

    def _changes(self, stretches: Stretches) -> None:
        """Note what differs between one stretch and the next."""
        carrier, way, start = self.test.carrier[stretches.place], stretches.way, stretches.start
        was, way_was, _ = self._before
        earlier = np.concatenate(([was if was >= 0 else carrier[0]], carrier[:-1]))
        way_earlier = np.concatenate(([way_was if was >= 0 else way[0]], way[:-1]))
        new = carrier != earlier
        back, was_back = (carrier == BODY) | (carrier == REVERSE), (earlier == BODY) | (earlier == REVERSE)
        for name, happens in (
            ("diode stops", new & (earlier == DIODE) & (carrier == NOTHING)),
            ("breakdown begins", new & (carrier == BREAKDOWN)),
            ("breakdown ends", new & (earlier == BREAKDOWN)),
            ("transistor limits", new & (carrier == LIMIT)),
            ("current reverses", back & ~was_back),
            ("rotor starts", (way != 0.0) & (way_earlier == 0.0)),
            ("rotor stops", (way == 0.0) & (way_earlier != 0.0)),
            ("rotor reverses", way * way_earlier < 0.0),
        ):
            if happens.any():
                self._note(name, start[happens])
        self._before = (int(carrier[-1]), float(way[-1]), self._before[2])

    def _brown_outs(self, stretches: Stretches) -> None:
        """Note where the + rail falls below the brown-out voltage: with a jump, or along a stretch.

        A mode contributes at most its share times the length, so that most stretches need no closer look.
        """
        i, w, v = stretches.state
        if self.circuit.leak == 0.0 and not stretches.pair_middle.any():
            most = np.abs(i) + stretches.length * np.abs(stretches.shares[0]).sum(axis=0)
            if self.circuit.source_voltage - self.circuit.source_resistance * most.max() > self.brown_out:
                return
        constant, on_i, on_w, on_v = self.test.forms.supply_voltage.take(stretches.place, axis=1)
        start = constant + on_i * i + on_w * w + on_v * v - self.brown_out
        moved = on_i * stretches.shares[0], on_i * stretches.pair[0], on_i * stretches.pair_turned[0]
        if self.circuit.leak > 0.0:
            on_state = stretches.shares[2], stretches.pair[2], stretches.pair_turned[2]
            moved = tuple(one + on_v * share for one, share in zip(moved, on_state, strict=True))
        modes, pair, bend = (np.abs(part) for part in moved)
        near = start <= stretches.length * (modes.sum(axis=0) + pair + 0.5 * stretches.length * bend)
        if not near.any() and not self._before[2]:
            return
        low_before, times = self._before[2], []
        for row in np.flatnonzero(near | np.concatenate(([False], near[:-1]))):
            if start[row] < 0.0 and not (low_before and (row == 0 or near[row - 1])):
                times.append(float(stretches.start[row]))
            elif start[row] >= 0.0 and near[row]:
                flow = tuple(stretches.table[8:, row].tolist())
                fall = first_negative(
                    _along(flow, float(start[row]), float(on_i[row]), float(on_v[row])),
                    flow,
                    float(stretches.length[row]),
                )
                if fall < NEVER:
                    times.append(float(stretches.start[row]) + fall)
            last = stretches.rows([row])
            low_before = bool(
                look(self.test.forms.supply_voltage, last.place, state_at(last, last.length))[0] < self.brown_out
            )
        self._note("brown-out", np.array(times))
        self._before = (*self._before[:2], low_before if near[-1] else False)


def _along(flow: tuple[float, ...], start: float, on_i: float, on_v: float) -> Guard:
    """The guard start + on_i·Δi + on_v·Δv along one stretch."""
    one, two, three = (on_i * flow[3 + n] + on_v * flow[9 + n] for n in range(3))
    return start, one, two, three, on_i * flow[14] + on_v * flow[16], on_i * flow[17] + on_v * flow[19]
