"""A sheet's plan: an ordered list of questions on one set of drawn numbers.

A plan that has been handed out is never edited: learners' numbers depend on it.
Write the changed one beside it with a later ``since``, and keep the old one, so that old sheets can still be marked.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from types import MappingProxyType

from labkit.checks import Lesson, Numbers, Question, Value
from labkit.checks.questions import size_of
from labkit.errors import SheetError

__all__ = ["SheetPlan"]


def _anything_goes(_: Numbers) -> bool:
    return True


@dataclass(frozen=True, kw_only=True)
class SheetPlan:
    """What all learners' sheets of one lesson have in common.

    Parameters
    ----------
    name : str
        ``"generator-action"``.
    lesson : Lesson
    about : str
        What the sheet is about, in Markdown; ``{name}`` where a drawn value stands.
    values : tuple of Value
    questions : tuple of Question
        In order; a later one may use what an earlier one ``gives``.
    sensible : function of Numbers
        Whether drawn numbers belong together.
    since : str
        The bank version from which this plan holds.
    caution : str
        What to heed before hands are about to act.
    """

    name: str
    lesson: Lesson
    about: str
    values: tuple[Value, ...]
    questions: tuple[Question, ...]
    sensible: Callable[[Numbers], bool] = field(default=_anything_goes)
    since: str = "2026-11"
    caution: str = "Nothing on this sheet needs power: leave the supply disconnected."

    def __post_init__(self) -> None:
        known = {value.name for value in self.values}
        for question in self.questions:
            if unknown := set(question.names) - known:
                shown = ", ".join(sorted(unknown))
                msg = f"{self.name}: {question.title!r} shows {shown}, which the sheet does not draw."
                raise SheetError(msg)
        if doubled := known & {question.gives for question in self.questions}:
            msg = f"{self.name}: {', '.join(sorted(doubled))} is drawn and given by a step as well. Rename one."
            raise SheetError(msg)
        within = tuple(replace(q, lesson=q.lesson or self.lesson, values=self.values) for q in self.questions)
        object.__setattr__(self, "questions", within)

    def later(
        self,
        since: str,
        *,
        values: tuple[Value, ...] = (),
        questions: tuple[Question, ...] = (),
        kit: Mapping[str, tuple[str, ...]] = MappingProxyType({}),
        caution: str = "",
    ) -> SheetPlan:
        """Return the plan of a later bank version: with more values and questions, each of which says what it allows.

        Parameters
        ----------
        since : str
        values, questions : tuple
            Added at the end.
        kit : mapping of title to names of functions
            Questions for which these functions of the kit may be used; all others that say nothing are by hand.
        caution : str
            In place of the present one.
        """
        told = (replace(q, kit=kit.get(q.title, () if q.kit is None else q.kit)) for q in (*self.questions, *questions))
        return replace(
            self, since=since, values=(*self.values, *values), questions=tuple(told), caution=caution or self.caution
        )

    @property
    def kit(self) -> frozenset[str] | None:
        """The functions of the kit that a marked run of this sheet offers; ``None`` for all."""
        if any(question.kit is None for question in self.questions):
            return None
        return frozenset(name for question in self.questions for name in question.kit or ())

    @property
    def title(self) -> str:
        """The lesson's title."""
        return self.lesson.title

    @property
    def number(self) -> int:
        """The lesson's number."""
        return self.lesson.number

    @cached_property
    def reference(self) -> dict[str, str]:
        """The desk wind tunnel's own values, as a person reads them."""
        return {value.name: value.written(value.reference) for value in self.values}

    def numbers(self, texts: Mapping[str, str]) -> Numbers:
        """Return the numbers of one learner, from each value as text."""
        if missing := [value.name for value in self.values if value.name not in texts]:
            msg = f"The sheet {self.name!r} needs a value of {missing[0]!r}. Open it without numbers=… to draw all."
            raise SheetError(msg)
        steps = {step.gives: partial(size_of, step.answer) for step in self.questions if step.gives and step.answer}
        return Numbers({value.name: str(texts[value.name]) for value in self.values}, steps=steps)

    def question(self, title: str) -> Question:
        """Return the question of this title.

        Raises
        ------
        SheetError
            Lists the titles that there are.
        """
        for question in self.questions:
            if question.title == title:
                return question
        titles = "; ".join(question.title for question in self.questions)
        msg = f"The sheet {self.name!r} has no question {title!r}. It has: {titles}."
        raise SheetError(msg)
