"""How hot a motor's winding gets, running or stalled, and how long it has."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.heat import (
    TwoBodySI,
    periodic_rises,
    runaway_current,
    time_to_rise,
    warm_rise,
    warm_rise_on_voltage,
)
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Motor
from labkit.parts._fields import expect
from labkit.simulation._crossing import Amperes, Celsius, Given, Ohms, Watts, argument, expect_one, single, wrap
from labkit.simulation._loop import needed
from labkit.simulation._warmth import COPPER_25, ROOM
from labkit.units import Q_, Quantity, from_si, magnitude

__all__ = [
    "THERMAL_CLASSES",
    "WindingState",
    "intermittent_winding_temperature",
    "time_to_winding_limit",
    "winding_temperature",
]

Floats = NDArray[np.float64]

#: Highest temperature that an insulation class stands, IEC 60085.
THERMAL_CLASSES = {
    name: Q_(limit, "degC") for name, limit in {"Y": 90, "A": 105, "E": 120, "B": 130, "F": 155, "H": 180}.items()
}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class WindingState:
    """A winding and its housing; every field has the shape of the arguments together."""

    winding: Celsius
    housing: Celsius
    #: Heat in the winding.
    power: Watts
    #: Of the warm winding.
    resistance: Ohms
    #: From which heating outruns cooling.
    runaway_current: Amperes


def winding_temperature(
    motor: Motor, *, current: Given | None = None, voltage: Given | None = None, ambient: Given = "25 degC"
) -> WindingState:
    """Winding and housing temperature after a long time, with copper's resistance rising as it warms.

    Parameters
    ----------
    motor : Motor
        Its two thermal resistances must be known.
    current : Quantity [A], any shape
        Root mean square. Give this, or
    voltage : Quantity [V], any shape
        at the terminals of a stalled motor: the current then falls as the winding warms.
    ambient : Quantity [degC], any shape

    Returns
    -------
    WindingState

    Raises
    ------
    PartError
        Names the argument or the unknown value, and what to do.
    NoSolutionError
        Thermal runaway at this current: says where it begins. On a voltage there is none.

    Notes
    -----
    Winding to housing to air; heat I²·R₂₅·(1 + α·(T - 25 °C)), α of standard copper (IEC 60028): both cases in closed
    form. All of R counts as copper, which brushes are not; their drop takes its part of the voltage, and makes its heat
    elsewhere. Friction and iron are not counted.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> stalled = winding_temperature(desk_wind_tunnel().motor, voltage="6 V")
    >>> print(stalled.winding.round(0), stalled.housing.round(0), stalled.resistance.round(2))
    252.0 degree_Celsius 197.0 degree_Celsius 5.24 ohm
    """
    expect(motor, Motor, "winding_temperature.motor")
    inner, outer = (needed(motor, name, "kelvin/W", "for a temperature") for name in _THERMAL)
    heating = _heating(motor, current, voltage)
    around = argument(ambient, "degC", "ambient", least=-200.0) - ROOM
    cold, path, growth = float(magnitude(motor.resistance, "ohm")), np.asarray(inner + outer), np.asarray(COPPER_25)
    begins = runaway_current(path, np.asarray(cold), growth)
    if voltage is None:
        rise = warm_rise(around, path, heating, growth, np.asarray(0.0))
        if np.any(np.isinf(rise)):
            raise NoSolutionError(_runaway(float(begins)))
        power = heating * (1.0 + growth * rise)
    else:
        rise = warm_rise_on_voltage(around, path, heating, growth)
        power = heating / (1.0 + growth * rise)
    floats = {
        "winding": ROOM + rise,
        "housing": ROOM + rise - inner * power,
        "power": power,
        "resistance": cold * (1.0 + growth * rise),
        "runaway_current": begins,
    }
    return wrap(WindingState, {name: np.broadcast_to(value, np.shape(rise)) for name, value in floats.items()})


_THERMAL = ("winding_to_housing", "housing_to_ambient")


def _runaway(begins: float) -> str:
    return (
        f"Thermal runaway: from {begins:.3g} A on, the winding's resistance grows faster than the heat leaves. "
        "Give less current, or cool the motor."
    )


def _heating(
    motor: Motor, current: Given | None, voltage: Given | None, *, read: Callable[..., Floats | float] = argument
) -> Floats:
    """Return the heat [W] that the winding would make at 25 °C; on a voltage, held and behind its brushes' drop."""
    cold = float(magnitude(motor.resistance, "ohm"))
    expect_one(current, voltage, ("current", "voltage"))
    if current is not None:
        return np.asarray(cold * read(current, "A", "current") ** 2)
    assert voltage is not None  # noqa: S101 (for the type checker)
    across = np.abs(read(voltage, "V", "voltage")) - float(magnitude(motor.brush_drop, "V"))
    return np.asarray(np.maximum(across, 0.0) ** 2 / cold)


def thermal_body(motor: Motor, ambient: Given) -> TwoBodySI:
    inner, outer = (needed(motor, name, "kelvin/W", "for a temperature") for name in _THERMAL)
    winding = needed(motor, "winding_time_constant", "s", "where heating takes time")
    housing = needed(motor, "housing_time_constant", "s", "where heating takes time")
    return TwoBodySI(
        inner_resistance=inner,
        outer_resistance=outer,
        winding_capacity=winding / inner,
        housing_capacity=housing / outer,
        growth=COPPER_25,
        ambient=single(ambient, "degC", "ambient", least=-200.0) - ROOM,
    )


def time_to_winding_limit(
    motor: Motor,
    *,
    current: Given | None = None,
    voltage: Given | None = None,
    limit: Given | None = None,
    ambient: Given = "25 degC",
) -> Quantity:
    """Time from cold until the winding reaches its limit, at a steady current or stalled on a steady voltage.

    Parameters
    ----------
    motor : Motor
        Its thermal resistances and time constants must be known.
    current, voltage : Quantity [A], [V]
        One of the two.
    limit : Quantity [degC], optional
        The motor's own, ``max_winding_temperature``; or such as ``THERMAL_CLASSES["B"]``.
    ambient : Quantity [degC]
        Where winding and housing start.

    Returns
    -------
    Quantity [s]
        Infinite where the limit is never reached.

    Raises
    ------
    PartError
        Names the argument or the unknown value, and what to do.

    Notes
    -----
    Two bodies whose time constants are those of a data sheet: τ_winding = R_winding·C_winding,
    τ_housing = R_housing·C_housing. At a steady current by one matrix exponential and a root; on a steady voltage by
    integration, to 1e-9.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> print(time_to_winding_limit(desk_wind_tunnel().motor, voltage="6 V").round(0))
    59.0 second
    """
    expect(motor, Motor, "time_to_winding_limit.motor")
    top = motor.max_winding_temperature if limit is None else limit
    if top is None:
        raise PartError(
            "Motor.max_winding_temperature", "known for this calculation", None, "Give it in degC, or a limit."
        )
    heating = float(_heating(motor, current, voltage, read=single))
    rise = single(top, "degC", "limit", least=-273.15) - ROOM
    return from_si(time_to_rise(thermal_body(motor, ambient), heating, rise, on_voltage=voltage is not None), "s")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class IntermittentWinding:
    """A winding that is heated and left alone in turn, once that has become periodic."""

    #: At the end of the heated time.
    highest: Celsius
    #: At the end of the unheated time.
    lowest: Celsius
    #: Of the housing, at the end of the heated time.
    housing: Celsius


def intermittent_winding_temperature(
    motor: Motor, *, current: Given, on_time: Given, off_time: Given, ambient: Given = "25 degC"
) -> IntermittentWinding:
    """Highest and lowest winding temperature of a motor that runs and rests in turn.

    Parameters
    ----------
    motor : Motor
        Its thermal resistances and time constants must be known.
    current : Quantity [A]
        Root mean square while on.
    on_time, off_time : Quantity [s]
    ambient : Quantity [degC]

    Returns
    -------
    IntermittentWinding

    Raises
    ------
    PartError
        Names the argument or the unknown value, and what to do.
    NoSolutionError
        Each turn leaves the winding hotter: thermal runaway.

    Notes
    -----
    The periodic state of the two-body network, copper's rising resistance included, by matrix exponentials.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> turn = intermittent_winding_temperature(desk_wind_tunnel().motor, current="1 A", on_time="5 s", off_time="15 s")
    >>> print(turn.highest.round(0), turn.lowest.round(0))
    57.0 degree_Celsius 46.0 degree_Celsius
    """
    expect(motor, Motor, "intermittent_winding_temperature.motor")
    body = thermal_body(motor, ambient)
    on, off = (single(t, "s", n, least=0.0) for n, t in (("on_time", on_time), ("off_time", off_time)))
    if on + off == 0.0:
        raise PartError("on_time, off_time", "more than zero together", "0 s", "Say how long it runs and rests.")
    rises = periodic_rises(body, float(_heating(motor, current, None, read=single)), on, off)
    if rises is None:
        raise NoSolutionError(
            "Thermal runaway: each turn leaves the winding hotter. Give less current, or longer rests."
        )
    hot, cool = rises
    floats = {"highest": ROOM + hot[0], "lowest": ROOM + cool[0], "housing": ROOM + hot[1]}
    return wrap(IntermittentWinding, floats)
