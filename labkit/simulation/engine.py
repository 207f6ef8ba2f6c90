"""The whole drive through time: what happens in the milliseconds that nobody can see."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from labkit._kernels.engine.circuit import ladder
from labkit._kernels.engine.course import Course, Record
from labkit._kernels.engine.readings import Bench, ledger, read
from labkit._kernels.engine.stepping import BEYOND, DONE, ENDLESS, UNCLAMPED
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Drive
from labkit.parts._fields import expect
from labkit.simulation._crossing import Given, argument, wrap
from labkit.simulation._engine_drive import drive_record
from labkit.simulation._engine_notes import notes
from labkit.simulation.gates import DriveState, EdgeGate, Gate, PwmGate, SampledGate, as_gate, intervals
from labkit.simulation.trace import Energy, Event, Trace
from labkit.units import Quantity, from_si, magnitude

__all__ = ["simulate"]

#: Beyond this a size [A, rad/s, V] is a slip of the prefix.
_MOST = 1e6
#: The longest run, in periods of the gate.
_PERIODS = 1e7


def simulate(
    drive: Drive,
    gate: Gate | list[tuple[Given, bool]],
    duration: Given,
    *,
    current: Given = "0 A",
    speed: Given = "0 rad/s",
    capacitor_voltage: Given | None = None,
    samples: int | Quantity | None = None,
    tolerance: float = 1e-7,
    junction_temperature: Given | None = None,
    winding_temperature: Given | None = None,
) -> Trace:
    """Run the whole drive through time, from one event to the next.

    Parameters
    ----------
    drive : Drive
    gate : Gate, or pairs of time and bool
        ``pwm``, ``duty_ramp``, ``always_on``, ``always_off``, ``gate_edges``, ``sampled_gate``.
    duration : Quantity [s]
    current, speed : Quantity [A], [rad/s or rpm]
        At the start.
    capacitor_voltage : Quantity [V], optional
        Of the buffer capacitor at the start; the supply's voltage where not given.
    samples : int or Quantity [s], shape (n,), optional
        So many evenly spaced instants, start and end included, or the rising instants themselves.
        Without it: nine points of every stretch between two events, jumps from both sides; memory then grows
        with the number of events, otherwise it does not.
    tolerance : float
        How far, as a share of the largest speed, the speed may be off because a fan's law has to be straightened.
        Without a fan the run is exact to rounding.
    junction_temperature, winding_temperature : Quantity [degC], optional
        Held through the run; the ambient's where not given.

    Returns
    -------
    Trace

    Raises
    ------
    PartError
        Names the field or argument, its value and what to do: a motor without inductance or inertia, a switch without
        a breakdown voltage where its current has no freewheel diode to go to, a gate list that is empty.
    NoSolutionError
        When diode and transistor would share the current, which this circuit does not cover.

    Notes
    -----
    Between events the circuit is linear and is advanced by its exact exponentials (`_kernels.engine.modes`); events are
    the gate's edges, a diode or transistor that starts or stops, the rotor starting, stopping or reversing. A fan's
    c·ω² is replaced by its tangent over each stretch. As every part of this circuit only ever damps the difference of
    two runs (no switch, diode, friction or fan drives them apart), the speed is off by at most what ∫c·(ω - ω_r)²dt/J
    leaves after that damping: ``Trace.speed_error``. It does not count how a control law answers to the difference, nor
    a starting torque above the friction.

    Edges of the switch are instantaneous; the gate gets what pin, gate resistor and pull-down leave it.
    A channel is its on-resistance up to the saturation current K·(V_GS - V_th)², and flat from there: just below that
    current the square law's drain is higher by up to half of V_GS - V_th, at a quarter of it by 7 %.
    A source's current limit is not held. Where a run meets either, or a saturation current is not known and taken as
    unlimited, ``Trace.notes`` says so.
    Switching loss, reverse recovery, self-heating and the core's saturation are outside of this.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> from labkit.simulation.gates import pwm
    >>> trace = simulate(desk_wind_tunnel(), pwm(0.4, "2 kHz"), "0.1 s", samples=3)
    >>> print(trace.speed.to("rpm").round(0))
    [0.0 385.0 724.0] revolutions_per_minute
    >>> print(trace.event("diode stops"), trace.event("rotor starts").count)
    None 1
    """
    expect(drive, Drive, "simulate.drive")
    pattern = as_gate(gate)
    length = float(argument(duration, "s", "simulate.duration", least=0.0, least_allowed=False))
    _refuse_too_many(pattern, length)
    instants = _instants(samples, length)
    limit = float(argument(tolerance, "", "simulate.tolerance", least=0.0, least_allowed=False, most=1.0))
    junction = _temperature(drive, junction_temperature, "simulate.junction_temperature")
    winding = _temperature(drive, winding_temperature, "simulate.winding_temperature")
    circuit, test, switches = drive_record(drive, junction, winding, tolerance=limit, duration=length)
    start_current = float(argument(current, "A", "simulate.current", least=-_MOST, most=_MOST))
    start_speed = float(argument(speed, "rad/s", "simulate.speed", least=-_MOST, most=_MOST))
    if start_current < 0.0 and isinstance(drive.switch, Bipolar):
        raise PartError(
            "simulate.current", "zero or more with a bipolar transistor", f"{start_current:g} A",
            "Only a MOSFET carries current backwards.",
        )  # fmt: skip
    charge = test.loop.source_voltage
    if capacitor_voltage is not None and drive.supply.capacitance is None:
        raise PartError(
            "simulate.capacitor_voltage", "left out for a supply without a capacitor", str(capacitor_voltage),
            "Give the supply its capacitance, or leave this out.",
        )  # fmt: skip
    if capacitor_voltage is not None:
        charge = float(argument(capacitor_voltage, "V", "simulate.capacitor_voltage", least=-_MOST, most=_MOST))
    course = Course(
        circuit,
        (ladder(test.loop, switches[0]), ladder(test.loop, switches[1])),
        start_current,
        start_speed,
        charge - circuit.source_voltage if circuit.leak > 0.0 else 0.0,
    )
    brown_out = 0.0 if drive.supply.brown_out is None else float(magnitude(drive.supply.brown_out, "V"))
    record = Record(circuit, test, instants, brown_out=brown_out, limited=drive.supply.current_limit is not None)
    begin = course.state
    _drive_through(course, record, pattern, length, test)
    return _trace(drive, course, record, begin)


def _refuse_too_many(gate: Gate, length: float) -> None:
    """Refuse a run of so many periods that nobody would wait for it: a slip of the prefix."""
    pace = 0.0 if isinstance(gate, EdgeGate) else gate.frequency if isinstance(gate, PwmGate) else 1.0 / gate.period
    if length * pace > _PERIODS:
        raise PartError(
            "simulate.duration", f"at most {_PERIODS:.0e} periods of the gate, {_PERIODS / pace:g} s",
            f"{length:g} s", "Check the prefixes of duration and frequency.",
        )  # fmt: skip


def _instants(samples: int | Quantity | None, length: float) -> Any:
    """Return the sampling instants [s], or None for all there is."""
    if samples is None:
        return None
    if isinstance(samples, bool) or (isinstance(samples, int | np.integer) and samples < 2):
        raise PartError("simulate.samples", "two or more, or instants in s", samples, "Start and end count among them.")
    if isinstance(samples, int | np.integer):
        return np.linspace(0.0, length, int(samples))
    instants = np.atleast_1d(argument(samples, "s", "simulate.samples", least=0.0, most=length * (1.0 + 1e-12)))
    if instants.ndim != 1 or not instants.size or np.any(np.diff(instants) < 0.0):
        raise PartError("simulate.samples", "a row of rising instants", str(samples)[:80], "Sort them.")
    return instants


def _temperature(drive: Drive, given: Given | None, where: str) -> float:
    return float(argument(drive.ambient if given is None else given, "degC", where, least=-273.15))


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
        duty = float(argument(answer, "", "sampled_gate.law's answer", least=0.0, most=1.0))
        ends = [min((number + part) * gate.period, length) for part in (duty, 1.0)]
        yield ends, [1, 0]


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


def _trace(drive: Drive, course: Course, record: Record, begin: Any) -> Trace:
    circuit, test = course.circuit, record.test
    time, place, state = record.finish(course.rest(), course.state)
    found = read(test, place, state)
    _refuse_sharing(drive, record)
    offsets = (0.0, 0.0, circuit.source_voltage)
    sizes = (circuit.inductance, circuit.inertia, circuit.capacitance)
    stored = [
        size * (end - start) * (0.5 * (end + start) + offset)
        for size, start, end, offset in zip(sizes, begin[1:4], course.state[1:4], offsets, strict=True)
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
        "notes": notes(drive, test.closed, record.largest_current, record.largest_supply),
    }
    return wrap(Trace, floats)
