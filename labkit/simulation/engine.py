"""The whole drive through time: what happens in the milliseconds that nobody can see."""

from __future__ import annotations

from typing import Any

import numpy as np

from labkit.errors import PartError
from labkit.parts import Bipolar, Drive
from labkit.parts._fields import expect
from labkit.simulation._crossing import Given, argument, single
from labkit.simulation._engine_drive import drive_record
from labkit.simulation.gates import EdgeGate, Gate, PwmGate, as_gate
from labkit.simulation.trace import Trace
from labkit.units import Quantity

__all__ = ["simulate"]

#: Beyond this a size [A, rad/s, V] is a slip of the prefix.
_MOST = 1e6
#: The longest run, in periods of the gate, and the most samples.
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
        How far, as a share of the largest speed (of a twentieth of the no-load speed where it stays below that), the
        speed may be off because a fan's law has to be straightened. Without a fan the run is exact to rounding.
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
    length = single(duration, "s", "simulate.duration", least=0.0, least_allowed=False)
    _refuse_too_many(pattern, length)
    instants = _instants(samples, length)
    limit = single(tolerance, "", "simulate.tolerance", least=0.0, least_allowed=False, most=1.0)
    junction = _temperature(junction_temperature, "simulate.junction_temperature")
    winding = _temperature(winding_temperature, "simulate.winding_temperature")
    circuit, test, switches = drive_record(drive, junction, winding, tolerance=limit, duration=length)
    start_current = single(current, "A", "simulate.current", least=-_MOST, most=_MOST)
    start_speed = single(speed, "rad/s", "simulate.speed", least=-_MOST, most=_MOST)
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
        charge = single(capacitor_voltage, "V", "simulate.capacitor_voltage", least=-_MOST, most=_MOST)
    from labkit.simulation._engine_run import Start, run_through  # noqa: PLC0415 (it loads numba, where that is installed)

    start = Start(
        current=start_current,
        speed=start_speed,
        capacitor=charge - circuit.source_voltage if circuit.leak > 0.0 else 0.0,
    )
    return run_through(drive, (circuit, test, switches), pattern, length, start=start, instants=instants)


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
    if isinstance(samples, bool) or (isinstance(samples, int | np.integer) and not 2 <= samples <= _PERIODS):
        kind = f"from 2 to {_PERIODS:.0e}, or instants in s"
        raise PartError("simulate.samples", kind, samples, "Start and end count among them.")
    if isinstance(samples, int | np.integer):
        return np.linspace(0.0, length, int(samples))
    instants = np.atleast_1d(argument(samples, "s", "simulate.samples", least=0.0, most=length * (1.0 + 1e-12)))
    if instants.ndim != 1 or not instants.size or np.any(np.diff(instants) < 0.0):
        raise PartError("simulate.samples", "a row of rising instants", str(samples)[:80], "Sort them.")
    return instants


def _temperature(given: Given | None, where: str) -> float | None:
    return None if given is None else single(given, "degC", where, least=-273.15)
