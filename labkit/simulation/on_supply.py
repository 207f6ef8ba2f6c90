"""Where a motor settles on a source that sags."""

from __future__ import annotations

import dataclasses
from typing import NamedTuple

from labkit.parts import Motor, Supply
from labkit.parts._fields import expect
from labkit.simulation._loop import Loads
from labkit.simulation.steady import OperatingPoint, operating_point
from labkit.units import Quantity

__all__ = ["OnSupply", "motor_on_supply"]


class OnSupply(NamedTuple):
    """A motor that settled on a source; every quantity has the shape of the loads."""

    point: OperatingPoint
    #: At the motor's terminals, which are the source's.
    voltage: Quantity


def motor_on_supply(supply: Supply, motor: Motor, load: Loads | None = None) -> OnSupply:
    """Steady state of a motor straight on a source with a resistance of its own, starting from rest.

    Parameters
    ----------
    supply : Supply
    motor : Motor
    load : Load or nested sequence of Load, optional
        Nothing on the shaft where not given.

    Returns
    -------
    OnSupply

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    The current is that of a motor whose winding has the source's resistance in it as well, on the source's own voltage;
    powers and efficiency are then counted at the real terminals. A load that drives the motor beyond the source's
    voltage charges the source. A current limit of the source is not applied.

    Examples
    --------
    >>> from labkit.parts import desk_wind_tunnel
    >>> tunnel = desk_wind_tunnel()
    >>> running = motor_on_supply(tunnel.supply, tunnel.motor, tunnel.load)
    >>> print(running.voltage.round(2), "|", running.point.speed.to("rpm").round(0))
    5.79 volt | 8528.0 revolutions_per_minute
    """
    expect(supply, Supply, "motor_on_supply.supply")
    expect(motor, Motor, "motor_on_supply.motor")
    behind = dataclasses.replace(motor, resistance=motor.resistance + supply.internal_resistance)
    voltage = supply.voltage - supply.internal_resistance * operating_point(behind, supply.voltage, load).current
    return OnSupply(operating_point(motor, voltage, load), voltage)
