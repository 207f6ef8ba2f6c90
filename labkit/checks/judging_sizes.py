"""A number with its unit: right, a wrong idea that has a name, a slip, or a place to look."""

from __future__ import annotations

import math
import re

from labkit.checks.answers import Answer
from labkit.checks.kinds import is_of, kind_of
from labkit.checks.numbers import Numbers, coherent_size
from labkit.checks.questions import Mistake, Question, size_of
from labkit.checks.said import verdict_on, wrong_by
from labkit.checks.slips import slip_between
from labkit.checks.verdicts import Verdict
from labkit.units import Q_, Quantity

__all__ = ["fault", "of_another_kind", "recognised", "verdict"]

_SMALLEST = 1e-24  # coherent SI: nothing on a bench is smaller, and nothing larger than one over it
_EDGE = 1e-9  # relative: 1.02 times a float is not always within 2 % of it
_USUAL = 0.02  # relative: the usual tolerance
_ROUNDED = 0.052  # relative: the most that rounding to two figures moves a number


def fault(question: Question, answer: Answer) -> str:
    """Return why an answer is no number of the asked kind, or an empty text."""
    if answer.quantity is None:
        return answer.fault
    if not _sensible(coherent_size(answer.quantity)):
        return f"{answer.shown} is beyond anything that a bench can give."
    if is_of(answer.quantity, question.unit):
        return ""
    asked = kind_of(Q_(f"1 {question.unit}"))
    if question.unit and is_of(answer.quantity, "") and answer.quantity.units == Q_("1").units:
        return (
            f"{answer.shown} of what? The question asks for {asked.name}. "
            f"Write the unit with the number, as in {asked.example}."
        )
    return (
        f"{answer.shown} is {kind_of(answer.quantity).name}. The question asks for {asked.name}, as in {asked.example}."
    )


def _sensible(size: float) -> bool:
    """Whether a float in coherent SI is zero, or of a size with which formulas can calculate."""
    return size == 0 or _SMALLEST <= abs(size) <= 1 / _SMALLEST


def _size(answer: Answer) -> float:
    quantity = answer.quantity
    return coherent_size(quantity) if isinstance(quantity, Quantity.__origin__) else math.nan  # type: ignore[attr-defined]


def verdict(question: Question, numbers: Numbers, answer: Answer, hint: str) -> Verdict:
    """Return the verdict on a number of the asked kind."""
    given, right = _size(answer), question.right_size(numbers)
    if abs(given - right) <= question.slack(right) * (1 + _EDGE) + abs(right) * _EDGE:
        return verdict_on(question, "right", numbers.fill(question.why))
    return recognised(question, numbers, answer, hint, right=right) or verdict_on(
        question, "wrong", _unrecognised(answer, given, right), hint=hint
    )


def recognised(
    question: Question, numbers: Numbers, answer: Answer, hint: str, *, right: float, mistakes: bool = True
) -> Verdict | None:
    """Return the verdict on a wrong number by the idea or the slip that leads from *right* to it, if one does."""
    given = _size(answer)
    mistake, distance = _nearest(question, numbers, given) if mistakes else (None, math.inf)
    relative = bool(question.tolerance) and not question.allowance and question.measured is None
    if relative and right and abs(given / right - 1.0) <= min(_rounding(answer), distance):
        comment = f"{answer.shown} is close, but rounded too early. Keep three figures to the end."
        return verdict_on(question, "wrong", comment, slip="rounded too early")
    if mistake and distance <= _window(question, answer):
        return wrong_by(question, f"{answer.shown} is what comes out when {mistake.because}.", mistake.idea, hint)
    if slip := slip_between(given, right, window=question.tolerance or _USUAL, turning=_turning(question, numbers)):
        return verdict_on(question, "wrong", f"{answer.shown} {slip.comment}", slip=slip.name, hint=hint)
    return None


def of_another_kind(question: Question, numbers: Numbers, answer: Answer, told: str, hint: str) -> Verdict:
    """Return what is said of a number of the wrong kind: a wrong idea first, since some have another unit."""
    if answer.quantity is None or is_of(answer.quantity, "") or not _sensible(_size(answer)):
        return verdict_on(question, "refused", told)
    given, right = _size(answer), question.right_size(numbers)
    mistake, distance = _nearest(question, numbers, given)
    if mistake and distance <= _window(question, answer):
        comment = f"{answer.shown} is what comes out when {mistake.because}, and its unit shows that: {told}"
        return wrong_by(question, comment, mistake.idea, hint)
    if abs(given - right) <= question.slack(right):
        comment = f"{told} Your number may stand; look at its unit."
        return verdict_on(question, "refused", comment, slip="unit of another kind")
    return verdict_on(question, "refused", told)


def _nearest(question: Question, numbers: Numbers, given: float) -> tuple[Mistake | None, float]:
    """Return the mistake whose number lies nearest to the one given, and how far that is, relative to the latter."""
    slack = question.slack(question.right_size(numbers))
    typed = (given,) if question.unit else (given, given / 100.0)  # a per cent may be typed without its sign
    best: tuple[Mistake | None, float] = (None, math.inf)
    for mistake in question.mistakes:
        size = size_of(mistake.formula, numbers)
        if size == 0 or given == 0:
            distance = 0.0 if size == given else math.inf
        elif question.tolerance:
            distance = min(abs(size / number - 1.0) for number in typed)
        else:  # a temperature: only differences count
            distance = abs(given - size) / slack * _USUAL
        if distance < best[1]:
            best = (mistake, distance)
    return best


_DIGITS = re.compile(r"\d[\d ]*(?:[.,]\d*)?|[.,]\d+")


def _rounding(answer: Answer) -> float:
    """Return half a step of the last figure, relative, where only one or two figures were typed; else 0."""
    typed = _DIGITS.search(answer.text)
    digits = re.sub(r"[ .,]", "", typed[0]).lstrip("0") if typed else ""
    if typed and not re.search(r"[.,]", typed[0]):
        digits = digits.rstrip("0")
    return 0.5 / int(digits) * (1 + _EDGE) if 1 <= len(digits) <= 2 and int(digits) else 0.0


def _window(question: Question, answer: Answer) -> float:
    """Return how far a number may lie from a mistake's, relative: the tolerance, or what rounding does to it."""
    return max(question.tolerance or _USUAL, min(_rounding(answer), _ROUNDED))


def _turning(question: Question, numbers: Numbers) -> bool:
    """Whether a shaft speed comes into the question."""
    shown = (numbers.texts[name] for name in question.names if name in numbers.texts)
    return any(unit in text for text in (*shown, question.unit) for unit in ("rpm", "rad"))


def _unrecognised(answer: Answer, given: float, right: float) -> str:
    if given * right < 0:
        return f"{answer.shown} has a sign that does not fit. Which way does it point, and what counts as positive?"
    ratio = abs(given / right) if right else math.inf
    if not 0.1 <= ratio <= 10:
        size = "large" if ratio > 1 else "small"
        return f"{answer.shown} is far too {size}. Check prefixes and units before the physics."
    return f"{answer.shown} has a unit and a size that could be, but it is not the number."
