"""Random admissible numbers on the solution set of equations, and the mismatch of an equation there."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from typing import Any

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
_TRIES = 600

Numbers = dict[Any, Any]


def draw(symbol: Any, chance: random.Random) -> Any:
    """Return a random number that *symbol* can have: 0.3 to 3, 0.1 to 0.9 for a part of one, either sign for a real."""
    if isinstance(symbol, sympy.Dummy):
        sign = "r"
    else:
        sign = term_of(symbol).sign
    if sign == "1":
        return sympy.Float(chance.uniform(0.1, 0.9), DIGITS)
    size = 10 ** chance.uniform(-0.5, 0.5)
    return sympy.Float(size if sign != "r" or chance.random() < 0.7 else -size, DIGITS)


def number(expression: Any, numbers: Numbers) -> Any:
    """Return *expression* as a number; its integrals are done by quadrature, not by antiderivatives."""
    expression = sympy.sympify(expression)
    if expression.has(Derivative):
        expression = expression.replace(lambda node: isinstance(node, Derivative), lambda node: node.doit())
    put = expression.subs(numbers) if expression.has(Integral) else expression.xreplace(numbers)
    return put.evalf(DIGITS)


def mismatch(left: Any, right: Any, numbers: Numbers) -> float:
    """Return how far the two sides are apart, over the size of the larger of the terms in them."""
    terms = [number(term, numbers) for side in (left, right) for term in sympy.Add.make_args(sympy.sympify(side))]
    if not all(term.is_number and term.is_finite for term in terms):
        return float("inf")
    split = len(sympy.Add.make_args(sympy.sympify(left)))
    size = max(abs(term) for term in terms)
    return float(abs(sum(terms[:split]) - sum(terms[split:])) / size) if size else 0.0


def holds(conditions: Sequence[Any], numbers: Numbers) -> bool:
    """Return whether the numbers lie where all the conditions hold."""
    return all(bool(number(one.gts - one.lts, numbers) > 0) for one in conditions)


def _admissible(symbol: Any, value: Any) -> bool:
    if not (value.is_number and value.is_real and value.is_finite):
        return False
    return isinstance(symbol, sympy.Dummy) or term_of(symbol).admits(float(value))


def _concrete(pairs: Sequence[Pair], chance: random.Random) -> dict[Any, Any]:
    """Return a random smooth periodic function for each function of time that the equations leave open."""
    defined = functions_of(pairs)
    used = {node.func for left, right in pairs for node in (left - right).atoms(AppliedUndef)}
    turn = 2 * sympy.pi * q.time / q.period
    return {
        function: sympy.Lambda(
            q.time,
            sympy.Rational(chance.randint(200, 300), 100)
            + sympy.Rational(chance.randint(10, 60), 100) * sympy.sin(turn)
            + sympy.Rational(chance.randint(10, 60), 100) * sympy.cos(2 * turn),
        )
        for function in sorted(used - set(defined), key=str)
    }


def points(
    facts: Sequence[Pair], also: Sequence[Any], conditions: Sequence[Any], *, count: int, seed: str
) -> Iterator[tuple[Numbers, Any]]:
    """Give random admissible numbers at which all the facts hold.

    Parameters
    ----------
    facts : pairs of sides
    also : expressions whose symbols need numbers too
    conditions : strict inequalities that the numbers must satisfy
    count : int
        How many at most; fewer mean that none could be found.
    seed : str

    Yields
    ------
    numbers : dict
    ready : callable
        Turns an expression into one that the numbers can be put into.
    """
    chance = random.Random(seed)  # noqa: S311 (numbers to test with, not a secret)
    quadrature = any(side.has(Integral) for sides in facts for side in sides)
    work: Elimination | None = None
    given = 0
    for _ in range(_TRIES):
        if given == count:
            return
        if work is None or (quadrature and given):
            functions = _concrete([*facts, *((e, sympy.S.Zero) for e in also)], chance) if quadrature else {}
            here = [(put_functions(left, functions), put_functions(right, functions)) for left, right in facts]
            work = eliminate(pair for pair in here if pair[0] != pair[1])
            ready = _readier(functions, work, quadrature=quadrature)
            plain = [(ready(left), ready(right)) for left, right in here]
            needed = set().union(*(side.free_symbols for sides in plain for side in sides))
            needed |= set().union(*(ready(expression).free_symbols for expression in also)) | {
                symbol for one in conditions for symbol in one.free_symbols
            }
            needed |= set().union(*(value.free_symbols for value in work.solved.values()))
        numbers = {s: draw(s, chance) for s in sorted(needed - set(work.solved), key=str)}
        numbers |= {s: number(value, numbers) for s, value in work.solved.items()}
        if (
            all(_admissible(symbol, value) for symbol, value in numbers.items())
            and holds(conditions, numbers)
            and all(mismatch(left, right, numbers) < TOLERANCE for left, right in plain)
        ):
            given += 1
            yield numbers, ready


def _readier(functions: dict[Any, Any], work: Elimination, *, quadrature: bool) -> Any:
    """Return what makes an expression ready for numbers: integrals stay to be done numerically, or have stand-ins."""
    if not quadrature:
        return work.plain
    every = {**functions, **work.functions}
    return lambda expression: put_functions(expression, every)
