"""Equations as algebra: integrals and derivatives done, unknowns eliminated, a difference known for zero."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import sympy
from sympy import Derivative, Integral
from sympy.core.function import AppliedUndef

from labkit.errors import DerivationError
from labkit.symbolic.symbols import q

__all__ = ["Elimination", "Pair", "eliminate", "functions_of", "is_zero", "needed_for", "pair", "work_out"]

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
    """Use W(x)·exp(W(x)) = x, which is what the function means, and so ln W(x) = ln x - W(x)."""
    expression = expression.replace(
        lambda node: isinstance(node, sympy.exp) and isinstance(node.exp, sympy.LambertW),
        lambda node: node.exp.args[0] / node.exp,
    )
    expression = expression.replace(sympy.log, lambda inside: sympy.log(sympy.cancel(sympy.together(inside))))
    return sympy.expand_log(expression, force=True).replace(
        lambda node: isinstance(node, sympy.log) and isinstance(node.args[0], sympy.LambertW),
        lambda node: sympy.expand_log(sympy.log(node.args[0].args[0]), force=True) - node.args[0],
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
        if found is not None and found[0] != left:
            _refuse_branches(rest)
        if found is None:
            return  # it binds the numbers all the same: the random points are held to every equation
        symbol, value = found
        self.solved = {known: old.xreplace({symbol: value}) for known, old in self.solved.items()}
        self.solved[symbol] = value


def _refuse_branches(rest: Any) -> None:
    """Refuse an equation such as (a - b)·(c - d) = 0: solving it for one symbol would lose a branch."""
    factors = sympy.Mul.make_args(sympy.factor(sympy.together(rest).as_numer_denom()[0]))
    branches = [
        one for one in factors if one.free_symbols and not one.as_base_exp()[0].is_Symbol and not one.is_positive
    ]
    if len(branches) > 1:
        msg = f"the equations before it leave a choice: one of {' and '.join(map(str, branches))} is zero"
        raise DerivationError(msg)


def _solve_one(rest: Any, left: Any) -> tuple[Any, Any] | None:
    """Return a symbol in which *rest* = 0 is linear, *left* if it is one, and its value.

    Symbols of either sign come before those that must be positive, since their value is always one they can have.
    """
    candidates = sorted(rest.free_symbols - {left}, key=lambda s: (bool(s.is_nonnegative), rest.count(s), str(s)))
    if left in rest.free_symbols:
        candidates.insert(0, left)
    for symbol in candidates:
        slope = rest.diff(symbol)
        if symbol in slope.free_symbols or slope == 0:
            continue
        value = sympy.together(-rest.xreplace({symbol: sympy.S.Zero}) / slope)
        may_be_zero = not symbol.is_nonnegative or (symbol == left and not symbol.is_positive)
        if value != 0 or may_be_zero:
            return symbol, value
    squares = [s for s in candidates if s.is_nonnegative and rest.has(s**2)]
    return next(((s, root) for s in squares if (root := _square_root(rest, s)) is not None), None)


def _unknowns(expression: Any) -> set[Any]:
    return set(expression.free_symbols) | {node.func for node in expression.atoms(AppliedUndef)}


@lru_cache(maxsize=2048)
def _soaks_up(unknown: Any, sides: Pair) -> bool:
    """Return whether the equation only says what *unknown* is: there is a value of it whatever the others are."""
    difference = work_out(sides[0] - sides[1])
    if difference.has(AppliedUndef):  # it holds at every moment: only another function of time can take that up
        return not getattr(unknown, "is_Symbol", False)
    slope = sympy.cancel(sympy.together(difference.diff(unknown)))
    at_zero = difference.subs(unknown, 0)
    return bool(slope != 0) and (unknown in slope.free_symbols or at_zero != 0)


def needed_for(expression: Any, pairs: Iterable[Pair]) -> tuple[Pair, ...]:
    """Return the equations that can bear on *expression*, without those that only say what something else is.

    Less to build on can prove no more, so leaving equations out is always safe.
    """
    kept = [(sides, _unknowns(sides[0] - sides[1])) for sides in pairs]
    asked = _unknowns(expression) | {q.time}
    place = 0
    while place < len(kept):
        sides, unknowns = kept[place]
        elsewhere = asked.union(*(others for other, (_, others) in enumerate(kept) if other != place))
        if any(_soaks_up(unknown, sides) for unknown in sorted(unknowns - elsewhere, key=str)):
            del kept[place]
            place = 0
        else:
            place += 1
    return tuple(sides for sides, _ in kept)


def _square_root(rest: Any, symbol: Any) -> Any:
    """Return the symbol's value where *rest* has it as a square only, once."""
    square = sympy.Dummy(positive=True)
    put = rest.subs(symbol**2, square)
    slope = put.diff(square)
    if put == rest or symbol in put.free_symbols or square in slope.free_symbols or slope == 0:
        return None
    return sympy.sqrt(sympy.together(-put.subs(square, 0) / slope))


@lru_cache(maxsize=512)
def eliminate(pairs: tuple[Pair, ...]) -> Elimination:
    """Return the unknowns of the equations in terms of what stays free, beginning with those that are a number."""
    work = Elimination(functions_of(pairs))
    for left, right in sorted(pairs, key=lambda sides: not any(sympy.sympify(side).is_number for side in sides)):
        work.take(left, right)
    return work
