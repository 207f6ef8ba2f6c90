"""Compare one answer with a question: right, a wrong idea that has a name, a slip, or not to be judged."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace

from labkit.checks.answers import Answer
from labkit.checks.kinds import is_of, kind_of
from labkit.checks.numbers import Numbers, coherent_size
from labkit.checks.questions import Mistake, Option, Question, size_of
from labkit.checks.slips import slip_between
from labkit.checks.verdicts import Verdict
from labkit.units import Q_, Quantity

__all__ = ["judge", "kind_fault"]

_SMALLEST = 1e-24  # coherent SI: nothing on a bench is smaller, and nothing larger than one over it
_EDGE = 1e-9  # relative: 1.02 times a float is not always within 2 % of it
_USUAL = 0.02  # relative: the usual tolerance
_ROUNDED = 0.052  # relative: the most that rounding to two figures moves a number


def judge(
    question: Question, numbers: Numbers, answer: Answer, *, tries: int = 0, earlier: Mapping[str, float] | None = None
) -> Verdict:
    """Return the verdict on one answer. Pure: the same arguments give the same verdict.

    Parameters
    ----------
    question : Question
    numbers : Numbers
        The learner's own.
    answer : Answer
    tries : int
        Wrong answers given before this one: hints grow with them.
    earlier : mapping of str to float, optional
        The learner's own answers to earlier steps, by the name that those give, in coherent SI.

    Returns
    -------
    Verdict
    """
    if answer.empty:
        return _verdict(question, "unanswered", question.asked(numbers))
    if fault := kind_fault(question, answer):
        return _kind_verdict(question, numbers, answer, fault)
    if question.options:
        return _judge_choice(question, numbers, _chosen(question, answer), tries)
    verdict = _judge_size(question, numbers, answer, tries)
    if verdict.right or not earlier:
        return verdict
    followed = _judge_size(question, numbers.instead(earlier), answer, tries)
    if followed.right:
        comment = "Worked consistently from your earlier answer, so this step counts. Mend the earlier one first."
        return replace(followed, comment=comment, follows_through=True)
    return followed if followed.misconception and not verdict.misconception else verdict


def kind_fault(question: Question, answer: Answer) -> str:
    """Return why an answer is not of the kind that the question asks for, or an empty text; it tells nothing else."""
    if question.options:
        letters = ", ".join(question.letters)
        return (
            "" if _chosen(question, answer) else f"“{answer.text}” is none of the answers. Give one letter: {letters}."
        )
    if answer.quantity is None:
        return answer.fault
    if not _sensible(coherent_size(answer.quantity)):
        return f"{answer.text} is beyond anything that a bench can give."
    if is_of(answer.quantity, question.unit):
        return ""
    asked = kind_of(Q_(f"1 {question.unit}"))
    if question.unit and is_of(answer.quantity, "") and answer.quantity.units == Q_("1").units:
        return (
            f"{answer.text} of what? The question asks for {asked.name}. "
            f"Write the unit with the number, as in {asked.example}."
        )
    return (
        f"{answer.text} is {kind_of(answer.quantity).name}. The question asks for {asked.name}, as in {asked.example}."
    )


def _sensible(size: float) -> bool:
    """Whether a float in coherent SI is zero, or of a size with which formulas can calculate."""
    return size == 0 or _SMALLEST <= abs(size) <= 1 / _SMALLEST


def _verdict(question: Question, outcome: str, comment: str, **more: object) -> Verdict:
    return Verdict(question=question.title, outcome=outcome, comment=comment, **more)  # type: ignore[arg-type]


def _hint(question: Question, tries: int) -> str:
    """Return the hint that is due after so many wrong answers before this one."""
    hints = list(question.hints)
    if tries >= 2:
        hints.insert(
            2, "Draw the circuit with your numbers at it, and say aloud what you expect. Then calculate again."
        )
    return hints[min(tries, len(hints) - 1)] if hints else ""


# --- a choice -------------------------------------------------------------------------------------


def _chosen(question: Question, answer: Answer) -> Option | None:
    """Return the option that an answer names by its letter or its text."""
    said = answer.text.casefold().strip().rstrip(").").lstrip("(")
    by_text = {" ".join(o.text.split()).casefold().rstrip("."): o for o in question.options}
    return question.letters.get(said) or by_text.get(said)


def _judge_choice(question: Question, numbers: Numbers, option: Option | None, tries: int) -> Verdict:
    if option is None or option.right:
        return _verdict(question, "right", numbers.fill(question.why))
    return _wrong(question, option.because, option, _hint(question, tries))


def _wrong(question: Question, comment: str, source: Mistake | Option, hint: str) -> Verdict:
    belief = None if isinstance(source.idea, str) else source.idea
    lesson = belief.lesson if belief else question.lesson
    return _verdict(
        question,
        "wrong",
        f"{comment} {belief.rethink}" if belief else comment,
        misconception=belief.id if belief else None,
        slip=source.idea if isinstance(source.idea, str) else None,
        lesson=str(lesson) if lesson else None,
        hint=hint,
    )


# --- a number -------------------------------------------------------------------------------------


def _size(answer: Answer) -> float:
    quantity = answer.quantity
    return coherent_size(quantity) if isinstance(quantity, Quantity.__origin__) else math.nan  # type: ignore[attr-defined]


def _judge_size(question: Question, numbers: Numbers, answer: Answer, tries: int) -> Verdict:
    given, right = _size(answer), question.right_size(numbers)
    if abs(given - right) <= question.slack(right) * (1 + _EDGE) + abs(right) * _EDGE:
        return _verdict(question, "right", numbers.fill(question.why))
    hint = _hint(question, tries)
    mistake, distance = _nearest(question, numbers, given)
    if not question.allowance and right and abs(given / right - 1.0) <= min(_rounding(answer), distance):
        comment = f"{answer.text} is close, but rounded too early. Keep three figures to the end."
        return _verdict(question, "wrong", comment, slip="rounded too early")
    if mistake and distance <= _window(question, answer):
        return _wrong(question, f"{answer.text} is what comes out when {mistake.because}.", mistake, hint)
    if slip := slip_between(given, right, window=question.tolerance or _USUAL, turning=_turning(question, numbers)):
        return _verdict(question, "wrong", f"{answer.text} {slip.comment}", slip=slip.name, hint=hint)
    return _verdict(question, "wrong", _unrecognised(answer, given, right), hint=hint)


def _kind_verdict(question: Question, numbers: Numbers, answer: Answer, fault: str) -> Verdict:
    """Return what is said of an answer of the wrong kind: a wrong idea first, since some have another unit."""
    if question.options or answer.quantity is None or is_of(answer.quantity, "") or not _sensible(_size(answer)):
        return _verdict(question, "refused", fault)
    given, right = _size(answer), question.right_size(numbers)
    mistake, distance = _nearest(question, numbers, given)
    if mistake and distance <= _window(question, answer):
        comment = f"{answer.text} is what comes out when {mistake.because}, and its unit shows that: {fault}"
        return _wrong(question, comment, mistake, _hint(question, 0))
    if abs(given - right) <= question.slack(right):
        comment = f"{fault} Your number may stand; look at its unit."
        return _verdict(question, "refused", comment, slip="unit of another kind")
    return _verdict(question, "refused", fault)


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
        return f"{answer.text} has a sign that does not fit. Which way does it point, and what counts as positive?"
    ratio = abs(given / right) if right else math.inf
    if not 0.1 <= ratio <= 10:
        size = "large" if ratio > 1 else "small"
        return f"{answer.text} is far too {size}. Check prefixes and units before the physics."
    return f"{answer.text} is of the right kind and size, but it is not the number."
