"""Marks as text: a comment page for a learner, a table for the teacher, CSV for a spreadsheet.

Everything is returned as text, and nothing is printed or written here.
The page loads nothing and runs nothing, and says the same without colour or through a screen reader.
What a learner typed is shown as text only, whatever it is.
"""

from __future__ import annotations

import csv
import html
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from labkit.checks import Verdict

__all__ = [
    "MARKS_HEADER",
    "MarkedAnswer",
    "MarkedSheet",
    "answers_csv",
    "comment_page",
    "marks_csv",
    "marks_rows",
    "unread_csv",
]


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
    #: The teacher's reason, where the mark was set by hand.
    corrected: str | None = None

    @property
    def question(self) -> str:
        """The question's title."""
        return self.verdict.question


@dataclass(frozen=True, kw_only=True, slots=True)
class MarkedSheet:
    """One hand-in of one learner, as marked."""

    learner: str
    #: The sheet's name and the version of the bank that it was drawn from.
    sheet: str
    bank: str
    #: The file, the fingerprint of what is in it, and when it was last changed.
    path: str
    digest: str
    changed: str
    late: bool = False
    #: A sentence when it did not run to its end.
    trouble: str = ""
    #: Other sentences on how it ran.
    notes: tuple[str, ...] = ()
    answers: tuple[MarkedAnswer, ...]
    #: How many files the learner handed in for this sheet.
    hand_ins: int = 1

    @property
    def mark(self) -> float:
        """The marks of all questions together."""
        return sum(answer.mark for answer in self.answers)

    @property
    def out_of(self) -> float:
        """What the sheet is worth."""
        return sum(answer.out_of for answer in self.answers)

    def remarks(self) -> Iterator[str]:
        """Give the sentences that go with the mark."""
        if self.late:
            yield "Handed in late."
        if self.hand_ins > 1:
            yield f"Handed in {self.hand_ins} times; the best counts."
        if self.trouble:
            yield self.trouble
        yield from self.notes


# --- the learner's page ---------------------------------------------------------------------------

_STYLE = """
body { font: 1.05rem/1.5 system-ui, sans-serif; max-width: 42rem; margin: 2rem auto; padding: 0 1rem;
       color: #1a1a1a; background: #fff; }
h1, h2, h3 { line-height: 1.2; } h2 { margin-top: 2.5rem; }
section.question { border-left: 0.3rem solid #767676; padding-left: 1rem; margin: 1.5rem 0; }
section.right { border-left-style: double; }
.said { white-space: pre-line; } .given { overflow-wrap: anywhere; }
dt { font-weight: bold; } dd { margin: 0 0 0.5rem 0; }
""".strip()


def comment_page(learner: str, sheets: Sequence[MarkedSheet]) -> str:
    """Return the page that a learner gets back: each sheet's mark, and to each answer what there is to say.

    Parameters
    ----------
    learner : str
        The id in the class list.
    sheets : sequence of MarkedSheet
        The learner's own.

    Returns
    -------
    str
        A whole HTML page in UTF-8.
    """
    body = "\n".join(_sheet_part(sheet) for sheet in sheets)
    name = html.escape(learner)
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>Comments for {name}</title>
<style>
{_STYLE}
</style>
</head>
<body>
<main>
<h1>Comments for {name}</h1>
{body or "<p>Nothing was handed in.</p>"}
</main>
</body>
</html>
"""


def _sheet_part(sheet: MarkedSheet) -> str:
    remarks = "".join(f"<li>{html.escape(remark)}</li>" for remark in sheet.remarks())
    questions = "\n".join(_question_part(number, answer) for number, answer in enumerate(sheet.answers, 1))
    return f"""<h2>{html.escape(_title(sheet.sheet))}</h2>
<p><strong>{sheet.mark:g} of {sheet.out_of:g}</strong></p>
{f"<ul>{remarks}</ul>" if remarks else ""}
{questions}"""


def _question_part(number: int, answer: MarkedAnswer) -> str:
    verdict = answer.verdict
    heading = f"{number}. {answer.question}: {verdict.heading}"
    parts = [
        f'<section class="question {verdict.outcome}">',
        f"<h3>{html.escape(heading)}</h3>",
        f'<p class="said">{html.escape(answer.asked)}</p>',
        "<dl>",
        f'<dt>Your answer</dt><dd class="given">{html.escape(answer.answer) or "none"}</dd>',
        f"<dt>Marks</dt><dd>{answer.mark:g} of {answer.out_of:g}</dd>",
        "</dl>",
    ]
    if answer.corrected is not None:
        parts.append(f"<p><strong>Set by your teacher:</strong> {html.escape(answer.corrected)}</p>")
    if verdict.outcome != "unanswered":
        parts.append(f'<p class="said">{html.escape(verdict.comment)}</p>')
    if verdict.lesson:
        parts.append(f"<p>Read again: {html.escape(verdict.lesson)}.</p>")
    if verdict.hint:
        parts.append(f"<p>Hint: {html.escape(verdict.hint)}</p>")
    return "\n".join([*parts, "</section>"])


def _title(name: str) -> str:
    return name.replace("-", " ").capitalize()


# --- the teacher's tables -------------------------------------------------------------------------

MARKS_HEADER = ("learner", "sheet", "mark", "out of", "not right", "remarks", "file")
_ANSWERS_HEADER = (
    "learner", "sheet", "bank", "question", "answer", "mark", "out of", "outcome", "misconception", "slip",
    "follows through", "rule", "corrected by hand", "comment", "file", "changed",
)  # fmt: skip


def marks_rows(sheets: Iterable[MarkedSheet]) -> list[tuple[str, ...]]:
    """Return one row a sheet, under ``MARKS_HEADER``."""
    return [
        (
            sheet.learner,
            sheet.sheet,
            f"{sheet.mark:g}",
            f"{sheet.out_of:g}",
            "; ".join(_not_right(sheet)),
            " ".join(sheet.remarks()),
            sheet.path,
        )
        for sheet in sheets
    ]


def _not_right(sheet: MarkedSheet) -> Iterator[str]:
    for answer in sheet.answers:
        if answer.verdict.outcome in {"wrong", "refused"}:
            reason = answer.verdict.misconception or answer.verdict.slip or answer.verdict.word
            yield f"{answer.question} ({reason})"
    unanswered = sum(answer.verdict.outcome == "unanswered" for answer in sheet.answers)
    if unanswered:
        yield f"{unanswered} not answered"


def marks_csv(sheets: Iterable[MarkedSheet], *, missing: Iterable[str] = ()) -> str:
    """Return one line a sheet, with a header, and one for each learner of whom there is nothing."""
    nothing = [(learner, "", "", "", "", "Nothing was handed in.", "") for learner in missing]
    return _csv(MARKS_HEADER, [*marks_rows(sheets), *nothing])


def unread_csv(files: Iterable[tuple[str, str]]) -> str:
    """Return one line for each file that was not marked, with the reason and a header."""
    return _csv(("file", "reason"), files)


def answers_csv(sheets: Iterable[MarkedSheet]) -> str:
    """Return one line an answer, with all that explains its mark, and a header."""
    return _csv(
        _ANSWERS_HEADER,
        (
            (
                sheet.learner, sheet.sheet, sheet.bank, answer.question, answer.answer, f"{answer.mark:g}",
                f"{answer.out_of:g}", answer.verdict.outcome, answer.verdict.misconception or "",
                answer.verdict.slip or "", "yes" if answer.verdict.follows_through else "", answer.rule,
                answer.corrected or "", answer.verdict.comment, sheet.path, sheet.changed,
            )
            for sheet in sheets
            for answer in sheet.answers
        ),
    )  # fmt: skip


def _csv(header: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    writer.writerows([_no_formula(cell) for cell in row] for row in rows)
    return text.getvalue()


def _no_formula(cell: str) -> str:
    """Return a cell that no spreadsheet takes for a formula; a negative number stays as it is."""
    risky = cell.startswith(("=", "+", "@", "\t", "\r")) or (cell.startswith("-") and not cell[1:2].isdigit())
    return f"'{cell}" if risky else cell
