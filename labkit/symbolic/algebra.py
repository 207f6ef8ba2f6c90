"""Equations worked with as algebra: integrals and derivatives done, unknowns eliminated, a difference known for zero."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Any

import sympy
from sympy import Derivative, Integral
from sympy.core.function import AppliedUndef

from labkit.symbolic.symbols import q

__all__ = ["Elimination", "Pair", "eliminate", "functions_of", "is_zero", "pair", "work_out"]

#: The two sides of an equation; sympy's own ``Eq`` would judge them true or false when rebuilt.
Pair = tuple[Any, Any]


def pair(equation: Any) -> Pair:
    """Return the two sides of an equation."""
    return equation.lhs, equation.rhs


# --- integrals and derivatives --------------------------------------------------------------------


def _integral(node: Any) -> Any:
    """Return an integral term by term: what is constant goes out, a derivative gives its ends, the rest stays."""
    variable, low, high = node.limits[0]
    total = sympy.S.Zero
    for term in sympy.Add.make_args(sympy.expand(node.function)):
        outside, inside = term.as_independent(variable, as_Add=False)
        if isinstance(inside, Derivative) and inside.variables == (variable,) and isinstance(inside.expr, AppliedUndef):
            done = inside.expr.subs(variable, high) - inside.expr.subs(variable, low)
        elif inside.has(AppliedUndef):
            done = Integral(inside, (variable, low, high))
        else:
            done = sympy.integrate(inside, (variable, low, high))
        total += outside * done
    return total


def work_out(expression: Any) -> Any:
    """Return *expression* with its derivatives and integrals done, as far as unknown functions of time allow."""
    expression = sympy.sympify(expression)
    if expression.has(Derivative):
        expression = expression.replace(lambda node: isinstance(node, Derivative), lambda node: node.doit())
    if expression.has(Integral):
        expression = expression.replace(lambda node: isinstance(node, Integral), _integral)
    return expression


def functions_of(pairs: Iterable[Pair]) -> dict[Any, Any]:
    """Return the functions of time that the equations define, each with the expression for it."""
    found: dict[Any, Any] = {}
    for left, right in pairs:
        function = left.func if isinstance(left, AppliedUndef) and left.args == (q.time,) else None
        if function is None or function in found or right.has(function):
            continue
        found[function] = sympy.Lambda(q.time, right)
    return found


def put_functions(expression: Any, functions: dict[Any, Any]) -> Any:
    """Return *expression* with the defined functions of time put in, one inside another if need be."""
    expression = sympy.sympify(expression)
    for _ in range(len(functions)):
        for function, definition in functions.items():
            if expression.has(function):
                expression = expression.replace(function, definition)
    return expression


# --- is it zero? ----------------------------------------------------------------------------------


def _unwrap_lambert(expression: Any) -> Any:
    """Use W(x)·exp(W(x)) = x, which is what the function means."""
    expression = sympy.expand(expression, power_exp=True, mul=False, basic=False, multinomial=False, log=False)
    return expression.replace(
        lambda node: isinstance(node, sympy.exp) and isinstance(node.exp, sympy.LambertW),
        lambda node: node.exp.args[0] / node.exp,
    )


_TIDIES: tuple[Callable[[Any], Any], ...] = (
    sympy.expand,
    lambda e: sympy.cancel(sympy.together(e)),
    lambda e: sympy.cancel(sympy.together(sympy.expand(e.rewrite(sympy.exp), power_exp=True, power_base=True))),
    sympy.simplify,
    lambda e: sympy.simplify(sympy.expand_log(sympy.powdenest(e, force=True), force=True)),
    lambda e: sympy.simplify(_unwrap_lambert(e)),
)


def is_zero(expression: Any) -> bool:
    """Return whether *expression* is zero for all values that its symbols can have, by several ways of tidying."""
    expression = sympy.sympify(expression)
    if expression == 0:
        return True
    if _clearly_not_zero(expression):
        return False
    return any(tidy(expression) == 0 for tidy in _TIDIES)


def _clearly_not_zero(expression: Any) -> bool:
    """Return whether one set of numbers already shows that *expression* is not zero: far quicker than tidying it."""
    symbols = sorted(expression.free_symbols, key=str)
    numbers = {symbol: sympy.Float(0.41 + 0.43 * place / len(symbols), 40) for place, symbol in enumerate(symbols)}
    size = expression.xreplace(numbers).evalf(30)
    return bool(size.is_number and size.is_finite and abs(size) > sympy.Float("1e-20"))


# --- elimination ----------------------------------------------------------------------------------


@dataclass
class Elimination:
    """Unknowns in terms of free symbols, on the solution set of some equations."""

    functions: dict[Any, Any]
    #: What stands for an unknown function of time, its derivative or its integral.
    stand_ins: dict[Any, Any] = field(default_factory=dict)
    solved: dict[Any, Any] = field(default_factory=dict)

    def plain(self, expression: Any) -> Any:
        """Return *expression* worked out, with a stand-in for everything that is no symbol."""
        expression = work_out(put_functions(expression, self.functions))
        unknown = sorted(expression.atoms(Integral, Derivative), key=lambda node: -node.count_ops())
        unknown += sorted(expression.atoms(AppliedUndef), key=str)
        for node in unknown:
            if expression.has(node):
                stand_in = self.stand_ins.setdefault(node, sympy.Dummy(str(node).replace(" ", ""), real=True))
                expression = expression.xreplace({node: stand_in})
        return expression

    def reduce(self, expression: Any) -> Any:
        """Return *expression* in the free symbols alone."""
        return self.plain(expression).xreplace(self.solved)

    def take(self, left: Any, right: Any) -> None:
        """Use one more equation to solve for one more unknown, unless it says nothing new."""
        rest = self.reduce(left - right)
        if is_zero(rest):
            return
        found = _solve_one(rest, left) or _solve_one(sympy.together(rest).as_numer_denom()[0], left)
        if found is None:
            return  # it binds the numbers all the same: the random points are held to every equation
        symbol, value = found
        self.solved = {known: old.xreplace({symbol: value}) for known, old in self.solved.items()}
        self.solved[symbol] = value


def _solve_one(rest: Any, left: Any) -> tuple[Any, Any] | None:
    """Return a symbol in which *rest* = 0 is linear, *left* if it is one, and its value."""
    candidates = sorted(rest.free_symbols - {left}, key=lambda symbol: (rest.count(symbol), str(symbol)))
    if left in rest.free_symbols:
        candidates.insert(0, left)
    for symbol in candidates:
        slope = rest.diff(symbol)
        if symbol not in slope.free_symbols and slope != 0:
            return symbol, sympy.together(-rest.xreplace({symbol: sympy.S.Zero}) / slope)
    return None


def eliminate(pairs: Iterable[Pair]) -> Elimination:
    """Return the unknowns of the equations in terms of what stays free; equations with a number on a side come first."""
    pairs = list(pairs)
    work = Elimination(functions_of(pairs))
    for left, right in sorted(pairs, key=lambda sides: not any(sympy.sympify(side).is_number for side in sides)):
        work.take(left, right)
    return work
