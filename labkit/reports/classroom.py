"""The class report: one page on what a class has not understood, which questions are at fault, and who needs help.

It needs nothing from anywhere, can be printed, and says in words and tables all that its pictures show.
"""

from __future__ import annotations

import statistics
from collections import Counter
from collections.abc import Iterator
from html import escape

from labkit.problems.misconceptions import MISCONCEPTIONS
from labkit.reports.charts import CHART_STYLE, bars
from labkit.reports.marks import idea_words, moment_words, sheet_title
from labkit.reports.page import page, table
from labkit.reports.questions import count_of, question_part
from labkit.reports.tally import MOST_LEARNERS, ClassTally, LearnerTally, QuestionTally

__all__ = ["class_page"]

_MOST_IDEAS = 10  #: listed on the page
_STYLE = f"""
{CHART_STYLE}
@media screen {{ body {{ max-width: 76rem; }} }}
p, ul {{ max-width: 60rem; }}
.learners th[scope=row], .learners td:nth-of-type(1) {{ white-space: nowrap; }}
@media print {{ .wide {{ overflow: visible; }} .questions table {{ font-size: 8.5pt; }} }}
.signs td:not(:first-of-type) {{ letter-spacing: .3em; white-space: nowrap; }}
""".strip()

_HELP_RULE = (
    "Listed is who got fewer than half of the marks, gave more than one answer a sheet from one idea, left out more "
    "than two questions a sheet, or took more than four tries at one. What being late cost is not counted here."
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
        parts += [*_ideas(tally), *_help(tally), *question_part(tally), *_marks(tally), *_apart(tally)]
    parts += [*_missing(tally), *_left_out(tally)]
    return page("Class report", "\n".join(parts), style=_STYLE)


def _list(items: Iterator[str]) -> str:
    return f"<ul>{''.join(f'<li>{escape(item)}</li>' for item in items)}</ul>"


# --- at a glance ----------------------------------------------------------------------------------


def _at_a_glance(tally: ClassTally) -> Iterator[str]:
    yield _list(_first_words(tally))


def _first_words(tally: ClassTally) -> Iterator[str]:
    if not tally.hand_ins:
        yield "Nothing is marked yet."
    else:
        late = sum(learner.late for learner in tally.learners.values())
        shares = [learner.share for learner in tally.learners.values()]
        half = statistics.median(shares)
        middle = "all marks" if half == 1 else f"{100 * half:.0f} % of the marks"
        more = "" if half == 1 else " or more"
        yield (
            f"{count_of(tally.hand_ins, 'sheet')} of {count_of(len(tally.learners), 'learner')}"
            + (f"; half of them have {middle}{more}" if len(shares) > 1 else f", with {middle}")
            + (f"; {late} late." if late else ".")
        )
        yield from _due_words(tally)
    beliefs = [(name, number) for name, number in tally.ideas_at.most_common() if name in MISCONCEPTIONS]
    if beliefs:
        name, number = beliefs[0]
        where = f"{count_of(number, 'learner')}; {MISCONCEPTIONS[name].lesson}"
        yield f"Commonest idea to teach again: {idea_words(name)} ({where})."
    odd = [f"“{one.title}” ({one.verdict})" for one in _all(tally) if one.verdict not in {"fine", "too few to say"}]
    if odd:
        yield f"Questions to look at: {'; '.join(odd[:5])}{f'; and {len(odd) - 5} more' if len(odd) > 5 else ''}."
    if needy := sum(1 for _ in tally.in_need()):
        yield f"{count_of(needy, 'learner needs', 'learners need')} help."
    if tally.missing:
        yield f"Nothing from {count_of(len(tally.missing), 'learner')} of the class list."
    if tally.unlisted:
        yield f"Counted too, though not in the class list: {_named(tally.unlisted)}."
    if tally.other_numbers:
        sheets = count_of(tally.other_numbers, "sheet shows", "sheets show")
        yield f"{sheets} other numbers than key and class list draw: is it the right key, and the right group?"
    if tally.unread:
        yield f"{count_of(len(tally.unread), 'file was', 'files were')} not marked."


def _due_words(tally: ClassTally) -> Iterator[str]:
    times = [moment_words(at) for at, _ in tally.due.most_common(3)]
    own = sum(learner.own_due > 0 for learner in tally.learners.values())
    parts = [" or ".join(times), f"for {count_of(own, 'learner')} at a time of their own" if own else ""]
    if said := ", and ".join(filter(None, parts)):
        yield f"Due {said}."


def _all(tally: ClassTally) -> Iterator[QuestionTally]:
    return (question for sheet in tally.questions.values() for question in sheet.values())


# --- what to teach again --------------------------------------------------------------------------


def _ideas(tally: ClassTally) -> Iterator[str]:
    yield "<h2>What to teach again</h2>"
    beliefs = [(name, n) for name, n in tally.ideas_at.most_common() if name in MISCONCEPTIONS]
    if beliefs:
        shown = beliefs[:_MOST_IDEAS]
        says = f"Learners by idea: {', '.join(f'{idea_words(name)} {number}' for name, number in shown)}"
        if len(tally.learners) > 1:
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
            f"{one.learner.earned:g} of {one.learner.out_of:g}",
            "; ".join([*one.reasons, *(f"{idea_words(idea)} behind {times} answers" for idea, times in one.ideas)]),
        )
        for one in tally.in_need()
    ]
    yield f"<p>{_HELP_RULE}</p>"
    if rows:
        caption = "Learners who need help, those with the fewest marks first"
        yield f'<div class="learners">{table(caption, ("learner", "marks", "why"), rows[:MOST_LEARNERS])}</div>'
        if len(rows) > MOST_LEARNERS:
            yield f"<p>And {len(rows) - MOST_LEARNERS} more.</p>"
    else:
        yield "<p>Nobody, by this rule.</p>"


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
        "○ not answered. A dash stands where nothing was handed in.</p>"
    )
    headings = ("learner", "marks", *map(sheet_title, tally.sheets()))
    rows_of_marks = (_learner_row(one, tally) for one in learners[:MOST_LEARNERS])
    yield f'<div class="signs learners">{table("Marks of each learner", headings, rows_of_marks)}</div>'
    if len(learners) > MOST_LEARNERS:
        yield f"<p>And {len(learners) - MOST_LEARNERS} more, in marks.csv.</p>"


def _learner_row(one: LearnerTally, tally: ClassTally) -> tuple[str, ...]:
    sheets = (one.signs.get(sheet) for sheet in tally.sheets())
    return (one.learner, f"{one.mark:g} of {one.out_of:g}", *(found or "–" for found in sheets))


def _apart(tally: ClassTally) -> Iterator[str]:
    if tally.apart:
        headings = ("learner", "sheet", "due", "last changed", "which is")
        yield table("Late, or due at a time of their own", headings, tally.apart)
        if tally.apart_more:
            yield f"<p>And {tally.apart_more} more, in marks.csv.</p>"


def _missing(tally: ClassTally) -> Iterator[str]:
    if tally.missing:
        yield f"<h2>Nothing handed in</h2><p>{escape(_named(tally.missing))}.</p>"


def _named(learners: tuple[str, ...]) -> str:
    more = f" and {len(learners) - MOST_LEARNERS} more" if len(learners) > MOST_LEARNERS else ""
    return f"{', '.join(learners[:MOST_LEARNERS])}{more}"


def _left_out(tally: ClassTally) -> list[str]:
    if not tally.unread:
        return []
    rows = tally.unread[:MOST_LEARNERS]
    more = len(tally.unread) - len(rows)
    parts = ["<h2>Not marked</h2>", table("Files that were not marked", ("file", "reason"), rows)]
    return [*parts, *([f"<p>And {more} more, in not-marked.csv.</p>"] if more else [])]
