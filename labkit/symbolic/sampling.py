"""Random admissible numbers on the solution set of equations, and the mismatch of an equation there."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any

import mpmath
import sympy
from sympy import Derivative, Integral
from sympy.core.function import AppliedUndef

from labkit.symbolic.algebra import Elimination, Pair, eliminate, functions_of, put_functions
from labkit.symbolic.symbols import q, term_of

__all__ = ["DIGITS", "TOLERANCE", "draw", "holds", "mismatch", "number", "points"]

#: Numbers are drawn and worked with to so many digits.
DIGITS = 30
#: Two sides that differ by less than this part of the larger are called equal; integrals are done numerically.
TOLERANCE = 1e-12
_TRIES = 300

Numbers = Mapping[Any, Any]


def draw(symbol: Any, chance: random.Random) -> Any:
    """Return a random number that *symbol* can have: 0.3 to 3, 0.1 to 0.9 for a part of one, either sign for a real."""
    sign = "r" if isinstance(symbol, sympy.Dummy) else term_of(symbol).sign
    if sign == "1":
        return sympy.Float(chance.uniform(0.1, 0.9), DIGITS)
    size = 10 ** chance.uniform(-0.5, 0.5)
    return sympy.Float(size if sign != "r" or chance.random() < 0.7 else -size, DIGITS)


def number(expression: Any, numbers: Numbers) -> Any:
    """Return *expression* as a number; its integrals are done by quadrature, not by antiderivatives."""
    expression = sympy.sympify(expression)
    if expression.has(Derivative):
        expression = expression.replace(lambda node: isinstance(node, Derivative), lambda node: node.doit())
    if expression.has(Integral):
        expression = expression.replace(lambda node: isinstance(node, Integral), lambda node: _area(node, numbers))
    return expression.xreplace(numbers).evalf(DIGITS)


def _area(integral: Any, numbers: Numbers) -> Any:
    variable, low, high = integral.limits[0]
    inside = {symbol: value for symbol, value in numbers.items() if symbol != variable}
    ends = [limit.xreplace(numbers).evalf(DIGITS) for limit in (low, high)]
    curve = sympy.lambdify(variable, integral.function.xreplace(inside), "mpmath")
    with mpmath.workdps(DIGITS):
        return sympy.Float(mpmath.quad(curve, [mpmath.mpf(str(end)) for end in ends]), DIGITS)


def mismatch(left: Any, right: Any, numbers: Numbers) -> float:
    """Return how far the two sides are apart, over the size of the larger of the terms in them."""
    terms = [number(term, numbers) for side in (left, right) for term in sympy.Add.make_args(sympy.sympify(side))]
    if not all(term.is_number and term.is_finite for term in terms):
        return float("inf")
    split = len(sympy.Add.make_args(sympy.sympify(left)))
    size = max(abs(term) for term in terms)
    return float(abs(sum(terms[:split]) - sum(terms[split:])) / size) if size else 0.0


def holds(margins: Sequence[Any], numbers: Numbers) -> bool:
    """Return whether all the margins, which must be more than zero, are so at these numbers."""
    found = [number(margin, numbers) for margin in margins]
    return all(bool(one.is_number and one.is_real and one > 0) for one in found)


def _admissible(symbol: Any, value: Any) -> bool:
    if not (value.is_number and value.is_real and value.is_finite):
        return False
    return isinstance(symbol, sympy.Dummy) or term_of(symbol).admits(float(value))


def _concrete(pairs: Sequence[Pair], chance: random.Random) -> dict[Any, Any]:
    """Return a random smooth periodic function for each function of time that the equations leave open."""
    defined = functions_of(pairs)
    used = {node.func for left, right in pairs for node in (left - right).atoms(AppliedUndef)}
    part = q.time / q.period
    bump = part * (1 - part)
    return {
        function: sympy.Lambda(q.time, _ratio(chance, 200) + bump * (_ratio(chance, 50) + part * _ratio(chance, 50)))
        for function in sorted(used - set(defined), key=str)
    }


def _ratio(chance: random.Random, least: int) -> Any:
    return sympy.Rational(chance.randint(least, least + 100), 100)


def points(
    facts: Sequence[Pair], also: Sequence[Any], margins: Sequence[Any], *, count: int
) -> tuple[tuple[Numbers, Any], ...]:
    """Return random admissible numbers at which all the facts hold, the same in every run.

    Parameters
    ----------
    facts : pairs of sides
    also : expressions whose symbols need numbers too
    margins : expressions that must be more than zero
    count : int
        How many at most; fewer mean that none could be found.

    Returns
    -------
    pairs of numbers, and what makes an expression ready for them
    """
    asked: set[Any] = set()
    for expression in map(sympy.sympify, also):
        asked |= expression.free_symbols | expression.atoms(AppliedUndef, Derivative, Integral)
    return _points(tuple(facts), frozenset(asked), tuple(margins), count)


@lru_cache(maxsize=512)
def _points(
    facts: tuple[Pair, ...], asked: frozenset[Any], margins: tuple[Any, ...], count: int
) -> tuple[tuple[Numbers, Any], ...]:
    also = sorted(asked, key=str)
    chance = random.Random(" ".join(map(str, also)))  # noqa: S311 (numbers to test with, not a secret)
    quadrature = any(side.has(Integral) for sides in facts for side in map(sympy.sympify, sides))
    found: list[tuple[Numbers, Any]] = []
    fresh = True
    for _ in range(_TRIES):
        if len(found) == count:
            break
        if fresh:
            functions = _concrete([*facts, *((e, sympy.S.Zero) for e in also)], chance) if quadrature else {}
            here = [(put_functions(left, functions), put_functions(right, functions)) for left, right in facts]
            work = eliminate(tuple(sides for sides in here if sides[0] != sides[1]))
            ready = _readier(functions, work, quadrature=quadrature)
            plain = [(ready(left), ready(right)) for left, right in here]
            needed = _symbols_of([*(side for sides in plain for side in sides), *map(ready, also)])
            needed |= _symbols_of([*margins, *work.solved.values()])
            free = sorted(needed - set(work.solved), key=str)
            fresh = False
        numbers = _numbers(free, work, chance)
        if (
            numbers is not None
            and holds(margins, numbers)
            and all(mismatch(*sides, numbers) < TOLERANCE for sides in plain)
        ):
            found.append((numbers, ready))
            fresh = quadrature  # another function of time for the next point
    return tuple(found)


def _symbols_of(expressions: Iterable[Any]) -> set[Any]:
    return set().union(*(expression.free_symbols for expression in expressions))


def _numbers(free: Sequence[Any], work: Elimination, chance: random.Random) -> Numbers | None:
    """Return random numbers for the free symbols and those that follow from them, if all are admissible."""
    numbers = {symbol: draw(symbol, chance) for symbol in free}
    drawn = dict(numbers)
    for symbol, expression in work.solved.items():
        numbers[symbol] = number(expression, drawn)
        if not _admissible(symbol, numbers[symbol]):
            return None
    return numbers


def _readier(functions: dict[Any, Any], work: Elimination, *, quadrature: bool) -> Any:
    """Return what makes an expression ready for numbers: integrals stay to be done numerically, or have stand-ins."""
    if not quadrature:
        return work.plain
    every = {**functions, **work.functions}
    return lambda expression: put_functions(expression, every)
