"""The page that a learner gets back.

It loads nothing and runs nothing, and says the same without colour, in print or through a screen reader.
What a learner typed is shown as text only, whatever it is.
"""

from __future__ import annotations

import html
from collections.abc import Sequence

from labkit.reports.marks import MarkedAnswer, MarkedSheet, moment_words, sheet_title
from labkit.reports.page import page

__all__ = ["comment_page"]

_STYLE = """
h2 { margin-top: 2.5rem; }
section.question { border-left: 0.3rem solid #767676; padding-left: 1rem; margin: 1.5rem 0; }
section.right { border-left-style: double; }
a { color: inherit; }
.said { white-space: pre-wrap; } .given { white-space: pre-wrap; overflow-wrap: anywhere; }
dl { display: grid; grid-template-columns: max-content 1fr; gap: 0 1rem; }
dt { font-weight: bold; } dd { margin: 0; }
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
    return page(f"Comments for {learner}", body or "<p>Nothing was handed in.</p>", style=_STYLE)


def _sheet_part(sheet: MarkedSheet) -> str:
    remarks = "".join(f"<li>{html.escape(remark)}</li>" for remark in sheet.remarks())
    places = [f"{sheet.sheet}-{number}" for number, _ in enumerate(sheet.answers, 1)]
    questions = "\n".join(map(_question_part, places, sheet.answers))
    return f"""<h2>{html.escape(sheet_title(sheet.sheet))}</h2>
<p><strong>{sheet.mark:g} of {sheet.out_of:g}</strong></p>
{_due_part(sheet)}
{_again_part(sheet, places)}
{f"<ul>{remarks}</ul>" if remarks else ""}
{questions}"""


def _due_part(sheet: MarkedSheet) -> str:
    if not sheet.due.at:
        return ""
    due, changed = moment_words(sheet.due.at), moment_words(sheet.changed)
    return f"<p>Due {html.escape(due)}; your file was last changed {html.escape(changed)}.</p>"


def _again_part(sheet: MarkedSheet, places: Sequence[str]) -> str:
    """Return where there is more to be had, each with its way there."""
    links = [
        f'<a href="#{html.escape(place)}">{html.escape(_numbered(place, answer))}</a>'
        for place, answer in zip(places, sheet.answers, strict=True)
        if answer.mark < answer.out_of
    ]
    return f"<p>Look again at: {'; '.join(links)}.</p>" if links else ""


def _numbered(place: str, answer: MarkedAnswer) -> str:
    return f"{place.rpartition('-')[2]}. {answer.question}"


def _question_part(place: str, answer: MarkedAnswer) -> str:
    verdict = answer.verdict
    judged = verdict.heading if answer.corrected is None else "✎ marked by your teacher"
    heading = f"{_numbered(place, answer)}: {judged}"
    numbers = f"<dt>Numbers</dt><dd>of your attempt {verdict.attempt}</dd>" if verdict.attempt > 1 else ""
    parts = [
        f'<section class="question {verdict.outcome}" id="{html.escape(place)}">',
        f"<h3>{html.escape(heading)}</h3>",
        f'<p class="said">{html.escape(answer.asked)}</p>',
        verdict.picture,
        "<dl>",
        f'<dt>Your answer</dt><dd class="given">{html.escape(answer.answer) or "none"}</dd>',
        f"<dt>Marks</dt><dd>{answer.mark:g} of {answer.out_of:g}</dd>{numbers}",
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
