"""What a load looks like from the motor's side of a gear or a drum."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from labkit.simulation._crossing import Given, NewtonMetres, argument, wrap
from labkit.units import Quantity

__all__ = ["ReflectedLoad", "reflected_load", "reflected_mass"]

STANDARD_GRAVITY = 9.80665  # m/s²


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ReflectedLoad:
    """A load as the motor's shaft feels it; every field has the shape of the arguments together."""

    inertia: Annotated[Quantity, "kg*m**2"]
    torque: NewtonMetres


def reflected_load(inertia: Given, torque: Given, *, ratio: Given, efficiency: Given = 1.0) -> ReflectedLoad:
    """Inertia and torque of a geared load at the motor's shaft.

    Parameters
    ----------
    inertia, torque : Quantity [kg·m²], [N·m], any shape
        At the load's shaft.
    ratio : float [1]
        Speed of the load over speed of the motor: 0.1 for a reduction of ten.
    efficiency : float [1]
        Of the gear, while the motor drives.

    Returns
    -------
    ReflectedLoad

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    J·n² and T·n/η.

    Examples
    --------
    >>> wheel = reflected_load("2e-5 kg*m**2", "20 mN*m", ratio=0.1, efficiency=0.8)
    >>> print(wheel.torque)
    0.0025 meter * newton
    """
    turns = argument(ratio, "", "ratio", least=0.0, least_allowed=False)
    part = argument(efficiency, "", "efficiency", least=0.0, least_allowed=False, most=1.0)
    return wrap(
        ReflectedLoad,
        {
            "inertia": argument(inertia, "kg*m**2", "inertia", least=0.0) * turns**2,
            "torque": argument(torque, "N*m", "torque") * turns / part,
        },
    )


def reflected_mass(mass: Given, *, velocity: Given, speed: Given, efficiency: Given = 1.0) -> ReflectedLoad:
    """Inertia and torque, at the motor's shaft, of a mass that it lifts.

    Parameters
    ----------
    mass : Quantity [kg], any shape
    velocity : Quantity [m/s]
        Upwards.
    speed : Quantity [rad/s or rpm]
        Of the motor at that velocity.
    efficiency : float [1]
        Of what lies between, while the motor drives.

    Returns
    -------
    ReflectedLoad

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    m·(v/ω)² and m·g·(v/ω)/η, with standard gravity.

    Examples
    --------
    >>> print(reflected_mass("1 kg", velocity="0.1 m/s", speed="100 rad/s").inertia)
    1e-06 kilogram * meter ** 2
    """
    kilograms = argument(mass, "kg", "mass", least=0.0)
    travel = argument(velocity, "m/s", "velocity", least=0.0) / argument(
        speed, "rad/s", "speed", least=0.0, least_allowed=False
    )
    part = argument(efficiency, "", "efficiency", least=0.0, least_allowed=False, most=1.0)
    return wrap(
        ReflectedLoad,
        {"inertia": kilograms * travel**2, "torque": kilograms * STANDARD_GRAVITY * travel / part},
    )
