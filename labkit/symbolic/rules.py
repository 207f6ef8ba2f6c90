"""The ways in which a step may follow from what stands before it, each with its own proof.

``Algebra``      the equation holds wherever the earlier ones do: put in, rearrange, work out an integral
``Put``          the same, for a case: earlier equations with chosen values put in, such as the speed 0
``Root``         the one admissible root of an equation for an unknown
and, in ``calculus``:

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
from labkit.symbolic.algebra import Pair, eliminate, is_zero, needed_for
from labkit.symbolic.roots import real_roots
from labkit.symbolic.sampling import TOLERANCE, holds, mismatch, number, points
from labkit.symbolic.symbols import q, term_of

__all__ = [
    "NO_NUMBERS", "POINTS", "Algebra", "Evidence", "Premises", "Put", "Root", "Rule", "agree", "must_be_symbol",
    "numbers_in",
]  # fmt: skip

POINTS = 4
NO_NUMBERS = "no admissible numbers were found at which all the earlier equations hold"


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


def numbers_in(numbers: Mapping[Any, Any]) -> str:
    """Return the numbers as text, for the sentence that says where a step fails."""
    known = sorted((str(symbol), value) for symbol, value in numbers.items())
    return ", ".join(f"{name} = {float(value):.3g}" for name, value in known)


def _unequal(left: Any, right: Any, numbers: Mapping[Any, Any]) -> DerivationError:
    left, right = sympy.sympify(left), sympy.sympify(right)
    sides = [number(side, dict(numbers)) for side in (left, right)]
    shown = " and the right ".join(f"{float(s):.6g}" if s.is_number and s.is_real else str(s) for s in sides)
    seen = left.free_symbols | right.free_symbols
    here = numbers_in({symbol: value for symbol, value in numbers.items() if symbol in seen})
    return DerivationError(f"it does not follow: at {here} the left side is {shown}")


def agree(
    left: Any, right: Any, facts: Sequence[Pair], premises: Premises, *, count: int = POINTS
) -> tuple[int, float]:
    """Return at how many admissible points both sides agree, and how well."""
    worst, done = 0.0, 0
    for numbers, ready in points(facts, (left, right), premises.margins, count=count):
        apart = mismatch(ready(left), ready(right), numbers)
        if not apart < TOLERANCE:
            raise _unequal(ready(left), ready(right), numbers)
        worst, done = max(worst, apart), done + 1
    if done < count:
        raise DerivationError(NO_NUMBERS)
    return done, worst


def _follows(left: Any, right: Any, facts: Sequence[Pair], premises: Premises, how: str) -> Evidence:
    facts = needed_for(left - right, facts)
    done, worst = agree(left, right, facts, premises)
    work = eliminate(tuple(facts))
    rest = work.reduce(left - right)
    if not is_zero(rest):
        msg = f"it could not be shown in symbols: left less right comes to {sympy.simplify(rest)}"
        raise DerivationError(msg)
    return Evidence(how, done, worst)


def must_be_symbol(left: Any) -> None:
    """Refuse a left side that is more than one symbol."""
    if not left.is_Symbol:
        msg = f"the left side must be one symbol alone, not {left}"
        raise DerivationError(msg)


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
        must_be_symbol(left)
        old = premises.earlier[-self.of]
        others = tuple(sides for sides in premises.facts if not (sides[0] - sides[1]).has(left) and sides != old)
        drawn = points(others, (*old, right), premises.margins, count=POINTS)
        for numbers, _ in drawn:
            _one_root(old, left, right, premises.margins, {s: n for s, n in numbers.items() if s != left})
        if len(drawn) < POINTS:
            raise DerivationError(NO_NUMBERS)
        put = [side.subs(left, right) for side in old]
        if not is_zero(eliminate(others).reduce(put[0] - put[1])):
            msg = "it could not be shown in symbols that the root satisfies the equation"
            raise DerivationError(msg)
        how = "the root put in satisfies the equation, and a search finds no other that is admissible"
        return Evidence(how, len(drawn), 0.0)


def _one_root(old: Pair, left: Any, right: Any, margins: Sequence[Any], known: Mapping[Any, Any]) -> None:
    """Refuse a root that does not satisfy the equation at these numbers, or is not the only one there."""
    here = number(right, known)
    if not mismatch(old[0].subs(left, here), old[1].subs(left, here), known) < TOLERANCE:
        raise _unequal(old[0].subs(left, right), old[1].subs(left, right), known)
    limits = [margin.xreplace(known) for margin in margins]
    roots = [
        root
        for root in real_roots((old[0] - old[1]).xreplace(known), left)
        if term_of(left).admits(root) and holds(limits, {left: sympy.Float(root)})
    ]
    if len(roots) != 1 or abs(roots[0] - float(here)) > 1e-6 * abs(float(here)):
        msg = f"at {numbers_in(known)} the admissible roots for {left} are {roots}, not {float(here):.6g} alone"
        raise DerivationError(msg)
