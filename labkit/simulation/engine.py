"""The whole drive through time: what happens in the milliseconds that nobody can see."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from labkit._kernels.engine.circuit import DriveSI, LoopSI, SwitchSI, ladder
from labkit._kernels.engine.course import Course, Record
from labkit._kernels.engine.readings import Bench, bench, read
from labkit._kernels.engine.stepping import DONE, UNCLAMPED
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Drive, Mosfet
from labkit.simulation._crossing import Given, argument, wrap
from labkit.simulation._loop import brakes, copper_factor, needed
from labkit.simulation.gates import DriveState, Gate, SampledGate, as_gate, intervals
from labkit.simulation.switch import gate_volts, saturation_current, switch_path
from labkit.simulation.trace import Energy, Event, Trace
from labkit.units import Quantity, from_si, magnitude

__all__ = ["simulate"]

_CHECK = "Check the sign and the prefix."


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
        When diode and breakdown would share the current, which this circuit does not cover.

    Notes
    -----
    Between events the circuit is linear and is advanced by its exact exponentials (`_kernels.engine.modes`); events are
    the gate's edges, a diode or transistor that starts or stops, the rotor starting, stopping or reversing. A fan's
    c·ω² is replaced by its tangent over each stretch. As every part of this circuit only ever damps the difference of two
    runs (no switch, diode, friction or fan drives them apart), the speed is off by at most what ∫c·(ω - ω_r)²dt/J leaves
    after that damping: ``Trace.speed_error``. It does not count how a control law answers to the difference, nor a
    starting torque above the friction.

    Edges of the switch are instantaneous; the gate gets what pin, gate resistor and pull-down leave it.
    Switching loss, reverse recovery, self-heating and the core's saturation are outside of this.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> from labkit.simulation.gates import pwm
    >>> trace = simulate(desk_wind_tunnel(), pwm(0.4, "2 kHz"), "0.1 s", samples=3)
    >>> print(trace.speed.to("rpm").round(0))
    [0.0 432.0 723.0] revolutions_per_minute
    >>> print(trace.event("diode stops"), trace.event("rotor starts").count)
    None 1
    """
    pattern = as_gate(gate)
    length = float(argument(duration, "s", "simulate.duration", least=0.0, least_allowed=False))
    instants = _instants(samples, length)
    limit = float(argument(tolerance, "", "simulate.tolerance", least=0.0, least_allowed=False, most=1.0))
    junction = _temperature(drive, junction_temperature, "simulate.junction_temperature")
    winding = _temperature(drive, winding_temperature, "simulate.winding_temperature")
    circuit, test, switches = _circuit(drive, junction, winding, tolerance=limit, duration=length)
    start_current = float(argument(current, "A", "simulate.current"))
    start_speed = float(argument(speed, "rad/s", "simulate.speed"))
    if start_current < 0.0 and isinstance(drive.switch, Bipolar):
        raise PartError(
            "simulate.current", "zero or more with a bipolar transistor", f"{start_current:g} A",
            "Only a MOSFET carries current backwards.",
        )  # fmt: skip
    charge = test.loop.source_voltage
    if capacitor_voltage is not None:
        charge = float(argument(capacitor_voltage, "V", "simulate.capacitor_voltage"))
    course = Course(
        circuit,
        (ladder(test.loop, switches[0]), ladder(test.loop, switches[1])),
        start_current,
        start_speed,
        charge if circuit.leak > 0.0 else circuit.source_voltage,
    )
    brown_out = 0.0 if drive.supply.brown_out is None else float(magnitude(drive.supply.brown_out, "V"))
    record = Record(circuit, test, instants, brown_out)
    begin = course.state
    _drive_through(course, record, pattern, length, test)
    return _trace(drive, course, record, begin, test)


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


def _circuit(
    drive: Drive, junction: float, winding: float, *, tolerance: float, duration: float
) -> tuple[DriveSI, Bench, tuple[SwitchSI, SwitchSI]]:
    """Return the drive as floats: for stepping, for readings, and its open and closed switch."""
    motor, supply, load = drive.motor, drive.supply, drive.load
    all_brakes = brakes(motor, load)
    inertia = needed(motor, "inertia", "kg*m**2", "where time matters") + float(magnitude(load.inertia, "kg*m**2"))
    voltage, source = float(magnitude(supply.voltage, "V")), float(magnitude(supply.internal_resistance, "ohm"))
    share = leak = uptake = capacitor = 0.0
    if supply.capacitance is not None and source > 0.0:
        capacitor = float(magnitude(supply.capacitor_resistance, "ohm"))
        capacitance = float(magnitude(supply.capacitance, "F"))
        share = source / (source + capacitor)
        leak, uptake = 1.0 / (capacitance * (source + capacitor)), share / capacitance
    loop = LoopSI(
        winding_resistance=float(magnitude(motor.resistance, "ohm") * copper_factor(np.asarray(winding)))
        + float(magnitude(drive.wiring, "ohm")),
        brush_drop=float(magnitude(motor.brush_drop, "V")),
        diode_drop=math.inf if drive.diode is None else float(magnitude(drive.diode.forward_voltage, "V")),
        diode_resistance=0.0 if drive.diode is None else float(magnitude(drive.diode.slope_resistance, "ohm")),
        source_voltage=voltage,
        rail_resistance=source * (1.0 - share),
        share=share,
    )
    k, fan = float(magnitude(motor.emf_constant, "V*s/rad")), float(all_brakes.fan)
    circuit = DriveSI(
        inductance=needed(motor, "inductance", "H", "where time matters"),
        emf_constant=k,
        inertia=inertia,
        friction=float(all_brakes.friction),
        holding=float(all_brakes.holding),
        viscous=float(all_brakes.viscous),
        fan=fan,
        weight=float(all_brakes.weight),
        source_voltage=voltage,
        source_resistance=source,
        leak=leak,
        uptake=uptake,
        fan_step=10.0 * tolerance / duration * inertia / fan if fan > 0.0 else math.inf,
        slow=0.05 * voltage / k,
        duration=duration,
    )
    switches = _switches(drive, voltage, junction)
    test = bench(
        circuit,
        loop,
        switches,
        capacitor_resistance=capacitor,
        motor_friction=float(all_brakes.motor_friction),
        motor_viscous=float(all_brakes.motor_viscous),
    )
    return circuit, test, switches


def _switches(drive: Drive, voltage: float, junction: float) -> tuple[SwitchSI, SwitchSI]:
    """Return the open and the closed switch; a gate below the threshold leaves the closed one open."""
    switch = drive.switch
    given = switch.breakdown_voltage
    breakdown = math.inf if given is None else float(magnitude(given, "V"))
    drop = 0.0 if drive.diode is None else float(magnitude(drive.diode.forward_voltage, "V"))
    if breakdown <= voltage + drop:
        raise PartError(
            f"{type(switch).__name__}.breakdown_voltage", f"above the supply and the diode's drop, {voltage + drop:g} V",
            given, "Take a transistor for a higher voltage.",
        )  # fmt: skip
    gate = gate_volts(drive)
    resistance, own_drop, body = switch_path(switch, gate, np.asarray(junction))
    body = math.inf if math.isnan(body) else body
    opened = SwitchSI(0.0, math.inf, 0.0, body, breakdown)
    if math.isinf(resistance):
        return opened, opened
    return opened, SwitchSI(_limit(drive, switch, gate), float(resistance), own_drop, body, breakdown)


def _limit(drive: Drive, switch: Mosfet | Bipolar, gate: float) -> float:
    """Return the largest current [A] that a closed switch carries; infinite where the sheet does not tell."""
    if isinstance(switch, Bipolar):
        if switch.base_resistor is None:
            return math.inf
        in_series = magnitude(switch.base_resistor, "ohm") + magnitude(drive.pin.output_resistance, "ohm")
        base = (magnitude(drive.pin.high_level, "V") - magnitude(switch.base_emitter_voltage, "V")) / in_series
        return float(max(switch.gain * base, 0.0))
    tells = switch.transconductance is not None or isinstance(switch.on_resistance, tuple)
    if switch.threshold is None or not tells:
        return math.inf
    return float(magnitude(saturation_current(switch, from_si(gate, "V")), "A"))


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
        place = np.array(0 if current > 0.0 else 1)
        rail = read(test, place, np.array([current, speed, capacitor])).supply_voltage
        shown = DriveState(
            time=from_si(time, "s"),
            current=from_si(current, "A"),
            speed=from_si(speed, "rad/s"),
            supply_voltage=from_si(float(rail), "V"),
        )
        duty = float(argument(float(gate.law(shown)), "", "sampled_gate.law's answer", least=0.0, most=1.0))
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
    msg = f"The run does not get past {time:g} s: two events keep answering each other. Please report this drive."
    raise NoSolutionError(msg)


def _trace(drive: Drive, course: Course, record: Record, begin: Any, test: Bench) -> Trace:
    circuit = course.circuit
    time, place, state = record.finish(course.rest(), course.state)
    found = read(test, place, state)
    reach = test.loop.diode_drop < math.inf and float(np.max(found.switch_voltage, initial=0.0))
    breakdown = drive.switch.breakdown_voltage
    if reach and breakdown is not None and reach > magnitude(breakdown, "V"):
        msg = f"The drain reaches {reach:.3g} V, above the breakdown of {breakdown:~P}: diode and breakdown share the current."
        raise NoSolutionError(msg + " Take a diode with less slope resistance.")
    stored = [
        0.5 * size * (float(end) ** 2 - float(start) ** 2)
        for size, start, end in zip(
            (circuit.inductance, circuit.inertia, _capacitance(drive, circuit)),
            begin[1:4],
            course.state[1:4],
            strict=True,
        )
    ]
    accounts = record.ledger._asdict() | dict(
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
        "capacitor_voltage": state[2] if circuit.leak > 0.0 else None,
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
    }
    return wrap(Trace, floats)


def _capacitance(drive: Drive, circuit: DriveSI) -> float:
    return (
        float(magnitude(drive.supply.capacitance, "F"))
        if circuit.leak > 0.0 and drive.supply.capacitance is not None
        else 0.0
    )
