"""A formula as a tree, and its value in whatever is calculated with: quantities, digits, expressions of sympy's."""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Literal, TypeAlias

__all__ = ["Algebra", "Node", "What", "exact", "floats", "real", "value"]

What: TypeAlias = Literal["number", "π", "letter", "sum", "product", "power", "exp", "ln", "abs"]

_JOINED: dict[str, Callable[[Any, Any], Any]] = {
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
}
_MOST_BITS = 200  # of a number in an exponent
_LARGEST_EXPONENT = 4


@dataclass(frozen=True, slots=True)
class Node:
    """A part of a formula.

    Parameters
    ----------
    what : str
    parts : tuple of Node
        Of a power its base and its exponent.
    text : str
        Of a number its digits; of a letter its name; of a sum or a product the sign before each part but the first.
    """

    what: What
    parts: tuple[Node, ...] = ()
    text: str = ""


@dataclass(frozen=True, kw_only=True, slots=True)
class Algebra:
    """What a formula is calculated with; ``+ - * /`` are those of its values.

    Parameters
    ----------
    number : function of the digits of a number
    pi : a value
    letters : mapping of str to a value
    power : function of base and exponent
    functions : mapping of "exp", "ln" and "abs" to a function of a value
    """

    number: Callable[[str], Any]
    pi: Any
    letters: Mapping[str, Any]
    power: Callable[[Any, Any], Any]
    functions: Mapping[str, Callable[[Any], Any]]


def value(node: Node, algebra: Algebra) -> Any:
    """Return the value of a tree; errors are those of the algebra."""
    if node.what == "number":
        return algebra.number(node.text)
    if node.what == "π":
        return algebra.pi
    if node.what == "letter":
        return algebra.letters[node.text]
    first, *others = (value(part, algebra) for part in node.parts)
    if node.what == "power":
        return algebra.power(first, others[0])
    if node.what not in {"sum", "product"}:
        return algebra.functions[node.what](first)
    for sign, other in zip(node.text, others, strict=True):
        first = _JOINED[sign](first, other)
    return first


def floats(letters: Mapping[str, float]) -> Algebra:
    """Return the algebra of floats, for letters in coherent SI."""
    return Algebra(
        number=float,
        pi=math.pi,
        letters=letters,
        power=lambda base, exponent: real(base**exponent),
        functions={"exp": math.exp, "ln": math.log, "abs": abs},
    )


def real(power: Any) -> Any:
    """Return a power, a float or a quantity, that is no root of a negative number.

    Raises
    ------
    ArithmeticError
        When it is one.
    """
    if type(getattr(power, "magnitude", power)) is complex:
        raise ArithmeticError
    return power


def exact(exponent: Node) -> Fraction | None:
    """Return the fraction that an exponent is, or nothing where it is none, or one of very many digits.

    >>> exact(Node("product", (Node("number", text="1"), Node("number", text="2")), "/"))
    Fraction(1, 2)
    >>> exact(Node("π")) is None
    True
    """
    fractions = Algebra(number=Fraction, pi=None, letters={}, power=_fraction_to, functions={})
    try:
        found = value(exponent, fractions)
    except (TypeError, ValueError, LookupError, ArithmeticError):
        return None
    return found if isinstance(found, Fraction) else None


def _fraction_to(base: Fraction, exponent: Fraction) -> Fraction:
    bits = base.numerator.bit_length() + base.denominator.bit_length()
    if exponent.denominator != 1 or abs(exponent) > _LARGEST_EXPONENT or bits > _MOST_BITS:
        msg = "no small fraction"
        raise ValueError(msg)
    return Fraction(base**exponent.numerator)
