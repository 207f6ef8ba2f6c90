"""A formula: the same as the right one, a wrong idea that has a name, or units that do not fit."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from labkit.checks.answers import Answer
from labkit.checks.formulas import NO_VALUE, ReadFormula, read_formula
from labkit.checks.kinds import kind_of
from labkit.checks.numbers import Numbers
from labkit.checks.questions import Formula, Question, size_of
from labkit.checks.said import verdict_on, wrong_by
from labkit.checks.slips import slip_between
from labkit.checks.symbols import Symbol, points
from labkit.checks.trees import Node
from labkit.checks.verdicts import Verdict
from labkit.errors import FormulaError
from labkit.units import Q_, Quantity

__all__ = ["fault", "verdict"]

_SAME = 1e-9  # relative: what rounding leaves between two ways to the same number, or a constant of nine digits
_DOUBTFUL = 1e-6  # relative: floats that differ by less may do so by rounding alone
_AT_FEW_PLACES = "agreement to nine digits at six places"


class _Tried(NamedTuple):
    read: ReadFormula
    #: At the first of the places, with its unit.
    value: Quantity
    #: At each place, in coherent SI.
    sizes: list[float]
    where: list[Numbers]


def fault(question: Question, answer: Answer) -> str:
    """Return why a text is no formula of the asked kind, or an empty text."""
    try:
        tried = _tried(question, answer)
    except FormulaError as error:
        return str(error)
    return _unit_fault(question, answer, tried.value)


def _unit_fault(question: Question, answer: Answer, value: Quantity) -> str:
    asked = Q_(f"1 {question.unit}")
    if value.dimensionality == asked.dimensionality:
        return ""
    return f"{answer.shown} comes out as {kind_of(value).name}. The question asks for {kind_of(asked).name}."


def _tried(question: Question, answer: Answer) -> _Tried:
    """Return the formula with what it comes to at each point.

    Raises
    ------
    FormulaError
    """
    if answer.too_long or (answer.quantity is None and not answer.typed):
        raise FormulaError(answer.fault)
    read = read_formula(answer.text, question.symbols)
    where = _places(question.symbols)
    value = read.at({name: where[0].quantity(name) for name in where[0]})
    return _Tried(read, value, _sizes(read, where), where)


def _places(symbols: tuple[Symbol, ...]) -> list[Numbers]:
    return [Numbers(texts) for texts in points(symbols)]


def _sizes(read: ReadFormula, where: Sequence[Numbers]) -> list[float]:
    return [read.size_at({name: getattr(place, name) for name in place}) for place in where]


def _same(sizes: Sequence[float], formula: Formula, where: Sequence[Numbers], *, within: float = _SAME) -> bool:
    others = [size_of(formula, place) for place in where]
    return all(math.isclose(one, other, rel_tol=within) for one, other in zip(sizes, others, strict=True))


def _basis(question: Question, tried: _Tried) -> str:
    """Return on what it rests that a formula is the right one; empty where it is not.

    Floats refute; what they leave in doubt is worked out to many digits, and proven where that can be done.

    Raises
    ------
    FormulaError
        When it has no value somewhere.
    """
    if question.answer is None or not _same(tried.sizes, question.answer, tried.where, within=_DOUBTFUL):
        return ""
    right = _right_tree(question.formula, question.symbols, question.answer)
    if right is None:
        return _AT_FEW_PLACES if _same(tried.sizes, question.answer, tried.where) else ""
    from labkit.checks.proofs import Basis, compared  # noqa: PLC0415 (only what may be right needs it: others open faster)

    found = compared(tried.read.tree, right, question.symbols, within=_SAME)
    if found is Basis.NO_VALUE:
        raise FormulaError(NO_VALUE)
    return "" if found is Basis.DIFFERS else found.value


@cache  # the same for every learner
def _right_tree(formula: str, symbols: tuple[Symbol, ...], answer: Formula) -> Node | None:
    """Return the right formula as it is written, where it can be read and says what the question's function gives."""
    where = _places(symbols)
    try:
        read = read_formula(formula, symbols)
        sizes = _sizes(read, where)
    except FormulaError:
        return None
    return read.tree if _same(sizes, answer, where) else None


def verdict(question: Question, numbers: Numbers, answer: Answer, hint: str) -> Verdict:
    """Return the verdict on a formula; a wrong idea is looked for before units that do not fit are refused."""
    try:
        return _judged(question, numbers, answer, hint)
    except FormulaError as error:
        return verdict_on(question, "refused", str(error))


def _judged(question: Question, numbers: Numbers, answer: Answer, hint: str) -> Verdict:
    tried = _tried(question, answer)
    mistake = next((m for m in question.mistakes if _same(tried.sizes, m.formula, tried.where)), None)
    unit_fault = _unit_fault(question, answer, tried.value)
    if mistake:
        comment = f"{answer.shown} is what comes out when {mistake.because}."
        return wrong_by(question, f"{comment} {unit_fault}".rstrip(), mistake.idea, hint)
    if unit_fault:
        return verdict_on(question, "refused", unit_fault)
    if (basis := _basis(question, tried)) or question.answer is None:
        return verdict_on(question, "right", numbers.fill(question.why), basis=basis)
    rights = [question.right_size(place) for place in tried.where]
    ratios = [given / right for given, right in zip(tried.sizes, rights, strict=True)]
    if all(math.isclose(ratio, ratios[0], rel_tol=_SAME) for ratio in ratios) and (
        slip := slip_between(tried.sizes[0], rights[0], window=_SAME, turning=True)
    ):
        comment = f"{answer.shown} {slip.comment}"
        return verdict_on(question, "wrong", comment, slip=slip.name, hint=hint)
    return verdict_on(question, "wrong", _unrecognised(question, answer, tried, ratios), hint=hint)


def _unrecognised(question: Question, answer: Answer, tried: _Tried, ratios: Sequence[float]) -> str:
    if all(ratio < 0 for ratio in ratios):
        return f"{answer.shown} has a sign that does not fit. What counts as positive?"
    unused = [symbol for symbol in question.symbols if symbol.name not in tried.read.symbols]
    if unused:
        return (
            f"{answer.shown} is of the right kind, but it is not the formula. "
            f"{unused[0].shown}, {unused[0].meaning}, does not stand in it: does it make no difference?"
        )
    return f"{answer.shown} is of the right kind, and has every letter in it, but it is not the formula."
