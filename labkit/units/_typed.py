"""Text as a person types it, to a quantity."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from pint.facets.plain import PlainUnit

from labkit.errors import UnitError
from labkit.units._kinds import unit_named
from labkit.units._registry import Quantity, ureg

__all__ = ["parse_quantity", "parse_unit"]

_TIDY = str.maketrans(
    {
        "\N{MINUS SIGN}": "-",
        "\N{EN DASH}": "-",
        "\N{MIDDLE DOT}": "*",
        "\N{DOT OPERATOR}": "*",
        "\N{OHM SIGN}": "\N{GREEK CAPITAL LETTER OMEGA}",
        "\N{MICRO SIGN}": "u",
        "\N{GREEK SMALL LETTER MU}": "u",
        "\N{MASCULINE ORDINAL INDICATOR}": "\N{DEGREE SIGN}",
        "\N{DEGREE CELSIUS}": "\N{DEGREE SIGN}C",
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
_WORDS = re.compile(
    r"\b(?:(?:Milli|Micro|Kilo|Mega)[a-z]+|(?:Volt|Ampere|Watt|Henry|Farad|Joule|Newton)s?|Hertz|Kelvin|Celsius)\b"
)
_AS_TYPED: tuple[tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]], ...] = (
    (re.compile(r"(?<![A-Za-z])°C(?![A-Za-z])|(?<![A-Za-z])deg ?C(?![A-Za-z])"), "degC"),
    (re.compile(r"%"), "percent"),
    (_OHMS, "ohm"),
    (re.compile(r"\bK(?=ohm\b|Hz\b)|\bkil(?=ohm\b)"), "k"),
    (re.compile(r"\bmeg(?=ohm\b)"), "M"),
    (re.compile(r"\b(|[Mm]illi|[Mm]icro)[Aa]mps?\b"), r"\1ampere"),  # pint reads "amps" as attometres a second
    (_WORDS, lambda word: word[0].lower()),
    (re.compile(r"\b([mku]?N)[.-]m\b"), r"\1*m"),
    (re.compile(r"\b([mku]?(?:V|A|W|Nm|N\*m))\.?s\b"), r"\1*s"),
    (re.compile(r"\b(?:r|rev|U)/min\b|\b[Rr]pm\b|\bRPM\b|\bmin\^?-1\b|\b1/min\b"), "rpm"),
    (re.compile(r"\b(?:rev|revs)\b"), "revolution"),
    (re.compile(r"\bozf?[ *.-]in\b|\bin[ *.-]ozf?\b"), "ounce_inch"),
    (re.compile(r"\blbf?[ *.-]in\b|\bin[ *.-]lbf?\b"), "pound_inch"),
    (re.compile(r"\b(k?)gf?[ *.-]cm\b(?!\s*(?:\^|\*\*|\d))"), r"\1gram_centimeter"),
)
#: What was typed behind a number goes on with a number: 3.3 V/52, 2*3 V.
_SUM = re.compile(r"(?<!\^)[-+*/x×·:]\s*\d|^\^")
_WORK_IT_OUT = "Work the sum out first, and write one number with its unit."
_CASE_SLIPS = {"ma": "mA", "a": "A", "v": "V", "mv": "mV", "w": "W", "mw": "mW", "hz": "Hz", "khz": "kHz", "Khz": "kHz"}


def parse_unit(text: str, whole: str) -> PlainUnit:
    """Return the pint unit that *text* names; *whole* is what was typed, for the error."""
    try:
        return _unit(text.strip())
    except UnitError as error:
        raise UnitError(f"{whole!r}: {error.fault}", error.advice) from error


@lru_cache(maxsize=1024)  # people write the same few units again and again
def _unit(text: str) -> PlainUnit:
    name = text
    for pattern, replacement in _AS_TYPED:
        name = pattern.sub(replacement, name)
    if name in _CASE_SLIPS:
        raise UnitError(f"{name!r} is not a unit; capital and small letters differ.", f"Write {_CASE_SLIPS[name]}.")
    if len(name) > 60 or not _UNIT_TEXT.fullmatch(name):
        raise UnitError(f"{text!r} is not a unit.", _WORK_IT_OUT if _SUM.search(text) else _LIKE_THIS)
    if name != "degC":
        name = re.sub(r"(?<!delta_)degC", "delta_degC", name)  # per degree: a difference, not a point on the scale
    try:
        return unit_named(name)
    except Exception as error:  # pint raises its own, tokenize's and ValueError for bad names
        advice = _WORK_IT_OUT if _SUM.search(text) else _LIKE_THIS
        raise UnitError(f"{text!r} is not a unit that labkit knows.", advice) from error


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
            return ureg.Quantity(float(f"{code['sign']}{code['whole'] or 0}.{code['rest']}"), unit_named(unit))
    match = _NUMBER.match(tidy)
    if match is None:
        raise UnitError(f"{text!r} does not begin with a number.", _LIKE_THIS)
    power = match["exponent"] or match["power"] or "0"
    number = float(f"{match['sign']}{_decimal(match['digits'], text)}e{power}")
    if not np.isfinite(number):
        raise UnitError(f"{text!r} is too large a number.", "Check the power of ten.")
    unit_text = tidy[match.end() :]
    return ureg.Quantity(number, parse_unit(unit_text, text) if unit_text.strip() else unit_named(""))
