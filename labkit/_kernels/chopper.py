"""Periodic current of a switched R-L-EMF loop, exact, for arrays of any shape that broadcast.

While the switch is closed the loop is driven by one voltage through one resistance, while it is open by another;
the current never changes sign. Both directions of flow are this one problem::

    forward   closed: V - E - drops          open: -(E + diode drop)      through the freewheel diode
    backward  closed: E - V                  open: E - V - body diode     through the switch, into the supply
    clamped   closed: V - E - drops          open: V - E - breakdown      no freewheel diode: the switch breaks down
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.exponentials import Floats, Stretch, mean_decay, stretch

__all__ = ["Chopped", "ChopperSI", "Conduction", "chopper", "mean_current", "two_level"]


class Conduction(NamedTuple):
    """A periodic current that keeps its sign, as sizes [A, A², s, 1], any shape."""

    continuous: NDArray[np.bool_]
    peak: Floats
    minimum: Floats
    ripple: Floats
    extinction_time: Floats
    conducting: Floats
    #: The share of the period in each of two stretches, and how the current runs there.
    duty: Floats
    closed: Stretch
    share: Floats
    opened: Stretch

    @property
    def closed_mean(self) -> Floats:
        """What the closed switch's time adds to the mean [A]."""
        return self.duty * self.closed.mean

    @property
    def closed_square(self) -> Floats:
        """What it adds to the mean square [A²]."""
        return self.duty * self.closed.mean_square

    @property
    def open_mean(self) -> Floats:
        """What the open switch's time adds to the mean [A]."""
        return self.share * self.opened.mean

    @property
    def open_square(self) -> Floats:
        """What it adds to the mean square [A²]."""
        return self.share * self.opened.mean_square


def two_level(
    *,
    closed_drive: Floats,
    open_drive: Floats,
    closed_resistance: Floats,
    open_resistance: Floats,
    inductance: Floats,
    frequency: Floats,
    duty: Floats,
) -> Conduction:
    """Periodic current [A] under two driving voltages [V] in turn, each through its resistance [ohm]; closed ≥ open.

    Means are over the whole period. The extinction time [s] counts from the opening; infinite where the current stays.
    """
    closed_time, open_time = duty / frequency, (1.0 - duty) / frequency
    closed_drive = np.maximum(closed_drive, 0.0)
    x_closed, x_open = closed_resistance * closed_time / inductance, open_resistance * open_time / inductance
    closed_rise = closed_drive * closed_time / inductance * mean_decay(x_closed)
    open_rise = open_drive * open_time / inductance * mean_decay(x_open)

    whole = -np.expm1(-(x_closed + x_open))
    lowest = (open_rise + closed_rise * np.exp(-x_open)) / whole
    swing = (closed_rise * -np.expm1(-x_open) - open_rise * -np.expm1(-x_closed)) / whole
    continuous = lowest > 0.0
    start = np.where(continuous, lowest, 0.0)
    peak = np.where(continuous, lowest + swing, closed_rise)

    falling = np.where(open_drive < 0.0, -open_drive, 1.0)
    time_to_zero = inductance / open_resistance * np.log1p(peak * open_resistance / falling)
    flowing = np.where(continuous | (open_drive >= 0.0), open_time, np.minimum(time_to_zero, open_time))

    closed = stretch(start, closed_drive * closed_time / inductance, x_closed)
    opened = stretch(peak, open_drive * flowing / inductance, open_resistance * flowing / inductance)
    share = flowing * frequency
    return Conduction(
        continuous=continuous,
        peak=peak,
        minimum=start,
        ripple=np.where(continuous, swing, closed_rise),
        extinction_time=np.where(continuous, np.inf, time_to_zero),
        duty=duty,
        closed=closed,
        share=share,
        opened=opened,
        conducting=np.where(peak > 0.0, duty * (closed_drive > 0.0) + share, 0.0),
    )


class ChopperSI(NamedTuple):
    """A motor between a supply and a low-side switch, with its freewheel path [V, ohm, H], floats or arrays.

    ``body_diode_drop`` is NaN for a switch that passes no backward current;
    ``breakdown_voltage`` is NaN where a freewheel diode carries the current, else what the switch clamps at.
    """

    supply_voltage: Floats
    resistance: Floats
    inductance: Floats
    brush_drop: Floats
    switch_resistance: Floats
    switch_drop: Floats
    diode_drop: Floats
    diode_resistance: Floats
    source_resistance: Floats
    body_diode_drop: Floats
    breakdown_voltage: Floats


class Chopped(NamedTuple):
    """Periodic state of the loop, signed: backward current is negative [A, A², V, s, W], any shape."""

    continuous: NDArray[np.bool_]
    backward: NDArray[np.bool_]
    mean_current: Floats
    mean_square: Floats
    peak_current: Floats
    minimum_current: Floats
    ripple: Floats
    extinction_time: Floats
    mean_voltage: Floats
    supply_current: Floats
    switch_square: Floats
    switch_ripple: Floats
    diode_current: Floats
    diode_square: Floats
    diode_ripple: Floats
    switch_loss: Floats
    diode_loss: Floats
    winding_loss: Floats
    brush_loss: Floats
    source_loss: Floats


class _Way(NamedTuple):
    """Which way the current goes, back into the supply or through a breakdown, and its flow, as sizes."""

    backward: NDArray[np.bool_]
    clamped: NDArray[np.bool_]
    flow: Conduction


def _way(loop: ChopperSI, emf: Floats, frequency: Floats, duty: Floats) -> _Way:
    against = emf + loop.brush_drop
    surplus = emf - loop.supply_voltage - loop.brush_drop
    backward = (surplus > 0.0) & ~np.isnan(loop.body_diode_drop)
    clamped = ~np.isnan(loop.breakdown_voltage) & ~backward
    body_drop, breakdown = np.nan_to_num(loop.body_diode_drop), np.nan_to_num(loop.breakdown_voltage)
    wheel_drop = np.where(clamped, breakdown - loop.supply_voltage, loop.diode_drop)
    flow = two_level(
        closed_drive=np.where(backward, surplus, loop.supply_voltage - loop.switch_drop - against),
        open_drive=np.where(backward, surplus - body_drop, -(against + wheel_drop)),
        closed_resistance=loop.resistance + loop.switch_resistance + loop.source_resistance,
        open_resistance=loop.resistance + np.where(backward | clamped, loop.source_resistance, loop.diode_resistance),
        inductance=loop.inductance,
        frequency=frequency,
        duty=duty,
    )
    return _Way(backward, clamped, flow)


def mean_current(loop: ChopperSI, emf: Floats, frequency: Floats, duty: Floats) -> Floats:
    """Mean current [A] of `chopper` alone, for whoever seeks the speed."""
    backward, _, flow = _way(loop, emf, frequency, duty)
    return np.where(backward, -1.0, 1.0) * (flow.closed_mean + flow.open_mean)


def chopper(loop: ChopperSI, emf: Floats, frequency: Floats, duty: Floats) -> Chopped:
    """Periodic state of *loop* at an EMF [V], a frequency [Hz] and a duty [1]; everything broadcasts."""
    backward, clamped, flow = _way(loop, emf, frequency, duty)
    through_supply = backward | clamped
    body_drop, breakdown = np.nan_to_num(loop.body_diode_drop), np.nan_to_num(loop.breakdown_voltage)
    sign = np.where(backward, -1.0, 1.0)
    closed_mean, closed_square = flow.closed_mean, flow.closed_square
    open_mean, open_square = flow.open_mean, flow.open_square
    size, square = closed_mean + open_mean, closed_square + open_square
    fed = closed_mean + np.where(through_supply, open_mean, 0.0)
    fed_square = closed_square + np.where(through_supply, open_square, 0.0)
    wheel, wheel_square = (np.where(through_supply, 0.0, part) for part in (open_mean, open_square))
    divided = ~through_supply & (duty > 0.0) & (duty < 1.0)  # between switch and diode, each of which begins at zero
    closed_drop = np.where(backward, 0.0, loop.switch_drop)
    open_drop = np.where(backward, body_drop, np.where(clamped, breakdown, 0.0))
    return Chopped(
        continuous=flow.continuous,
        backward=backward,
        mean_current=sign * size,
        mean_square=square,
        peak_current=sign * flow.peak,
        minimum_current=sign * flow.minimum,
        ripple=flow.ripple,
        extinction_time=flow.extinction_time,
        mean_voltage=emf + sign * (loop.resistance * size + loop.brush_drop * flow.conducting),
        supply_current=sign * fed,
        switch_square=fed_square,
        switch_ripple=np.where(divided, flow.peak, np.where(through_supply | (duty >= 1.0), flow.ripple, 0.0)),
        diode_current=wheel,
        diode_square=wheel_square,
        diode_ripple=np.where(divided, flow.peak, np.where(through_supply | (duty >= 1.0), 0.0, flow.ripple)),
        switch_loss=loop.switch_resistance * closed_square + closed_drop * closed_mean + open_drop * open_mean,
        diode_loss=loop.diode_drop * wheel + loop.diode_resistance * wheel_square,
        winding_loss=loop.resistance * square,
        brush_loss=loop.brush_drop * size,
        source_loss=loop.source_resistance * fed_square,
    )
