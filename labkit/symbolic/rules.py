"""The ways in which a step may follow from what stands before it, each with its own proof.

``Algebra``      the equation holds wherever the earlier ones do: put in, rearrange, work out an integral
``Put``          the same, for a case: earlier equations with chosen values put in, such as the speed 0
``Root``         the one admissible root of an equation for an unknown
``Extreme``      where a quantity is greatest or least
``SolvesOde``    the function of time that obeys an equation and begins at a given value
``Approaches``   what an expression comes to as one of its symbols gets small

Each proof has two halves: symbols, and random admissible numbers. Numbers go first, since a wrong step falls there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, Protocol

import sympy
from sympy import Derivative

from labkit.errors import DerivationError
from labkit.symbolic.algebra import Pair, eliminate, is_zero, needed_for, work_out
from labkit.symbolic.roots import real_roots
from labkit.symbolic.sampling import TOLERANCE, holds, mismatch, number, points
from labkit.symbolic.symbols import q, term_of

__all__ = ["Algebra", "Approaches", "Evidence", "Extreme", "Premises", "Put", "Root", "Rule", "SolvesOde"]

_POINTS = 4


class Premises(NamedTuple):
    """What a step may use."""

    #: The stated laws, and the earlier steps that say more than the laws do.
    facts: tuple[Pair, ...]
    #: Every equation before this one, in order.
    earlier: tuple[Pair, ...]
    #: Expressions that are more than zero throughout.
    margins: tuple[Any, ...]


class Evidence(NamedTuple):
    """What a proof rests on."""

    #: How it was proved, in words.
    how: str
    #: At how many sets of random numbers.
    points: int
    #: The largest relative difference of the two sides there.
    mismatch: float


class Rule(Protocol):
    """A way in which a step follows; ``prove`` raises ``DerivationError`` where it does not."""

    @property
    def adds(self) -> bool:
        """Whether the equation says more than the laws did, so that later steps need it as a fact."""

    def prove(self, left: Any, right: Any, premises: Premises) -> Evidence:
        """Return the evidence that left = right follows."""


def _numbers_in(numbers: Mapping[Any, Any]) -> str:
    known = sorted((str(symbol), value) for symbol, value in numbers.items())
    return ", ".join(f"{name} = {float(value):.3g}" for name, value in known)


def _unequal(left: Any, right: Any, numbers: Mapping[Any, Any]) -> DerivationError:
    left, right = sympy.sympify(left), sympy.sympify(right)
    sides = [number(side, dict(numbers)) for side in (left, right)]
    shown = " and the right ".join(f"{float(s):.6g}" if s.is_number and s.is_real else str(s) for s in sides)
    seen = left.free_symbols | right.free_symbols
    here = _numbers_in({symbol: value for symbol, value in numbers.items() if symbol in seen})
    return DerivationError(f"it does not follow: at {here} the left side is {shown}")


def _agree(
    left: Any, right: Any, facts: Sequence[Pair], premises: Premises, *, count: int = _POINTS
) -> tuple[int, float]:
    """Return at how many admissible points both sides agree, and how well."""
    worst, done = 0.0, 0
    for numbers, ready in points(facts, (left, right), premises.margins, count=count):
        apart = mismatch(ready(left), ready(right), numbers)
        if not apart < TOLERANCE:
            raise _unequal(ready(left), ready(right), numbers)
        worst, done = max(worst, apart), done + 1
    if done < count:
        msg = "no admissible numbers were found at which all the earlier equations hold"
        raise DerivationError(msg)
    return done, worst


def _follows(left: Any, right: Any, facts: Sequence[Pair], premises: Premises, how: str) -> Evidence:
    facts = needed_for(left - right, facts)
    done, worst = _agree(left, right, facts, premises)
    work = eliminate(tuple(facts))
    rest = work.reduce(left - right)
    if not is_zero(rest):
        msg = f"it could not be shown in symbols: left less right comes to {sympy.simplify(rest)}"
        raise DerivationError(msg)
    return Evidence(how, done, worst)


@dataclass(frozen=True, eq=False)
class Algebra:
    """The equation holds wherever the earlier ones hold."""

    adds = False

    def prove(self, left: Any, right: Any, premises: Premises) -> Evidence:
        """Eliminate unknowns with the earlier equations until left less right is zero."""
        return _follows(left, right, premises.facts, premises, "unknowns eliminated, the difference is zero")


@dataclass(frozen=True, eq=False)
class Put:
    """The earlier equations hold for every value; here they are taken for one case.

    Parameters
    ----------
    case : dict of symbol to its value in this case
        Such as ``{q.speed: 0, q.current: q.stall_current}``: what the current is called when the speed is 0.
    """

    case: Mapping[Any, Any]
    adds = True

    def prove(self, left: Any, right: Any, premises: Premises) -> Evidence:
        """Put the case into each earlier equation that it may be put into, then eliminate as ``Algebra`` does.

        Whatever else varies with the case has some other value there, of which nothing is asked.
        """
        kept = (left - right).free_symbols.union(*(sympy.sympify(value).free_symbols for value in self.case.values()))
        facts = []
        for sides in reversed(premises.earlier):
            if not self._rates_touched(sides[0] - sides[1]):
                put = [sympy.sympify(side).subs(self.case) for side in sides]
                if not any(side.has(sympy.nan, sympy.zoo) for side in put):
                    facts.append((put[0], put[1]))
        varying = set().union(*((a - b).free_symbols for a, b in facts)) - kept - {q.time, q.period}
        other = {symbol: sympy.Dummy(symbol.name, real=True) for symbol in sorted(varying, key=str)}
        facts = [(a.xreplace(other), b.xreplace(other)) for a, b in facts]
        margins = tuple(one for one in premises.margins if one.free_symbols <= kept and not one.has(*self.case))
        here = premises._replace(margins=margins)
        return _follows(left, right, facts, here, "the case put into the earlier equations, the difference is zero")

    def _rates_touched(self, difference: Any) -> bool:
        """Return whether the case would go into a rate or an integral: what holds at a moment says nothing of those."""
        nodes = difference.atoms(Derivative, sympy.Integral)
        return any(node.has(*self.case) for node in nodes)


@dataclass(frozen=True, eq=False)
class Root:
    """The one admissible root of an earlier equation for the symbol on the left.

    Parameters
    ----------
    of : int
        Which earlier equation, counted from the end: 1 is the one just before.
    """

    of: int = 1
    adds = True

    def prove(self, left: Any, right: Any, premises: Premises) -> Evidence:
        """Put the root in: the equation must hold. Then look for all roots at random numbers: there must be one."""
        old = premises.earlier[-self.of]
        others = [sides for sides in premises.facts if not (sides[0] - sides[1]).has(left) and sides != old]
        tried = 0
        for numbers, _ in points(others, (*old, right), premises.margins, count=_POINTS):
            known = {symbol: value for symbol, value in numbers.items() if symbol != left}
            here = number(right, known)
            apart = mismatch(old[0].subs(left, here), old[1].subs(left, here), known)
            if not apart < TOLERANCE:
                raise _unequal(old[0].subs(left, right), old[1].subs(left, right), known)
            margins = [margin.xreplace(known) for margin in premises.margins]
            roots = [
                root
                for root in real_roots((old[0] - old[1]).xreplace(known), left)
                if term_of(left).admits(root) and holds(margins, {left: sympy.Float(root)})
            ]
            if len(roots) != 1 or abs(roots[0] - float(here)) > 1e-6 * abs(float(here)):
                msg = (
                    f"at {_numbers_in(known)} the admissible roots for {left} are {roots}, not {float(here):.6g} alone"
                )
                raise DerivationError(msg)
            tried += 1
        if tried < _POINTS:
            msg = "no admissible numbers were found at which the equation has this root"
            raise DerivationError(msg)
        put = [side.subs(left, right) for side in old]
        return _root_in_symbols(put, others, tried)


def _root_in_symbols(put: Sequence[Any], others: Sequence[Pair], tried: int) -> Evidence:
    if not is_zero(eliminate(tuple(others)).reduce(put[0] - put[1])):
        msg = "it could not be shown in symbols that the root satisfies the equation"
        raise DerivationError(msg)
    return Evidence(
        "the root put in satisfies the equation, and a search finds no other that is admissible", tried, 0.0
    )


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
        expression = next((r for s, r in reversed(premises.earlier) if s == self.of and r.has(self.over)), None)
        if expression is None:
            msg = f"no earlier equation gives {self.of} in terms of {self.over}"
            raise DerivationError(msg)
        facts = [sides for sides in premises.facts if not (sides[0] - sides[1]).has(self.of, self.over)]
        margins = [margin for margin in premises.margins if not margin.has(self.over)]
        sign = -1 if self.least else 1
        tried = 0
        seeds = points(facts, (right, expression), margins, count=_POINTS)
        for numbers, ready in seeds:
            known = {symbol: value for symbol, value in numbers.items() if symbol != self.over}
            best = number(ready(right), known)
            top = number(expression.subs(self.over, right), known)
            slope = number(expression.diff(self.over).subs(self.over, right), known)
            if abs(slope) > 1e-9 * abs(top / best):
                msg = f"at {_numbers_in(known)} the slope of {self.of} is {float(slope):.3g} there, not zero"
                raise DerivationError(msg)
            span = 1 if term_of(self.over).sign == "1" else 3 * best
            for part in range(1, 40):
                if sign * (number(expression, {**known, self.over: span * part / 40}) - top) > abs(top) * 1e-12:
                    msg = f"at {_numbers_in(known)} another value of {self.over} does better"
                    raise DerivationError(msg)
            tried += 1
        if tried < _POINTS:
            msg = "no admissible numbers were found"
            raise DerivationError(msg)
        slope = expression.diff(self.over).subs(self.over, right)
        if not is_zero(eliminate(tuple(facts)).reduce(slope)):
            msg = f"the slope there could not be shown to be zero in symbols: it comes to {sympy.simplify(slope)}"
            raise DerivationError(msg)
        return Evidence("the slope there is zero, and none of 39 other values does better", tried, 0.0)


@dataclass(frozen=True, eq=False)
class SolvesOde:
    """The left side is the one function of time that obeys an earlier equation and begins as given.

    Where the equation fixes the rate as a smooth function of the value, one solution begins as given,
    so what obeys both is the solution.
    """

    adds = True

    def prove(self, left: Any, right: Any, premises: Premises) -> Evidence:
        """Put the function into the equation and into its beginning, with numbers and with symbols."""
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
            count, apart = _agree(work_out(a), work_out(b), useful, premises)
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
        for numbers, _ in points((), (exact, right), premises.margins, count=_POINTS):
            errors = []
            for tiny in (1e-3, 1e-4):
                near = {**numbers, self.small: sympy.Float(tiny, 40)}
                errors.append(abs(float(number(exact, near) / number(right, near) - 1)))
            if not (errors[0] < 0.1 and errors[1] < max(errors[0] / 5, 1e-12)):
                msg = f"at {_numbers_in(numbers)} and {self.small} = 0.001 it is off by the part {errors[0]:.3g}"
                raise DerivationError(msg)
            done += 1
        if done < _POINTS:
            msg = "no admissible numbers were found"
            raise DerivationError(msg)
        if sympy.limit(sympy.simplify(exact / right), self.small, 0) != 1:
            msg = f"exact over approximate does not come to 1 as {self.small} gets small"
            raise DerivationError(msg)
        return Evidence(f"exact over approximate comes to 1 as {self.small} gets small", done, 0.0)
