"""A choice, with the reason for it where the question wants one."""

from __future__ import annotations

import re

from labkit.checks.answers import Answer
from labkit.checks.numbers import Numbers
from labkit.checks.questions import Option, Question
from labkit.checks.said import verdict_on, wrong_by
from labkit.checks.verdicts import Verdict

__all__ = ["fault", "verdict"]

_WITH_REASON = re.compile(r"\(?(?P<letter>[a-z])\)?\W{0,3}(?:because\W{0,3})?\(?(?P<numeral>\d)\)?\W?")
_HALF = 0.5


def fault(question: Question, answer: Answer) -> str:
    """Return why an answer names none of the options, or no reason; an empty text where it does."""
    letters = ", ".join(question.letters)
    if not question.reasons:
        none = f"“{answer.shown}” is none of the answers. Give one letter: {letters}."
        return "" if _chosen(question, answer) else none
    if _chosen(question, answer):
        return "The reason counts as well. Give its number with the letter, as in a 1."
    if all(_with_reason(question, answer)):
        return ""
    numerals = ", ".join(question.numerals)
    return (
        f"“{answer.shown}” is none of the answers. Give one letter ({letters}) and one reason ({numerals}), as in a 1."
    )


def verdict(question: Question, numbers: Numbers, answer: Answer, hint: str) -> Verdict:
    """Return the verdict on a choice that is one; choice and reason earn half each."""
    if not question.reasons:
        option = _chosen(question, answer)
        if option is None or option.right:
            return verdict_on(question, "right", numbers.fill(question.why))
        return wrong_by(question, option.because, option.idea, hint)
    option, reason = _with_reason(question, answer)
    if option is None or reason is None or (option.right and reason.right):
        return verdict_on(question, "right", numbers.fill(question.why))
    if option.right:
        comment = f"Your choice is right, and the reason is not. {reason.because}"
        return wrong_by(question, comment, reason.idea, hint, share=_HALF)
    if reason.right:
        comment = f"Your reason is right, but it leads to another choice. {option.because}"
        return wrong_by(question, comment, option.idea, hint, share=_HALF)
    return wrong_by(question, reason.because, reason.idea, hint)


def _chosen(question: Question, answer: Answer) -> Option | None:
    """Return the option that an answer names by its letter or its text."""
    said = answer.text.casefold().strip().rstrip(").").lstrip("(")
    by_text = {" ".join(o.text.split()).casefold().rstrip("."): o for o in question.options}
    return question.letters.get(said) or by_text.get(said)


def _with_reason(question: Question, answer: Answer) -> tuple[Option | None, Option | None]:
    match = _WITH_REASON.fullmatch(answer.text.casefold().strip())
    if not match:
        return None, None
    return question.letters.get(match["letter"]), question.numerals.get(match["numeral"])
