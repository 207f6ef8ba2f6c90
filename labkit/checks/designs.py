"""Parts that a learner chooses: put into the circuit of the question, and looked over by the review."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

from labkit.checks.numbers import Numbers
from labkit.errors import DesignError, LabkitError, UnitError
from labkit.parts import Bipolar, Diode, Drive, Mosfet, Part, Supply
from labkit.units import Q_, Quantity
from labkit.writing import show

if TYPE_CHECKING:
    from labkit.reviews import Finding

__all__ = ["Parts", "checked_parts", "choices_in", "chosen_parts", "exceeded", "named_parts", "parts_help", "tightest"]

_CHOICE = re.compile(r"([^=:]+?)\s*[=:]\s*(.+)")
#: What a learner may choose by the name of a generic part: the field of the drive, and its classes.
_BY_NAME: dict[str, tuple[str, tuple[type[Part], ...]]] = {
    "transistor": ("switch", (Mosfet, Bipolar)),
    "diode": ("diode", (Diode,)),
    "supply": ("supply", (Supply,)),
}
#: What a learner may choose as a value, and what of it can be left out.
_AS_VALUE = {"gate resistor": ("gate_resistor", "ohm"), "pull-down": ("pull_down", "ohm")}
_MAY_BE_NONE = {"diode", "pull-down"}


@dataclass(frozen=True, kw_only=True, slots=True)
class Parts:
    """What a learner may choose, and the circuit around it.

    Parameters
    ----------
    names : tuple of str
        Of ``"transistor"``, ``"diode"``, ``"supply"``, ``"gate resistor"``, ``"pull-down"``.
    around : function of Numbers
        The drive; what is chosen takes the place of its own.
    example : str
        A choice that passes, as a learner would write it.
    duty : function of Numbers
        The least and the greatest duty.
    frequency : str
        Of the PWM, with its unit.
    """

    names: tuple[str, ...]
    around: Callable[[Numbers], Drive]
    example: str
    duty: Callable[[Numbers], tuple[float, float]] = lambda _: (1.0, 1.0)
    frequency: str = "20 kHz"


def parts_help(parts: Parts) -> list[str]:
    """Return the lines that say what may be chosen, and how an answer is written."""
    lines = [f"Write one choice a line, {' and '.join((', '.join(parts.names[:-1]), parts.names[-1]))}, as in:"]
    lines += [f"    {name} = {_example(name)}" for name in parts.names]
    lines += [f"For {name}: {_quoted(name)}." for name in parts.names if name in _BY_NAME]
    return lines


def _quoted(name: str) -> str:
    """Return what may stand for a name; some names of parts have a comma in them."""
    return ", ".join(f"“{part}”" for part in named_parts(name)) + (", or “none”" if name in _MAY_BE_NONE else "")


def _example(name: str) -> str:
    """Return a choice that shows how one is written, and is not the right one."""
    written = {"gate resistor": "33 ohm", "pull-down": "1 Mohm", "diode": "silicon diode"}
    return written.get(name) or named_parts(name)[-1]


@cache
def named_parts(name: str) -> tuple[str, ...]:
    """Return the generic parts that can stand for a name.

    >>> named_parts("diode")
    ('silicon diode', 'Schottky diode')
    """
    from labkit.reviews import generic_part, generic_parts  # noqa: PLC0415 (only a design needs it: others open faster)

    return tuple(part for part in generic_parts() if isinstance(generic_part(part), _BY_NAME[name][1]))


def chosen_parts(parts: Parts, text: str) -> dict[str, str]:
    """Return what a text chooses, by name; nothing is evaluated.

    Raises
    ------
    DesignError
        Names what is missing, unknown or written twice.

    Examples
    --------
    >>> which = Parts(names=("pull-down",), around=lambda _: None, example="pull-down = 10 kohm")
    >>> chosen_parts(which, "Pull-down: 10 kohm")
    {'pull-down': '10 kohm'}
    """
    chosen: dict[str, str] = {}
    for line in filter(str.strip, re.split(r"[\n;]", text)):
        match = _CHOICE.fullmatch(line.strip())
        name, value = (match[1], match[2].strip("\"'")) if match else ("", "")
        found = next((known for known in (*_BY_NAME, *_AS_VALUE) if _plain(known) == _plain(name)), "")
        if not found or not value:
            raise DesignError(
                f"“{line.strip()[:40]}” is none of the choices. "
                f"Write {', '.join(parts.names)}, one a line, with = between."
            )
        if found in chosen:
            raise DesignError(f"{found} is chosen twice. Leave one line out.")
        chosen[found] = value
    chosen = {name: value for name, value in chosen.items() if name in parts.names}
    if missing := [name for name in parts.names if name not in chosen]:
        raise DesignError(f"{' and '.join(missing)} must be chosen as well. Add a line such as {missing[0]} = ….")
    return chosen


def choices_in(drive: Drive) -> str:
    """Return the text that chooses what a drive is built of; a part that is no generic one has no name.

    >>> from labkit.parts import desk_wind_tunnel
    >>> choices_in(desk_wind_tunnel()).splitlines()[3]
    'gate resistor = 150 ohm'
    """
    from labkit.reviews import generic_part, generic_parts  # noqa: PLC0415 (as above)

    chosen: dict[str, str] = {}
    for name, (field, _) in _BY_NAME.items():
        part = getattr(drive, field)
        same = (known for known in generic_parts() if generic_part(known) == part)
        chosen[name] = "none" if part is None else next(same, "a part of your own")
    for name, (field, unit) in _AS_VALUE.items():
        size = getattr(drive, field)
        chosen[name] = "none" if size is None else f"{size.m_as(unit):g} {unit}"
    return "\n".join(f"{name} = {value}" for name, value in chosen.items())


def _plain(name: str) -> str:
    return re.sub(r"[\W_]+", " ", name).casefold().strip()


def checked_parts(parts: Parts, text: str) -> dict[str, object]:
    """Return the choices as fields of the drive.

    Raises
    ------
    DesignError
        When a part is missing or not known, or a value has another unit.
    """
    fields: dict[str, object] = {}
    for name, value in chosen_parts(parts, text).items():
        none = value.casefold() in {"none", "no", "-"}
        if none and name not in _MAY_BE_NONE:
            raise DesignError(f"{name} cannot be left out. Choose one.")
        if name in _BY_NAME:
            fields[_BY_NAME[name][0]] = None if none else _part(name, value)
        else:
            fields[_AS_VALUE[name][0]] = None if none else _value(name, value)
    return fields


def _value(name: str, text: str) -> Quantity:
    try:
        return Q_(text, _AS_VALUE[name][1])
    except UnitError as error:
        raise DesignError(f"{name}: {error}") from None


def _part(name: str, value: str) -> Part:
    found = next((part for part in named_parts(name) if _plain(part) == _plain(value)), "")
    if not found:
        raise DesignError(f"“{value[:40]}” is no {name} here. There is: {_quoted(name)}.")
    from labkit.reviews import generic_part  # noqa: PLC0415 (as above)

    return generic_part(found)


def exceeded(parts: Parts, numbers: Numbers, text: str) -> tuple[list[Finding], list[Finding]]:
    """Return the findings of the review that the choice fails, worst first, and all others.

    Raises
    ------
    LabkitError
        When the text chooses no circuit.
    """
    from labkit.reviews import Outcome, review  # noqa: PLC0415 (as above)

    fields = checked_parts(parts, text)
    try:
        drive = dataclasses.replace(parts.around(numbers), **fields)  # type: ignore[arg-type] # by their own names
        found = review(drive, parts.duty(numbers), parts.frequency).findings
    except LabkitError as error:
        raise DesignError(f"With these parts the circuit cannot be looked over: {error}") from error
    except ArithmeticError as error:
        raise DesignError("With parts of such sizes nothing can be calculated. Look at their prefixes.") from error
    return [f for f in found if f.outcome is Outcome.EXCEEDED], [f for f in found if f.outcome is not Outcome.EXCEEDED]


def tightest(findings: list[Finding]) -> str:
    """Return the finding with the least margin, in a sentence; empty where none has one."""
    with_margin = [found for found in findings if found.margin is not None and found.value is not None]
    if not with_margin:
        return ""
    least = min(with_margin, key=lambda found: found.margin if found.margin is not None else 0.0)
    return f"Least room is left in “{least.name}”: {show(least.value)}, where {show(least.limit)} is the limit."  # type: ignore[arg-type] # chosen above
