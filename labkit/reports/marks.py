"""Marks as data: one sheet as it was marked, its rows in the teacher's tables, and why each mark is what it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from labkit.checks import Verdict
from labkit.problems.misconceptions import MISCONCEPTIONS

__all__ = [
    "ANSWERS_HEADER",
    "MARKS_HEADER",
    "NO_DUE",
    "OTHER_NUMBERS",
    "Due",
    "MarkedAnswer",
    "MarkedSheet",
    "MarkingRun",
    "answers_rows",
    "explanation",
    "idea_words",
    "marks_row",
    "missing_row",
    "moment_words",
    "sheet_title",
]

#: What stands beside a mark whose sheet shows other numbers than it was judged by.
OTHER_NUMBERS = "The sheet shows other numbers than this key and class list draw; it was judged by those drawn here."


class MarkingRun(NamedTuple):
    """The run of the marker that gave a mark."""

    #: When it began, on the teacher's clock.
    begun: str = ""
    #: The version of the kit.
    labkit: str = ""
    #: What shut the sheets in.
    isolation: str = ""
    #: What a sheet might take.
    seconds: float = 0.0


class Due(NamedTuple):
    """When a hand-in was due."""

    #: On the teacher's clock, in ISO 8601; empty where nothing is late.
    at: str = ""
    #: Whether the class list gives this learner or pair a time of its own.
    own: bool = False


_NO_RUN = MarkingRun()
NO_DUE = Due()


@dataclass(frozen=True, kw_only=True, slots=True)
class MarkedAnswer:
    """One question of a sheet, as marked."""

    #: With the learner's own numbers in it.
    asked: str
    #: What was typed; empty when nothing was.
    answer: str
    verdict: Verdict
    mark: float
    out_of: float
    #: How it was judged.
    rule: str
    #: The right answer from the learner's own numbers, for the teacher; empty where there is no one answer.
    expected: str = ""
    #: How many different answers the learner gave, and the seconds from the first to the last, by their own notebook.
    tries: int = 0
    seconds: int = 0
    #: The teacher's reason, where the mark was set by hand, and the mark that the rule gave.
    corrected: str | None = None
    by_rule: float | None = None

    @property
    def question(self) -> str:
        """The question's title."""
        return self.verdict.question


@dataclass(frozen=True, kw_only=True, slots=True)
class MarkedSheet:
    """One hand-in of one learner, as marked."""

    learner: str
    #: Who handed it in, where that was somebody else of the learner's pair.
    by: str = ""
    #: The sheet's name and the version of the bank that it was drawn from.
    sheet: str
    bank: str
    #: The file, the fingerprint of what is in it, and when it was last changed.
    path: str
    digest: str
    changed: str
    due: Due = NO_DUE
    late: bool = False
    #: The part of its marks that it keeps: less than one for some that are late.
    share: float = 1.0
    #: A sentence when it did not run to its end.
    trouble: str = ""
    #: Other sentences on how it ran.
    notes: tuple[str, ...] = ()
    answers: tuple[MarkedAnswer, ...]
    #: How many files the learner handed in for this sheet.
    hand_ins: int = 1
    run: MarkingRun = _NO_RUN

    @property
    def mark(self) -> float:
        """The marks of all questions together."""
        return self.share * sum(answer.mark for answer in self.answers)

    @property
    def out_of(self) -> float:
        """What the sheet is worth."""
        return sum(answer.out_of for answer in self.answers)

    def remarks(self) -> Iterator[str]:
        """Give the sentences that go with the mark."""
        if self.by:
            yield f"Handed in by {self.by}, of the same pair."
        if self.due.own:
            yield f"Due {moment_words(self.due.at)}, a time of its own."
        if self.late:
            yield (
                "Handed in late." if self.share == 1 else f"Handed in late: {100 * self.share:g} % of its marks count."
            )
        if self.hand_ins > 1:
            yield f"Handed in {self.hand_ins} times; the best counts."
        retried = [answer.verdict.attempt for answer in self.answers if answer.verdict.attempt > 1]
        if retried:
            words = "1 answer was" if len(retried) == 1 else f"{len(retried)} answers were"
            yield f"{words} worked with new numbers and judged by them; each question counts at its best."
        if self.trouble:
            yield self.trouble
        yield from self.notes


def sheet_title(name: str) -> str:
    """Return a sheet's name as a heading.

    >>> sheet_title("generator-action")
    'Generator action'
    """
    return name.replace("-", " ").capitalize()


def moment_words(moment: str) -> str:
    """Return a moment as a person reads it, to the minute.

    >>> moment_words("2026-11-30T18:00:00"), moment_words("")
    ('2026-11-30 18:00', 'at a time that is not known')
    """
    return moment.replace("T", " ")[:16] or "at a time that is not known"


def idea_words(name: str) -> str:
    """Return an idea in a teacher's words; a slip is its own.

    >>> idea_words("M14"), idea_words("prefix")
    ('“A speed in rpm goes where rad/s belongs.”', 'prefix')
    """
    return f"“{MISCONCEPTIONS[name].belief}”" if name in MISCONCEPTIONS else name


# --- rows for the teacher's tables ----------------------------------------------------------------

_INDENTED = "\n    "
MARKS_HEADER = ("learner", "sheet", "mark", "out of", "not right", "remarks", "file", "changed", "due")
ANSWERS_HEADER = (
    "learner", "sheet", "bank", "question", "answer", "right answer", "mark", "out of", "outcome", "misconception",
    "slip", "follows through", "rule", "attempt", "tries", "seconds", "corrected by hand", "mark by rule", "comment",
    "file", "changed", "marked", "labkit",
)  # fmt: skip


def marks_row(sheet: MarkedSheet) -> tuple[str, ...]:
    """Return a sheet's row, under ``MARKS_HEADER``."""
    return (
        sheet.learner, sheet.sheet, f"{sheet.mark:g}", f"{sheet.out_of:g}", "; ".join(_not_right(sheet)),
        " ".join(sheet.remarks()), sheet.path, sheet.changed, sheet.due.at,
    )  # fmt: skip


def missing_row(learner: str) -> tuple[str, ...]:
    """Return the row of a learner of whom there is nothing, under ``MARKS_HEADER``."""
    return (learner, "", "", "", "", "Nothing was handed in.", "", "", "")


def _not_right(sheet: MarkedSheet) -> Iterator[str]:
    not_right = [answer for answer in sheet.answers if answer.mark < answer.out_of]
    for answer in not_right:
        if answer.corrected is not None:
            yield f"{answer.question} (marked by hand)"
        elif answer.verdict.outcome != "unanswered":
            idea = answer.verdict.misconception or answer.verdict.slip
            yield f"{answer.question} ({idea_words(idea) if idea else answer.verdict.word})"
    unanswered = sum(answer.verdict.outcome == "unanswered" and answer.corrected is None for answer in not_right)
    if unanswered:
        yield f"{unanswered} not answered"


def answers_rows(sheet: MarkedSheet) -> Iterator[tuple[str, ...]]:
    """Give one row an answer, with all that explains its mark, under ``ANSWERS_HEADER``."""
    for answer in sheet.answers:
        verdict = answer.verdict
        yield (
            sheet.learner, sheet.sheet, sheet.bank, answer.question, answer.answer, answer.expected,
            f"{answer.mark:g}", f"{answer.out_of:g}", verdict.outcome, _identified(verdict.misconception or ""),
            verdict.slip or "",
            "yes" if verdict.follows_through else "", answer.rule, str(verdict.attempt), str(answer.tries or ""),
            str(answer.seconds or ""),
            answer.corrected or "", "" if answer.by_rule is None else f"{answer.by_rule:g}", verdict.comment,
            sheet.path, sheet.changed, sheet.run.begun, sheet.run.labkit,
        )  # fmt: skip


def _identified(name: str) -> str:
    """Return an idea with its id before it; one of a private bank, and a slip, by its name alone."""
    return f"{name}, {idea_words(name)}" if name in MISCONCEPTIONS else name


# --- why a mark is what it is ---------------------------------------------------------------------


def explanation(answer: MarkedAnswer) -> str:
    """Return why an answer has its mark, for the teacher: it names the right answer."""
    verdict = answer.verdict
    lines = [
        f"{answer.question}: {answer.mark:g} of {answer.out_of:g}, {verdict.word}",
        *(f"  {line}" for line in answer.asked.splitlines()),
        f"  Answered: {_INDENTED.join(answer.answer.splitlines()) or 'nothing'}{_effort(answer)}",
    ]
    if verdict.attempt > 1:
        lines.append(f"  Judged by the numbers of attempt {verdict.attempt}: the learner drew them with sheet.again()")
    if answer.expected:
        lines.append(f"  Right from these numbers: {answer.expected}")
    lines.append(f"  Rule: {answer.rule}")
    if verdict.misconception or verdict.slip:
        lines.append(f"  Recognised: {_identified(verdict.misconception or verdict.slip or '')}")
    if verdict.outcome != "unanswered":
        lines.append(f"  Said to the learner: {' '.join(verdict.comment.split())}")
    if answer.corrected is not None:
        lines.append(f"  Set by hand, where the rule gave {answer.by_rule:g}: {answer.corrected}")
    return "\n".join(lines)


def _effort(answer: MarkedAnswer) -> str:
    if not answer.tries:
        return ""
    tries = "1 try" if answer.tries == 1 else f"{answer.tries} tries"
    return f" ({tries}, {answer.seconds / 60:.0f} min)" if answer.seconds >= 60 else f" ({tries})"
