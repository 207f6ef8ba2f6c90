"""One learner's sheet: its numbers, its questions, and the verdict on each answer."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from labkit.checks import Answer, Numbers, Question, Verdict, answer_from_json, answer_to_json, judge
from labkit.checks.judging import kind_fault
from labkit.checks.numbers import coherent_size
from labkit.problems import BANK, PRACTICE_KEY, SheetPlan, draw, plan
from labkit.sheets.recording import record
from labkit.sheets.showing import overview_html, overview_markdown
from labkit.sheets.tries import TriesFile

__all__ = ["Sheet", "open_sheet", "personal_sheet"]


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
    #: Where tries are kept, if they are.
    tries: TriesFile | None = None

    def __post_init__(self) -> None:
        for title, answer, outcome in self.tries.read() if self.tries else ():
            if title in self.titles and outcome in {"right", "wrong", "recorded"}:
                self._take(title, answer)

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
        marked = record(self.name, title, given)
        verdict = self._take(title, given)
        if self.tries and not again and not marked and verdict.outcome in {"right", "wrong", "recorded"}:
            self.tries.add(title, given, verdict.outcome)
        return verdict

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
            return "Worked answers come back with the marks."
        if not (verdict and verdict.right) and len(self.wrong.get(title, ())) < 3:
            return "Try it first: the worked answer is here once you are right, or after three tries."
        return "\n".join([*question.worked_lines(self.own), "For new numbers, open the sheet again with attempt=2."])

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
        before = self.plan.questions[: self.titles.index(question.title)]
        earlier = {step.gives: size for step in before if step.gives and (size := self._wrongly(step, answers))}
        return judge(question, self.own, answer_from_json(given), tries=tries, earlier=earlier)

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


def _assessed(question: Question, answer: Answer, numbers: Numbers) -> Verdict:
    """Return what an assessed sheet says: of the right kind and recorded, or why it cannot be judged."""
    if answer.empty:
        return judge(question, numbers, answer)
    if fault := kind_fault(question, answer):
        return Verdict(question=question.title, outcome="refused", comment=fault)
    comment = f"{answer.text}. You hear whether it is right when the sheet is marked."
    return Verdict(question=question.title, outcome="recorded", comment=comment)


def open_sheet(
    name: str,
    *,
    learner: str = "practice",
    group: str = "",
    bank: str = BANK,
    attempt: int = 1,
    numbers: Mapping[str, str] | None = None,
    assessed: bool = False,
    tries: str | Path | None = None,
) -> Sheet:
    """Open a sheet in a notebook.

    Parameters
    ----------
    name : str
        ``"generator-action"``, for instance.
    learner, group : str
        Any id: another has other numbers.
    bank : str
        The version of the question bank that the sheet was drawn from.
    attempt : int
        Another gives other numbers to the same learner.
    numbers : mapping of str to str, optional
        What a personal sheet carries. Without it the numbers are drawn, as for practice.
    assessed : bool
        Say only whether an answer is of the right kind and recorded.
    tries : str or Path, optional
        A file beside the notebook that keeps the tries, so that a restarted kernel knows them.

    Returns
    -------
    Sheet

    Raises
    ------
    SheetError
        When there is no such sheet, or a number is missing.

    Examples
    --------
    >>> sheet = open_sheet("generator-action", learner="amber-17")
    >>> sheet.numbers["speed"]
    '4200 rpm'
    >>> sheet.answer("Generator EMF at this speed", "23.9 V").misconception
    'M14'
    """
    found = plan(name, bank)
    if numbers is None:
        numbers = draw(found, learner=learner, group=group, bank=bank, attempt=attempt, key=PRACTICE_KEY)
    found.numbers(numbers)  # says which one is missing
    owner = {"sheet": name, "bank": bank, "group": group, "learner": learner, "attempt": attempt}
    return Sheet(
        plan=found, learner=learner, group=group, bank=bank, numbers=dict(numbers), assessed=assessed,
        tries=TriesFile(Path(tries), owner) if tries else None,
    )  # fmt: skip


def personal_sheet(
    name: str,
    *,
    learner: str,
    group: str = "",
    bank: str = BANK,
    key: bytes,
    attempt: int = 1,
    assessed: bool = False,
) -> Sheet:
    """Return a learner's sheet with the numbers that the key gives; whatever a returned file says is not looked at.

    Parameters
    ----------
    name, learner, group, bank : str
    key : bytes
        The teacher's, or ``PRACTICE_KEY``.
    attempt : int
    assessed : bool

    Raises
    ------
    SheetError
        When there is no such sheet.
    """
    found = plan(name, bank)
    numbers = draw(found, learner=learner, group=group, bank=bank, attempt=attempt, key=key)
    return Sheet(plan=found, learner=learner, group=group, bank=bank, numbers=numbers, assessed=assessed)
