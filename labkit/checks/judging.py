"""Compare one answer with a question: right, a wrong idea that has a name, a slip, or not to be judged."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from labkit.checks import judging_choices, judging_designs, judging_formulas, judging_measured, judging_sizes
from labkit.checks.answers import Answer
from labkit.checks.numbers import Numbers
from labkit.checks.plots import plot_html, plot_text
from labkit.checks.questions import Kind, Question
from labkit.checks.said import hint_after, verdict_on
from labkit.checks.verdicts import Verdict

__all__ = ["judge", "kind_fault", "unanswered"]

#: Why an answer to each kind of question is none.
_FAULTS: dict[Kind, Callable[[Question, Answer], str]] = {
    "number": judging_sizes.fault,
    "plot": judging_sizes.fault,
    "choice": judging_choices.fault,
    "formula": judging_formulas.fault,
    "design": judging_designs.fault,
    "measured": judging_measured.fault,
}
#: What judges an answer of its kind, where that is no plain number and no formula.
_VERDICTS: dict[Kind, Callable[[Question, Numbers, Answer, str], Verdict]] = {
    "choice": judging_choices.verdict,
    "design": judging_designs.verdict,
    "measured": judging_measured.verdict,
}


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
    verdict = _judged(question, numbers, answer, tries, earlier)
    if question.plot and not verdict.right:
        picture, told = plot_html(question.plot, numbers), plot_text(question.plot, numbers)
        return replace(verdict, picture=picture, picture_text=told)
    return verdict


def _judged(
    question: Question, numbers: Numbers, answer: Answer, tries: int, earlier: Mapping[str, float] | None
) -> Verdict:
    if unanswered(question, answer):
        return verdict_on(question, "unanswered", question.asked(numbers))
    hint = hint_after(question, tries)
    if question.kind == "formula":  # a wrong idea is looked for before its unit is refused
        return judging_formulas.verdict(question, numbers, answer, hint)
    told, of_its_kind = kind_fault(question, answer), _VERDICTS.get(question.kind)
    if of_its_kind:
        return verdict_on(question, "refused", told) if told else of_its_kind(question, numbers, answer, hint)
    if told:
        return judging_sizes.of_another_kind(question, numbers, answer, told, hint)
    return _followed(question, numbers, answer, hint, earlier)


def _followed(
    question: Question, numbers: Numbers, answer: Answer, hint: str, earlier: Mapping[str, float] | None
) -> Verdict:
    """Return the verdict on a number; one that follows from an earlier wrong answer is right as well."""
    verdict = judging_sizes.verdict(question, numbers, answer, hint)
    if verdict.right or not earlier:
        return verdict
    followed = judging_sizes.verdict(question, numbers.instead(earlier), answer, hint)
    if followed.right:
        comment = "Worked consistently from your earlier answer, so this step counts. Mend the earlier one first."
        return replace(followed, comment=comment, follows_through=True)
    return followed if followed.misconception and not verdict.misconception else verdict


def unanswered(question: Question, answer: Answer) -> bool:
    """Return whether an answer is nothing, or the blank as it was handed out."""
    return answer.empty or (bool(answer.typed) and answer.text == " ".join(question.blank.split()))


def kind_fault(question: Question, answer: Answer) -> str:
    """Return why an answer is not of the kind that the question asks for, or an empty text; it tells nothing else."""
    return _FAULTS[question.kind](question, answer)
