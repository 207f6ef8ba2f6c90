"""What a learner gave: read it, and carry it between processes as plain JSON.

An answer is the text as typed, a quantity, or something that is neither.
In JSON it is ``"470 mA"``, ``{"value": 0.47, "unit": "ampere"}`` or ``{"unreadable": "list"}``.
"""

from __future__ import annotations

import math
import numbers
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from labkit.checks.choosing import choices_in
from labkit.checks.own_parts import written
from labkit.errors import UnitError
from labkit.parts import Bipolar, Diode, Drive, Mosfet, Supply
from labkit.units import Q_, Quantity, ureg

__all__ = ["Answer", "answer_from_json", "answer_to_json", "read_answer"]

#: "4.74 ± 0.05 V", "(4.74 +/- 0.05) V"
_UNCERTAIN = re.compile(
    r"\(? ?(?P<value>[^±()]{1,40}?) ?(?:±|\+/-|\+-) ?(?P<spread>[\d.,]{1,20}) ?\)? ?(?P<unit>[^±()\d][^±]{0,40})?"
)
#: "4.74 V ± 2 %", "4.74 V ± 50 mV": a unit stands before the sign
_OWN_UNIT = re.compile(
    r"(?P<value>[^±()]{1,60}?[^\d±(). ,]) ?(?:±|\+/-|\+-) ?(?P<spread>[\d.,]{1,20} ?[^\d±() ][^±()]{0,40})"
)
#: "I = 2.1 A", "I = V / R ≈ 2.1 A": the number stands last
_EQUALS = re.compile("[=≈] ?")
_LONGEST = 200  # characters: longer than any number or formula
_LONGEST_TEXT = 2000  # characters: longer than any list of parts or table of readings, short enough to record whole
_SHOWN = 60  # characters of an answer that a comment repeats


@dataclass(frozen=True, kw_only=True, slots=True)
class Answer:
    """An answer as it was given.

    Parameters
    ----------
    text : str
        As typed, or the quantity as a person writes it; empty when there is no answer.
    quantity : Quantity, optional
        The finite number with its unit, where the answer is one.
    fault : str
        Why it is no number with a unit; empty where it is.
    uncertainty : Quantity, optional
        What stands behind a ±, of the same kind.
    typed : str
        The text with its lines, where it was one.
    too_long : bool
        Whether it was cut: no answer is as long.
    """

    text: str
    quantity: Quantity | None = None
    fault: str = ""
    uncertainty: Quantity | None = None
    typed: str = ""
    too_long: bool = False

    @property
    def shown(self) -> str:
        """The answer in a comment: as typed, its beginning where it is long."""
        return self.text if len(self.text) <= _SHOWN else f"{self.text[:_SHOWN]}…"

    @property
    def empty(self) -> bool:
        """Whether nothing was given."""
        return not self.text and not self.fault


def read_answer(given: object) -> Answer:
    """Return what was given as an answer; whatever it is, this never raises.

    Parameters
    ----------
    given : str, Quantity, number, or anything else
        An empty text and ``None`` are no answer.

    Examples
    --------
    >>> read_answer("0,47 A").quantity
    <Quantity(0.47, 'ampere')>
    >>> read_answer([1, 2]).fault
    'A list is no answer. Write it as text, such as "470 mA".'
    """
    return answer_from_json(answer_to_json(given))


def answer_to_json(given: object) -> str | dict[str, Any]:
    """Return an answer as a value that ``json.dumps(…, allow_nan=False)`` accepts.

    Examples
    --------
    >>> answer_to_json("470 mA"), answer_to_json(Q_(0.47, "A")), answer_to_json(0.81)
    ('470 mA', {'value': 0.47, 'unit': 'ampere'}, {'value': 0.81, 'unit': ''})
    """
    if (text := _text_of(given)) is not None:
        return text[: _LONGEST_TEXT + 1]
    quantity = given if isinstance(given, Quantity.__origin__) else None  # type: ignore[attr-defined]
    value = given if quantity is None else quantity.magnitude
    if isinstance(value, np.ndarray) and value.ndim == 0:
        value = value.item()
    if isinstance(value, (bool, np.bool_)) or not isinstance(value, (numbers.Real, np.number)):
        return {"unreadable": type(given).__name__[:40]}
    try:
        number = float(value)
    except (OverflowError, ValueError, TypeError):
        return {"unreadable": type(given).__name__[:40]}
    if not math.isfinite(number):
        return {"unreadable": str(number)}
    unit = "" if quantity is None or str(quantity.units) == "dimensionless" else str(quantity.units)
    return {"value": number, "unit": unit[: _LONGEST + 1]}


def _text_of(given: object) -> str | None:
    """Return an answer that is text, choices by name, or a formula of sympy's, as text; ``None`` for any other.

    This runs where the learner's own code runs.
    """
    if given is None:
        return ""
    if isinstance(given, str):
        return str(given)
    if isinstance(given, Drive):
        return choices_in(given)
    if isinstance(given, dict):
        return "\n".join(f"{name} = {_as_text(value)}" for name, value in given.items())
    return str(given) if type(given).__module__.partition(".")[0] == "sympy" else None


def _as_text(value: object) -> str:
    """Return one choice as text."""
    if isinstance(value, Quantity.__origin__):  # type: ignore[attr-defined]
        return f"{value.magnitude:.6g} {value.units:~}"
    if isinstance(value, Mosfet | Bipolar | Diode | Supply):
        return written(value)
    return "none" if value is None else str(value)


def answer_from_json(given: object) -> Answer:
    """Return the answer that a decoded JSON value stands for; whatever the value, this never raises.

    Examples
    --------
    >>> answer_from_json({"value": 0.47, "unit": "ampere"}).text
    '0.47 A'
    >>> answer_from_json({"value": float("nan"), "unit": "ampere"}).fault
    'That is no finite number.'
    """
    if given is None:
        return Answer(text="")
    if isinstance(given, str):
        return _from_text(given)
    if isinstance(given, dict) and isinstance(given.get("unreadable"), str):
        kind = given["unreadable"][:40]
        return Answer(text=kind, fault=f'A {kind} is no answer. Write it as text, such as "470 mA".')
    if isinstance(given, dict):
        return _from_pair(given.get("value"), given.get("unit", ""))
    if isinstance(given, (int, float)) and not isinstance(given, bool):
        return _from_pair(given, "")
    return Answer(text=type(given).__name__, fault='That is no answer. Write it as text, such as "470 mA".')


@lru_cache(maxsize=256)  # judging one answer, and those that follow from it, reads it several times
def _from_text(given: str) -> Answer:
    text = " ".join(given[: _LONGEST_TEXT + 1].split())
    if not text:
        return Answer(text="")
    if len(given) > _LONGEST_TEXT:
        return Answer(text=f"{text[:20]}…", fault="That is too long to be an answer.", too_long=True)
    one_line = "\n" not in given.strip()
    number = (one_line and _EQUALS.split(text)[-1]) or text  # as on paper
    number = number.rstrip(". ") if number.endswith(".") else number  # a sentence's full stop
    quantity = uncertainty = None
    fault = "That is too long to be a number with a unit." if len(text) > _LONGEST else ""
    try:
        if not fault:
            quantity, uncertainty = _number(number)
    except UnitError as error:
        fault = str(error)
    return Answer(text=text, quantity=quantity, fault=fault, uncertainty=uncertainty, typed=given.strip())


def _number(text: str) -> tuple[Quantity, Quantity | None]:
    """Return the number that a text is, and what stands behind its ±: with one unit for both, its own, or a per cent.

    Raises
    ------
    UnitError
    """
    if own := _OWN_UNIT.fullmatch(text):
        value, spread = Q_(own["value"]), Q_(own["spread"].removesuffix("%"))
        if own["spread"].endswith("%"):
            return value, ureg.Quantity(abs(value.magnitude) * spread.magnitude / 100, value.units)
        if spread.dimensionality != value.dimensionality:
            fault = f"{text!r} has quantities of different kinds before and behind its ±."
            raise UnitError(fault, "Write one unit for both, as in '4.7 ± 0.1 V'.")
        return value, spread
    if pair := _UNCERTAIN.fullmatch(text):
        value, spread = (Q_(f"{pair[part]} {pair['unit'] or ''}") for part in ("value", "spread"))
        return value, spread
    return Q_(text), None


def _from_pair(value: object, unit: object) -> Answer:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not isinstance(unit, str):
        return Answer(text="?", fault='That is no number with a unit. Write it as text, such as "470 mA".')
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        return Answer(text="?", fault="That is no finite number.")
    try:
        quantity = Q_(number, unit or None)
    except UnitError as error:
        return Answer(text=f"{number:g}", fault=str(error))
    return Answer(text=f"{number:.6g} {quantity.units:~P}".rstrip(), quantity=quantity)
