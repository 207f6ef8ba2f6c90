"""One learner's sheet: its numbers, its questions, and the verdict on each answer."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from labkit.checks import Answer, Numbers, Question, Verdict, answer_from_json, answer_to_json, judge
from labkit.checks.judging import kind_fault, unanswered
from labkit.checks.numbers import coherent_size
from labkit.errors import SheetError
from labkit.problems import SheetPlan, draw
from labkit.sheets.recording import record
from labkit.sheets.showing import Lines, overview_html, overview_markdown
from labkit.sheets.tries import TriesFile

__all__ = ["MOST_ATTEMPTS", "Sheet"]

#: Sets of numbers that a learner can draw for one sheet.
MOST_ATTEMPTS = 99

_TRIES_BEFORE_WORKED = 3


@dataclass(kw_only=True, eq=False, repr=False)
class Sheet:
    """A sheet of questions with one learner's numbers in them.

    Parameters
    ----------
    plan : SheetPlan
    learner, group, bank : str
    numbers : mapping of str to str
        ``{"speed": "3100 rpm", …}``.
    assessed : bool
        Whether ``answer`` says no more than that an answer is recorded.
    """

    plan: SheetPlan
    learner: str
    group: str
    bank: str
    numbers: Mapping[str, str]
    assessed: bool = False
    #: The last answer to each question, as JSON.
    answers: dict[str, Any] = field(default_factory=dict)
    #: Wrong answers so far, by question, a repeated one counted once.
    wrong: dict[str, list[Any]] = field(default_factory=dict)
    #: The last verdict on each question.
    verdicts: dict[str, Verdict] = field(default_factory=dict)
    #: Different answers of the right kind so far, by question, and when the first of them was given.
    tried: dict[str, list[Any]] = field(default_factory=dict)
    since: dict[str, float] = field(default_factory=dict)
    #: Where tries are kept, if they are.
    tries: TriesFile | None = None
    #: Another has other numbers.
    attempt: int = 1
    #: What lets the answers of later attempts count when the sheet is marked; empty on an assessed one.
    retries: str = ""

    def __post_init__(self) -> None:
        for earlier in self.tries.read() if self.tries else ():
            if earlier.question in self.titles and earlier.outcome in {"right", "wrong", "recorded"}:
                self._count(earlier.question, earlier.answer, earlier.when)
                self._take(earlier.question, earlier.answer)

    @property
    def name(self) -> str:
        """The sheet's name in the bank."""
        return self.plan.name

    @property
    def titles(self) -> tuple[str, ...]:
        """The questions' titles, in order."""
        return tuple(question.title for question in self.plan.questions)

    @cached_property
    def own(self) -> Numbers:
        """The learner's numbers, for formulas and wordings."""
        return self.plan.numbers(self.numbers)

    def asked(self, title: str) -> str:
        """Return a question with this learner's numbers written out."""
        return self.plan.question(title).asked(self.own)

    # --- in the learner's notebook ---

    def answer(self, title: str, answer: object = "") -> Verdict:
        """Take one answer, and say what there is to say about it.

        Parameters
        ----------
        title : str
            The question's own title.
        answer : str, Quantity or float
            As a person types it, with its unit; of a choice, the letter. Left empty, the question is shown.

        Returns
        -------
        Verdict

        Raises
        ------
        SheetError
            When the sheet has no such question.
        """
        self.plan.question(title)
        given = answer_to_json(answer)
        again = self.answers.get(title) == given
        tries, seconds = self._count(title, given, time.time())
        marked = record(self.name, title, given, attempt=self.attempt, tries=tries, seconds=seconds)
        verdict = replace(self._take(title, given), attempt=self.attempt, tries=tries, seconds=seconds)
        if self.tries and not again and not marked and verdict.outcome in {"right", "wrong", "recorded"}:
            self.tries.add(title, given, verdict.outcome)
        return verdict

    def _count(self, title: str, given: Any, when: float) -> tuple[int, int]:
        """Count an answer, and return how many different ones there were, and the seconds since the first."""
        tried, answer = self.tried.setdefault(title, []), answer_from_json(given)
        question = self.plan.question(title)
        if given not in tried and not unanswered(question, answer) and not kind_fault(question, answer):
            tried.append(given)
            self.since.setdefault(title, when)
        return len(tried), round(max(when - self.since.get(title, when), 0.0))

    def _take(self, title: str, given: Any) -> Verdict:
        """Judge an answer and remember it."""
        question = self.plan.question(title)
        self.answers[title] = given
        if self.assessed:
            verdict = _assessed(question, answer_from_json(given), self.own)
        else:
            before = self.wrong.setdefault(title, [])
            verdict = self._judged(question, given, self.answers, tries=len([w for w in before if w != given]))
            if verdict.outcome == "wrong" and given not in before:
                before.append(given)
            if verdict.outcome == "wrong" and len(before) >= _TRIES_BEFORE_WORKED:
                verdict = replace(verdict, hint=f"{verdict.hint} {_way_on(title)}".lstrip())
            if verdict.outcome in {"wrong", "refused"}:
                verdict = replace(verdict, asked=question.asked(self.own))
            if verdict.right:
                verdict = replace(verdict, comment=f"{verdict.comment}\n{self._next(title)}")
        self.verdicts[title] = verdict
        return verdict

    def _next(self, title: str) -> str:
        rest = self.titles[self.titles.index(title) + 1 :]
        return f"Next: {rest[0]}." if rest else "That was the last question of this sheet."

    def worked(self, title: str) -> str:
        """Return the worked answer of a question, once it is answered rightly or was tried three times.

        Raises
        ------
        SheetError
            When the sheet has no such question.
        """
        question = self.plan.question(title)
        verdict = self.verdicts.get(title)
        if self.assessed:
            return Lines("An assessed sheet shows no worked answers; comments come back with the marks.")
        if not (verdict and verdict.right) and len(self.wrong.get(title, ())) < _TRIES_BEFORE_WORKED:
            return Lines("Try it first: the worked answer is here once you are right, or after three tries.")
        return Lines("\n".join([*question.worked_lines(self.own), "For new numbers run: sheet = sheet.again()"]))

    def again(self) -> Sheet:
        """Return the practice sheet with new numbers, so that a retry is no repetition; this one stays as it is.

        Raises
        ------
        SheetError
            Of an assessed sheet, whose numbers the teacher has drawn; and after the last attempt that there is.
        """
        return self.at_attempt(self.attempt + 1)

    def at_attempt(self, attempt: int) -> Sheet:
        """Return the practice sheet with the numbers of a later attempt, which the public key gives to everybody.

        Raises
        ------
        SheetError
            Of an assessed sheet, which has only the first; and of an attempt that there is not.
        """
        if self.assessed:
            msg = "An assessed sheet keeps its numbers. Practise on a sheet of your own: open_sheet(…) without numbers."
            raise SheetError(msg)
        if not 1 < attempt <= MOST_ATTEMPTS:
            raise SheetError(f"New numbers are those of attempts 2 to {MOST_ATTEMPTS}; got {attempt}.")
        numbers = draw(self.plan, learner=self.learner, group=self.group, bank=self.bank, attempt=attempt)
        return Sheet(
            plan=self.plan, learner=self.learner, group=self.group, bank=self.bank, numbers=numbers, attempt=attempt,
            tries=self.tries.of(attempt=attempt) if self.tries else None, retries=self.retries,
        )  # fmt: skip

    # --- for marking ---

    def judge(self, title: str, answer: object, *, earlier: Mapping[str, object] | None = None) -> Verdict:
        """Return the verdict on an answer that was recorded; pure, and never raises for an answer of any shape.

        Parameters
        ----------
        title : str
        answer : decoded JSON
            As ``answer_to_json`` writes it, or anything else.
        earlier : mapping of title to decoded JSON, optional
            The learner's other answers: a step worked consistently from an earlier wrong one is right.
        """
        return self._judged(self.plan.question(title), answer, earlier or {}, tries=0)

    def judge_all(self, answers: Mapping[str, object]) -> dict[str, Verdict]:
        """Return the verdict on every question, in order; those without an answer are unanswered.

        Parameters
        ----------
        answers : mapping of title to decoded JSON
        """
        return {title: self.judge(title, answers.get(title, ""), earlier=answers) for title in self.titles}

    def _judged(self, question: Question, given: object, answers: Mapping[str, object], *, tries: int) -> Verdict:
        """Return the verdict; only one that is wrong by itself can follow from an earlier wrong answer."""
        answer = answer_from_json(given)
        verdict = judge(question, self.own, answer, tries=tries)
        if verdict.outcome != "wrong":
            return verdict
        before = self.plan.questions[: self.titles.index(question.title)]
        earlier = {step.gives: size for step in before if step.gives and (size := self._wrongly(step, answers))}
        return judge(question, self.own, answer, tries=tries, earlier=earlier) if earlier else verdict

    def _wrongly(self, step: Question, answers: Mapping[str, object]) -> float:
        """Return a learner's wrong answer to an earlier step, in coherent SI; zero where there is none to build on."""
        answer = answer_from_json(answers.get(step.title, ""))
        if answer.quantity is None or kind_fault(step, answer) or judge(step, self.own, answer).right:
            return 0.0
        return coherent_size(answer.quantity)

    def __repr__(self) -> str:
        return overview_markdown(self).replace("**", "")

    def _repr_markdown_(self) -> str:
        return overview_markdown(self)

    def _repr_html_(self) -> str:
        return overview_html(self)


def _way_on(title: str) -> str:
    return f'sheet.worked("{title}") shows how it goes; sheet = sheet.again() brings new numbers.'


def _assessed(question: Question, answer: Answer, numbers: Numbers) -> Verdict:
    """Return what an assessed sheet says: of the right kind and recorded, or why it cannot be judged."""
    if unanswered(question, answer):
        return judge(question, numbers, answer)
    if fault := kind_fault(question, answer):
        return Verdict(question=question.title, outcome="refused", comment=fault)
    comment = f"{answer.text}. You hear whether it is right when the sheet is marked."
    return Verdict(question=question.title, outcome="recorded", comment=comment)
