"""How fast a motor follows its voltage."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

import numpy as np
from scipy.optimize import brentq

from labkit.parts import Load, Motor
from labkit.parts._fields import expect
from labkit.simulation._crossing import Seconds, wrap
from labkit.simulation._loop import needed
from labkit.units import Quantity, magnitude

__all__ = ["SpeedResponse", "speed_response"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class SpeedResponse:
    """The speed's answer to a step of voltage, where friction that does not grow with speed is left out."""

    #: Settled speed over voltage.
    gain: Annotated[Quantity, "rad/s/V"]
    #: Real part of the two natural modes, s = -rate; equal where they swing.
    slow_rate: Annotated[Quantity, "1/s"]
    fast_rate: Annotated[Quantity, "1/s"]
    #: Of the swing; zero where the speed does not swing.
    swing: Annotated[Quantity, "rad/s"]
    #: J·R/k², the winding's inductance and viscous friction left out.
    mechanical_time_constant: Seconds
    #: L/R.
    electrical_time_constant: Seconds
    #: Until the speed stays within 2 % of its end.
    settling_time: Seconds


def speed_response(motor: Motor, load: Load | None = None) -> SpeedResponse:
    """Modes and settling time of a motor's speed after a step of voltage.

    Parameters
    ----------
    motor : Motor
        Its inductance and inertia must be known.
    load : Load, optional
        Its inertia and viscous friction count; a fan, a weight and constant friction do not change the modes near rest.

    Returns
    -------
    SpeedResponse

    Raises
    ------
    PartError
        Names a value that is not known.

    Notes
    -----
    ω(s)/V(s) = k/((L·s + R)(J·s + B) + k²): two modes.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> fan = desk_wind_tunnel()
    >>> print(speed_response(fan.motor, fan.load).mechanical_time_constant.to("ms").round(0))
    355.0 millisecond
    """
    expect(motor, Motor, "speed_response.motor")
    resistance, k = float(magnitude(motor.resistance, "ohm")), float(magnitude(motor.emf_constant, "V*s/rad"))
    inductance = needed(motor, "inductance", "H", "where time matters")
    inertia = needed(motor, "inertia", "kg*m**2", "where time matters")
    viscous = float(magnitude(motor.viscous_friction, "N*m*s/rad"))
    if load is not None:
        expect(load, Load, "speed_response.load")
        inertia += float(magnitude(load.inertia, "kg*m**2"))
        viscous += float(magnitude(load.viscous, "N*m*s/rad"))
    product = (resistance * viscous + k**2) / (inductance * inertia)
    half = 0.5 * (resistance / inductance + viscous / inertia)
    apart = half**2 - product
    fast = half + np.sqrt(max(apart, 0.0))
    swing = np.sqrt(max(-apart, 0.0))
    slow = product / fast if apart > 0.0 else half
    floats = {
        "gain": k / (resistance * viscous + k**2),
        "slow_rate": slow,
        "fast_rate": fast,
        "swing": swing,
        "mechanical_time_constant": inertia * resistance / k**2,
        "electrical_time_constant": inductance / resistance,
        "settling_time": _settling_time(slow, fast, swing),
    }
    return wrap(SpeedResponse, {name: np.asarray(value, dtype=np.float64) for name, value in floats.items()})


def _settling_time(slow: float, fast: float, swing: float, within: float = 0.02) -> float:
    """Time [s] from which on the step response of two modes [1/s] stays within a part of its end."""
    if swing > 0.0:  # the last time that it leaves the band, looked for from the envelope's end backwards
        sure = np.log(np.hypot(1.0, slow / swing) / within) / slow
        times = np.linspace(sure, 0.0, 40_001)
        off = np.exp(-slow * times) * (np.cos(swing * times) + slow / swing * np.sin(swing * times))
        last = int(np.argmax(np.abs(off) > within))
        return float(times[last])

    def left(time: float) -> float:
        if fast - slow < 1e-9 * fast:
            return float((1.0 + slow * time) * np.exp(-slow * time) - within)
        return float((fast * np.exp(-slow * time) - slow * np.exp(-fast * time)) / (fast - slow) - within)

    return float(brentq(left, 0.0, 30.0 / slow, xtol=1e-13 / slow, rtol=1e-13))
