"""Quantities as a person writes them: three figures, a prefix that suits, the unit always there.

>>> from labkit.units import Q_
>>> show(Q_(0.4712, "A")), show(Q_(104.72, "rad/s")), show(Q_(0.0054, "V*s/rad"))
('471 mA', '105 rad/s', '5.40 mV·s/rad')
"""

from __future__ import annotations

import math
import re
from functools import lru_cache

from pint.util import UnitsContainer

from labkit.units import Quantity, converted, roots, unit_named, unit_parts, ureg

__all__ = ["figures", "rpm_beside", "sentence_case", "show", "unit_symbol"]

_PREFIX = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
#: Versions of pint differ in their dot and in their micro sign.
_ONE_SPELLING = str.maketrans({"\N{DOT OPERATOR}": "·", "\N{GREEK SMALL LETTER MU}": "\N{MICRO SIGN}"})
#: The unit of torque as pint orders it.
_METRES_FIRST = re.compile(r"\bm·([kmµn]?N)\b")
_SUPERSCRIPT = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")
#: Units that take the prefix which brings the value between 1 and 1000.
_PREFIXED: dict[UnitsContainer, str] = {
    unit_parts(unit_named(name)): symbol
    for name, symbol in {
        "V": "V", "A": "A", "ohm": "Ω", "W": "W", "J": "J", "s": "s", "H": "H", "F": "F", "Hz": "Hz", "C": "C",
        "N*m": "N·m", "newton_meter": "N·m", "V*s/rad": "V·s/rad", "N*m/A": "N·m/A", "newton_meter/A": "N·m/A",
    }.items()
}  # fmt: skip
#: Units that are written without one.
_FIXED: dict[UnitsContainer, str] = {
    unit_parts(unit_named(name)): symbol
    for name, symbol in {
        "rpm": "rpm", "rad/s": "rad/s", "percent": "%", "degC": "°C", "delta_degC": "°C", "kelvin": "K",
        "kelvin/W": "°C/W", "delta_degC/W": "°C/W", "dimensionless": "", "A**2*s": "A²·s", "kg*m**2": "kg·m²",
        "ohm*m": "Ω·m", "V*s": "V·s", "rad/s/(N*m)": "rad/s/(N·m)", "J/kg/kelvin": "J/(kg·K)",
    }.items()
}  # fmt: skip


def figures(value: float, digits: int = 3) -> str:
    """Return *value* with so many significant figures, without an exponent where a person would write none.

    >>> figures(2.142857), figures(12345.6), figures(0.05), figures(1.2e-7)
    ('2.14', '12\u202f300', '0.0500', '1.20 × 10⁻⁷')
    """
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    mantissa, power = f"{value:.{digits - 1}e}".split("e")
    exponent = int(power)
    if not -4 < exponent < 7:
        return f"{mantissa} × 10{str(exponent).translate(_SUPERSCRIPT)}"
    rounded = float(f"{mantissa}e{power}")
    text = f"{rounded:.{max(digits - 1 - exponent, 0)}f}"
    return f"{rounded:,.0f}".replace(",", "\N{NARROW NO-BREAK SPACE}") if abs(rounded) >= 10_000 else text


@lru_cache(maxsize=256)  # marking writes the same few units again and again
def _without_prefix(given: UnitsContainer) -> UnitsContainer | None:
    """Return what a unit is once its prefixes are taken off, if that one takes the prefix which suits the value."""
    unit = ureg.Unit(given)
    for bare in map(ureg.Unit, () if given in _FIXED else _PREFIXED):
        if unit.dimensionality == bare.dimensionality and roots(unit) == roots(bare):
            return unit_parts(bare)
    return None


@lru_cache(maxsize=256)
def _symbol(given: UnitsContainer) -> str:
    """Return how a unit is written as it stands."""
    if given in _FIXED:
        return _FIXED[given]
    return _METRES_FIRST.sub(r"\1·m", f"{ureg.Unit(given):~P}".translate(_ONE_SPELLING))


def show(quantity: Quantity, unit: str | None = None, *, digits: int = 3) -> str:
    """Return *quantity* as text: significant figures, suitable prefix, unit.

    Parameters
    ----------
    quantity : Quantity, scalar
    unit : str, optional
        The unit to write it in, as it stands; without it a prefix is chosen.
    digits : int
        Significant figures.

    Examples
    --------
    >>> show(ureg.Quantity(2.143, "A")), show(ureg.Quantity(321, "us")), show(ureg.Quantity(0.81, ""))
    ('2.14 A', '321 µs', '0.810')
    >>> show(ureg.Quantity(0.4712, "A"), "A")
    '0.471 A'
    """
    given = unit_parts(quantity)
    if unit is None and (bare := _without_prefix(given)):
        value, symbol = float(converted(quantity.magnitude, given, bare)), _PREFIXED[bare]
        size = abs(float(f"{value:.{digits - 1}e}"))
        if size and math.isfinite(size):
            power = min(max(3 * math.floor(math.log10(size) / 3 + 1e-12), -12), 9)
            value, symbol = value / 10.0**power, _PREFIX[power] + symbol
    else:
        asked = given if unit is None else unit_parts(unit_named(unit))
        value, symbol = float(converted(quantity.magnitude, given, asked)), _symbol(asked)
    return f"{figures(value, digits)} {symbol}".rstrip()


def sentence_case(words: str) -> str:
    """Return words with their first letter large, and all others as they are.

    >>> sentence_case("generator EMF under PWM")
    'Generator EMF under PWM'
    """
    return words[:1].upper() + words[1:]


def unit_symbol(unit: str) -> str:
    """Return how *unit* is written after a number; nothing for a bare number.

    >>> unit_symbol("ohm"), unit_symbol("percent"), unit_symbol("")
    ('Ω', '%', '')
    """
    return show(ureg.Quantity(1.0, unit), unit).partition(" ")[2]


def rpm_beside(speed: Quantity, *, digits: int = 3) -> str:
    """Return a shaft speed in both units, as the house writes it.

    >>> rpm_beside(ureg.Quantity(877.8, "rad/s"))
    '878 rad/s (8380 rpm)'
    """
    return f"{show(speed, 'rad/s', digits=digits)} ({show(speed, 'rpm', digits=digits)})"
