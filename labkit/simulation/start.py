"""A motor that starts beside a board: how far the supply sags, what the board gets of it, and whether it resets."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.holding import held_up
from labkit.errors import PartError
from labkit.parts import Drive
from labkit.parts._fields import expect
from labkit.simulation._crossing import (
    Amperes,
    Given,
    RadiansPerSecond,
    Seconds,
    Volts,
    argument,
    single,
    wrap,
)
from labkit.simulation.engine import simulate
from labkit.simulation.gates import always_on
from labkit.simulation.sources import loaded_supply
from labkit.simulation.trace import Trace
from labkit.units import from_si, magnitude

__all__ = ["BoardSupply", "MotorStart", "board_supply", "motor_start"]

Floats = NDArray[np.float64]

#: Of the engine's run: tens of microvolts, in a twentieth of the time that the usual one takes.
_TOLERANCE = 1e-4


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MotorStart:
    """A start from rest, at each of the times."""

    #: Since the switch closed.
    time: Seconds
    #: In the motor.
    current: Amperes
    speed: RadiansPerSecond
    #: Between + rail and the battery's -.
    supply_voltage: Volts
    #: By how much the motor's current lifts the far end of its ground lead.
    lead_drop: Volts


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class BoardSupply:
    """What a board gets while a motor starts, at each of the start's times."""

    #: Between the board's supply pin and its own 0 V.
    voltage: Volts
    #: By how much the board's 0 V is lifted against the battery's -.
    ground_shift: Volts
    lowest_voltage: Volts
    largest_shift: Volts
    #: When it first falls below the board's brown-out voltage; ``None`` where it does not, or that is not known.
    reset_time: Seconds | None


def motor_start(
    drive: Drive, times: Given, *, board_current: Given = "0 A", ground_lead: Given = "0 ohm"
) -> MotorStart:
    """Course of a start from rest, with the switch closed throughout.

    Parameters
    ----------
    drive : Drive
    times : Quantity [s], shape (n,)
        Rising, the last more than zero.
    board_current : Quantity [A]
        What the board draws from the same supply.
    ground_lead : Quantity [ohm]
        Of the lead in which the motor's current returns to the supply.

    Returns
    -------
    MotorStart
        Of shape (n,).

    Raises
    ------
    PartError, NoSolutionError
        As ``simulate``; also where the source cannot give the board's current.

    Notes
    -----
    The board's current is steady, so that it lowers what the source gives by its drop in the source.
    A source's current limit is not applied: one that holds it lets the voltage fall further, and may reset the board.
    The fan's law is straightened as in ``simulate``, with a tolerance of 1e-4 of the speed.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> from labkit.units import Q_
    >>> start = motor_start(desk_wind_tunnel(), Q_([0.0, 0.002, 1.0], "s"), ground_lead="0.1 ohm")
    >>> print(start.supply_voltage.round(2), start.lead_drop.to("mV").round(0))
    [6.0 4.99 5.75] volt [0.0 168.0 42.0] millivolt
    """
    expect(drive, Drive, "motor_start.drive")
    instants = argument(times, "s", "motor_start.times", least=0.0)
    if instants.ndim != 1 or not instants.size or instants[-1] <= 0.0 or np.any(np.diff(instants) < 0.0):
        raise PartError(
            "motor_start.times", "a row of rising instants", str(times)[:80], "Sort them, the last one above 0 s."
        )
    lead = single(ground_lead, "ohm", "motor_start.ground_lead", least=0.0)
    board = single(board_current, "A", "motor_start.board_current", least=0.0)
    left = loaded_supply(drive.supply, current=from_si(board, "A")).voltage
    fed = dataclasses.replace(
        drive,
        supply=dataclasses.replace(drive.supply, voltage=left),
        wiring=drive.wiring + from_si(lead, "ohm"),
    )
    trace: Trace = simulate(
        fed, always_on(), from_si(float(instants[-1]), "s"), samples=from_si(instants, "s"), tolerance=_TOLERANCE
    )
    amps = np.asarray(magnitude(trace.current, "A"))
    floats: dict[str, Any] = {
        "time": instants,
        "current": amps,
        "speed": magnitude(trace.speed, "rad/s"),
        "supply_voltage": magnitude(trace.supply_voltage, "V"),
        "lead_drop": lead * amps,
    }
    return wrap(MotorStart, floats)


def board_supply(
    start: MotorStart,
    *,
    brown_out: Given | None = None,
    shares_lead: bool = False,
    capacitance: Given | None = None,
    board_current: Given = "0 A",
    diode_drop: Given = "0.4 V",
) -> BoardSupply:
    """Return what a board on the motor's supply gets during its start.

    Parameters
    ----------
    start : MotorStart
    brown_out : Quantity [V], optional
        Below this the board resets.
    shares_lead : bool
        Whether the board's 0 V lies at the far end of the motor's ground lead, and not at the supply's -.
    capacitance : Quantity [F], optional
        Of a buffer at the board, behind a diode; none where not given.
    board_current : Quantity [A]
        What the board draws from the buffer.
    diode_drop : Quantity [V]
        Of the diode before the buffer.

    Returns
    -------
    BoardSupply

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    The buffer follows the supply less the diode's drop up, and falls evenly, by I/C, while the supply is lower. It is
    full before the start. How the board's current moves over to the buffer is left out of the supply's sag.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> from labkit.units import Q_
    >>> start = motor_start(desk_wind_tunnel(), Q_([0.0, 0.002, 1.0], "s"), ground_lead="0.1 ohm")
    >>> print(board_supply(start, shares_lead=True).voltage.round(2))
    [6.0 4.82 5.71] volt
    """
    expect(start, MotorStart, "board_supply.start", "Give what motor_start(…) returns.")
    seconds = np.asarray(magnitude(start.time, "s"))
    shift = np.asarray(magnitude(start.lead_drop, "V")) * (1.0 if shares_lead else 0.0)
    volts = np.asarray(magnitude(start.supply_voltage, "V")) - shift
    if capacitance is not None:
        farads = single(capacitance, "F", "board_supply.capacitance", least=0.0, least_allowed=False)
        amps = single(board_current, "A", "board_supply.board_current", least=0.0)
        drop = single(diode_drop, "V", "board_supply.diode_drop", least=0.0)
        volts = held_up(seconds, volts - drop, np.asarray(amps / farads))
    return wrap(
        BoardSupply,
        {
            "voltage": volts,
            "ground_shift": shift,
            "lowest_voltage": np.min(volts),
            "largest_shift": np.max(shift),
            "reset_time": None if brown_out is None else _first_below(seconds, volts, brown_out),
        },
    )


def _first_below(seconds: Floats, volts: Floats, brown_out: Given) -> float | None:
    """Return when [s] the voltage, straight between its instants, first falls below the limit."""
    limit = single(brown_out, "V", "board_supply.brown_out", least=0.0)
    below = np.flatnonzero(volts < limit)
    if not below.size:
        return None
    here = int(below[0])
    if here == 0:
        return float(seconds[0])
    ends, times = volts[here - 1 : here + 1], seconds[here - 1 : here + 1]
    return float(np.interp(limit, ends[::-1], times[::-1]))
