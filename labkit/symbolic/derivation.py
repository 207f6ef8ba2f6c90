"""A derivation: from stated laws, step by step, to a result that is proved, evaluated and turned round.

::

    given laws ──> step ──> step ──> result      verify(): every arrow proved, every equation's dimension checked
                                       │
                      evaluate(…) <────┴────> solve_for("resistance", …)
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import sympy
from sympy.core.function import AppliedUndef

from labkit.errors import DerivationError
from labkit.symbolic import solving
from labkit.symbolic.algebra import pair
from labkit.symbolic.dimensions import same_dimension
from labkit.symbolic.notation import line
from labkit.symbolic.rules import Algebra, Evidence, Premises, Rule
from labkit.symbolic.symbols import Term, term_of
from labkit.units import Quantity

__all__ = ["Derivation", "Law", "Proof", "ProvedStep", "Step", "equal", "prove_step"]


def equal(left: Any, right: Any) -> Any:
    """Return the equation left = right, unjudged: sympy would else turn a plain falsehood into ``False``."""
    return sympy.Eq(left, right, evaluate=False)


@dataclass(frozen=True, slots=True)
class Law:
    """A statement that a derivation starts from."""

    name: str
    equation: Any
    #: What it says and where it holds.
    says: str


_ALGEBRA = Algebra()


@dataclass(frozen=True, slots=True)
class Step:
    """One step: the new equation, what is done, and why it may be done."""

    equation: Any
    done: str
    why: str
    by: Rule = _ALGEBRA


@dataclass(frozen=True, slots=True)
class ProvedStep:
    """A step that was proved, and what the proof rests on."""

    number: int
    evidence: Evidence
    #: The unit that both sides are in.
    dimension: str


@dataclass(frozen=True, slots=True, repr=False)
class Proof:
    """The record of a proof: one entry a step."""

    name: str
    steps: tuple[ProvedStep, ...]

    def __str__(self) -> str:
        lines = [f"{self.name}: every step follows."]
        for step in self.steps:
            how = f"{step.evidence.how}; {step.evidence.points} sets of random numbers agree"
            lines.append(f"  step {step.number}, in {step.dimension}: {how}")
        return "\n".join(lines)

    __repr__ = __str__


@dataclass(frozen=True, kw_only=True, repr=False)
class Derivation:
    """A named result with the way to it.

    Parameters
    ----------
    name : str
        Plain words, such as ``"stall current"``; names the result everywhere.
    title : str
        The question that it answers.
    given : tuple of Law
    steps : tuple of Step
        The last one is the result.
    assumptions : tuple of str
        What is taken for granted, a sentence each.
    validity : str
        Where the result holds, in a sentence.
    conditions : tuple of strict inequalities
        The same for the machine: random numbers, arguments and roots are held to them.
    topic : str
        Set by the catalogue.
    plain_angle : bool
        Take the radian for 1 in dimension checks, where the sine of an angle makes that necessary.

    Examples
    --------
    >>> from labkit.symbolic import derivation
    >>> stall = derivation("stall current")
    >>> print(stall.evaluate(voltage="6 V", resistance="2.8 ohm").round(3))
    2.143 ampere
    >>> print(stall.solve_for("resistance", voltage="6 V", stall_current="2.5 A").round(3))
    2.4 ohm
    """

    name: str
    title: str
    given: tuple[Law, ...]
    steps: tuple[Step, ...]
    assumptions: tuple[str, ...]
    validity: str
    conditions: tuple[Any, ...] = ()
    topic: str = ""
    plain_angle: bool = field(default=False, repr=False)

    @property
    def result(self) -> Any:
        """The last equation: the named result alone on the left."""
        return self.steps[-1].equation

    @property
    def symbols(self) -> tuple[Term, ...]:
        """The rows of the table for every symbol that the derivation uses, the result's own first."""
        found: dict[str, Term] = {}
        for equation in (self.result, *(law.equation for law in self.given), *(step.equation for step in self.steps)):
            for symbol in (*_in_order(equation.lhs), *_in_order(equation.rhs)):
                row = term_of(symbol)
                found.setdefault(row.name, row)
        return tuple(found.values())

    @property
    def arguments(self) -> tuple[Term, ...]:
        """The rows of the symbols that ``evaluate`` takes."""
        return tuple(term_of(symbol) for symbol in _in_order(self.result.rhs))

    def verify(self) -> Proof:
        """Prove every step, and that both sides of every equation have one dimension.

        Returns
        -------
        Proof

        Raises
        ------
        DerivationError
            Names the step that does not follow, and why.
        """
        _check_laws(self)
        return Proof(self.name, tuple(prove_step(self, place) for place in range(1, len(self.steps) + 1)))

    def evaluate(self, **quantities: Quantity | str | float) -> Quantity:
        """Return the result for these quantities.

        Parameters
        ----------
        **quantities : Quantity, or text such as ``"470 mA"``
            One for each of ``arguments``, by its name; a bare number where the unit is none.

        Raises
        ------
        PartError
            When a name is unknown or missing, or a value is of the wrong kind or cannot be.
        NoSolutionError
            When the numbers lie outside what the result holds for.
        """
        return solving.evaluate(self, quantities)

    def solve_for(self, symbol: str, **quantities: Quantity | str | float) -> Quantity:
        """Return what *symbol* must be for the result and the other quantities to be these.

        Parameters
        ----------
        symbol : str
            Its name, such as ``"resistance"``.
        **quantities : Quantity or text
            The result by its name, and every other argument.

        Raises
        ------
        PartError
            As for ``evaluate``.
        NoSolutionError
            When no value that can be fits, or more than one does, and names them; when the result hardly depends on it.
        """
        return solving.solve_for(self, str(symbol), quantities)

    def __str__(self) -> str:
        return self.to_text()

    __repr__ = __str__

    def to_text(self) -> str:
        """Return the derivation as plain text that reads well aloud."""
        from labkit.symbolic.text import derivation_text  # noqa: PLC0415 (the display knows derivations)

        return derivation_text(self)

    def to_html(self, numbers: Mapping[str, Quantity | str | float] | None = None) -> str:
        """Return the derivation as HTML with MathML, complete in itself.

        Parameters
        ----------
        numbers : dict, optional
            What ``evaluate`` takes: shows the result once more with these numbers in it.
        """
        from labkit.symbolic.html import derivation_html  # noqa: PLC0415 (the display knows derivations)

        return derivation_html(self, numbers)

    def _repr_html_(self) -> str:
        return self.to_html()


def _in_order(expression: Any) -> list[Any]:
    """Return the symbols and functions of time in the order in which they appear, without bound variables."""
    found: dict[Any, None] = {}
    free = expression.free_symbols
    for node in sympy.preorder_traversal(expression):
        if isinstance(node, AppliedUndef) or (node.is_Symbol and node in free):
            found.setdefault(node)
    return list(found)


def _fault(derivation: Derivation, place: str, error: DerivationError) -> DerivationError:
    return DerivationError(f"{derivation.name}, {place}: {error}.")


def prove_step(derivation: Derivation, place: int) -> ProvedStep:
    """Prove one step, counted from 1, taking for true what stands before it.

    Raises
    ------
    DerivationError
        Names the step that does not follow, and why.
    """
    step = derivation.steps[place - 1]
    before = derivation.steps[: place - 1]
    laws = [pair(law.equation) for law in derivation.given]
    premises = Premises(
        facts=(*(pair(one.equation) for one in reversed(before) if one.by.adds), *laws),
        earlier=(*laws, *(pair(one.equation) for one in before)),
        margins=tuple(one.gts - one.lts for one in derivation.conditions),
    )
    left, right = pair(step.equation)
    try:
        dimension = same_dimension(left, right, plain_angle=derivation.plain_angle)
        evidence = _evidence(step.by, left, right, premises)  # type: ignore[arg-type]  # rules compare by identity
    except DerivationError as error:
        raise _fault(derivation, f"step {place} ({line(step.equation)})", error) from error
    return ProvedStep(place, evidence, dimension)


@lru_cache(maxsize=1024)
def _evidence(by: Any, left: Any, right: Any, premises: Premises) -> Evidence:
    """Return the evidence for a step; derivations that share their first steps share the proof."""
    evidence: Evidence = by.prove(left, right, premises)
    return evidence


def _check_laws(derivation: Derivation) -> None:
    for law in derivation.given:
        try:
            same_dimension(*pair(law.equation), plain_angle=derivation.plain_angle)
        except DerivationError as error:
            raise _fault(derivation, f"law {law.name!r}", error) from error
