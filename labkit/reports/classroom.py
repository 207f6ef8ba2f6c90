"""The class report: one page on what a class has not understood, which questions are at fault, and who needs help.

It needs nothing from anywhere, can be printed, and says in words and tables all that its pictures show.
"""

from __future__ import annotations

import math
import statistics
from collections import Counter
from collections.abc import Callable, Iterator
from html import escape

from labkit.problems.misconceptions import MISCONCEPTIONS
from labkit.reports.charts import CHART_STYLE, Point, bars, scatter
from labkit.reports.marks import sheet_title
from labkit.reports.page import page, table
from labkit.reports.tally import (
    EASY,
    FEW_FOR_DISCRIMINATION,
    FEW_FOR_FACILITY,
    HARD,
    MOST_LEARNERS,
    TELLS_LITTLE,
    ClassTally,
    LearnerTally,
    QuestionTally,
    interval_of_correlation,
    interval_of_share,
)

__all__ = ["class_page"]

_MOST_IDEAS = 10  #: listed on the page
_STYLE = f"""
{CHART_STYLE}
td.number, th.number {{ text-align: right; }}
.signs td:not(:first-of-type) {{ letter-spacing: .3em; white-space: nowrap; }}
""".strip()

_DEFINITIONS = (
    "Facility is the part of a question's marks that the class got. Discrimination is the correlation between the "
    "marks on a question and the marks on the rest of its sheet: near 1, who gets it right has understood the rest as "
    "well; near 0, it tells nothing; below 0, look for a fault in it. In brackets stands the range in which each lies "
    f"with 95 % confidence. Too hard is a facility below {100 * HARD:.0f} %, too easy one above {100 * EASY:.0f} %; a "
    f"question tells little when the whole range of its discrimination lies below {TELLS_LITTLE:.2f}. With fewer than "
    f"{FEW_FOR_FACILITY} sheets nothing is said of a question, with fewer than {FEW_FOR_DISCRIMINATION} nothing of its "
    "discrimination."
)
_HELP_RULE = (
    "Listed is who got fewer than half of the marks, gave two or more answers from one idea, left three or more "
    "questions out, or took more than four tries at one."
)


def class_page(tally: ClassTally) -> str:
    """Return the class report.

    Parameters
    ----------
    tally : ClassTally

    Returns
    -------
    str
        A whole HTML page in UTF-8.
    """
    parts = [*_at_a_glance(tally)]
    if tally.hand_ins:
        parts += [*_ideas(tally), *_help(tally), *_questions(tally), *_marks(tally)]
    parts += _left_out(tally)
    return page("Class report", "\n".join(parts), style=_STYLE)


def _count(number: int, one: str, more: str = "") -> str:
    return f"{number} {one if number == 1 else more or one + 's'}"


def _list(items: Iterator[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(item)}</li>' for item in items)}</ul>"


def _idea(name: str) -> str:
    """Return an idea in a teacher's words; a slip is its own."""
    return f"“{MISCONCEPTIONS[name].belief}”" if name in MISCONCEPTIONS else name


# --- at a glance ----------------------------------------------------------------------------------


def _at_a_glance(tally: ClassTally) -> Iterator[str]:
    yield _list(_first_words(tally))


def _first_words(tally: ClassTally) -> Iterator[str]:
    if not tally.hand_ins:
        yield "Nothing is marked yet."
    else:
        late = sum(learner.late for learner in tally.learners.values())
        shares = [learner.share for learner in tally.learners.values()]
        middle = f"{100 * statistics.median(shares):.0f} % of the marks"
        yield (
            f"{_count(tally.hand_ins, 'sheet')} of {_count(len(tally.learners), 'learner')}"
            + (f"; half of them have {middle} or more" if len(shares) > 1 else f", with {middle}")
            + (f"; {late} late." if late else ".")
        )
    beliefs = [(name, number) for name, number in tally.ideas_at.most_common() if name in MISCONCEPTIONS]
    if beliefs:
        name, number = beliefs[0]
        where = f"{_count(number, 'learner')}; {MISCONCEPTIONS[name].lesson}"
        yield f"Commonest idea to teach again: {_idea(name)} ({where})."
    odd = [f"“{one.title}” ({one.verdict})" for one in _all(tally) if one.verdict not in {"fine", "too few to say"}]
    if odd:
        yield f"Questions to look at: {'; '.join(odd[:5])}{f'; and {len(odd) - 5} more' if len(odd) > 5 else ''}."
    if needy := sum(1 for _ in tally.in_need()):
        yield f"{_count(needy, 'learner needs', 'learners need')} help."
    if tally.missing:
        yield f"Nothing from {_count(len(tally.missing), 'learner')} of the class list."
    if tally.other_numbers:
        yield (
            f"{_count(tally.other_numbers, 'sheet shows', 'sheets show')} other numbers than key and class list draw: "
            "is it the right key, and the right group?"
        )
    if tally.unread:
        yield f"{_count(len(tally.unread), 'file was', 'files were')} not marked."


def _all(tally: ClassTally) -> Iterator[QuestionTally]:
    return (question for sheet in tally.questions.values() for question in sheet.values())


# --- what to teach again --------------------------------------------------------------------------


def _ideas(tally: ClassTally) -> Iterator[str]:
    yield "<h2>What to teach again</h2>"
    beliefs = [(name, n) for name, n in tally.ideas_at.most_common() if name in MISCONCEPTIONS]
    if beliefs:
        shown = beliefs[:_MOST_IDEAS]
        says = "Learners by idea: " + ", ".join(f"{_idea(name)} {number}" for name, number in shown)
        yield bars(says, [(_shortened(MISCONCEPTIONS[name].belief), number) for name, number in shown])
        rows = (
            (
                MISCONCEPTIONS[name].belief,
                str(number),
                "; ".join(f"{title} ({times})" for title, times in tally.idea_questions[name].most_common(3)),
                f"{MISCONCEPTIONS[name].lesson}",
                MISCONCEPTIONS[name].rethink,
            )
            for name, number in shown
        )
        headings = ("idea", "learners", "seen at (answers)", "teach again", "what to say")
        yield table("Ideas behind wrong answers, the commonest first", headings, rows)
        if len(beliefs) > _MOST_IDEAS:
            yield f"<p>And {len(beliefs) - _MOST_IDEAS} rarer ones, in answers.csv.</p>"
    else:
        yield "<p>No mistaken idea was recognised behind a wrong answer.</p>"
    slips = [(name, str(n)) for name, n in tally.ideas_at.most_common() if name not in MISCONCEPTIONS]
    if slips:
        yield table("Slips, the commonest first", ("slip", "learners"), slips[:_MOST_IDEAS])


def _shortened(text: str) -> str:
    return text if len(text) <= 46 else f"{text[:45].rstrip()}…"


# --- who needs help -------------------------------------------------------------------------------


def _help(tally: ClassTally) -> Iterator[str]:
    yield "<h2>Who needs help</h2>"
    rows = [
        (
            one.learner.learner,
            f"{one.learner.mark:g} of {one.learner.out_of:g}",
            "; ".join([*one.reasons, *(f"{_idea(idea)} behind {times} answers" for idea, times in one.ideas)]),
        )
        for one in tally.in_need()
    ]
    yield f"<p>{_HELP_RULE}</p>"
    if rows:
        caption = "Learners who need help, those with the fewest marks first"
        yield table(caption, ("learner", "marks", "why"), rows[:MOST_LEARNERS])
        if len(rows) > MOST_LEARNERS:
            yield f"<p>And {len(rows) - MOST_LEARNERS} more.</p>"
    else:
        yield "<p>Nobody, by this rule.</p>"
    if tally.missing:
        told = ", ".join(tally.missing[:MOST_LEARNERS])
        more = f" and {len(tally.missing) - MOST_LEARNERS} more" if len(tally.missing) > MOST_LEARNERS else ""
        yield f"<p>Nothing from: {escape(told)}{more}.</p>"


# --- questions ------------------------------------------------------------------------------------


def _questions(tally: ClassTally) -> Iterator[str]:
    yield f"<h2>Questions</h2><p>{escape(_DEFINITIONS)}</p>"
    for sheet, questions in tally.questions.items():
        yield f"<h3>{escape(sheet_title(sheet))}</h3>"
        numbered = list(enumerate(questions.values(), 1))
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
        caption = f"Questions of {sheet_title(sheet)}, over {_count(numbered[0][1].number, 'sheet')}"
        told = any(one.minutes or set(one.tries) - {1} for _, one in numbered)
        columns = _COLUMNS + _EFFORT if told else _COLUMNS
        rows = [tuple(column(place, one) for _, column in columns) for place, one in numbered]
        yield table(caption, [heading for heading, _ in columns], rows)


def _facility(one: QuestionTally) -> str:
    low, high = interval_of_share(one.facility, one.number)
    return f"{100 * one.facility:.0f} % ({100 * low:.0f} to {100 * high:.0f})"


def _discrimination(one: QuestionTally) -> str:
    if one.number < FEW_FOR_DISCRIMINATION:
        return "too few to say"
    if math.isnan(one.discrimination):
        return "all have the same mark"
    low, high = interval_of_correlation(one.discrimination, one.number)
    return f"{one.discrimination:.2f} ({low:.2f} to {high:.2f})".replace("-", "−")


def _commonest(one: QuestionTally) -> str:
    return "; ".join(f"{_idea(idea)} ({times})" for idea, times in one.ideas.most_common(1))


#: Heading and cell of each column, from a question's number and its counts.
_COLUMNS: tuple[tuple[str, Callable[[int, QuestionTally], str]], ...] = (
    ("question", lambda place, one: f"{place}. {one.title}"),
    ("facility", lambda _, one: _facility(one)),
    ("discrimination", lambda _, one: _discrimination(one)),
    ("which means", lambda _, one: one.verdict),
    ("right", lambda _, one: str(one.outcomes["right"])),
    ("wrong", lambda _, one: str(one.outcomes["wrong"] + one.outcomes["refused"])),
    ("not answered", lambda _, one: str(one.outcomes["unanswered"])),
    ("commonest mistake", lambda _, one: _commonest(one)),
)
#: The same where the learners' notebooks told it.
_EFFORT: tuple[tuple[str, Callable[[int, QuestionTally], str]], ...] = (
    ("tries, median", lambda _, one: _middle(one.tries)),
    ("minutes, median", lambda _, one: _middle(one.minutes)),
)


def _middle(counted: Counter[int]) -> str:
    """Return the median of what was counted."""
    return f"{statistics.median(counted.elements()):g}" if counted else "not known"


# --- marks ----------------------------------------------------------------------------------------


def _marks(tally: ClassTally) -> Iterator[str]:
    yield "<h2>Marks</h2>"
    shares = [learner.share for learner in tally.learners.values()]
    if len(shares) > 1:
        counted = Counter(min(int(10 * share + 1e-9), 9) for share in shares)
        rows = [(f"{10 * step} to {10 * step + 10} %", counted[step]) for step in reversed(range(10))]
        says = "Learners by marks: " + ", ".join(f"{label} {number}" for label, number in rows if number)
        yield bars(says, rows)
    learners = list(tally.learners.values())
    yield (
        "<p>One sign a question, in order: ✓ right, ½ a part of the marks, ✗ not yet, ! cannot be judged as it stands, "
        "○ not answered.</p>"
    )
    headings = ("learner", "marks", *map(sheet_title, tally.questions))
    rows_of_marks = (_learner_row(one, tally) for one in learners[:MOST_LEARNERS])
    yield f'<div class="signs">{table("Marks of each learner", headings, rows_of_marks)}</div>'
    if len(learners) > MOST_LEARNERS:
        yield f"<p>And {len(learners) - MOST_LEARNERS} more, in marks.csv.</p>"


def _learner_row(one: LearnerTally, tally: ClassTally) -> tuple[str, ...]:
    sheets = (one.signs.get(sheet) for sheet in tally.questions)
    return (one.learner, f"{one.mark:g} of {one.out_of:g}", *(found or "nothing" for found in sheets))


def _left_out(tally: ClassTally) -> list[str]:
    if not tally.unread:
        return []
    rows = tally.unread[:MOST_LEARNERS]
    more = len(tally.unread) - len(rows)
    parts = ["<h2>Not marked</h2>", table("Files that were not marked", ("file", "reason"), rows)]
    return [*parts, *([f"<p>And {more} more, in not-marked.csv.</p>"] if more else [])]
