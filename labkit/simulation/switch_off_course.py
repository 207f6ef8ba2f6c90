"""Switching off in slow motion: every voltage and current at chosen moments, from nanoseconds on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.exponentials import stretch
from labkit._kernels.switching import decay
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Drive, Mosfet
from labkit.parts._fields import expect
from labkit.simulation._crossing import Amperes, Given, Joules, Seconds, Volts, argument, wrap
from labkit.simulation._loop import ambient_kelvins
from labkit.simulation.switch import gate_volts, switch_path
from labkit.simulation.switch_off import OpenedLoop, opened_loop, refuse_endless
from labkit.simulation.switching_loss import transition_times
from labkit.units import magnitude

__all__ = ["SwitchOffCourse", "switch_off_course"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SwitchOffCourse:
    """Voltages, currents and energies at each of the times; ``swing_time``, ``decay_time`` and ``emf`` are single.

    Energies are counted from the end of the drain's swing on:
    stored at first + supplied = stored + winding + diode + avalanche + shaft + rest.
    """

    #: Since the drain began to swing.
    time: Seconds
    #: In the winding.
    current: Amperes
    switch_current: Amperes
    diode_current: Amperes
    #: At the drain or collector, against ground.
    switch_voltage: Volts
    #: Across the motor with its leads, where the freewheel diode lies.
    motor_voltage: Volts
    #: L·di/dt, of the sign that keeps the current going.
    kick_voltage: Volts
    #: k·ω.
    emf: Volts
    #: How long the drain swings, before the current goes over; zero where the gate's charge is not known.
    swing_time: Seconds
    #: From the end of the swing to zero current.
    decay_time: Seconds
    #: ½·L·i² of the moment.
    stored_energy: Joules
    supplied_energy: Joules
    winding_energy: Joules
    diode_energy: Joules
    avalanche_energy: Joules
    shaft_energy: Joules
    #: In leads, brushes and source.
    rest_energy: Joules


def switch_off_course(drive: Drive, times: Given, current: Given, speed: Given = "0 rad/s") -> SwitchOffCourse:
    """Course of a switch-off: the drain swings, the current goes over to another path, dies away, and the EMF is left.

    Parameters
    ----------
    drive : Drive
        With its freewheel diode, or with ``diode=None``.
    times : Quantity [s], shape (n,)
        Since the drain began to swing.
    current : Quantity [A]
        In the winding before, zero or more.
    speed : Quantity [rad/s or rpm]
        Constant meanwhile.

    Returns
    -------
    SwitchOffCourse
        Of shape (n,).

    Raises
    ------
    PartError, NoSolutionError
        As ``turn_off_transient``; also where the generator EMF exceeds the supply.

    Notes
    -----
    While the drain swings, for as long as ``switching_times`` says, its voltage rises in a straight line and the
    current stays, since L/R is far longer. Then it goes over to the diode, or the transistor breaks down: exact
    exponentials, as in ``turn_off_transient``. When it has stopped, the motor shows its generator EMF alone.
    The ringing of stray inductance and capacitance is left out.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> from labkit.units import Q_
    >>> course = switch_off_course(desk_wind_tunnel(), Q_([1e-6, 5e-3], "s"), "0.45 A", "8000 rpm")
    >>> print(course.switch_voltage.round(2), course.kick_voltage.round(2))
    [6.4 1.48] volt [6.17 0.0] volt
    """
    expect(drive, Drive, "switch_off_course.drive")
    loop = opened_loop(drive, current, speed)
    if loop.current.ndim:
        raise PartError("current, speed", "one value each", f"{loop.current.shape}", "Ask for one after the other.")
    _refuse_feeding_back(drive, loop)
    seconds = argument(times, "s", "times", least=0.0)
    ends = decay(loop.current, loop.opposing, np.asarray(loop.ohms), np.asarray(loop.inductance))
    refuse_endless(drive, loop, ends.time)
    swing = _swing_time(drive)
    since = np.clip(seconds - swing, 0.0, ends.time)
    course = stretch(loop.current, -loop.opposing * since / loop.inductance, loop.ohms * since / loop.inductance)
    amps = np.where(seconds - swing < ends.time, course.end, 0.0)
    floats = {
        "time": seconds,
        "current": amps,
        "emf": loop.emf,
        "swing_time": np.asarray(swing),
        "decay_time": ends.time,
        **_voltages(drive, loop, seconds, swing, amps),
        **_energies(loop, amps, charge=course.mean * since, square=course.mean_square * since),
    }
    return wrap(SwitchOffCourse, floats)


def _swing_time(drive: Drive) -> float:
    switch = drive.switch
    if not isinstance(switch, Mosfet) or switch.gate_drain_charge is None or switch.plateau_voltage is None:
        return 0.0
    return transition_times(drive, switch)[1]


def _voltages(drive: Drive, loop: OpenedLoop, seconds: Floats, swing: float, amps: Floats) -> dict[str, Any]:
    """Return voltages and currents: along straight lines while the drain swings, then those of the loop."""
    supply = float(magnitude(drive.supply.voltage, "V"))
    inner = float(magnitude(drive.supply.internal_resistance, "ohm"))
    ohms, drop, _ = switch_path(drive.switch, gate_volts(drive), np.asarray(ambient_kelvins(drive)))
    # closed: drain, motor and kick, of which the last is nothing as the current is steady
    closed = drop + ohms * loop.current
    before = (closed, supply - inner * loop.current - closed, np.zeros(()))

    path, flows, swings = loop.path, amps > 0.0, seconds < swing
    feeds = inner if drive.diode is None else 0.0
    drain = path.drain(amps)
    opened = (drain, supply - feeds * amps - drain, loop.opposing + loop.ohms * amps)
    stopped = (supply - loop.emf, loop.emf, np.zeros(()))
    share = np.minimum(seconds / swing, 1.0) if swing else np.ones_like(seconds)
    drain, motor, kick = (
        np.where(flows, start + share * (end - start), rest)
        for start, end, rest in zip(before, opened, stopped, strict=True)
    )
    in_switch = swings | (drive.diode is None)
    return {
        "switch_voltage": drain,
        "motor_voltage": motor,
        "kick_voltage": kick,
        "switch_current": np.where(in_switch, amps, 0.0),
        "diode_current": np.where(in_switch, 0.0, amps),
    }


def _energies(loop: OpenedLoop, amps: Floats, *, charge: Floats, square: Floats) -> dict[str, Floats]:
    went = loop.energies(charge, square)
    return {
        "stored_energy": 0.5 * loop.inductance * amps**2,
        "supplied_energy": went.supplied,
        "winding_energy": went.winding,
        "diode_energy": went.diode,
        "avalanche_energy": went.avalanche,
        "shaft_energy": went.shaft,
        "rest_energy": went.wiring + went.source + went.brush,
    }


def _refuse_feeding_back(drive: Drive, loop: OpenedLoop) -> None:
    highest = float(np.max(loop.emf, initial=0.0))
    supply = float(magnitude(drive.supply.voltage, "V"))
    if highest > supply:
        raise NoSolutionError(
            f"At this speed the generator EMF is {highest:.3g} V, above the supply's {supply:.3g} V: something else "
            "drives the shaft. Take a lower speed."
        )
