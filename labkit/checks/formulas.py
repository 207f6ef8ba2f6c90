"""A formula as a learner types it: read by a small parser of its own, and evaluated with quantities, never with eval.

Every symbol that may stand in it is listed, and every step is bounded: length, depth of brackets, size of exponents.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pint import DimensionalityError

from labkit.checks.kinds import kind_of
from labkit.checks.symbols import Symbol
from labkit.checks.trees import Algebra, Node, What, floats, real, value
from labkit.errors import FormulaError
from labkit.units import Quantity, coherent_size, ureg

__all__ = ["NO_VALUE", "ReadFormula", "read_formula"]

_DEEPEST = 20  # brackets, roots and exponents within each other
_MOST_TOKENS = 300  # numbers, letters and signs
_LARGEST_EXPONENT = 4.0
NO_VALUE = "It has no value for some sizes that these symbols can have."


@dataclass(frozen=True, slots=True)
class ReadFormula:
    """A formula that was read: what stands in it, and how to evaluate it."""

    symbols: frozenset[str]
    tree: Node

    def at(self, point: Mapping[str, Quantity]) -> Quantity:
        """Return its value at a point.

        Raises
        ------
        FormulaError
            When it adds unlike quantities, takes a root of a negative number, or leaves every size.
        """
        try:
            found: Quantity = _worked_out(self.tree, _quantities(point))
        except DimensionalityError as error:
            one, other = (kind_of(ureg.Quantity(1, unit)).name for unit in (error.units1, error.units2))
            raise FormulaError(f"It adds {one} to {other} somewhere: the units do not fit.") from None
        _expect_finite(coherent_size(found))
        return found

    def size_at(self, sizes: Mapping[str, float]) -> float:
        """Return its value at a point, all of it in coherent SI: what ``at`` gives, for whoever knows that units fit.

        Raises
        ------
        FormulaError
            When it takes a root of a negative number, or leaves every size.
        """
        found: float = _worked_out(self.tree, floats(sizes))
        _expect_finite(found)
        return found


def _worked_out(tree: Node, algebra: Algebra) -> Any:
    try:
        return value(tree, algebra)
    except FormulaError:
        raise
    except (ArithmeticError, ValueError) as error:
        raise FormulaError(NO_VALUE) from error


def _expect_finite(size: float) -> None:
    if not math.isfinite(size):
        raise FormulaError(NO_VALUE)


def _quantities(point: Mapping[str, Quantity]) -> Algebra:
    return Algebra(
        number=lambda digits: ureg.Quantity(float(digits), ""),
        pi=ureg.Quantity(math.pi, ""),
        letters=point,
        power=lambda base, exponent: real(base ** _plain(exponent)),
        functions={
            "exp": lambda inside: ureg.Quantity(math.exp(_bare(inside)), ""),
            "ln": lambda inside: ureg.Quantity(math.log(_bare(inside)), ""),
            "abs": abs,
        },
    )


def _bare(inside: Quantity) -> float:
    if not inside.dimensionless:
        raise FormulaError(f"exp and ln need a bare number inside; there is {kind_of(inside).name}.")
    return _plain(inside)


def _plain(quantity: Quantity) -> float:
    return float(quantity.m_as(""))


# --- the parser -----------------------------------------------------------------------------------

_TOKEN = re.compile(
    r"(?P<number>\d{1,9}(?:[.,]\d{1,17})?(?![\d.,])|½)|(?P<name>[^\W\d_²³][^\W²³]{0,20})|(?P<sign>\*\*|[-+*/^()²³√])"
)
_SAME = str.maketrans({"·": "*", "×": "*", "⋅": "*", "∙": "*", "÷": "/", "−": "-", "–": "-", "[": "(", "]": ")"})
_FUNCTIONS: dict[str, What] = {
    "exp": "exp", "ln": "ln", "log": "ln", "abs": "abs", "Abs": "abs", "sqrt": "power",
}  # fmt: skip
_PI = ("pi", "π")
_HALF = Node("number", text="0.5")


def read_formula(text: str, symbols: Sequence[Symbol]) -> ReadFormula:
    """Return the formula that a text is.

    Parameters
    ----------
    text : str
        ``"(V - k*omega)/R"``, ``"½·L·I²"``, ``"I = V/(R + r)"``.
    symbols : sequence of Symbol
        All that may stand in it.

    Raises
    ------
    FormulaError
        Says what cannot be read.

    Examples
    --------
    >>> from labkit.units import Q_
    >>> volt, ohm = Symbol("V", "the supply", "V", 4.0, 8.0), Symbol("R", "the winding", "ohm", 2.0, 4.0)
    >>> str(read_formula("V²/2R²", [volt, ohm]).symbols)
    Traceback (most recent call last):
    ...
    labkit.errors.FormulaError: After a division, brackets say what is below it: write V/(2·R), not V/2R.
    >>> read_formula("P = V^2/R", [volt, ohm]).at({"V": Q_("6 V"), "R": Q_("3 ohm")}).m_as("W")
    12.0
    """
    known = {spelling: symbol.name for symbol in symbols for spelling in (symbol.name, symbol.shown)}
    tokens = _apart(_tokens(text.translate(_SAME).rstrip(" .;")), known)
    if len(tokens) > _MOST_TOKENS:
        raise FormulaError(f"It has {len(tokens)} numbers, letters and signs. Write it with {_MOST_TOKENS} at most.")
    parser = _Parser(tokens, known, [symbol.shown for symbol in symbols])
    tree = parser.sum(0)
    if parser.sign:
        raise FormulaError(f"The formula cannot be read from “{parser.sign}” on. Is a bracket or a sign missing?")
    return ReadFormula(frozenset(parser.used), tree)


def _tokens(text: str) -> list[tuple[str, str]]:
    left, equals, right = text.partition("=")
    rest = right if equals and re.fullmatch(r"\s*\w{1,21}(\(\w{1,5}\))?\s*", left) else text
    found: list[tuple[str, str]] = []
    position = 0
    while rest[position:].strip():
        position += len(rest[position:]) - len(rest[position:].lstrip())
        match = _TOKEN.match(rest, position)
        if match is None:
            raise FormulaError(
                f"“{rest[position : position + 10]}” cannot stand in a formula. "
                "Use the symbols that are listed, plain numbers, + - * / ^ and brackets."
            )
        found.append((str(match.lastgroup), match[0]))
        position = match.end()
    return found


def _apart(tokens: list[tuple[str, str]], known: Mapping[str, str]) -> list[tuple[str, str]]:
    """Return the tokens with ``kω`` taken for ``k ω``, where it is nothing but symbols that are known."""
    one = "|".join(sorted(map(re.escape, known), key=len, reverse=True))
    apart: list[tuple[str, str]] = []
    for kind, text in tokens:
        joined = kind == "name" and text not in known and re.fullmatch(f"(?:{one})+", text)
        apart += [(kind, part) for part in re.findall(one, text)] if joined else [(kind, text)]
    return apart


class _Parser:
    """Reads a sum, of terms, of powers, of numbers and symbols; each level one method."""

    def __init__(self, tokens: list[tuple[str, str]], known: Mapping[str, str], shown: list[str]) -> None:
        self._tokens = tokens
        self._known = known
        self._shown = shown
        self._next = 0
        self.used: set[str] = set()

    @property
    def sign(self) -> str:
        """The text of the next token; empty at the end."""
        return self._tokens[self._next][1] if self._next < len(self._tokens) else ""

    def _take(self, *signs: str) -> str:
        if self.sign and self.sign in signs:
            self._next += 1
            return self._tokens[self._next - 1][1]
        return ""

    def sum(self, depth: int) -> Node:
        """Read ``a + b - c``."""
        parts, signs = [self._term(depth)], ""
        while sign := self._take("+", "-"):
            parts.append(self._term(depth))
            signs += sign
        return Node("sum", tuple(parts), signs) if signs else parts[0]

    def _term(self, depth: int) -> Node:
        """Read ``a*b/c``, and ``2 a b`` without signs where it is clear what is meant."""
        only_numbers = self._at_number()
        parts, signs, divided = [self._factor(depth)], "", False
        while self.sign and self.sign not in {"+", "-", ")"}:
            sign = self._take("*", "**", "/")
            if not sign and divided:
                raise FormulaError("After a division, brackets say what is below it: write V/(2·R), not V/2R.")
            only_numbers = only_numbers and self._at_number()
            divided = (divided and sign != "*") or (sign == "/" and not only_numbers)
            parts.append(self._factor(depth))
            signs += "/" if sign == "/" else "*"
        return Node("product", tuple(parts), signs) if signs else parts[0]

    def _at_number(self) -> bool:
        return self._next < len(self._tokens) and self._tokens[self._next][0] == "number"

    def _factor(self, depth: int) -> Node:
        """Read one factor with its sign in front and its exponent behind."""
        if sign := self._take("-", "+"):
            inner = self._factor(_within(depth))
            return Node("product", (Node("number", text="-1"), inner), "*") if sign == "-" else inner
        node = self._atom(depth)
        while sign := self._take("^", "**", "²", "³"):
            depth = _within(depth)
            exponent = Node("number", text={"²": "2", "³": "3"}[sign]) if sign in "²³" else self._exponent(depth)
            node = Node("power", (node, exponent))
        return node

    def _exponent(self, depth: int) -> Node:
        before, self.used = self.used, set()
        node = self._factor(_within(depth))
        used, self.used = self.used, before
        try:
            size = math.nan if used else ReadFormula(frozenset(), node).size_at({})
        except FormulaError:
            size = math.nan
        if not abs(size) <= _LARGEST_EXPONENT:
            raise FormulaError(
                f"An exponent must be a plain number, at most {_LARGEST_EXPONENT:g}; for eˣ write exp(x)."
            )
        return node

    def _atom(self, depth: int) -> Node:
        if self._take("√"):
            return Node("power", (self._atom(_within(depth)), _HALF))
        if self._take("("):
            node = self.sum(_within(depth))
            if not self._take(")"):
                raise FormulaError("A bracket is opened and not closed.")
            return node
        if self._next >= len(self._tokens):
            raise FormulaError("The formula ends where a number or a symbol should stand.")
        kind, text = self._tokens[self._next]
        self._next += 1
        if kind == "number":
            return Node("number", text="0.5" if text == "½" else text.replace(",", "."))
        return self._named(text, depth) if kind == "name" else self._misplaced(text)

    def _misplaced(self, text: str) -> Node:
        raise FormulaError(f"“{text}” stands where a number or a symbol should.")

    def _named(self, text: str, depth: int) -> Node:
        if text in self._known:
            name = self._known[text]
            self.used.add(name)
            return Node("letter", text=name)
        if text in _PI:
            return Node("π")
        if text in _FUNCTIONS and self.sign == "(":
            inner, function = self._atom(depth), _FUNCTIONS[text]
            return Node(function, (inner, _HALF) if function == "power" else (inner,))
        if text == "e":
            raise FormulaError("For e to the power of x write exp(x).")
        raise FormulaError(f"“{text}” is none of the symbols here. There is: {', '.join(self._shown)}.")


def _within(depth: int) -> int:
    if depth >= _DEEPEST:
        raise FormulaError(f"Brackets or exponents stand more than {_DEEPEST} deep. Write the formula more simply.")
    return depth + 1
