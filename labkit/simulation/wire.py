"""Copper wire: its gauge, its resistance, and what warmth does to it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from labkit.errors import NoSolutionError, PartError
from labkit.simulation._crossing import Given, argument, plain, single
from labkit.simulation._warmth import COPPER_20, resistance_factor
from labkit.units import Q_, Quantity, from_si

__all__ = [
    "COPPER_COEFFICIENT",
    "COPPER_RESISTIVITY",
    "awg_diameter",
    "resistance_at",
    "wire_area",
    "wire_resistance",
    "zero_resistance_temperature",
]

#: Standard annealed copper at 20 °C (IEC 60028): 1/58 Ω·mm²/m.
COPPER_RESISTIVITY = Q_(1.0 / 58.0, "ohm*mm**2/m")
#: Its rise of resistance per kelvin, of the value at 20 °C (IEC 60028). Handbooks print from 0.0039 to 0.0043.
COPPER_COEFFICIENT = Q_(COPPER_20, "1/kelvin")


def awg_diameter(gauge: int | str) -> Quantity:
    """Diameter of a solid wire of an American gauge.

    Parameters
    ----------
    gauge : int or str
        0 to 50, or ``"2/0"``, ``"3/0"``, ``"4/0"`` for the thick ones.

    Returns
    -------
    Quantity [m]

    Raises
    ------
    PartError
        When there is no such gauge.

    Notes
    -----
    ASTM B258: 0.127 mm·92^((36 - n)/39), with n = -1, -2, -3 for 2/0, 3/0, 4/0.

    Examples
    --------
    >>> print(awg_diameter(24).to("mm").round(3), awg_diameter("4/0").to("inch").round(3))
    0.511 millimeter 0.46 inch
    """
    thick = {"1/0": 0, "2/0": -1, "3/0": -2, "4/0": -3}
    text = str(gauge).strip()
    number = thick.get(text, int(text) if text.isdecimal() else None)
    if number is None or isinstance(gauge, bool) or number > 50:
        raise PartError("gauge", "0 to 50, or '2/0', '3/0', '4/0'", repr(gauge), "A diameter? Give it as diameter.")
    return from_si(0.127e-3 * 92.0 ** ((36 - number) / 39.0), "m")


def wire_resistance(
    length: Given,
    *,
    gauge: int | str | None = None,
    diameter: Given | None = None,
    area: Given | None = None,
    resistivity: Given = COPPER_RESISTIVITY,
    temperature: Given = "20 degC",
) -> Quantity:
    """Resistance of a wire, one way.

    Parameters
    ----------
    length : Quantity [m], any shape
        There and back is twice the distance.
    gauge, diameter, area : int or str, Quantity [m], Quantity [m²]
        One of the three.
    resistivity : Quantity [ohm·m]
        At 20 °C.
    temperature : Quantity [degC]

    Returns
    -------
    Quantity [ohm]

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    R = ρ·l/A, times 1 + α·(T - 20 °C) for copper; direct current.

    Examples
    --------
    >>> print(wire_resistance("2 m", gauge=24).to("ohm").round(3))
    0.168 ohm
    """
    across = _cross_section(gauge, diameter, area)
    rho = argument(resistivity, "ohm*m", "resistivity", least=0.0)
    cold = rho * argument(length, "m", "length", least=0.0) / across
    return from_si(plain(cold * _factor(argument(temperature, "degC", "temperature"), COPPER_20, 293.15)), "ohm")


def _cross_section(gauge: int | str | None, diameter: Given | None, area: Given | None) -> NDArray[np.float64]:
    if sum(each is not None for each in (gauge, diameter, area)) != 1:
        got = "none" if gauge is diameter is area is None else "several"
        raise PartError("gauge, diameter, area", "one of the three", got, "Give one of them.")
    if area is not None:
        return argument(area, "m**2", "area", least=0.0, least_allowed=False)
    across = awg_diameter(gauge) if gauge is not None else diameter
    assert across is not None  # noqa: S101 (for the type checker: one of the three is given)
    return np.asarray(np.pi / 4.0 * argument(across, "m", "diameter", least=0.0, least_allowed=False) ** 2)


def wire_area(resistance: Given, length: Given, *, resistivity: Given = COPPER_RESISTIVITY) -> Quantity:
    """Smallest cross-section that keeps a wire at or below a resistance, at 20 °C.

    Parameters
    ----------
    resistance : Quantity [ohm], any shape
    length : Quantity [m]
    resistivity : Quantity [ohm·m]

    Returns
    -------
    Quantity [m²]

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Examples
    --------
    >>> print(wire_area("50 mOhm", "2 m").to("mm**2").round(2))
    0.69 millimeter ** 2
    """
    ohms = argument(resistance, "ohm", "resistance", least=0.0, least_allowed=False)
    rho = argument(resistivity, "ohm*m", "resistivity", least=0.0)
    return from_si(plain(rho * argument(length, "m", "length", least=0.0) / ohms), "m**2")


def resistance_at(
    resistance: Given,
    temperature: Given,
    *,
    reference: Given = "20 degC",
    coefficient: Given = COPPER_COEFFICIENT,
    coefficient_temperature: Given = "20 degC",
) -> Quantity:
    """Resistance of a wire or a winding at another temperature.

    Parameters
    ----------
    resistance : Quantity [ohm], any shape
        At the reference temperature.
    temperature, reference : Quantity [degC], any shape
    coefficient : Quantity [1/K]
        Copper's where not given.
    coefficient_temperature : Quantity [degC]
        The temperature that the coefficient is printed for: 20 °C mostly, sometimes 0 °C.

    Returns
    -------
    Quantity [ohm]

    Raises
    ------
    PartError
        Names the argument, its value and what to do; also where it is so cold that the straight line ends.

    Notes
    -----
    R(T)/R(T_ref) = (1 + α·(T - T_α))/(1 + α·(T_ref - T_α)); for copper fair from -50 to 200 °C.

    Examples
    --------
    >>> print(resistance_at("2.8 ohm", "130 degC", reference="25 degC").round(2))
    3.93 ohm
    """
    alpha = argument(coefficient, "1/kelvin", "coefficient")
    printed_for = argument(coefficient_temperature, "degC", "coefficient_temperature")
    ratio = _factor(argument(temperature, "degC", "temperature"), alpha, printed_for) / _factor(
        argument(reference, "degC", "reference"), alpha, printed_for
    )
    return from_si(plain(argument(resistance, "ohm", "resistance", least=0.0) * ratio), "ohm")


def _factor(
    kelvins: NDArray[np.float64], coefficient: NDArray[np.float64] | float, printed_for: NDArray[np.float64] | float
) -> NDArray[np.float64]:
    use = "Check the coefficient and the temperature."
    return resistance_factor(kelvins, coefficient, printed_for, of="the resistance", use=use, where="temperature")


def zero_resistance_temperature(
    coefficient: Given = COPPER_COEFFICIENT, coefficient_temperature: Given = "20 degC"
) -> Quantity:
    """Temperature at which the straight line of resistance would reach zero: -234.5 °C for copper.

    Parameters
    ----------
    coefficient : Quantity [1/K]
    coefficient_temperature : Quantity [degC]

    Returns
    -------
    Quantity [degC]

    Raises
    ------
    NoSolutionError
        When the resistance does not change with temperature.

    Examples
    --------
    >>> print(zero_resistance_temperature().round(1))
    -234.5 degree_Celsius
    """
    alpha = single(coefficient, "1/kelvin", "coefficient")
    if alpha == 0.0:
        raise NoSolutionError("A resistance that does not change with temperature never reaches zero.")
    return from_si(single(coefficient_temperature, "degC", "coefficient_temperature") - 1.0 / alpha, "degC")
