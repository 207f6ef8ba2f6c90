"""Gate patterns: when the pin holds the switch closed.

A pattern is data; ``simulate`` asks it for intervals, a block at a time, so that a long run needs little memory.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from labkit.errors import PartError
from labkit.simulation._crossing import Given, single
from labkit.units import Quantity

__all__ = [
    "DriveState",
    "EdgeGate",
    "Gate",
    "PwmGate",
    "SampledGate",
    "always_off",
    "always_on",
    "as_gate",
    "duty_ramp",
    "gate_edges",
    "intervals",
    "pwm",
    "sampled_gate",
]

#: Ends of intervals [s], rising, and whether the switch is closed (1) or open (0) in each.
Block = tuple[NDArray[np.float64], NDArray[np.int64]]

_PERIODS = 1024
_ON_OFF = np.array([1, 0])
_FIRST = "Write pairs such as [('0 ms', True), ('2 ms', False)]."


@dataclass(frozen=True, kw_only=True, slots=True)
class EdgeGate:
    """A gate that changes at listed times [s]; open before the first."""

    times: tuple[float, ...]
    closed: tuple[bool, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class PwmGate:
    """A gate that closes at the start of each period, for the share that the duty then is.

    The duty goes from *duty* to *end_duty* within *ramp* seconds in a straight line, and stays there.
    """

    frequency: float
    duty: float
    end_duty: float
    ramp: float


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class DriveState:
    """What a control law is shown."""

    time: Quantity
    current: Quantity
    speed: Quantity
    #: At the + rail, a moment before the law decides.
    supply_voltage: Quantity


@dataclass(frozen=True, kw_only=True, slots=True)
class SampledGate:
    """A gate that a control law sets once each period [s]: the duty of the period that begins."""

    law: Callable[[DriveState], float]
    period: float


Gate = EdgeGate | PwmGate | SampledGate


def always_on() -> Gate:
    """Gate that is held on from the start.

    >>> always_on().closed
    (True,)
    """
    return EdgeGate(times=(0.0,), closed=(True,))


def always_off() -> Gate:
    """Gate that is held off, as for a motor that coasts.

    >>> always_off().closed
    (False,)
    """
    return EdgeGate(times=(0.0,), closed=(False,))


def pwm(duty: Given, frequency: Given) -> Gate:
    """Gate with pulse-width modulation: on for *duty* of each period, from the period's start.

    Parameters
    ----------
    duty : float [1]
        From 0 to 1.
    frequency : Quantity [Hz]

    Returns
    -------
    Gate

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Examples
    --------
    >>> pwm(0.4, "2 kHz").duty
    0.4
    >>> pwm(45, "2 kHz")
    Traceback (most recent call last):
    labkit.errors.PartError: pwm.duty must be from 0 to 1; got 45. A percentage? Divide by 100.
    """
    share = single(duty, "", "pwm.duty", least=0.0, most=1.0)
    return PwmGate(frequency=_positive(frequency, "Hz", "pwm.frequency"), duty=share, end_duty=share, ramp=0.0)


def duty_ramp(start: Given, end: Given, frequency: Given, over: Given) -> Gate:
    """Gate with pulse-width modulation whose duty moves in a straight line: a soft start.

    Parameters
    ----------
    start, end : float [1]
        Duty at the beginning and after the ramp, from 0 to 1; each period keeps the duty that it began with.
    frequency : Quantity [Hz]
    over : Quantity [s]
        How long the ramp takes; afterwards the duty stays.

    Returns
    -------
    Gate

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Examples
    --------
    >>> duty_ramp(0, 0.8, "20 kHz", "0.5 s").end_duty
    0.8
    """
    return PwmGate(
        frequency=_positive(frequency, "Hz", "duty_ramp.frequency"),
        duty=single(start, "", "duty_ramp.start", least=0.0, most=1.0),
        end_duty=single(end, "", "duty_ramp.end", least=0.0, most=1.0),
        ramp=single(over, "s", "duty_ramp.over", least=0.0),
    )


def gate_edges(edges: Iterable[tuple[Given, bool]]) -> Gate:
    """Gate that changes at listed times.

    Parameters
    ----------
    edges : pairs of time [s] and bool
        From each time on, whether the gate is on; off before the first. The times rise.

    Returns
    -------
    Gate

    Raises
    ------
    PartError
        When there are no edges, or a time is out of order.

    Examples
    --------
    >>> gate_edges([("0 ms", True), ("2 ms", False)]).times
    (0.0, 0.002)
    """
    rows = list(edges) if isinstance(edges, Iterable) else edges
    if not rows or not isinstance(rows, list):
        raise PartError("gate_edges.edges", "at least one edge", repr(rows)[:80], _FIRST)
    times, closed = [], []
    for row in rows:
        if not isinstance(row, tuple | list) or len(row) != 2 or not isinstance(row[1], bool | np.bool_):
            raise PartError("gate_edges.edges", "pairs of a time and True or False", repr(row), _FIRST)
        times.append(single(row[0], "s", "gate_edges.edges time", least=0.0))
        closed.append(bool(row[1]))
    for before, after in pairwise(times):
        if after <= before:
            raise PartError(
                "gate_edges.edges", "at rising times", f"{after:g} s after {before:g} s", "Sort them by time."
            )
    return EdgeGate(times=tuple(times), closed=tuple(closed))


def sampled_gate(law: Callable[[DriveState], float], period: Given) -> Gate:
    """Gate that a control law sets once each control period, as a board's program does.

    Parameters
    ----------
    law : callable
        Takes a ``DriveState`` (``.time .current .speed .supply_voltage``) and returns the duty of the period that
        begins: a number from 0 to 1, or True and False for a switch that is closed or open throughout.
    period : Quantity [s]

    Returns
    -------
    Gate

    Raises
    ------
    PartError
        When the law cannot be called, or the period is not positive.

    Examples
    --------
    >>> from labkit.units import Q_
    >>> sampled_gate(lambda state: state.speed < Q_("300 rad/s"), "1 ms").period
    0.001
    """
    if not callable(law):
        raise PartError(
            "sampled_gate.law",
            "a function of the drive's state",
            repr(law),
            "Write def law(state): return 0.4 if … else 0.",
        )
    return SampledGate(law=law, period=_positive(period, "s", "sampled_gate.period"))


def as_gate(gate: object) -> Gate:
    """Return a gate pattern, made from a list of edges where that is what was given.

    Raises
    ------
    PartError
        When it is neither.
    """
    if isinstance(gate, EdgeGate | PwmGate | SampledGate):
        return gate
    if isinstance(gate, list | tuple):
        return gate_edges(gate)
    raise PartError("simulate.gate", "a gate pattern", repr(gate)[:80], "Write pwm(0.4, '2 kHz') or always_on().")


def _positive(value: Given, unit: str, where: str) -> float:
    return single(value, unit, where, least=0.0, least_allowed=False)


def intervals(gate: EdgeGate | PwmGate, duration: float) -> Iterator[Block]:
    """Blocks of intervals from 0 to *duration* [s]."""
    if isinstance(gate, PwmGate):
        yield from _periods(gate, duration)
        return
    ends = [time for time in gate.times if 0.0 < time < duration]
    before_first = [] if gate.times[0] == 0.0 else [0]
    levels = [*before_first, *gate.closed][: len(ends) + 1]
    yield np.array([*ends, duration]), np.array(levels, dtype=np.int64)


def _periods(gate: PwmGate, duration: float) -> Iterator[Block]:
    periods = math.ceil(duration * gate.frequency * (1.0 - 1e-15))
    for first in range(0, periods, _PERIODS):
        number = np.arange(first, min(first + _PERIODS, periods))
        along = np.clip(number / (gate.frequency * gate.ramp), 0.0, 1.0) if gate.ramp > 0.0 else np.ones(len(number))
        duty = gate.duty + (gate.end_duty - gate.duty) * along
        ends = np.column_stack((number + duty, number + 1.0)) / gate.frequency
        yield np.minimum(ends, duration).ravel(), np.tile(_ON_OFF, len(number))
