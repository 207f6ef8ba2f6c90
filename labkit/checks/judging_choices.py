"""A choice, with the reason for it where the question wants one."""

from __future__ import annotations

import re
from collections.abc import Mapping

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
    return _named(answer.text, question.letters)


def _with_reason(question: Question, answer: Answer) -> tuple[Option | None, Option | None]:
    """Return the option and the reason that an answer names: "c 2", or both in words with "because" between them."""
    if match := _WITH_REASON.fullmatch(answer.text.casefold().strip()):
        return question.letters.get(match["letter"]), question.numerals.get(match["numeral"])
    option, because, reason = answer.text.casefold().partition("because")
    return _named(option, question.letters), _named(reason, question.numerals) if because else None


def _named(text: str, options: Mapping[str, Option]) -> Option | None:
    """Return the option that is named by its letter, its text or both; a beginning that no other has will do."""
    said = _plain(text)
    if said in options:
        return options[said]
    sign, _, rest = said.partition(" ")
    whole = [option for option in options.values() if _plain(option.text) == said]
    with_sign = [options[sign]] if sign in options and rest and _begins(options[sign], rest) else []
    found = whole or with_sign or [option for option in options.values() if _begins(option, said)]
    return found[0] if len(found) == 1 else None


def _begins(option: Option, said: str) -> bool:
    """Return whether a text begins with the words that were said, two of them or all."""
    text = _plain(option.text)
    return text == said or (" " in said and f"{text} ".startswith(f"{said} "))


def _plain(text: str) -> str:
    """Return the words and numbers of a text, with their signs, parted by one space."""
    return " ".join(re.findall(r"[-+−<>]?\w+(?:[.,'/-]\w+)*", text.casefold()))
