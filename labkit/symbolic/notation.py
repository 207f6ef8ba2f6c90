"""How an equation is written: as a line of text, and aloud in the full names of its symbols."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import sympy
from sympy.core.function import AppliedUndef
from sympy.printing.str import StrPrinter

from labkit.symbolic.symbols import q, term_of

__all__ = ["aloud", "as_written", "function_name", "in_reading_order", "letter_parts", "line", "relation_aloud"]

_POWER = re.compile(r"\*\*(\d+)")
_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
_GREEK = {
    "alpha": "α", "beta": "β", "eta": "η", "theta": "θ", "lambda": "λ", "rho": "ρ", "tau": "τ", "omega": "ω",
}  # fmt: skip


class _Exponential(sympy.Function):  # type: ignore[misc]  # sympy has no types
    """An exponential that printers leave where it stands; e^-x would else go below a fraction bar as e^x."""

    nargs = 1


class _Root(sympy.Function):  # type: ignore[misc]  # sympy has no types
    """One square root over a product; sympy would else take it apart, root by root."""

    nargs = 1


def as_written(expression: Any) -> Any:
    """Return *expression* for a printer: exponentials stay where they stand, roots that are multiplied become one."""
    written = sympy.sympify(expression).replace(sympy.exp, _Exponential)
    return written.replace(lambda node: node.is_Mul and len(_roots(node)) > 1, _joined)


def _roots(product: Any) -> list[Any]:
    return [one for one in product.args if one.is_Pow and abs(one.exp) == sympy.Rational(1, 2)]


def _joined(product: Any) -> Any:
    roots = _roots(product)
    inside = sympy.Mul(*(one**2 for one in roots))
    above = sympy.Mul(*(one for one in product.args if one not in roots))
    below = all(one.exp.is_negative for one in roots)
    return above / _Root(1 / inside) if below else above * _Root(inside)


def letter_parts(letter: str) -> tuple[str, str]:
    """Return a letter's base and its index, in the signs that people write.

    >>> letter_parts("omega_0"), letter_parts("Delta_I"), letter_parts("R")
    (('ω', '0'), ('ΔI', ''), ('R', ''))
    """
    change = letter.startswith("Delta_")
    base, _, index = letter.removeprefix("Delta_").partition("_")
    return ("Δ" if change else "") + _GREEK.get(base, base), index


def in_reading_order(terms: list[Any]) -> list[Any]:
    """Return the terms of a sum with those that are added first: V - R·I, not -R·I + V."""
    return sorted(terms, key=lambda term: bool(term.could_extract_minus_sign()))


def function_name(function: Any) -> str:
    """Return what a function is called in print."""
    name = str(function.func.__name__)
    return {"log": "ln", "LambertW": "W", "_Exponential": "exp", "_Root": "sqrt"}.get(name, name)


class _Line(StrPrinter):  # type: ignore[misc]  # sympy has no types
    def _as_ordered_terms(self, expr: Any, order: Any = None) -> list[Any]:
        return in_reading_order(super()._as_ordered_terms(expr, order=order))

    def _print_Symbol(self, expr: Any) -> str:  # noqa: N802 (sympy finds printers by class name)
        return "_".join(filter(None, letter_parts(expr.name)))

    def _print_Function(self, expr: Any) -> str:  # noqa: N802 (sympy finds printers by class name)
        name = "_".join(filter(None, letter_parts(function_name(expr))))
        return f"{name}({self.stringify(expr.args, ', ')})"

    def _print_Derivative(self, expr: Any) -> str:  # noqa: N802 (sympy finds printers by class name)
        return f"d{self._print(expr.expr)}/d{self._print(expr.variables[0])}"

    def _print_Integral(self, expr: Any) -> str:  # noqa: N802 (sympy finds printers by class name)
        variable, low, high = (self._print(part) for part in expr.limits[0])
        return f"∫[{low} to {high}] ({self._print(expr.function)}) d{variable}"


def line(expression: Any) -> str:
    """Return an expression or equation as one line of text.

    >>> from labkit.symbolic.symbols import q
    >>> line((q.voltage - q.resistance * q.current) / q.emf_constant**2)
    '(V - I·R)/k²'
    """
    if isinstance(expression, sympy.core.relational.Relational):
        sign = "=" if expression.rel_op == "==" else expression.rel_op
        return f"{line(expression.lhs)} {sign} {line(expression.rhs)}"
    text = str(_Line().doprint(as_written(expression)))
    return _POWER.sub(lambda power: power[1].translate(_RAISED), text).replace("**", "^").replace("*", "·")


# --- aloud ----------------------------------------------------------------------------------------


def relation_aloud(relation: Any) -> str:
    """Return an equation or inequality in the full names of its symbols.

    >>> from labkit.symbolic.symbols import q
    >>> relation_aloud(sympy.Eq(q.voltage, q.resistance * q.current))
    'voltage equals current times resistance'
    """
    verb = {"==": "equals", ">": "is more than", "<": "is less than"}[relation.rel_op]
    return f"{aloud(relation.lhs)} {verb} {aloud(relation.rhs)}"


def aloud(node: Any) -> str:
    """Return an expression in words, as one would read it to somebody who cannot see it."""
    node = as_written(node)
    speaker = next((say for kind, say in _SPEAKERS if isinstance(node, kind)), None)
    return str(node) if speaker is None else speaker(node)


def _name(node: Any) -> str:
    name = term_of(node).words
    at = node.args[0] if isinstance(node, AppliedUndef) else None
    return name if at is None or at == q.time else f"{name} at time {aloud(at)}"


def _rational(node: Any) -> str:
    return str(node) if node.q == 1 else "half" if (node.p, node.q) == (1, 2) else f"{node.p} over {node.q}"


def _sum(node: Any) -> str:
    spoken = ""
    for term in in_reading_order(list(node.as_ordered_terms())):
        minus = term.could_extract_minus_sign()
        word = ("minus " if not spoken else " minus ") if minus else (" plus " if spoken else "")
        spoken += word + aloud(-term if minus else term)
    return spoken


def _closed(node: Any) -> str:
    return (
        f"bracket {aloud(node)} close bracket" if node.is_Add or (node.is_Mul and node.args[0] == -1) else aloud(node)
    )


def _product(node: Any) -> str:
    if node.could_extract_minus_sign():
        return f"minus {_closed(-node)}"
    factors = node.as_ordered_factors()
    below = [1 / one for one in factors if one.is_Pow and one.exp.could_extract_minus_sign()]
    above = [one for one in factors if not (one.is_Pow and one.exp.could_extract_minus_sign())]
    over = " times ".join(_closed(one) for one in above) or "1"
    if not below:
        return over
    under = " times ".join(_closed(one) for one in below)
    return f"{over} divided by {under if len(below) == 1 else f'bracket {under} close bracket'}"


def _power(node: Any) -> str:
    base, exponent = node.as_base_exp()
    if exponent == sympy.Rational(1, 2):
        return f"the square root of {_closed(base)}"
    if exponent.is_negative:
        return f"1 divided by {_closed(base**-exponent)}"
    return f"{_closed(base)} squared" if exponent == 2 else f"{_closed(base)} to the power of {_closed(exponent)}"


def _integral(node: Any) -> str:
    _, low, high = node.limits[0]
    return f"the integral over time from {aloud(low)} to {aloud(high)} of {_closed(node.function)}"


def _of(words: str) -> Callable[[Any], str]:
    return lambda node: f"{words} bracket {aloud(node.args[0])} close bracket"


_SPEAKERS = (
    (sympy.Rational, _rational),
    (AppliedUndef, _name),
    (sympy.Symbol, _name),
    (sympy.Add, _sum),
    (sympy.Mul, _product),
    (_Exponential, _of("e to the power of")),
    (_Root, _of("the square root of")),
    (sympy.Pow, _power),
    (sympy.log, _of("the natural logarithm of")),
    (sympy.LambertW, _of("the Lambert W of")),
    (sympy.sin, _of("the sine of")),
    (sympy.cos, _of("the cosine of")),
    (sympy.Derivative, lambda node: f"the rate of change of {aloud(node.expr)}"),
    (sympy.Integral, _integral),
)
