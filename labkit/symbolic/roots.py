"""All real roots of an equation in one unknown: of a polynomial all, else by a search of the whole axis."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import sympy
from scipy.optimize import brentq

__all__ = ["real_roots"]

_PER_DECADE = 24
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
    Anything else is searched for changes of sign at 24 places a decade from 1e-15 to 1e12 on both sides of zero;
    two roots closer together than that may be missed together.

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
    top = sympy.together(expression).as_numer_denom()[0]
    if top.is_polynomial(generic):
        coefficients = [complex(one) for one in sympy.Poly(sympy.expand(top), generic).all_coeffs()]
        return _real(coefficients, sympy.lambdify(generic, expression, ["scipy", "numpy"]))
    return _search(sympy.lambdify(generic, expression, ["scipy", "numpy"]))


def _real(coefficients: list[complex], function: Callable[[float], Any]) -> list[float]:
    if len(coefficients) < 2:
        return []
    scale = abs(coefficients[0])
    candidates = np.roots(coefficients)
    real = [float(root.real) for root in candidates if abs(root.imag) <= 1e-9 * max(abs(root), 1e-300)]
    return _sorted_apart([root for root in real if scale and _finite(function, root) is not None])


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
    places = np.concatenate([-(10.0 ** _DECADES[::-1]), [0.0], 10.0**_DECADES])
    found = []
    before: tuple[float, float] | None = None
    for place in places:
        value = _finite(function, float(place))
        if value is None:
            before = None
            continue
        if value == 0:
            found.append(float(place))
        elif before is not None and before[1] * value < 0:
            found.extend(_polish(function, before[0], float(place)))
        before = (float(place), value)
    return _sorted_apart(found)


def _polish(function: Callable[[float], Any], low: float, high: float) -> list[float]:
    root = float(brentq(lambda place: _finite(function, place) or 0.0, low, high, xtol=1e-300, rtol=1e-14, maxiter=300))
    here, ends = _finite(function, root), [_finite(function, low), _finite(function, high)]
    size = max(abs(end) for end in ends if end is not None)
    return [root] if here is not None and abs(here) <= 1e-6 * size else []  # a pole changes sign without a root


def _sorted_apart(found: list[float]) -> list[float]:
    apart: list[float] = []
    for root in sorted(found):
        if not apart or abs(root - apart[-1]) > 1e-9 * max(abs(root), abs(apart[-1])):
            apart.append(root)
    return apart
