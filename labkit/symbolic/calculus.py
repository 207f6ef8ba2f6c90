"""The ways in which a step follows by calculus: an extreme, the solution of a rate equation, an approximation."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import sympy
from sympy import Derivative
from sympy.core.function import AppliedUndef

from labkit.errors import DerivationError
from labkit.symbolic.algebra import eliminate, is_zero, needed_for, work_out
from labkit.symbolic.rules import NO_NUMBERS, POINTS, Evidence, Premises, agree, must_be_symbol, numbers_in
from labkit.symbolic.sampling import number, points
from labkit.symbolic.symbols import q, term_of

__all__ = ["Approaches", "Extreme", "SolvesOde"]


@dataclass(frozen=True, eq=False)
class Extreme:
    """The left symbol is the value of *over* at which *of* is greatest (or least).

    Parameters
    ----------
    of, over : symbols
        *of* must stand alone on the left of an earlier equation.
    least : bool
    """

    of: Any
    over: Any
    least: bool = False
    adds = True

    def prove(self, left: Any, right: Any, premises: Premises) -> Evidence:
        """Show that the slope is zero there, and that no random value of the variable does better."""
        must_be_symbol(left)
        expression = next((r for s, r in reversed(premises.earlier) if s == self.of and r.has(self.over)), None)
        if expression is None:
            msg = f"no earlier equation gives {self.of} in terms of {self.over}"
            raise DerivationError(msg)
        facts = tuple(sides for sides in premises.facts if not (sides[0] - sides[1]).has(self.of, self.over))
        margins = [margin for margin in premises.margins if not margin.has(self.over)]
        slope = expression.diff(self.over).subs(self.over, right)
        drawn = points(facts, (right, expression), margins, count=POINTS)
        for numbers, ready in drawn:
            self._compare(expression, ready(right), slope, {s: n for s, n in numbers.items() if s != self.over})
        if len(drawn) < POINTS:
            raise DerivationError(NO_NUMBERS)
        if not is_zero(eliminate(facts).reduce(slope)):
            msg = f"the slope there could not be shown to be zero in symbols: it comes to {sympy.simplify(slope)}"
            raise DerivationError(msg)
        return Evidence("the slope there is zero, and none of 39 other values does better", len(drawn), 0.0)

    def _compare(self, expression: Any, right: Any, slope: Any, known: Mapping[Any, Any]) -> None:
        """Refuse a place where the slope is not zero, or to which one of 39 others is preferable."""
        best = number(right, known)
        top = number(expression, {**known, self.over: best})
        steep = number(slope, known)
        if not all(one.is_real and one.is_finite and one != 0 for one in (best, top, steep + 1)):
            msg = f"at {numbers_in(known)} it is no place at all: {best}"
            raise DerivationError(msg)
        if abs(steep) > 1e-9 * abs(top / best):
            msg = f"at {numbers_in(known)} the slope of {self.of} is {float(steep):.3g} there, not zero"
            raise DerivationError(msg)
        span = 1 if term_of(self.over).sign == "1" else 3 * best
        others = [number(expression, {**known, self.over: span * part / 40}) for part in range(1, 40)]
        if any((-1 if self.least else 1) * (other - top) > abs(top) * 1e-12 for other in others):
            msg = f"at {numbers_in(known)} another value of {self.over} does better"
            raise DerivationError(msg)


@dataclass(frozen=True, eq=False)
class SolvesOde:
    """The left side is the one function of time that obeys an earlier equation and begins as given.

    Where the equation fixes the rate as a smooth function of the value, one solution begins as given,
    so what obeys both is the solution.
    """

    adds = True

    def prove(self, left: Any, right: Any, premises: Premises) -> Evidence:
        """Put the function into the equation and into its beginning, with numbers and with symbols."""
        if not isinstance(left, AppliedUndef) or left.args != (q.time,):
            msg = f"the left side must be a function of time alone, not {left}"
            raise DerivationError(msg)
        function, time = left.func, left.args[0]
        rate = Derivative(left, time)
        slopes = [sides for sides in premises.earlier if (sides[0] - sides[1]).has(rate)][-1:]
        starts = [sides for sides in premises.facts if function(0) in sides]
        others = [sides for sides in premises.facts if not (sides[0] - sides[1]).has(function)]
        if not slopes or len(starts) != 1:
            msg = f"an equation with the rate of {left} and one beginning must stand before it"
            raise DerivationError(msg)
        facts = [*slopes, *starts]
        definition = sympy.Lambda(time, right)
        put = [(a.replace(function, definition), b.replace(function, definition)) for a, b in facts]
        done, worst = 0, 0.0
        for a, b in put:
            useful = needed_for(a - b, others)
            count, apart = agree(work_out(a), work_out(b), useful, premises)
            done, worst = done + count, max(worst, apart)
        work = eliminate(tuple(others))
        for a, b in put:
            if not is_zero(work.reduce(a - b)):
                msg = f"it does not obey {a} = {b}"
                raise DerivationError(msg)
        for a, b in facts:
            _one_solution(a - b, left, time)
        return Evidence("it obeys the equation and its beginning, and there is one solution that does", done, worst)


def _one_solution(difference: Any, function: Any, time: Any) -> None:
    """Refuse an equation that does not fix the rate: more than one solution might begin alike."""
    rate, value = sympy.Dummy(), sympy.Dummy()
    flat = difference.xreplace({Derivative(function, time): rate}).xreplace({function: value})
    if flat.has(rate) and (flat.diff(rate).has(rate, value) or not flat.subs(rate, 0).is_polynomial(value)):
        msg = "the equation does not fix the rate smoothly, so obeying it does not make the solution the only one"
        raise DerivationError(msg)


@dataclass(frozen=True, eq=False)
class Approaches:
    """The right side is what an earlier expression for the left comes to, as one symbol gets small.

    Parameters
    ----------
    small : symbol
    """

    small: Any
    adds = True

    def prove(self, left: Any, right: Any, premises: Premises) -> Evidence:
        """Show that exact over approximate has the limit 1, and that at small values it is near 1 and gets nearer."""
        exact = next((r for s, r in reversed(premises.earlier) if s == left and r.has(self.small)), None)
        if exact is None:
            msg = f"no earlier equation gives {left} in terms of {self.small}"
            raise DerivationError(msg)
        done = 0
        for numbers, _ in points((), (exact, right), premises.margins, count=POINTS):
            errors = []
            for tiny in (1e-3, 1e-4):
                near = {**numbers, self.small: sympy.Float(tiny, 40)}
                errors.append(abs(float(number(exact, near) / number(right, near) - 1)))
            if not (errors[0] < 0.1 and errors[1] < max(errors[0] / 5, 1e-12)):
                msg = f"at {numbers_in(numbers)} and {self.small} = 0.001 it is off by the part {errors[0]:.3g}"
                raise DerivationError(msg)
            done += 1
        if done < POINTS:
            raise DerivationError(NO_NUMBERS)
        if sympy.limit(sympy.simplify(exact / right), self.small, 0) != 1:
            msg = f"exact over approximate does not come to 1 as {self.small} gets small"
            raise DerivationError(msg)
        return Evidence(f"exact over approximate comes to 1 as {self.small} gets small", done, 0.0)
