"""Heat flow by thermal resistances, where the power is known: heat sinks, limits, duty cycles."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from labkit._kernels.heat import duty_cycle_rises
from labkit.errors import NoSolutionError, PartError
from labkit.simulation._crossing import Celsius, Given, argument, plain, single, wrap
from labkit.units import Quantity, from_si

__all__ = ["CycleHeat", "duty_cycle_temperature", "heat_sink_resistance", "max_dissipation", "steady_temperature"]


def steady_temperature(power: Given, *thermal_resistances: Given, ambient: Given = "25 degC") -> Quantity:
    """Temperature of what gives off a power through thermal resistances in a row.

    Parameters
    ----------
    power : Quantity [W], any shape
    *thermal_resistances : Quantity [K/W]
        One after the other, such as junction to case, case to sink, sink to air.
    ambient : Quantity [degC]

    Returns
    -------
    Quantity [degC]

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Examples
    --------
    >>> print(steady_temperature("2.78 W", "62 K/W", ambient="50 degC").round(0))
    222.0 degree_Celsius
    """
    rise = argument(power, "W", "power", least=0.0) * _in_row(thermal_resistances)
    return from_si(plain(argument(ambient, "degC", "ambient", least=-273.15) + rise), "degC")


def _in_row(thermal_resistances: Sequence[Given]) -> float:
    if not thermal_resistances:
        raise PartError("thermal_resistances", "at least one", "none", "Give '62 K/W', for example.")
    return sum(single(each, "kelvin/W", "thermal_resistances", least=0.0) for each in thermal_resistances)


def max_dissipation(max_temperature: Given, *thermal_resistances: Given, ambient: Given = "25 degC") -> Quantity:
    """Largest power that keeps a junction or a winding at or below its limit.

    Parameters
    ----------
    max_temperature, ambient : Quantity [degC]
    *thermal_resistances : Quantity [K/W]
        One after the other.

    Returns
    -------
    Quantity [W]

    Raises
    ------
    PartError
        Names the argument, its value and what to do.
    NoSolutionError
        When it is hotter around than the limit.

    Examples
    --------
    >>> print(max_dissipation("150 degC", "1.75 K/W", "50 K/W", ambient="30 degC").round(2))
    2.32 watt
    """
    spare = argument(max_temperature, "degC", "max_temperature") - argument(ambient, "degC", "ambient")
    if np.any(spare < 0.0):
        raise NoSolutionError("It is hotter around the part than the part may be. Find it a cooler place.")
    way = _in_row(thermal_resistances)
    if way == 0.0:
        raise PartError("thermal_resistances", "more than zero together", "0 K/W", "Give junction to ambient.")
    return from_si(plain(spare / way), "W")


def heat_sink_resistance(
    power: Given, *inner_resistances: Given, max_temperature: Given = "150 degC", ambient: Given = "25 degC"
) -> Quantity:
    """Largest thermal resistance that a heat sink may have.

    Parameters
    ----------
    power : Quantity [W]
    *inner_resistances : Quantity [K/W]
        From the junction to the sink, such as junction to case and case to sink.
    max_temperature, ambient : Quantity [degC]

    Returns
    -------
    Quantity [K/W]

    Raises
    ------
    NoSolutionError
        When no heat sink is good enough.

    Examples
    --------
    >>> print(heat_sink_resistance("5 W", "3 K/W", "1 K/W", ambient="50 degC").round(1))
    16.0 kelvin / watt
    """
    watts = single(power, "W", "power", least=0.0, least_allowed=False)
    spare = single(max_temperature, "degC", "max_temperature") - single(ambient, "degC", "ambient")
    room = spare / watts - (_in_row(inner_resistances) if inner_resistances else 0.0)
    if room <= 0.0:
        raise NoSolutionError("No heat sink is good enough: the way to it alone takes more. Lower the power.")
    return from_si(room, "kelvin/W")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class CycleHeat:
    """A body under two powers in turn, once that has become periodic."""

    #: At the end of the first power's time.
    after_first: Celsius
    #: At the end of the second power's time.
    after_second: Celsius


def duty_cycle_temperature(
    stages: Sequence[tuple[Given, Given]],
    *,
    power: Given,
    on_time: Given,
    off_time: Given,
    resting_power: Given = "0 W",
    ambient: Given = "25 degC",
) -> CycleHeat:
    """Highest and lowest temperature under a power that comes and goes.

    Parameters
    ----------
    stages : pairs of (thermal resistance [K/W], time constant [s])
        The Foster chain that a data sheet's transient curve is given as; one pair for a single body.
    power, resting_power : Quantity [W], any shape
        During the on time, and during the off time.
    on_time, off_time : Quantity [s]
    ambient : Quantity [degC]

    Returns
    -------
    CycleHeat

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    Each stage relaxes exponentially towards its own R·P; the periodic state is exact. The temperature is highest and
    lowest at the two changes.

    Examples
    --------
    >>> turn = duty_cycle_temperature([("62 K/W", "60 s")], power="3 W", on_time="10 s", off_time="50 s")
    >>> print(turn.after_first.round(1), turn.after_second.round(1))
    70.2 degree_Celsius 44.6 degree_Celsius
    """
    ohms, seconds = [], []
    for each in stages if isinstance(stages, Sequence) else [stages]:
        if not isinstance(each, (tuple, list)) or len(each) != 2:
            raise PartError(
                "stages", "pairs of thermal resistance and time constant", each, "Write [('62 K/W', '60 s')]."
            )
        ohms.append(argument(each[0], "kelvin/W", "stages: thermal resistance", least=0.0))
        seconds.append(argument(each[1], "s", "stages: time constant", least=0.0, least_allowed=False))
    if not ohms:
        raise PartError("stages", "at least one", "none", "Write [('62 K/W', '60 s')].")
    powers = [argument(p, "W", n) for n, p in (("power", power), ("resting_power", resting_power))]
    times = [argument(t, "s", n, least=0.0) for n, t in (("on_time", on_time), ("off_time", off_time))]
    if np.any(times[0] + times[1] == 0.0):
        raise PartError("on_time, off_time", "more than zero together", "0 s", "Say how long each power lasts.")
    deep = max(np.ndim(each) for each in (*powers, *times))
    columns = [np.array(each, dtype=np.float64).reshape(-1, *[1] * deep) for each in (ohms, seconds)]
    first, second = duty_cycle_rises(columns[0], columns[1], (powers[0], powers[1]), (times[0], times[1]))
    around = argument(ambient, "degC", "ambient", least=-273.15)
    return wrap(CycleHeat, {"after_first": around + first, "after_second": around + second})
