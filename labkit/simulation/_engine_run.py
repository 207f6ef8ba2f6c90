"""A run from its start to its trace: the half of ``simulate`` that steps, and that numba compiles where it can."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from labkit._kernels.engine.circuit import DriveSI, SwitchSI, ladder
from labkit._kernels.engine.course import Course, Record
from labkit._kernels.engine.readings import Bench, ledger, read
from labkit._kernels.engine.stepping import BEYOND, DONE, ENDLESS, UNCLAMPED
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Drive
from labkit.simulation._crossing import single, wrap
from labkit.simulation._engine_notes import notes
from labkit.simulation.gates import DriveState, Gate, SampledGate, intervals
from labkit.simulation.trace import Energy, Event, Trace
from labkit.units import from_si, magnitude

__all__ = ["Start", "run_through"]


class Start(NamedTuple):
    """Where a run begins [A, rad/s, V]; the capacitor's voltage counts from the source's."""

    current: float
    speed: float
    capacitor: float


def run_through(
    drive: Drive,
    record: tuple[DriveSI, Bench, tuple[SwitchSI, SwitchSI]],
    gate: Gate,
    length: float,
    *,
    start: Start,
    instants: Any,
) -> Trace:
    """Return the trace of a run of *length* [s], sampled at *instants* [s], or at all there is where they are None."""
    circuit, test, (opened, closed) = record
    course = Course(circuit, (ladder(test.loop, opened), ladder(test.loop, closed)), *start)
    brown_out = 0.0 if drive.supply.brown_out is None else float(magnitude(drive.supply.brown_out, "V"))
    kept = Record(circuit, test, instants, brown_out=brown_out, limited=drive.supply.current_limit is not None)
    _drive_through(course, kept, gate, length, test)
    return _trace(drive, course, kept, start)


def _drive_through(course: Course, record: Record, gate: Gate, length: float, test: Bench) -> None:
    """Step to the end, block by block, and take each table into the record."""
    blocks = _answers(course, gate, length, test) if isinstance(gate, SampledGate) else intervals(gate, length)
    for ends, levels in blocks:
        for table in course.through(ends, levels):
            record.add(table)
        if course.status != DONE:
            _refuse(course)


def _answers(course: Course, gate: SampledGate, length: float, test: Bench) -> Any:
    """Yield what a control law answers, period by period."""
    for number in range(math.ceil(length / gate.period * (1.0 - 1e-15))):
        time, current, speed, capacitor = course.state[:4]
        rail = read(test, np.array(course.place), np.array([current, speed, capacitor])).supply_voltage
        shown = DriveState(
            time=from_si(time, "s"),
            current=from_si(current, "A"),
            speed=from_si(speed, "rad/s"),
            supply_voltage=from_si(float(rail), "V"),
        )
        answer = gate.law(shown)
        if isinstance(answer, bool | np.bool_):
            answer = float(answer)
        duty = single(answer, "", "sampled_gate.law's answer", least=0.0, most=1.0)
        yield np.minimum((number + np.array([duty, 1.0])) * gate.period, length), np.array([1, 0])


def _refuse(course: Course) -> None:
    time, current = course.state[:2]
    if course.status == UNCLAMPED:
        raise PartError(
            "Drive.switch.breakdown_voltage",
            f"known: at {time:g} s the switch opens on {current:.3g} A and there is no freewheel diode",
            None,
            "Give the data sheet's breakdown voltage, or put a Diode into the drive.",
        )
    if course.status == ENDLESS:
        raise NoSolutionError(
            f"At {time:.3g} s the run has taken {course.stretches} stretches and is not done: something in this drive "
            "is very much faster than the run is long. Check the prefixes of inductance, inertia, capacitance and fan."
        )
    if course.status == BEYOND:
        raise NoSolutionError(
            "The run leaves the range of what can be computed with. Check the prefixes of the drive's values."
        )
    msg = f"The run does not get past {time:g} s: two events keep answering each other. Please report this drive."
    raise NoSolutionError(msg)


def _refuse_sharing(drive: Drive, record: Record) -> None:
    """Refuse a run in which diode and transistor would share the current, which no rung covers."""
    lowest, highest = record.drain
    breakdown = drive.switch.breakdown_voltage
    if lowest < 0.0:
        raise NoSolutionError(
            f"The supply sags until the closed transistor's drain would be at {lowest:.3g} V: it shares the current "
            "with the freewheel diode, which this circuit does not cover. "
            "Start with less current, or give the supply less resistance."
        )
    if breakdown is not None and highest > magnitude(breakdown, "V"):
        raise NoSolutionError(
            f"The drain reaches {highest:.3g} V, above the breakdown at {breakdown:~P}: the transistor shares "
            "the current with the diode, which this circuit does not cover. Take a diode with less slope resistance."
        )


def _trace(drive: Drive, course: Course, record: Record, begin: Start) -> Trace:
    circuit, test = course.circuit, record.test
    place, time, state = record.finish(course.rest(), course.state)
    found = read(test, place, state)
    _refuse_sharing(drive, record)
    offsets = (0.0, 0.0, circuit.source_voltage)
    sizes = (circuit.inductance, circuit.inertia, circuit.capacitance)
    stored = [
        size * (end - start) * (0.5 * (end + start) + offset)
        for size, start, end, offset in zip(sizes, begin, course.state[1:4], offsets, strict=True)
    ]
    accounts = ledger(circuit, test, record.sums)._asdict() | dict(
        zip(("stored_in_winding", "stored_in_rotation", "stored_in_capacitor"), stored, strict=True)
    )
    floats = {
        "time": time,
        "current": state[0],
        "speed": state[1],
        "switch_voltage": found.switch_voltage,
        "supply_voltage": found.supply_voltage,
        "supply_current": found.supply_current,
        "switch_current": found.switch_current,
        "diode_current": found.diode_current,
        "capacitor_voltage": state[2] + circuit.source_voltage if circuit.leak > 0.0 else None,
        "gate": place >= 8,
        "energy": wrap(Energy, accounts),
        "events": tuple(
            Event(name=name, count=count, first=from_si(first, "s"), last=from_si(last, "s"))
            for name, (count, first, last) in sorted(record.events.items(), key=lambda item: item[1][1])
        ),
        "speed_error": record.bound / math.sqrt(circuit.inertia),
        "current_error": record.bound / math.sqrt(circuit.inductance),
        "energy_error": record.left_over * record.largest_speed,
        "largest_speed": record.largest_speed,
        "stretches": course.stretches,
        "notes": notes(drive, test.closed, record.largest_current, record.largest_supply),
    }
    return wrap(Trace, floats)
