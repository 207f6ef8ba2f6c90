"""Quantities: the one registry, text as a person types it, and the one crossing to plain floats.

People and files meet quantities; every loop runs on floats in coherent SI units.
``to_si`` is the only way down and ``from_si`` the only way up.

Two quantities of equal dimension are not always of one kind.
pint takes the radian for 1, so it would turn 60 rpm into 6.28 Hz and a joule into a newton metre.
``in_unit`` refuses both: shaft speed never meets hertz, torque never meets energy.
"""

from __future__ import annotations

import re
from typing import Any, NamedTuple, TypeAlias

import numpy as np
import pint
from numpy.typing import NDArray
from pint.facets.plain import PlainUnit

from labkit.errors import UnitError

__all__ = ["Q_", "Quantity", "convertible", "from_si", "in_unit", "magnitude", "parse_quantity", "ureg"]

Quantity: TypeAlias = pint.Quantity[Any]
Floats: TypeAlias = NDArray[np.float64]

_TRADE_UNITS = (
    "newton_meter = newton * meter = Nm",  # pint before 0.26 reads "Nm" as a textile unit
    "ounce_inch = ounce_force * inch = ozin",
    "pound_inch = pound_force * inch = lbin",
    "gram_centimeter = gram_force * centimeter = gcm",
)


def _build_registry() -> pint.UnitRegistry[Any]:
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(on_redefinition="ignore", cache_folder=":auto:")
    for definition in _TRADE_UNITS:
        registry.define(definition)
    return registry


ureg = _build_registry()
pint.set_application_registry(ureg)  # type: ignore[no-untyped-call]  # so that a pickled quantity comes back to this registry


# --- text to quantity -----------------------------------------------------------------------------

_TIDY = str.maketrans(
    {
        "\N{MINUS SIGN}": "-",
        "\N{EN DASH}": "-",
        "\N{MIDDLE DOT}": "*",
        "\N{DOT OPERATOR}": "*",
        "\N{OHM SIGN}": "\N{GREEK CAPITAL LETTER OMEGA}",
        "\N{MICRO SIGN}": "u",
        "\N{GREEK SMALL LETTER MU}": "u",
        "\N{NO-BREAK SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{THIN SPACE}": " ",
    }
)
_RAISED = re.compile("[⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+")
_LOWER = str.maketrans("⁻⁰¹²³⁴⁵⁶⁷⁸⁹", "-0123456789")
_NUMBER = re.compile(
    r"(?P<sign>[+-]?)\s*"
    r"(?P<digits>\d{1,3}(?: \d{3})+(?!\d)(?:[.,]\d+)?|\d+(?:[.,]\d*)?|[.,]\d+)"
    r"(?:[eE](?P<exponent>[+-]?\d{1,3})(?![\w.])|\s*[x×*]\s*10\s*(?:\^|\*\*)\s*(?P<power>[+-]?\d{1,3}))?"
)
#: IEC 60062 letter code: the letter stands where the decimal sign would ("4k7", "R47"); "3V3" is trade use.
_LETTER_CODE = re.compile(r"(?P<sign>[+-]?)(?P<whole>\d*)(?P<letter>[RKkMGVpnu])(?P<rest>\d+)\s*(?P<unit>[a-zA-ZΩ]*)")
_LETTER_UNITS = {
    "R": "ohm", "K": "kohm", "k": "kohm", "M": "Mohm", "G": "Gohm", "V": "V", "p": "pF", "n": "nF", "u": "uF",
}  # fmt: skip
_UNIT_FACTOR = r"(?:%|°?[A-Za-zΩ_]+)(?:[ ()]*(?:\^|\*\*)?-?\d)?"
_UNIT_TEXT = re.compile(rf"[ ()]*(?:1|{_UNIT_FACTOR})(?:[ ()*/]+{_UNIT_FACTOR})*[ )]*")
_LIKE_THIS = "Write it as in '470 mA', '2.8 ohm', '9100 rpm' or '5.4 mV*s/rad'."
_OHMS = re.compile(r"[Oo]hms?\b|Ω|OHM\b")
_AS_TYPED = (
    (re.compile(r"(?<![A-Za-z])°C(?![A-Za-z])|(?<![A-Za-z])deg ?C(?![A-Za-z])"), "degC"),
    (re.compile(r"%"), "percent"),
    (_OHMS, "ohm"),
    (re.compile(r"\bK(?=ohm\b|Hz\b)"), "k"),
    (re.compile(r"\b(?:r|rev)/min\b|\bRPM\b|\bmin\^?-1\b|\b1/min\b"), "rpm"),
    (re.compile(r"\b(?:rev|revs)\b"), "revolution"),
    (re.compile(r"\boz(?:f)?[ *-]in\b"), "ounce_inch"),
    (re.compile(r"\blb(?:f)?[ *-]in\b"), "pound_inch"),
    (re.compile(r"\bg(?:f)?[ *-]cm\b(?!\s*(?:\^|\*\*|\d))"), "gram_centimeter"),
)
_CASE_SLIPS = {"ma": "mA", "a": "A", "v": "V", "mv": "mV", "w": "W", "mw": "mW", "hz": "Hz", "khz": "kHz", "Khz": "kHz"}


def _unit(text: str, whole: str) -> PlainUnit:
    """Return the pint unit that *text* names; *whole* is what was typed, for the error."""
    name = text.strip()
    for pattern, replacement in _AS_TYPED:
        name = pattern.sub(replacement, name)
    if name in _CASE_SLIPS:
        raise UnitError(
            f"{whole!r}: {name!r} is not a unit; capital and small letters differ.", f"Write {_CASE_SLIPS[name]}."
        )
    if len(name) > 60 or not _UNIT_TEXT.fullmatch(name):
        raise UnitError(f"{whole!r}: {text.strip()!r} is not a unit.", _LIKE_THIS)
    if "degC" in name and name != "degC":
        name = name.replace("degC", "delta_degC")  # per degree: a difference, not a point on the scale
    try:
        return ureg.parse_units(name)
    except Exception as error:  # pint raises its own, tokenize's and ValueError for bad names
        raise UnitError(f"{whole!r}: {text.strip()!r} is not a unit that labkit knows.", _LIKE_THIS) from error


def _decimal(digits: str, whole: str) -> str:
    digits = digits.replace(" ", "")
    if re.fullmatch(r"[1-9]\d{0,2},\d{3}", digits):
        advice = f"Write {digits.replace(',', '.')} or {digits.replace(',', '')}."
        raise UnitError(f"{whole!r} can be read in two ways.", advice)
    return digits.replace(",", ".")


def parse_quantity(text: str) -> Quantity:
    """Return the quantity that a person typed.

    Reads a decimal point or comma, grouped digits, the letter code of IEC 60062, usual signs and spellings.

    Parameters
    ----------
    text : str
        Such as ``"470 mA"``, ``"0,47 A"``, ``"4k7"``, ``"22 mOhm"``, ``"10 000 rpm"``; no unit means a bare number.

    Raises
    ------
    UnitError
        When it is no number with a unit, or can be read in two ways.

    Examples
    --------
    >>> print(parse_quantity("0,47 A"))
    0.47 ampere
    >>> print(parse_quantity("4k7"))
    4.7 kiloohm
    """
    tidy = _RAISED.sub(lambda raised: "^" + raised[0].translate(_LOWER), text.translate(_TIDY)).strip()
    if len(tidy) > 100:
        raise UnitError(f"{tidy[:20]!r}… is too long to be a number with a unit.", _LIKE_THIS)
    if code := _LETTER_CODE.fullmatch(tidy):
        unit = _LETTER_UNITS[code["letter"]]
        if not code["unit"] or unit.endswith(_OHMS.sub("ohm", code["unit"])):
            return ureg.Quantity(float(f"{code['sign']}{code['whole'] or 0}.{code['rest']}"), unit)
    match = _NUMBER.match(tidy)
    if match is None:
        raise UnitError(f"{text!r} does not begin with a number.", _LIKE_THIS)
    power = match["exponent"] or match["power"] or "0"
    number = float(f"{match['sign']}{_decimal(match['digits'], text)}e{power}")
    if not np.isfinite(number):
        raise UnitError(f"{text!r} is too large a number.", "Check the power of ten.")
    unit_text = tidy[match.end() :]
    return ureg.Quantity(number, _unit(unit_text, text) if unit_text.strip() else "dimensionless")


def Q_(value: float | str | Quantity | Floats | list[float] | tuple[float, ...], unit: str | None = None) -> Quantity:  # noqa: N802 (the public name)
    """Return a quantity of the kit's one registry.

    Parameters
    ----------
    value : float, array of any shape, str or Quantity
        A number (with *unit*), text as a person types it, or a quantity to convert.
    unit : str, optional
        The unit of a number; of a text or a quantity, the unit to convert to.

    Raises
    ------
    UnitError
        When the text is no quantity, or cannot be in that unit.

    Examples
    --------
    >>> print(Q_(6, "V"), "|", Q_("470 mA"), "|", Q_("9100 rpm", "rad/s"))
    6 volt | 470.0 milliampere | 952.949... radian / second
    """
    if isinstance(value, str):
        quantity = parse_quantity(value)
        return quantity if unit is None else in_unit(quantity, unit, "value")
    if isinstance(value, pint.Quantity):
        return value if unit is None else in_unit(value, unit, "value")
    number = np.asarray(value, dtype=np.float64) if isinstance(value, (list, tuple)) else value
    return ureg.Quantity(number, _unit(unit, unit) if unit else "dimensionless")


# --- kinds: equal dimension is not enough ---------------------------------------------------------

_ANGLES = frozenset(
    {"revolutions_per_minute", "radian", "degree", "revolution", "turn", "grade", "arcminute", "arcsecond"}
)
_FREQUENCY = frozenset({"hertz", "cycle", "counts_per_second"})
_WORK = frozenset({"joule", "watt", "watt_hour", "calorie", "electron_volt", "volt"})
_LEVERS = frozenset({"newton", "newton_meter", "gram_force", "ounce_force", "pound_force", "kilogram_force",
                     "force_kilogram", "force_gram", "force_ounce", "force_pound",
                     "ounce_inch", "pound_inch", "gram_centimeter", "dyne"})  # fmt: skip
_PREFIXES = ("pico", "nano", "micro", "milli", "centi", "deci", "kilo", "mega", "giga")


class _Kind(NamedTuple):
    angle: float
    frequency: bool
    work: bool
    lever: bool


def roots(units: PlainUnit) -> dict[str, float]:
    """Return a unit's parts without their prefixes and the power of each: ``mV*s`` gives volt 1, second 1."""
    parts = dict(units._units)  # noqa: SLF001 (pint has no public view of a unit's parts)
    return {
        next((name.removeprefix(p) for p in _PREFIXES if name.startswith(p) and name != p), name): float(str(power))
        for name, power in parts.items()
    }


def _kind(units: PlainUnit) -> _Kind:
    parts = roots(units)
    return _Kind(
        angle=sum(power for name, power in parts.items() if name in _ANGLES),
        frequency=not _FREQUENCY.isdisjoint(parts),
        work=not _WORK.isdisjoint(parts),
        lever=not _LEVERS.isdisjoint(parts),
    )


_SPEED = ureg.parse_units("rad/s")
_TORQUE = ureg.parse_units("N*m")


def _kind_fault(given: PlainUnit, asked: PlainUnit) -> str:
    """Return what separates two units of one dimension, or an empty string."""
    have, want = _kind(given), _kind(asked)
    if want.frequency and have.angle:
        return "A frequency is counted in Hz; a shaft speed in rad/s or rpm is another thing."
    if want.angle and have.frequency:
        return "Hertz counts cycles; write the shaft speed with rad/s or rpm."
    turning = asked.dimensionality in (_SPEED.dimensionality, (_SPEED / ureg.second).dimensionality)
    if turning and want.angle and not have.angle:
        return "Say what turns: write rad/s or rpm, not 1/s."
    if asked.dimensionality == _TORQUE.dimensionality:
        if want.lever and have.work:
            return "A torque is in N*m; a joule is energy."
        if want.work and have.lever:
            return "An energy is in J; N*m is a torque."
    return ""


def convertible(quantity: Quantity, unit: str) -> bool:
    """Return whether *quantity* is of the kind that *unit* measures, shaft speed and hertz apart.

    Examples
    --------
    >>> convertible(Q_("60 rpm"), "rad/s"), convertible(Q_("60 rpm"), "Hz")
    (True, False)
    """
    asked = ureg.parse_units(unit or "dimensionless")
    return bool(quantity.dimensionality == asked.dimensionality) and not _kind_fault(quantity.units, asked)


def in_unit(quantity: Quantity, unit: str, where: str) -> Quantity:
    """Return *quantity* in *unit*, refusing another dimension or another kind.

    Parameters
    ----------
    quantity : Quantity
    unit : str
        The unit wanted; ``""`` for a bare number.
    where : str
        What is converted, for the error.

    Raises
    ------
    UnitError
        Names *where*, the value and a unit that would do.
    """
    asked = ureg.parse_units(unit or "dimensionless")
    wanted = f"{where} must be {f'in {unit}' if unit else 'a bare number'}; got {quantity:~P}."
    if quantity.dimensionality != asked.dimensionality:
        advice = "Give it a unit." if quantity.dimensionless else "Check the unit."
        if str(quantity.units) == "coulomb" and unit in {"degC", "kelvin"}:
            advice = f"A temperature is written '{quantity.magnitude:g} °C'; C alone is the coulomb."
        raise UnitError(wanted, advice)
    if fault := _kind_fault(quantity.units, asked):
        raise UnitError(wanted, fault)
    return quantity.to(asked)


# --- the crossing ---------------------------------------------------------------------------------


def coherent(unit: str) -> str:
    """Return the coherent SI unit that floats of this kind are held in: kelvin for ``degC``, else *unit* itself."""
    return "kelvin" if unit == "degC" else unit


def magnitude(quantity: Quantity, unit: str, where: str = "value") -> Any:
    """Return the float or array that *quantity* is in *unit* (kelvin where *unit* is ``degC``).

    Raises
    ------
    UnitError
        As ``in_unit``.

    Examples
    --------
    >>> magnitude(Q_("470 mA"), "mV/ohm")
    470.0
    """
    return in_unit(quantity, coherent(unit), where).magnitude


def from_si(value: Any, unit: str) -> Quantity:
    """Return floats from a kernel, in coherent SI, as a quantity of any shape; kelvin become degC where asked."""
    quantity: Quantity = ureg.Quantity(value, coherent(unit) or "dimensionless")
    return quantity.to("degC") if unit == "degC" else quantity
