"""The table of symbols: letter, full name, unit, meaning and the values it can have.

Expressions carry no units; this table does, and the dimension check reads it.
The names are those of the part fields, so ``q.resistance`` in a derivation is ``Motor.resistance``::

    q.supply_voltage - q.current * q.resistance

The rows themselves are in ``_rows.py``; add one there before you use its name.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from functools import cache
from typing import Any

import sympy

from labkit.errors import DerivationError
from labkit.symbolic._rows import ROWS
from labkit.units import from_si

__all__ = ["Term", "nearest", "q", "table", "term_of"]

#: What a row's sign says of the values: the assumption that sympy makes, and the words for people.
_SIGNS = {
    "+": ({"positive": True}, "more than zero"),
    "0": ({"nonnegative": True}, "zero or more"),
    "1": ({"positive": True}, "from 0 to 1"),
    "r": ({"real": True}, "of either sign"),
}
_ACRONYMS = {"emf": "EMF", "led": "LED", "rms": "RMS"}


@dataclass(frozen=True, slots=True, eq=False)
class Term:
    """One row of the table: a symbol and all that is said of it."""

    #: The full trade word, which is also the argument of ``evaluate``.
    name: str
    #: The letter beside the equation, such as ``R_on``.
    letter: str
    #: Coherent SI; ``degC`` for a temperature that people read in degrees and the formula takes in kelvin.
    unit: str
    meaning: str
    #: ``+`` more than zero, ``0`` zero or more, ``1`` a part of one, ``r`` any real number.
    sign: str
    #: A sympy symbol, or a function of time applied to ``t``.
    symbol: Any

    @property
    def words(self) -> str:
        """The name as people read it."""
        return " ".join(_ACRONYMS.get(word, word) for word in self.name.split("_"))

    @property
    def requirement(self) -> str:
        """What a value must be, in words."""
        kind = f"a quantity in {self.unit}" if self.unit else "a bare number"
        return f"{kind}, {_SIGNS[self.sign][1]}"

    def admits(self, value: float) -> bool:
        """Return whether *value*, in coherent SI, is one that this symbol can have."""
        if self.sign == "1":
            return -1e-12 <= value <= 1 + 1e-12
        return {"+": value > 0, "0": value >= 0, "r": True}[self.sign]

    def quantity(self, value: float) -> Any:
        """Return *value*, in coherent SI, as a quantity in the unit of this row."""
        return from_si(value, self.unit)


@cache
def table() -> dict[str, Term]:
    """Return the whole table by name, in the order of its rows."""
    time = sympy.Symbol("t", nonnegative=True)
    terms = {}
    for name, letter, unit, meaning, sign in ROWS:
        assumed = _SIGNS[sign.removesuffix("(t)")][0]
        symbol = sympy.Symbol(letter, **assumed)
        if name == "time":
            symbol = time
        elif sign.endswith("(t)"):
            symbol = sympy.Function(letter, real=True)(time)
        terms[name] = Term(name, letter, unit, meaning, sign.removesuffix("(t)"), symbol)
    return terms


@cache
def _by_symbol() -> dict[Any, Term]:
    return {(row.symbol.func if row.symbol.is_Function else row.symbol): row for row in table().values()}


def term_of(symbol: Any) -> Term:
    """Return the row of a symbol or of a function of time, at whatever time it is taken.

    Raises
    ------
    DerivationError
        When the symbol is not in the table.
    """
    row = _by_symbol().get(symbol.func if symbol.is_Function else symbol)
    if row is None:
        msg = f"{symbol} is not in the table of symbols. Add a row for it to labkit/symbolic/_rows.py."
        raise DerivationError(msg)
    return row


def nearest(name: str, names: Any) -> str:
    """Return a sentence that offers the nearest of *names*, or an empty string."""
    close = difflib.get_close_matches(name, list(names), n=3, cutoff=0.5)
    return f"Did you mean {' or '.join(repr(one) for one in close)}?" if close else ""


class _Names:
    """The symbols by their full names: ``q.resistance`` is R."""

    def __getattr__(self, name: str) -> Any:
        row = table().get(name)
        if row is None:
            msg = f"no symbol is called {name!r}. {nearest(name, table())} Or add a row to labkit/symbolic/_rows.py."
            raise AttributeError(msg)
        return row.symbol

    def __dir__(self) -> list[str]:
        return list(table())


q = _Names()
