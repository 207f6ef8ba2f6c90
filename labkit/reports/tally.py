"""A class's marks counted: what each question and each mistaken idea come to, and who needs help.

Sheets are added one by one and not kept, so that fifty thousand take little memory.

*Facility* is the part of the marks of a question that the class got, from 0 to 1: a high one is an easy question.
*Discrimination* is the correlation, over the class, between the mark on a question and the marks on the rest of its
sheet, from −1 to 1: near zero, the question does not tell who has understood the rest.
"""

from __future__ import annotations

import math
import statistics
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

from labkit.problems import sheet_names
from labkit.reports.marks import OTHER_NUMBERS, MarkedAnswer, MarkedSheet, moment_words, sheet_title

__all__ = ["ClassTally", "LearnerTally", "QuestionTally", "interval_of_correlation", "interval_of_share"]

#: Fewer sheets than these say nothing about a question: at 10 a facility is known to ± 0.3, at 20 a correlation to
#: ± 0.45. Common practice, no source.
FEW_FOR_FACILITY, FEW_FOR_DISCRIMINATION = 10, 20
#: Facilities beyond which a question is called hard or easy, and the discrimination below which it tells little
#: (Ebel and Frisbie, *Essentials of Educational Measurement*, 5th ed. 1991, ask for 0.20; from memory).
HARD, EASY, TELLS_LITTLE = 0.30, 0.90, 0.20
#: Learners that a page lists one by one.
MOST_LEARNERS = 200


def interval_of_share(share: float, number: int) -> tuple[float, float]:
    """Return the 95 % interval of a share that was found in *number* cases (E. B. Wilson, 1927).

    >>> [round(end, 4) for end in interval_of_share(81 / 263, 263)]
    [0.2553, 0.3662]
    """
    z = statistics.NormalDist().inv_cdf(0.975)
    middle = (share + z**2 / (2 * number)) / (1 + z**2 / number)
    half = z / (1 + z**2 / number) * math.sqrt(share * (1 - share) / number + z**2 / (4 * number**2))
    return max(0.0, middle - half), min(1.0, middle + half)


def interval_of_correlation(correlation: float, number: int) -> tuple[float, float]:
    """Return the 95 % interval of a correlation that was found in *number* cases (R. A. Fisher's z, 1921).

    >>> [round(end, 2) for end in interval_of_correlation(0.5, 28)]
    [0.16, 0.74]
    """
    if abs(correlation) >= 1:
        return correlation, correlation
    half = statistics.NormalDist().inv_cdf(0.975) / math.sqrt(number - 3)
    return math.tanh(math.atanh(correlation) - half), math.tanh(math.atanh(correlation) + half)


@dataclass(slots=True)
class QuestionTally:
    """What came of one question: running sums, from which the two indices follow."""

    title: str
    number: int = 0
    marks: float = 0.0
    out_of: float = 0.0
    #: Sums over the hand-ins, of the mark x and the marks y on the rest of the sheet: y, xx, yy, xy.
    sums: list[float] = field(default_factory=lambda: [0.0] * 4)
    outcomes: Counter[str] = field(default_factory=Counter)
    #: Recognised ideas and slips behind wrong answers.
    ideas: Counter[str] = field(default_factory=Counter)
    tries: Counter[int] = field(default_factory=Counter)
    #: Minutes from the first try to the last, where there was more than one.
    minutes: Counter[int] = field(default_factory=Counter)

    def add(self, answer: MarkedAnswer, rest: float) -> None:
        """Count one learner's answer; *rest* is what the other questions of the sheet brought."""
        self.number += 1
        self.marks += answer.mark
        self.out_of += answer.out_of
        for place, more in enumerate((rest, answer.mark**2, rest**2, answer.mark * rest)):
            self.sums[place] += more
        self.outcomes[answer.verdict.outcome] += 1
        if idea := answer.verdict.misconception or answer.verdict.slip:
            self.ideas[idea] += 1
        if answer.tries:
            self.tries[answer.tries] += 1
        if answer.tries > 1 and answer.seconds:
            self.minutes[round(answer.seconds / 60)] += 1

    @property
    def facility(self) -> float:
        """The part of its marks that the class got."""
        return self.marks / self.out_of if self.out_of else math.nan

    @property
    def discrimination(self) -> float:
        """The correlation with the rest of the sheet; not a number where all have the same mark."""
        y, xx, yy, xy = self.sums
        n, x = self.number, self.marks
        spread = (n * xx - x**2) * (n * yy - y**2)
        return (n * xy - x * y) / math.sqrt(spread) if spread > 1e-9 else math.nan

    @property
    def verdict(self) -> str:
        """What the two indices say, in words."""
        if self.number < FEW_FOR_FACILITY:
            return "too few to say"
        said = "too hard" if self.facility < HARD else "too easy" if self.facility > EASY else ""
        if self.number >= FEW_FOR_DISCRIMINATION and not math.isnan(self.discrimination):
            highest = interval_of_correlation(self.discrimination, self.number)[1]
            if highest < 0:
                return f"{said}; who does well elsewhere fails here: look for a fault in it".removeprefix("; ")
            if highest < TELLS_LITTLE and not said:
                return "tells little about who understood the rest"
        return said or "fine"


@dataclass(slots=True)
class LearnerTally:
    """One learner over all sheets."""

    learner: str
    sheets: int = 0
    #: What counts; and what it would be if nothing had been late.
    mark: float = 0.0
    earned: float = 0.0
    out_of: float = 0.0
    unanswered: int = 0
    late: int = 0
    #: Sheets that were due at a time of the learner's own.
    own_due: int = 0
    #: Tries at the question that took most, and its title.
    most_tries: int = 0
    most_tried: str = ""
    #: Recognised ideas and slips, with the number of answers.
    ideas: Counter[str] = field(default_factory=Counter)
    #: For each sheet one sign a question, where they are kept.
    signs: dict[str, str] = field(default_factory=dict)

    def add(self, sheet: MarkedSheet, *, signs: bool) -> None:
        """Count one sheet, and keep its signs if they will be shown."""
        self.sheets += 1
        self.mark += sheet.mark
        self.earned += sum(answer.mark for answer in sheet.answers)
        self.out_of += sheet.out_of
        self.late += sheet.late
        self.own_due += sheet.due.own
        for answer in sheet.answers:
            self.unanswered += answer.verdict.outcome == "unanswered"
            if answer.tries > self.most_tries:
                self.most_tries, self.most_tried = answer.tries, answer.question
        if signs:
            self.signs[sheet.sheet] = "".join(map(_sign, sheet.answers))

    @property
    def share(self) -> float:
        """The part of the marks that the learner got, from 0 to 1."""
        return self.mark / self.out_of if self.out_of else 0.0

    @property
    def earned_share(self) -> float:
        """The part that it would be if nothing had been late: what the learner knows."""
        return self.earned / self.out_of if self.out_of else 0.0


def _sign(answer: MarkedAnswer) -> str:
    """Return the verdict's sign, or that of a part of the marks."""
    if answer.corrected is None and not 0 < answer.mark < answer.out_of:
        return answer.verdict.symbol
    return "✓" if answer.mark == answer.out_of else "½" if answer.mark else "✗"


class Help(NamedTuple):
    """A learner who needs help, and why: ideas by their ids stand apart, so that a page can write them out."""

    learner: LearnerTally
    reasons: tuple[str, ...]
    #: Ideas and slips behind more than one answer a sheet, and behind how many.
    ideas: tuple[tuple[str, int], ...]


@dataclass(slots=True)
class ClassTally:
    """All that the class report says.

    Parameters
    ----------
    missing : tuple of str
        Ids of whom there is nothing.
    unread : tuple of (str, str)
        Path and reason of each file that was not marked.
    unlisted : tuple of str
        Ids of whom there is something, though the class list does not have them.
    """

    missing: tuple[str, ...] = ()
    unread: tuple[tuple[str, str], ...] = ()
    unlisted: tuple[str, ...] = ()
    hand_ins: int = 0
    #: Sheets that show other numbers than those by which they were judged.
    other_numbers: int = 0
    #: By sheet, then by question, in order.
    questions: dict[str, dict[str, QuestionTally]] = field(default_factory=dict)
    learners: dict[str, LearnerTally] = field(default_factory=dict)
    #: Everybody's times that sheets were due; and of each sheet that was late, or due at a time of its own, what of it.
    due: Counter[str] = field(default_factory=Counter)
    apart: list[tuple[str, ...]] = field(default_factory=list)
    apart_more: int = 0
    #: By idea or slip: at how many learners it was seen, and at how many answers to which questions.
    ideas_at: Counter[str] = field(default_factory=Counter)
    idea_questions: defaultdict[str, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))

    def add(self, sheet: MarkedSheet) -> None:
        """Count one sheet."""
        self.hand_ins += 1
        self.other_numbers += OTHER_NUMBERS in sheet.notes
        self._take_due(sheet)
        learner = self.learners.setdefault(sheet.learner, LearnerTally(sheet.learner))
        learner.add(sheet, signs=len(self.learners) <= MOST_LEARNERS)
        questions = self.questions.setdefault(sheet.sheet, {})
        total = sum(answer.mark for answer in sheet.answers)
        for answer in sheet.answers:
            if not sheet.by:  # what a pair shares is one sheet, and tells of a question once
                questions.setdefault(answer.question, QuestionTally(answer.question)).add(answer, total - answer.mark)
            if idea := answer.verdict.misconception or answer.verdict.slip:
                self.ideas_at[idea] += idea not in learner.ideas
                learner.ideas[idea] += 1
                self.idea_questions[idea][answer.question] += 1

    def _take_due(self, sheet: MarkedSheet) -> None:
        if sheet.due.at and not sheet.due.own:
            self.due[sheet.due.at] += 1
        if not sheet.late and not sheet.due.own:
            return
        if len(self.apart) == MOST_LEARNERS:
            self.apart_more += 1
        else:
            late = f"late: {100 * sheet.share:g} % of its marks count" if sheet.late else "in time"
            due = f"{moment_words(sheet.due.at)}{', a time of its own' if sheet.due.own else ''}"
            self.apart.append((sheet.learner, sheet_title(sheet.sheet), due, moment_words(sheet.changed), late))

    def sheets(self) -> list[str]:
        """Return the sheets that were marked, in the order of their lessons; those of another bank come last."""
        lessons = {name: place for place, name in enumerate(sheet_names())}
        return sorted(self.questions, key=lambda name: (lessons.get(name, len(lessons)), name))

    def in_need(self) -> Iterator[Help]:
        """Give the learners who need help, those with the fewest marks first."""
        for learner in sorted(self.learners.values(), key=lambda one: one.earned_share):
            ideas = tuple((idea, times) for idea, times in learner.ideas.most_common() if times > learner.sheets)
            reasons = tuple(_reasons(learner))
            if reasons or ideas:
                yield Help(learner, reasons, ideas)


def _reasons(learner: LearnerTally) -> Iterator[str]:
    if learner.earned_share < 0.5:
        yield "fewer than half of the marks"
    if learner.unanswered > 2 * learner.sheets:
        yield f"{learner.unanswered} not answered"
    if learner.most_tries > 4:
        yield f"{learner.most_tries} tries at “{learner.most_tried}”"
