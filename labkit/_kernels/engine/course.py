"""A run from its start to its end: stepping in blocks, and what each block adds to the record."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.engine.circuit import DriveSI, Ladder
from labkit._kernels.engine.compiled import COMPILED
from labkit._kernels.engine.crossing import NEVER, first_negative
from labkit._kernels.engine.readings import Bench, Ledger, ledger, read
from labkit._kernels.engine.stepping import COLUMNS, DONE, FULL, State, run
from labkit._kernels.engine.stretches import Floats, Stretches, read_table, state_at

__all__ = ["Course", "Record"]

_ROOM = 4096
_GRID = np.linspace(0.0, 1.0, 9)


class Course:
    """Steps a drive through intervals of its gate, and hands the stretches on in tables of at most some thousand rows."""

    def __init__(
        self, circuit: DriveSI, ladders: tuple[Ladder, Ladder], current: float, speed: float, capacitor: float
    ):
        self.circuit, self.ladders = circuit, ladders
        self.state: State = (0.0, current, speed, capacitor, 0, 0)
        self.status = DONE
        self._table: Any = np.empty((_ROOM, COLUMNS)) if COMPILED else [None] * _ROOM
        self._rows = 0

    def through(self, ends: Sequence[float], levels: Sequence[int]) -> Iterator[Floats]:
        """Advance to the last of *ends* [s]; yield each table that fills up."""
        given = (np.asarray(ends, dtype=np.float64), np.asarray(levels, dtype=np.int64)) if COMPILED else (ends, levels)
        index = 0
        while True:
            self.status, index, self._rows, self.state = run(
                self.circuit, self.ladders, *given, index, self.state, self._table, self._rows, _ROOM
            )
            if self.status != FULL:
                return
            yield self.rest()

    def rest(self) -> Floats:
        """The rows that have not been handed on."""
        rows, self._rows = self._rows, 0
        return np.array(self._table[:rows], dtype=np.float64).reshape(rows, COLUMNS)


class Record:
    """What a run leaves: samples, sums of energy, events, the largest speed."""

    def __init__(self, circuit: DriveSI, test: Bench, instants: Floats | None, brown_out: float):
        self.circuit, self.test, self.instants, self.brown_out = circuit, test, instants, brown_out
        self.largest_speed = 0.0
        self.ledger = Ledger(*(0.0,) * len(Ledger._fields))
        #: Of each event: how often, when first, when last.
        self.events: dict[str, tuple[int, float, float]] = {}
        self._samples: list[tuple[Floats, NDArray[np.int64], Floats]] = []
        self._sampled = 0
        self._before: tuple[str, float, bool] = ("", 0.0, False)

    def add(self, table: Floats) -> None:
        """Take a table in."""
        if not len(table):
            return
        stretches = read_table(table)
        self.ledger = Ledger(
            *(a + b for a, b in zip(self.ledger, ledger(self.circuit, self.test, stretches), strict=True))
        )
        self.largest_speed = max(self.largest_speed, float(np.abs(stretches.state[1]).max()))
        self._sample(stretches)
        self._changes(stretches)
        if self.brown_out > 0.0:
            self._brown_outs(stretches, table)

    def _sample(self, stretches: Stretches) -> None:
        if self.instants is None:
            time = stretches.length[:, None] * _GRID
            place = np.repeat(stretches.place, len(_GRID))
            state = state_at(stretches, time).reshape(3, -1)
            self._samples.append(((stretches.start[:, None] + time).ravel(), place, state))
            return
        end = stretches.start[-1] + stretches.length[-1]
        upto = int(np.searchsorted(self.instants, end * (1.0 - 1e-15), side="left"))
        if upto > self._sampled:
            self._pick(stretches, self.instants[self._sampled : upto])
            self._sampled = upto

    def _pick(self, stretches: Stretches, instants: Floats) -> None:
        index = np.maximum(np.searchsorted(stretches.start, instants, side="right") - 1, 0)
        some = stretches.rows(index)
        self._samples.append((instants, some.place, state_at(some, instants - some.start)))

    def finish(self, table: Floats) -> tuple[Floats, NDArray[np.int64], Floats]:
        """Take the last table in, and return times, places and states of all samples, the run's end among them."""
        self.add(table)
        if self.instants is not None and self._sampled < len(self.instants) and len(table):
            self._pick(read_table(table[-1:]), self.instants[self._sampled :])
        time, place, state = zip(*self._samples, strict=True)
        return np.concatenate(time), np.concatenate(place), np.concatenate(state, axis=1)

    def _note(self, name: str, times: Floats) -> None:
        if len(times):
            count, first, _ = self.events.get(name, (0, float(times[0]), 0.0))
            self.events[name] = (count + len(times), first, float(times[-1]))

    def _changes(self, stretches: Stretches) -> None:
        """Note what differs between one stretch and the next."""
        names = np.array(self.test.names)[stretches.place]
        was, way_was, _ = self._before
        earlier = np.concatenate(([was or names[0]], names[:-1]))
        way_earlier = np.concatenate(([way_was if was else stretches.way[0]], stretches.way[:-1]))
        start, way = stretches.start, stretches.way
        new = names != earlier
        self._note("diode stops", start[new & (earlier == "diode") & (names == "nothing")])
        self._note("breakdown begins", start[new & (names == "breakdown")])
        self._note("transistor limits", start[new & (names == "limit")])
        self._note("current reverses", start[new & np.isin(names, ("reverse", "body diode"))])
        self._note("rotor starts", start[(way != 0.0) & (way_earlier == 0.0)])
        self._note("rotor stops", start[(way == 0.0) & (way_earlier != 0.0)])
        self._note("rotor reverses", start[way * way_earlier < 0.0])
        self._before = (str(names[-1]), float(way[-1]), self._before[2])

    def _brown_outs(self, stretches: Stretches, table: Floats) -> None:
        """Note where the rail falls below the brown-out voltage: with a jump, or along a stretch."""
        time = stretches.length[:, None] * _GRID
        rail = read(self.circuit, self.test, stretches.place[:, None], state_at(stretches, time)).rail - self.brown_out
        low = rail < 0.0
        low_before = np.concatenate(([self._before[2]], low[:-1, -1]))
        times = [stretches.start[low[:, 0] & ~low_before]]
        close = rail.min(axis=1) < 0.1 * np.ptp(rail, axis=1)
        for row in np.flatnonzero(~low[:, 0] & close):
            flow = tuple(table[row, 7:27].tolist())
            fall = first_negative(
                self._rail_guard(stretches, int(row), flow, float(rail[row, 0])), flow, float(stretches.length[row])
            )
            if fall < NEVER:
                times.append(np.array([stretches.start[row] + fall]))
        self._note("brown-out", np.sort(np.concatenate(times)))
        self._before = (*self._before[:2], bool(low[-1, -1]))

    def _rail_guard(self, stretches: Stretches, row: int, flow: tuple[float, ...], start: float) -> Any:
        """The rail above brown-out, which is linear in current and capacitor voltage, along one stretch."""
        place, circuit = stretches.place[row : row + 1], self.circuit
        base = np.zeros((3, 1))
        at = [float(read(circuit, self.test, place, base + np.eye(3)[:, [n]]).rail[0]) for n in (0, 2)]
        zero = float(read(circuit, self.test, place, base).rail[0])
        on_i, on_v = at[0] - zero, at[1] - zero
        return (start, *(on_i * flow[3 + n] + on_v * flow[9 + n] for n in range(3)),
                on_i * flow[14] + on_v * flow[16], on_i * flow[17] + on_v * flow[19])  # fmt: skip
