"""Current in a resistance and an inductance after a change."""

from __future__ import annotations

import numpy as np

from labkit._kernels.exponentials import stretch
from labkit.errors import NoSolutionError
from labkit.simulation._crossing import Given, argument, plain
from labkit.units import Quantity, from_si

__all__ = ["current_after", "kick_voltage", "time_to_current"]


def current_after(
    time: Given, *, voltage: Given, resistance: Given, inductance: Given, start: Given = "0 A"
) -> Quantity:
    """Current in a winding a while after a steady voltage has come to it.

    Parameters
    ----------
    time : Quantity [s], any shape
    voltage : Quantity [V]
        What drives the current: the supply's less the EMF; zero for a winding that is shorted.
    resistance, inductance : Quantity [ohm], [H]
    start : Quantity [A]

    Returns
    -------
    Quantity [A]

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    i(t) = V/R + (I₀ - V/R)·e^(-R·t/L), without loss of figures however long or short the time.

    Examples
    --------
    >>> print(current_after("5 ms", voltage="0 V", resistance="3 ohm", inductance="7.5 mH", start="10 A").round(2))
    1.35 ampere
    """
    seconds = argument(time, "s", "time", least=0.0)
    ohms = argument(resistance, "ohm", "resistance", least=0.0)
    henries = argument(inductance, "H", "inductance", least=0.0, least_allowed=False)
    drive = argument(voltage, "V", "voltage") * seconds / henries
    return from_si(plain(stretch(argument(start, "A", "start"), drive, ohms * seconds / henries).end), "A")


def time_to_current(
    current: Given, *, voltage: Given, resistance: Given, inductance: Given, start: Given = "0 A"
) -> Quantity:
    """Time until the current in a winding has come to a value.

    Parameters
    ----------
    current : Quantity [A], any shape
    voltage, resistance, inductance, start : Quantity [V], [ohm], [H], [A]
        As in ``current_after``.

    Returns
    -------
    Quantity [s]

    Raises
    ------
    PartError
        Names the argument, its value and what to do.
    NoSolutionError
        When the current never comes to it.

    Notes
    -----
    t = L/R·ln((V/R - I₀)/(V/R - I)), without loss of figures down to no resistance, where it is L·(I - I₀)/V.

    Examples
    --------
    >>> print(time_to_current("1.5 A", voltage="60 V", resistance="20 ohm", inductance="0.1 H").to("ms").round(2))
    3.47 millisecond
    """
    ohms = argument(resistance, "ohm", "resistance", least=0.0)
    henries = argument(inductance, "H", "inductance", least=0.0, least_allowed=False)
    begin, wanted = argument(start, "A", "start"), argument(current, "A", "current")
    volts = argument(voltage, "V", "voltage")
    with np.errstate(divide="ignore", invalid="ignore"):
        per_volt = np.where(begin == wanted, 0.0, (wanted - begin) / (volts - ohms * wanted))
    if not np.all((per_volt >= 0.0) & np.isfinite(per_volt)):
        with np.errstate(divide="ignore", invalid="ignore"):
            end = np.where((volts == 0.0) & (ohms == 0.0), begin, volts / ohms)
        msg = f"The current runs from {np.min(begin):.3g} A towards {np.max(end):.3g} A and never comes there."
        raise NoSolutionError(msg)
    grown = ohms * per_volt
    safe = np.where(grown > 0.0, grown, 1.0)
    return from_si(plain(henries * per_volt * np.where(grown > 0.0, np.log1p(safe) / safe, 1.0)), "s")


def kick_voltage(*, inductance: Given, current_change: Given, time: Given) -> Quantity:
    """Voltage across an inductance whose current changes evenly: L·ΔI/Δt.

    Parameters
    ----------
    inductance : Quantity [H], any shape
    current_change : Quantity [A]
        Its size.
    time : Quantity [s]

    Returns
    -------
    Quantity [V]
        Its size; its sign is the one that keeps the current as it was.

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Examples
    --------
    >>> print(kick_voltage(inductance="10 uH", current_change="4.5 A", time="300 ns").round(6))
    150.0 volt
    """
    henries = argument(inductance, "H", "inductance", least=0.0)
    seconds = argument(time, "s", "time", least=0.0, least_allowed=False)
    return from_si(plain(henries * argument(current_change, "A", "current_change") / seconds), "V")
