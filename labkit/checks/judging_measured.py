"""A measured result: judged by its own uncertainty, which is capped, against a fit of the readings behind it."""

from __future__ import annotations

from labkit.checks import judging_sizes
from labkit.checks.answers import Answer, read_answer
from labkit.checks.measured import Fitted, agrees, fitted, parted, too_sure
from labkit.checks.numbers import Numbers, coherent_size
from labkit.checks.questions import Question
from labkit.checks.said import verdict_on, wrong_by
from labkit.checks.verdicts import Verdict
from labkit.errors import LabkitError
from labkit.units import Quantity

__all__ = ["fault", "verdict"]


def _result(answer: Answer) -> tuple[Answer, str]:
    """Return the result as an answer of its own, and the readings below it."""
    first, readings = parted(answer.typed)
    return read_answer(first), readings


def fault(question: Question, answer: Answer) -> str:
    """Return why an answer is no value with an uncertainty, or lacks usable readings, or an empty text."""
    if answer.too_long:
        return answer.fault
    result, readings = _result(answer)
    if result.quantity is None and not result.empty:
        return result.fault
    if result.empty or result.uncertainty is None:
        return f"How sure is it? Write the uncertainty with the value, as in {question.measured_example}."
    return judging_sizes.fault(question, result) or _fault_of_readings(question, readings)


def _fault_of_readings(question: Question, readings: str) -> str:
    if question.measured is None or (not readings and question.measured.readings):
        return ""
    if not readings:
        return "On what does it rest? Write your readings below the result, as in a bench file."
    if _rows(readings) <= _rows(question.measured.layout):
        return "These are the readings of the example. Write your own in their place."
    try:
        fitted(readings, question.measured.constant)
    except LabkitError as error:
        return f"Your readings cannot be used: {_in_one_line(error)}"
    return ""


def _rows(text: str) -> set[str]:
    return {"".join(line.split()) for line in text.splitlines()}


def _in_one_line(error: Exception) -> str:
    return " ".join(str(error).split())[:300]


def verdict(question: Question, numbers: Numbers, answer: Answer, hint: str) -> Verdict:
    """Return the verdict on a result that is one."""
    measured, (result, readings) = question.measured, _result(answer)
    if measured is None or result.quantity is None or result.uncertainty is None:
        return verdict_on(question, "refused", answer.fault)
    supplied = measured.readings(numbers) if measured.readings else ""
    fit = fitted(readings or supplied, measured.constant)
    given, stated = coherent_size(result.quantity), _spread(result.quantity, result.uncertainty)
    if stated > measured.cap * abs(given):
        comment = (
            f"{result.shown} agrees with almost anything, so wide is its ±: "
            f"{100 * measured.cap:.0f} % of the value is the most that counts here."
        )
        return wrong_by(question, comment, "uncertainty too wide", hint)
    if not agrees(given, stated, fit):
        return _apart(question, numbers, result, hint, own=bool(readings), fit=fit)
    if too_sure(stated, fit):
        comment = (
            f"The value agrees, but {result.shown} claims more than the readings can carry: look how far they scatter."
        )
        return wrong_by(question, comment, "uncertainty too small", hint)
    return verdict_on(question, "right", numbers.fill(question.why))


def _spread(value: Quantity, uncertainty: Quantity) -> float:
    """Return the size of an uncertainty in coherent SI: what stands behind the ±, which has no zero of its own."""
    return abs(coherent_size(value + uncertainty) - coherent_size(value))


def _apart(question: Question, numbers: Numbers, result: Answer, hint: str, *, own: bool, fit: Fitted) -> Verdict:
    """Return the verdict on a value that does not agree: by a wrong idea, a slip, or its readings."""
    if named := judging_sizes.recognised(question, numbers, result, hint, right=fit.value, mistakes=not own):
        return named
    given = coherent_size(result.quantity) if result.quantity is not None else 0.0
    side = "above" if given > fit.value else "below"
    comment = f"{result.shown} and the fit of the readings do not agree: it lies {side}, by more than both are sure of."
    return verdict_on(question, "wrong", comment, hint=hint)
