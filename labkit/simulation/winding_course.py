"""How a motor's winding climbs with time, held or running."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from labkit._kernels.heat import course, share_of_cold_power
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Motor
from labkit.parts._fields import expect
from labkit.simulation._crossing import (
    Amperes,
    Celsius,
    Given,
    Ohms,
    Seconds,
    Watts,
    argument,
    expect_one,
    single,
    wrap,
)
from labkit.simulation._warmth import COPPER_25, ROOM
from labkit.simulation.winding import thermal_body
from labkit.units import magnitude

__all__ = ["WindingCourse", "winding_warming"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class WindingCourse:
    """A winding that warms; every field has the shape of the times."""

    time: Seconds
    winding: Celsius
    housing: Celsius
    #: Of the warm winding.
    resistance: Ohms
    current: Amperes
    #: Heat in the winding.
    power: Watts


def winding_warming(
    motor: Motor,
    time: Given,
    *,
    current: Given | None = None,
    voltage: Given | None = None,
    source_resistance: Given = "0 ohm",
    ambient: Given = "25 degC",
) -> WindingCourse:
    """Temperature of a winding and its housing at times after a cold start, and what the winding draws then.

    Parameters
    ----------
    motor : Motor
        Its thermal resistances and time constants must be known.
    time : Quantity [s], scalar or shape (n,)
        Rising.
    current : Quantity [A]
        Root mean square, steady: of a running motor, whose load sets it. Give this, or
    voltage : Quantity [V]
        of a source, with nothing connected, on which the motor is held: the current then falls as the winding warms.
    source_resistance : Quantity [ohm]
        Of that source, leads and all.
    ambient : Quantity [degC]
        Where winding and housing start.

    Returns
    -------
    WindingCourse

    Raises
    ------
    PartError
        Names the argument or the unknown value, and what to do.
    NoSolutionError
        Where a runaway has left the range of what can be computed with.

    Notes
    -----
    Two bodies as in ``time_to_winding_limit``, integrated to a relative 1e-8; copper's resistance rises with
    temperature. All of R counts as copper, which brushes are not, and their drop takes its part of the voltage.
    In thermal runaway the temperature grows without end, which stops being true where the insulation fails.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> from labkit.units import Q_
    >>> motor, times = desk_wind_tunnel().motor, Q_([0, 3, 60], "s")
    >>> held = winding_warming(motor, times, voltage="6 V", source_resistance="0.6 ohm")
    >>> print(held.winding.round(0), "|", held.current.round(2))
    [25.0 46.0 107.0] degree_Celsius | [1.76 1.65 1.4] ampere
    """
    expect(motor, Motor, "winding_warming.motor")
    expect_one(current, voltage, ("current", "voltage"))
    given = argument(time, "s", "time", least=0.0)
    times = np.atleast_1d(given)
    if times.ndim > 1 or np.any(np.diff(times) <= 0.0):
        raise PartError("time", "a row of rising instants", str(time)[:80], "Sort them.")
    cold = float(magnitude(motor.resistance, "ohm"))
    if current is not None:
        first, ratio = single(current, "A", "current"), np.inf
    else:
        assert voltage is not None  # noqa: S101 (for the type checker)
        source = single(source_resistance, "ohm", "source_resistance", least=0.0)
        drop = float(magnitude(motor.brush_drop, "V"))
        spare = max(single(voltage, "V", "voltage", least=0.0) - drop, 0.0)
        first, ratio = spare / (cold + source), source / cold
    heating = first**2 * cold
    rises = course(thermal_body(motor, ambient), heating, ratio, times)
    lost = np.isnan(rises).any(axis=0)
    if lost.any():
        raise NoSolutionError(
            f"Thermal runaway: by {times[lost][0]:g} s the winding's temperature is beyond all numbers. "
            "Ask for earlier times, or give less current."
        )
    factor = 1.0 + COPPER_25 * rises[0]
    power = heating * np.array([share_of_cold_power(one, ratio) for one in factor])
    floats = {
        "time": times,
        "winding": ROOM + rises[0],
        "housing": ROOM + rises[1],
        "resistance": cold * factor,
        "current": np.sqrt(power / (cold * factor)),
        "power": power,
    }
    return wrap(WindingCourse, {name: np.reshape(value, np.shape(given)) for name, value in floats.items()})
