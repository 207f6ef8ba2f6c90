"""Whether two formulas are the same: refuted at places to many digits, else proven by sympy, within bounds.

The bounds are on what is worked with and on the steps taken, not on time: no machine is too slow for a verdict.
"""

from __future__ import annotations

import itertools
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from enum import Enum
from functools import lru_cache
from typing import Any

import mpmath

from labkit.checks.symbols import Symbol, sizes_at
from labkit.checks.trees import Algebra, Node, exact, value

__all__ = ["Basis", "compared"]

_PLACES = 24
_DIGITS = 80  # that the places are worked out to
_AGREE = 1e-40  # relative: no rounded constant is as near
_LARGEST_POWER_OF_E = 1e5

#: What a difference may come to for sympy to be asked whether it is nothing: its degree, the same in a root or a
#: function, where it is factored, the digits of its numbers, and which roots there may be.
_DEGREE, _DEGREE_INSIDE, _DIGITS_OF_NUMBERS, _ROOT = 100, 12, 300, 4
_STEPS = 1_000_000  # calls and returns within sympy, about a second


class Basis(Enum):
    """On what it rests that two formulas are the same, or that they are not."""

    PROVEN = "a proof for all sizes that its letters can have"
    AGREES = f"agreement to {-round(mpmath.log10(_AGREE))} digits at {_PLACES} places; no proof was found"
    ROUNDED = f"agreement to nine digits at {_PLACES} places, as with a rounded constant"
    DIFFERS = "another number at one place at least"
    NO_VALUE = "no value at one place at least"


@lru_cache(maxsize=512)
def compared(given: Node, right: Node, symbols: tuple[Symbol, ...], *, within: float) -> Basis:
    """Return whether two formulas are the same under their symbols' assumptions, and how that is known.

    Parameters
    ----------
    given, right : Node
        Places where the right one has no value are left out.
    symbols : tuple of Symbol
    within : float
        Relative: by how much they may differ at a place, where a constant in one of them is rounded.
    """
    apart = 0.0
    for place in sizes_at(symbols, f"{given}{right}", _PLACES):
        wanted, found = (_number(tree, place) for tree in (right, given))
        if wanted is None:
            continue
        if found is None:
            return Basis.NO_VALUE
        apart = max(apart, float(abs(found - wanted) / abs(wanted)) if wanted else float(found != wanted))
        if apart > within:
            return Basis.DIFFERS
    if apart > _AGREE:
        return Basis.ROUNDED
    return Basis.PROVEN if _proven(given, right, symbols) else Basis.AGREES


# --- places ---------------------------------------------------------------------------------------

_DIGITAL: Any = mpmath.MPContext()
_DIGITAL.dps = _DIGITS


def _number(tree: Node, place: dict[str, float]) -> Any:
    """Return the value of a tree to many digits, or nothing where it has none."""
    letters = {name: _DIGITAL.mpf(size) for name, size in place.items()}
    digits = Algebra(
        number=_DIGITAL.mpf,
        pi=+_DIGITAL.pi,
        letters=letters,
        power=_raised,
        functions={"exp": _exp, "ln": _ln, "abs": abs},
    )
    try:
        return value(tree, digits)
    except ArithmeticError:
        return None


def _raised(base: Any, exponent: Any) -> Any:
    if base < 0 and exponent != int(exponent):
        raise ArithmeticError
    return base**exponent


def _exp(inside: Any) -> Any:
    if abs(inside) > _LARGEST_POWER_OF_E:
        raise OverflowError
    return _DIGITAL.exp(inside)


def _ln(inside: Any) -> Any:
    if inside <= 0:
        raise ArithmeticError
    return _DIGITAL.ln(inside)


# --- proofs ---------------------------------------------------------------------------------------


class _TooLargeError(BaseException):
    """Sympy is not asked, or is stopped; none of its own handlers may take it for one of its errors."""


def _weight(tree: Node) -> tuple[int, int]:
    """Return the degree of a tree multiplied out over one denominator, and the digits of its numbers; both at most.

    Raises
    ------
    _TooLargeError
    """
    if tree.what == "number":
        return 0, len(tree.text)
    if tree.what in {"letter", "π"}:
        return 1, 0
    if tree.what == "power":
        degree, digits = _weight_of_power(*tree.parts)
    else:
        degree, digits = (sum(weights) for weights in zip(*map(_weight, tree.parts), strict=True))
    if tree.what == "exp" and "ln" in _functions(tree):  # a power in disguise, of any size
        raise _TooLargeError
    if (
        degree > (_DEGREE if tree.what in {"sum", "product", "power"} else _DEGREE_INSIDE)
        or digits > _DIGITS_OF_NUMBERS
    ):
        raise _TooLargeError
    return degree, digits


def _weight_of_power(base: Node, exponent: Node) -> tuple[int, int]:
    power, (degree, digits) = exact(exponent), _weight(base)
    if power is None or power.denominator > _ROOT or (power.denominator > 1 and degree > _DEGREE_INSIDE):
        raise _TooLargeError
    times = max(1, -(-abs(power.numerator) // power.denominator))
    return times * degree, times * digits


def _functions(tree: Node) -> set[str]:
    return {tree.what}.union(*map(_functions, tree.parts))


def _proven(given: Node, right: Node, symbols: tuple[Symbol, ...]) -> bool:
    """Return whether sympy finds that two formulas differ by nothing."""
    difference = Node("sum", (given, right), "-")
    try:
        _weight(difference)
        import sympy  # noqa: PLC0415 (half a second: only a formula that may be right needs it)

        with _bounded(_STEPS):
            top, _ = sympy.fraction(sympy.together(value(difference, _expressions(sympy, symbols))))
            return bool(sympy.expand(top) == 0)
    except (_TooLargeError, Exception):  # noqa: BLE001 (a proof that breaks off, however it does, is none)
        return False


def _expressions(sympy: Any, symbols: tuple[Symbol, ...]) -> Algebra:
    """Return sympy's expressions, in which what stands in a root or a function is factored."""

    def tidied(inside: Any) -> Any:
        return inside if inside.has(sympy.exp) else sympy.factor(inside)  # exp(9·x) would count as ninth power

    return Algebra(
        number=sympy.Rational,
        pi=sympy.pi,
        letters={symbol.name: sympy.Symbol(symbol.name, **_assumed(symbol)) for symbol in symbols},
        power=lambda base, exponent: (base if exponent.is_Integer else tidied(base)) ** exponent,
        functions={
            "exp": lambda inside: sympy.exp(tidied(inside)),
            "ln": lambda inside: sympy.log(tidied(inside)),
            "abs": lambda inside: sympy.Abs(tidied(inside)),
        },
    )


def _assumed(symbol: Symbol) -> dict[str, bool]:
    """Return what can be said of all sizes that a symbol can have."""
    return {"positive": True} if symbol.least > 0 else {"negative": True} if symbol.most < 0 else {"real": True}


@contextmanager
def _bounded(steps: int) -> Iterator[None]:
    """Stop what runs inside after so many calls and returns of functions; in any thread.

    Raises
    ------
    _TooLargeError
    """
    left, before = itertools.count(steps, -1), sys.getprofile()

    def count(*_: object) -> None:
        if next(left) < 0:
            raise _TooLargeError

    sys.setprofile(count)
    try:
        yield
    finally:
        sys.setprofile(before)
