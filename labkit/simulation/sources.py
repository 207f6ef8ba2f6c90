"""Batteries and other sources under load."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Supply
from labkit.parts._fields import expect
from labkit.simulation._crossing import Amperes, Given, Ohms, Volts, Watts, argument, expect_one, plain, wrap
from labkit.units import Quantity, from_si, magnitude

__all__ = ["LoadedSupply", "battery", "internal_resistance", "loaded_supply"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class LoadedSupply:
    """A source under a steady load; every field has the shape of the load."""

    current: Amperes
    #: At the source's terminals.
    voltage: Volts
    #: What the load looks like.
    load_resistance: Ohms
    load_power: Watts
    #: Inside the source.
    internal_loss: Watts
    #: What the source gives at most, into a short.
    short_circuit_current: Amperes


def loaded_supply(supply: Supply, *, load: Given | None = None, current: Given | None = None) -> LoadedSupply:
    """Terminal voltage, current and power of a source under a steady load.

    Parameters
    ----------
    supply : Supply
    load : Quantity [ohm], any shape
        A resistance, zero for a short circuit. Give this, or
    current : Quantity [A], any shape
        what the load draws.

    Returns
    -------
    LoadedSupply

    Raises
    ------
    PartError
        Names the argument, its value and what to do.
    NoSolutionError
        The source cannot give that current, even into a short circuit.

    Notes
    -----
    V = V_oc - r·I with a constant inner resistance; the current limit of an electronic source is not applied.

    Examples
    --------
    >>> four_cells = Supply(voltage="6 V", internal_resistance="0.6 ohm")
    >>> print(loaded_supply(four_cells, load="2.8 ohm").voltage.round(2))
    4.94 volt
    """
    expect(supply, Supply, "loaded_supply.supply")
    volts = float(magnitude(supply.voltage, "V"))
    inner = float(magnitude(supply.internal_resistance, "ohm"))
    most = volts / inner if inner else np.inf
    expect_one(load, current, ("load", "current"))
    if load is not None:
        ohms = argument(load, "ohm", "load", least=0.0)
        if inner == 0.0 and np.any(ohms == 0.0):
            raise NoSolutionError(
                "A source without inner resistance has no short-circuit current. Give its resistance."
            )
        amps = volts / (inner + ohms)
    else:
        assert current is not None  # noqa: S101 (for the type checker)
        amps = argument(current, "A", "current", least=0.0)
        if np.any(amps > most):
            msg = (
                f"The source cannot give {float(np.max(amps)):.3g} A: even a short circuit draws only {most:.3g} A, "
                "its voltage over its inner resistance. Take cells in parallel, or a source with less resistance."
            )
            raise NoSolutionError(msg)
        with np.errstate(divide="ignore"):
            ohms = volts / amps - inner
    floats = {
        "current": amps,
        "voltage": volts - inner * amps,
        "load_resistance": ohms,
        "load_power": (volts - inner * amps) * amps,
        "internal_loss": inner * amps**2,
        "short_circuit_current": np.asarray(most),
    }
    return wrap(LoadedSupply, {name: np.broadcast_to(value, np.shape(amps)) for name, value in floats.items()})


def battery(cell: Supply, *, series: int = 1, parallel: int = 1) -> Supply:
    """Return the source that equal cells make, in series and in parallel.

    Parameters
    ----------
    cell : Supply
    series, parallel : int
        Cells in a string, and strings side by side.

    Returns
    -------
    Supply

    Raises
    ------
    PartError
        When a count is not a whole number from 1.

    Notes
    -----
    Voltage times the cells in series; resistance times series over parallel. Never join unequal cells in parallel:
    the stronger one drives current into the weaker.

    Examples
    --------
    >>> print(battery(Supply(voltage="1.5 V", internal_resistance="0.15 ohm"), series=4).internal_resistance)
    0.6 ohm
    """
    expect(cell, Supply, "battery.cell")
    for name, count in (("series", series), ("parallel", parallel)):
        if not isinstance(count, (int, np.integer)) or isinstance(count, bool) or count < 1:
            raise PartError(name, "a whole number, 1 or more", repr(count), "Count the cells.")
    limit = cell.current_limit
    return dataclasses.replace(
        cell,
        voltage=cell.voltage * series,
        internal_resistance=cell.internal_resistance * series / parallel,
        current_limit=None if limit is None else limit * parallel,
    )


def internal_resistance(voltage_drop: Given, current_rise: Given) -> Quantity:
    """Inner resistance from two readings: how much the terminal voltage falls when the current rises.

    Parameters
    ----------
    voltage_drop : Quantity [V], any shape
    current_rise : Quantity [A], any shape

    Returns
    -------
    Quantity [ohm]

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Examples
    --------
    >>> print(internal_resistance("0.3 V", "0.5 A"))
    0.6 ohm
    """
    drop = argument(voltage_drop, "V", "voltage_drop", least=0.0, remedy="Are the two readings swapped?")
    rise = argument(current_rise, "A", "current_rise", least=0.0, least_allowed=False)
    return from_si(plain(drop / rise), "ohm")
