"""The dimension of an expression, walked from its leaves: both sides of an equation must have the same.

pint takes the radian for 1; here the angle is a dimension of its own, which keeps speed and frequency apart.
A torque then is energy per angle, a moment of inertia energy per squared speed, and k one thing for EMF and torque:
V·s/rad = (J/rad)/A.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import Any

import sympy

from labkit.errors import DerivationError
from labkit.symbolic.symbols import table, term_of
from labkit.units import coherent, roots, ureg

__all__ = ["dimension", "dimension_words", "same_dimension"]

#: Powers of the base dimensions, without those of power zero; ``None`` is the dimension of zero, which fits any.
Powers = dict[str, Fraction] | None

_ANGLE = "[angle]"


def same_dimension(left: Any, right: Any, *, plain_angle: bool = False) -> str:
    """Return in words the dimension that both sides have.

    Parameters
    ----------
    left, right : sympy expression
    plain_angle : bool
        Take the radian for 1, where the sine of an angle makes that necessary.

    Raises
    ------
    DerivationError
        Names the two dimensions, or the place in a side that makes no sense.
    """
    both = dimension(left, plain_angle=plain_angle), dimension(right, plain_angle=plain_angle)
    if None not in both and both[0] != both[1]:
        msg = f"the left side is in {dimension_words(both[0])}, the right side in {dimension_words(both[1])}"
        raise DerivationError(msg)
    return dimension_words(both[0] if both[0] is not None else both[1])


def dimension(expression: Any, *, plain_angle: bool = False) -> Powers:
    """Return the powers of the base dimensions that *expression* has.

    Raises
    ------
    DerivationError
        When it adds unlike things, or takes the exponential or logarithm of something with a unit.
    """
    powers = _walk(expression)
    return _plain(powers) if plain_angle and powers is not None else powers


def _plain(powers: dict[str, Fraction]) -> dict[str, Fraction]:
    return {name: power for name, power in powers.items() if name != _ANGLE}


@cache
def _of_unit(unit: str) -> dict[str, Fraction]:
    asked = ureg.parse_units(coherent(unit) or "dimensionless")
    powers = {
        str(name): Fraction(float(str(power))).limit_denominator(12) for name, power in asked.dimensionality.items()
    }
    parts = roots(asked)
    angle = Fraction(parts.get("radian", 0.0)).limit_denominator(12)
    if "newton" in parts and "meter" in parts:  # a torque: energy for each radian turned
        angle -= Fraction(parts["newton"])
    if parts.get("kilogram", parts.get("gram")) == 1 and parts.get("meter") == 2:  # a moment of inertia: J·ω² is energy
        angle -= 2
    return {**powers, **({_ANGLE: angle} if angle else {})}


def _times(left: Powers, right: Powers, sign: int = 1) -> Powers:
    if left is None or right is None:
        return None
    total = dict(left)
    for name, power in right.items():
        total[name] = total.get(name, Fraction(0)) + sign * power
    return {name: power for name, power in total.items() if power}


def _walk(node: Any) -> Powers:
    if node.is_Number or node.is_NumberSymbol:
        return None if node.is_zero else {}
    if node.is_Symbol:
        return _of_unit(term_of(node).unit)
    walker = next((walk for kind, walk in _WALKERS if isinstance(node, kind)), None)
    if walker is None:
        msg = f"the dimension of {node} cannot be told"
        raise DerivationError(msg)
    return walker(node)


def _alike(nodes: Any, what: str) -> Powers:
    """Return the one dimension of nodes that are added or that one runs over."""
    known = [(node, powers) for node in nodes if (powers := _walk(node)) is not None]
    for node, powers in known[1:]:
        if powers != known[0][1]:
            first = f"{known[0][0]} in {dimension_words(known[0][1])}"
            msg = f"{what} {first} and {node} in {dimension_words(powers)}"
            raise DerivationError(msg)
    return known[0][1] if known else None


def _bare(node: Any, what: str, *, angle: bool = False) -> None:
    powers = _walk(node)
    if powers and not (angle and powers == {_ANGLE: Fraction(1)}):
        msg = f"{what} {node}, which is in {dimension_words(powers)}, must be a bare number"
        raise DerivationError(msg)


def _sum(node: Any) -> Powers:
    return _alike(node.args, "it adds")


def _product(node: Any) -> Powers:
    total: Powers = {}
    for part in node.args:
        total = _times(total, _walk(part))
    return total


def _power(node: Any) -> Powers:
    base, exponent = node.as_base_exp()
    if exponent.is_Rational:
        powers = _walk(base)
        factor = Fraction(int(exponent.p), int(exponent.q))
        return None if powers is None else {name: power * factor for name, power in powers.items()}
    _bare(base, "the base")
    _bare(exponent, "the exponent")
    return {}


def _function_of_bare(node: Any) -> Powers:
    turning = isinstance(node, (sympy.sin, sympy.cos))
    _bare(node.args[0], f"the argument of {node.func.__name__},", angle=turning)
    return {}


def _function_of_time(node: Any) -> Powers:
    row = term_of(node)
    moment = _walk(node.args[0])
    if moment is not None and moment != _of_unit("s"):
        msg = f"{row.letter} is taken at {node.args[0]}, which is no time"
        raise DerivationError(msg)
    return _of_unit(row.unit)


def _derivative(node: Any) -> Powers:
    powers = _walk(node.expr)
    for variable, count in node.variable_count:
        step = _walk(variable)
        for _ in range(int(count)):
            powers = _times(powers, step, -1)
    return powers


def _integral(node: Any) -> Powers:
    powers = _walk(node.function)
    for variable, *limits in node.limits:
        _alike([variable, *limits], "the integral runs over")
        powers = _times(powers, _walk(variable))
    return powers


_WALKERS = (
    (sympy.Add, _sum),
    (sympy.Mul, _product),
    (sympy.exp, _function_of_bare),
    (sympy.Pow, _power),
    ((sympy.log, sympy.LambertW, sympy.sin, sympy.cos), _function_of_bare),
    (sympy.Derivative, _derivative),
    (sympy.Integral, _integral),
    (sympy.core.function.AppliedUndef, _function_of_time),
)


@cache
def _names() -> dict[frozenset[tuple[str, Fraction]], str]:
    known: dict[frozenset[tuple[str, Fraction]], str] = {}
    for unit in ["", "V", "A", "ohm", "W", "J", "s", "H", "F", "C", "N*m", *(row.unit for row in table().values())]:
        known.setdefault(
            frozenset(_of_unit(unit).items()), coherent(unit).replace("**", "^").replace("*", "·") or "no unit"
        )
    return known


def dimension_words(powers: Powers) -> str:
    """Return a dimension as the unit that people know it by."""
    if powers is None:
        return "any unit (it is zero)"
    known = _names().get(frozenset(powers.items()))
    return known or "·".join(f"{name[1:-1]}^{power}" for name, power in sorted(powers.items()))
