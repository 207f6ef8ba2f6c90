"""Evaluate a result and turn it round, with quantities at both ends."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import sympy

from labkit.errors import NoSolutionError, PartError
from labkit.parts._fields import finite_quantity
from labkit.symbolic.dimensions import dimension, dimension_words
from labkit.symbolic.notation import line
from labkit.symbolic.roots import real_roots
from labkit.symbolic.symbols import Term, nearest, term_of
from labkit.units import Quantity, from_si, magnitude
from labkit.writing import show

if TYPE_CHECKING:
    from labkit.symbolic.derivation import Derivation

__all__ = ["evaluate", "numbers_of", "solve_for"]


def evaluate(derivation: Derivation, quantities: Mapping[str, Any]) -> Quantity:
    """Return the result for these quantities; see ``Derivation.evaluate``."""
    numbers = numbers_of(derivation, derivation.arguments, quantities)
    _within(derivation, numbers)
    row = term_of(derivation.result.lhs)
    value = _real_number(derivation.result.rhs, numbers)
    if value is None:
        msg = f"{derivation.name}: these numbers give no finite {row.name}. {derivation.validity}"
        raise NoSolutionError(msg)
    quantity: Quantity = row.quantity(value)
    if not row.admits(value):
        comes = f"{row.name} comes to {show(quantity)}, but must be {row.requirement}"
        msg = f"{derivation.name}: {comes}. {derivation.validity}"
        raise NoSolutionError(msg)
    return quantity


def solve_for(derivation: Derivation, name: str, quantities: Mapping[str, Any]) -> Quantity:
    """Return the one admissible value of the named symbol; see ``Derivation.solve_for``."""
    rows = {row.name: row for row in (term_of(derivation.result.lhs), *derivation.arguments)}
    if name not in rows:
        remedy = nearest(name, rows)
        raise PartError(f"{derivation.name}.solve_for", f"one of {', '.join(rows)}", repr(name), remedy)
    wanted = rows.pop(name)
    if wanted.symbol == derivation.result.lhs:
        return evaluate(derivation, quantities)
    numbers = numbers_of(derivation, tuple(rows.values()), quantities)
    known = {symbol: sympy.Float(value, 30) for symbol, value in numbers.items()}
    difference = (derivation.result.lhs - derivation.result.rhs).xreplace(known)
    roots = real_roots(difference, wanted.symbol)
    fit = [root for root in roots if wanted.admits(root) and _fits(derivation, {**numbers, wanted.symbol: root})]
    if not fit:
        raise NoSolutionError(_why_none(derivation, wanted, roots))
    if len(fit) > 1:
        raise NoSolutionError(_which(derivation, wanted, fit))
    if _is_flat(derivation, numbers, wanted, fit[0]):
        raise NoSolutionError(_hardly(derivation, wanted, fit[0]))
    quantity: Quantity = wanted.quantity(fit[0])
    return quantity


def _is_flat(derivation: Derivation, numbers: Mapping[Any, float], wanted: Term, root: float) -> bool:
    """Return whether a tenth more or less leaves the result as it is, as on a curve that has settled."""
    near = [_real_number(derivation.result.rhs, {**numbers, wanted.symbol: part * root}) for part in (0.9, 1.0, 1.1)]
    sizes = [size for size in near if size is not None]
    return len(sizes) == 3 and root != 0 and max(sizes) - min(sizes) <= 1e-7 * max(map(abs, sizes))


def _hardly(derivation: Derivation, wanted: Term, root: float) -> str:
    result, there = term_of(derivation.result.lhs).name, show(wanted.quantity(root))
    return (
        f"{derivation.name}: near {there} the {result} hardly depends on {wanted.name}, which cannot be told from it. "
        f"Give another {result}, or choose {wanted.name} yourself."
    )


def _why_none(derivation: Derivation, wanted: Term, roots: list[float]) -> str:
    outside = f" It would have to be {_list(wanted, roots)}, which cannot be." if roots else ""
    return (
        f"{derivation.name}: no {wanted.name} gives this, with the other numbers as they are.{outside} "
        f"{wanted.name} must be {wanted.requirement}. {derivation.validity}"
    )


def _which(derivation: Derivation, wanted: Term, fit: list[float]) -> str:
    return f"{derivation.name}: {len(fit)} values of {wanted.name} fit: {_list(wanted, fit)}. Choose one yourself."


def _list(row: Term, values: list[float]) -> str:
    """Return the values in words, with as many figures as it takes to tell them apart."""
    for digits in range(3, 9):
        words = [show(row.quantity(value), digits=digits) for value in values]
        if len(set(words)) == len(words):
            break
    return " and ".join(words)


def numbers_of(derivation: Derivation, rows: tuple[Term, ...], quantities: Mapping[str, Any]) -> dict[Any, float]:
    """Return the floats in coherent SI for *rows*, taken from *quantities* by name.

    Raises
    ------
    PartError
        When a name is unknown or missing, or a value is of the wrong kind or cannot be.
    """
    names = [row.name for row in rows]
    for name, value in quantities.items():
        if name not in names:
            remedy = nearest(name, names) or "Leave it out."
            raise PartError(f"{derivation.name}.{name}", f"one of {', '.join(names)}", value, remedy)
    numbers = {}
    for row in rows:
        where = f"{derivation.name}.{row.name}"
        if row.name not in quantities:
            raise PartError(where, row.requirement, "nothing", f"It is the {row.meaning}. Give it.")
        quantity = finite_quantity(quantities[row.name], row.unit, where)
        if row.unit == "kelvin" and str(quantity.units) in {"degree_Celsius", "degree_Fahrenheit"}:
            remedy = "It is a difference of two temperatures. Write it with K."
            raise PartError(where, "a difference in kelvin", quantities[row.name], remedy)
        size = float(magnitude(quantity, row.unit, where))
        if not row.admits(size):
            percent = row.sign == "1" and 1 < size <= 100
            remedy = "A percentage? Divide by 100." if percent else "Check the sign and the prefix."
            raise PartError(where, row.requirement, quantities[row.name], remedy)
        numbers[row.symbol] = size
    return numbers


def _real_number(expression: Any, numbers: Mapping[Any, float]) -> float | None:
    found = expression.xreplace({symbol: sympy.Float(value, 30) for symbol, value in numbers.items()}).evalf(20)
    size = float(found) if found.is_number and found.is_real else math.inf
    return size if math.isfinite(size) else None


def _holds(condition: Any, numbers: Mapping[Any, float]) -> bool:
    margin = _real_number(condition.gts - condition.lts, numbers)
    return margin is not None and margin > 0


def _within(derivation: Derivation, numbers: Mapping[Any, float]) -> None:
    for condition in derivation.conditions:
        if condition.free_symbols <= set(numbers) and not _holds(condition, numbers):
            sides = f"{line(condition.gts)} must be more than {line(condition.lts)}"
            raise NoSolutionError(f"{derivation.name}: {sides}{_here(condition, numbers)}. {derivation.validity}")


def _here(condition: Any, numbers: Mapping[Any, float]) -> str:
    """Return what the two sides of a condition come to, where that has a unit that people know."""
    unit = dimension_words(dimension(condition.gts))
    values = [_real_number(side, numbers) for side in (condition.gts, condition.lts)]
    if None in values or "length" in unit or "angle" in unit:
        return ""
    plain = "" if unit == "no unit" else unit.replace("·", "*").replace("^", "**")
    more, less = (show(from_si(value, plain)) for value in values)
    return f"; here it is {more} against {less}"


def _fits(derivation: Derivation, numbers: Mapping[Any, float]) -> bool:
    """Return whether the root gives the asked result back, inside what the result holds for."""
    value = _real_number(derivation.result.rhs, numbers)
    asked = numbers[derivation.result.lhs]
    if value is None or abs(value - asked) > 1e-9 * max(abs(value), abs(asked)):
        return False
    return all(_holds(one, numbers) for one in derivation.conditions if one.free_symbols <= set(numbers))
