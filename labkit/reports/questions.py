"""The class report's part on questions: which are too hard or too easy, and which tell who has understood the rest."""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Callable, Iterator
from html import escape
from typing import TypeAlias

from labkit.reports.charts import Point, scatter
from labkit.reports.marks import idea_words, sheet_title
from labkit.reports.page import table
from labkit.reports.tally import (
    EASY,
    FEW_FOR_DISCRIMINATION,
    FEW_FOR_FACILITY,
    HARD,
    TELLS_LITTLE,
    ClassTally,
    QuestionTally,
    interval_of_correlation,
    interval_of_share,
)

__all__ = ["count_of", "question_part"]

_DEFINITIONS = (
    "Facility is the part of a question's marks that the class got. Discrimination is the correlation between the "
    "marks on a question and the marks on the rest of its sheet: near 1, who gets it right has understood the rest as "
    "well; near 0, it tells nothing; below 0, look for a fault in it. In brackets stands the range in which each lies "
    f"with 95 % confidence. Too hard is a facility below {100 * HARD:.0f} %, too easy one above {100 * EASY:.0f} %; a "
    f"question tells little when the whole range of its discrimination lies below {TELLS_LITTLE:.2f}. With fewer than "
    f"{FEW_FOR_FACILITY} sheets nothing is said of a question, with fewer than {FEW_FOR_DISCRIMINATION} nothing of its "
    "discrimination."
)
_FEW = (
    f"With fewer than {FEW_FOR_FACILITY} sheets nothing is said of how hard a question is, nor of what it tells: "
    "look at the commonest mistake."
)


def count_of(number: int, one: str, more: str = "") -> str:
    """Return a number with its word.

    >>> count_of(1, "sheet"), count_of(3, "sheet")
    ('1 sheet', '3 sheets')
    """
    return f"{number} {one if number == 1 else more or one + 's'}"


def question_part(tally: ClassTally) -> Iterator[str]:
    """Give the part's pieces of HTML."""
    most = max((one.number for sheet in tally.questions.values() for one in sheet.values()), default=0)
    yield f"<h2>Questions</h2><p>{escape(_FEW if most < FEW_FOR_FACILITY else _DEFINITIONS)}</p>"
    for sheet in tally.sheets():
        yield f"<h3>{escape(sheet_title(sheet))}</h3>"
        numbered = list(enumerate(tally.questions[sheet].values(), 1))
        points = [
            Point(one.facility, one.discrimination, str(place))
            for place, one in numbered
            if one.number >= FEW_FOR_DISCRIMINATION and not math.isnan(one.discrimination)
        ]
        if points:
            says = "Discrimination by facility: " + ", ".join(
                f"question {point.name} at {100 * point.x:.0f} % and {point.y:.2f}" for point in points
            )
            yield scatter(
                says, points, x="facility: hard on the left, easy on the right", y="discrimination",
                x_limits=(HARD, EASY), y_limits=(TELLS_LITTLE,),
            )  # fmt: skip
        caption = f"Questions of {sheet_title(sheet)}, over {count_of(numbered[0][1].number, 'sheet')}"
        told = any(one.minutes or set(one.tries) - {1} for _, one in numbered)
        indices = () if numbered[0][1].number < FEW_FOR_FACILITY else _INDICES
        columns = (_QUESTION, *indices, *_OUTCOMES, *(_EFFORT if told else ()))
        rows = [tuple(column(place, one) for _, column in columns) for place, one in numbered]
        yield f'<div class="questions">{table(caption, [heading for heading, _ in columns], rows)}</div>'


def _facility(one: QuestionTally) -> str:
    if one.number < FEW_FOR_FACILITY:
        return "too few to say"
    low, high = interval_of_share(one.facility, one.number)
    return f"{100 * one.facility:.0f} % ({100 * low:.0f} to {100 * high:.0f})"


def _discrimination(one: QuestionTally) -> str:
    if one.number < FEW_FOR_DISCRIMINATION:
        return "too few to say"
    if math.isnan(one.discrimination):
        return "all have the same mark"
    low, high = interval_of_correlation(one.discrimination, one.number)
    return f"{one.discrimination:.2f} ({low:.2f} to {high:.2f})".replace("-", "−")


def _outcomes(one: QuestionTally) -> str:
    counts = one.outcomes
    return f"{counts['right']}, {counts['wrong'] + counts['refused']}, {counts['unanswered']}"


def _commonest(one: QuestionTally) -> str:
    return "; ".join(f"{idea_words(idea)} ({times})" for idea, times in one.ideas.most_common(1))


#: Heading and cell of a column, from a question's number and its counts.
_Column: TypeAlias = tuple[str, Callable[[int, QuestionTally], str]]
_QUESTION: _Column = ("question", lambda place, one: f"{place}. {one.title}")
#: What only a class says that is large enough.
_INDICES: tuple[_Column, ...] = (
    ("facility", lambda _, one: _facility(one)),
    ("discrimination", lambda _, one: _discrimination(one)),
    ("which means", lambda _, one: one.verdict),
)
_OUTCOMES: tuple[_Column, ...] = (
    ("right, wrong, left out", lambda _, one: _outcomes(one)),
    ("commonest mistake", lambda _, one: _commonest(one)),
)
#: The same where the learners' notebooks told it.
_EFFORT: tuple[_Column, ...] = (
    ("tries, minutes (medians)", lambda _, one: f"{_middle(one.tries)}, {_middle(one.minutes)}"),
)


def _middle(counted: Counter[int]) -> str:
    """Return the median of what was counted."""
    return f"{statistics.median(counted.elements()):g}" if counted else "not known"
