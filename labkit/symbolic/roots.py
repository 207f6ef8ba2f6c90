"""All real roots of an equation in one unknown: of a polynomial all, else by a search of the whole axis."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import sympy
from scipy.optimize import brentq, minimize_scalar

__all__ = ["real_roots"]

_PER_DECADE = 24
#: Roots are one within this part of their size.
_ONE = 1e-6
_DECADES = np.arange(-15 * _PER_DECADE, 12 * _PER_DECADE + 1) / _PER_DECADE


def real_roots(expression: Any, unknown: Any) -> list[float]:
    """Return the real values of *unknown* at which *expression* is zero, sorted.

    Parameters
    ----------
    expression : sympy expression in *unknown* alone
    unknown : Symbol

    Notes
    -----
    A rational expression is brought to a polynomial, whose roots are all found.
    Anything else is searched at 24 places a decade from 1e-15 to 1e12 on both sides of zero, and at the edges of where
    it is real, for changes of sign and for valleys, where a pair of roots lies between two places.
    Two roots that differ by less than a millionth are one.

    Examples
    --------
    >>> x = sympy.Symbol("x")
    >>> real_roots(x**2 - 4, x)
    [-2.0, 2.0]
    >>> real_roots(sympy.exp(-x) - 0.5, x)
    [0.6931471805599453]
    """
    generic = sympy.Symbol("x")  # without the assumption "positive", which would hide roots from sympy
    expression = sympy.sympify(expression).xreplace({unknown: generic})
    function = sympy.lambdify(generic, expression, ["scipy", "numpy"])
    top = sympy.together(expression).as_numer_denom()[0]
    if not top.is_polynomial(generic):
        return _search(function)
    roots = np.roots([complex(one) for one in sympy.Poly(sympy.expand(top), generic).all_coeffs()])
    # rounding splits a double root by the square root of its own size, along either axis
    real = [float(root.real) for root in roots if abs(root.imag) <= _ONE * abs(root)]
    return _sorted_apart([root for root in real if _finite(function, root) is not None])


def _finite(function: Callable[[float], Any], place: float) -> float | None:
    """Return the function there, or nothing where it is not a real finite number."""
    try:
        with np.errstate(all="ignore"):
            found = complex(function(place))
    except (ValueError, ZeroDivisionError, OverflowError, TypeError):
        return None
    ok = math.isfinite(found.real) and abs(found.imag) <= 1e-12 * max(abs(found.real), 1e-300)
    return found.real if ok else None


def _search(function: Callable[[float], Any]) -> list[float]:
    places = _with_edges(function, np.concatenate([-(10.0 ** _DECADES[::-1]), [0.0], 10.0**_DECADES]).tolist())
    values = [_finite(function, place) for place in places]
    found = [place for place, value in zip(places, values, strict=True) if value == 0]
    for low, high, at_low, at_high in zip(places, places[1:], values, values[1:], strict=False):
        if at_low is not None and at_high is not None and at_low * at_high < 0:
            found += _polish(function, low, high)
    for place in range(1, len(places) - 1):
        left, here, right = values[place - 1 : place + 2]
        if left and here and right and left * here > 0 and here * right > 0 and abs(left) > abs(here) < abs(right):
            found += _valley(function, places[place - 1], places[place + 1])
    return _sorted_apart(found)


def _with_edges(function: Callable[[float], Any], places: list[float]) -> list[float]:
    """Return the places, and the last one at each edge of where the function is real: roots hide just before it."""
    real = [_finite(function, place) is not None for place in places]
    edges = []
    for low, high, low_real, high_real in zip(places, places[1:], real, real[1:], strict=False):
        if low_real != high_real:
            inside, outside = (low, high) if low_real else (high, low)
            while (middle := 0.5 * (inside + outside)) not in {inside, outside}:
                inside, outside = (middle, outside) if _finite(function, middle) is not None else (inside, middle)
            edges.append(inside)
    return sorted({*places, *edges})


def _valley(function: Callable[[float], Any], low: float, high: float) -> list[float]:
    """Return the roots between two places where the function has one sign and comes nearest to zero between them."""
    ends = [_finite(function, end) or 0.0 for end in (low, high)]
    side = math.copysign(1.0, ends[0])

    def height(place: float) -> float:
        return side * (_finite(function, place) or 0.0)

    bottom = float(
        minimize_scalar(height, bounds=(low, high), method="bounded", options={"xatol": 1e-12 * abs(high)}).x
    )
    if height(bottom) < 0:
        return _polish(function, low, bottom) + _polish(function, bottom, high)
    return [bottom] if height(bottom) <= 1e-9 * max(map(abs, ends)) else []


def _polish(function: Callable[[float], Any], low: float, high: float) -> list[float]:
    root = float(brentq(lambda place: _finite(function, place) or 0.0, low, high, xtol=1e-300, rtol=1e-14, maxiter=300))
    here, ends = _finite(function, root), [_finite(function, low), _finite(function, high)]
    size = max(abs(end) for end in ends if end is not None)
    return [root] if here is not None and abs(here) <= 1e-6 * size else []  # a pole changes sign without a root


def _sorted_apart(found: list[float]) -> list[float]:
    apart: list[list[float]] = []
    for root in sorted(found):
        if apart and abs(root - apart[-1][0]) <= _ONE * max(abs(root), abs(apart[-1][0])):
            apart[-1].append(root)
        else:
            apart.append([root])
    return [sum(same) / len(same) for same in apart]
