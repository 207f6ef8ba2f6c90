"""Judge what a sheet answered, from numbers that are drawn here again; nothing that the file claims of them is used.

On a practice sheet ``sheet.again()`` draws new numbers, with the public key, for attempts 2, 3 and so on.
Each answer is judged by the numbers of the attempt that it names, and each question counts at its best.
Nothing is to be had by naming another: whoever has the kit has its verdict on every one of these numbers anyway.
An assessed sheet has the teacher's numbers alone, whatever its answers name.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from labkit.checks import Verdict, answer_from_json
from labkit.checks.judging import unanswered
from labkit.checks.plots import plot_html
from labkit.marking.answers import Effort, Run, printable
from labkit.marking.collecting import HandIn
from labkit.marking.notebooks import ReturnedNotebook
from labkit.marking.owners import Owner
from labkit.reports.marks import NO_DUE, OTHER_NUMBERS, Due, MarkedAnswer, MarkedSheet
from labkit.sheets import Sheet, personal_sheet, sheet_opening

__all__ = ["Job", "judge_run"]

_ONLY_FIRST = "It drew new numbers, which count on practice sheets alone: it was judged by its first ones."
_LATEST = 9  #: attempts after the first that are judged: a sheet that names them all must not hold up the others
_FAULTS_TOLD = 3
_SHOWN = 1_000  #: letters of an answer that are kept: a table of readings is one


@dataclass(frozen=True, kw_only=True, slots=True)
class Job:
    """A returned notebook with its owner, ready to run."""

    path: str
    digest: str
    changed: str
    owner: Owner
    #: Drawn again from the class list and the key.
    sheet: Sheet
    cells: tuple[str, ...]
    #: How many of them the learner's notebook did not have.
    put_in: int = 0
    #: The sheet's opening carries other numbers than these, or none: another key or group, a sheet that was not drawn
    #: with any key of the teacher's, or a change by hand.
    other_numbers: bool = False
    #: By question, as the cells' outputs say that were saved with the notebook.
    efforts: Mapping[str, Effort] = field(default_factory=dict)
    #: Which attempt's numbers each question had last, by the same outputs.
    attempts: Mapping[str, int] = field(default_factory=dict)

    @classmethod
    def of(cls, found: HandIn, digest: str, notebook: ReturnedNotebook, owner: Owner, *, key: bytes) -> Job:
        """Return the job for a notebook; where its opening cell is gone, one is put in its place."""
        sheet = personal_sheet(
            owner.sheet, learner=owner.learner.id, group=owner.learner.group, bank=owner.bank, key=key
        )
        if not sheet.retries or sheet.retries not in (notebook.code.retries, notebook.metadata.retries):
            sheet = replace(sheet, assessed=True, retries="")
        put_in = (*_withholding(sheet), *(() if notebook.opens else (sheet_opening(sheet),)))
        return cls(
            path=found.path,
            digest=digest,
            changed=found.changed,
            owner=owner,
            sheet=sheet,
            cells=(*put_in, *notebook.cells),
            put_in=len(put_in),
            efforts=notebook.efforts,
            attempts=notebook.attempts,
            other_numbers=notebook.opens and dict(notebook.code.numbers) != dict(sheet.numbers),
        )


def _withholding(sheet: Sheet) -> Iterator[str]:
    """Give the cell that withholds, before any of the learner's, what of the kit the sheet does not allow."""
    if sheet.plan.kit is not None:
        yield f"__import__('labkit.sheets').sheets.withhold({sheet.name!r}, {sorted(sheet.plan.kit)!r})"


def judge_run(job: Job, run: Run, *, due: Due = NO_DUE, late_share: float = 1.0) -> MarkedSheet:
    """Return the marked sheet.

    The last answer to a question counts, of each attempt; an empty one does not take back what was answered before.

    Parameters
    ----------
    job : Job
    run : Run
        What it answered.
    due : Due
        A file that was changed later is late.
    late_share : float
        The part of its marks that a late sheet keeps.
    """
    answers, stray = _last_answers(job, run)
    notes = [*job.owner.notes, *([OTHER_NUMBERS] if job.other_numbers else []), *_notes(run, stray, put_in=job.put_in)]
    if job.sheet.assessed and run.attempts:
        notes.append(_ONLY_FIRST)
    late = bool(due.at) and job.changed > due.at
    return MarkedSheet(
        learner=job.owner.learner.id,
        sheet=job.sheet.name,
        bank=job.sheet.bank,
        path=job.path,
        digest=job.digest,
        changed=job.changed,
        due=due,
        late=late,
        share=late_share if late else 1.0,
        trouble=run.trouble,
        notes=tuple(notes),
        answers=tuple(_best_of_each(job, run, answers)),
    )


def _last_answers(job: Job, run: Run) -> tuple[dict[int, dict[str, Any]], int]:
    """Return by attempt, the first and the latest, the last answer to each question, and how many were to no question.

    Cells may stand in another order than they were run in: the attempt that a saved output names is asked too.
    """
    answers: dict[int, dict[str, Any]] = {1: {}}
    last: dict[str, Any] = {}
    stray = 0
    for place, (name, title, answer) in enumerate(run.answers):
        if name != job.sheet.name or title not in job.sheet.titles:
            stray += 1
        elif not unanswered(job.sheet.plan.question(title), answer_from_json(answer)):
            last[title] = answer
            answers.setdefault(1 if job.sheet.assessed else run.attempts.get(place, 1), {})[title] = answer
    for title in () if job.sheet.assessed else job.attempts.keys() & last.keys():
        answers.setdefault(job.attempts[title], {}).setdefault(title, last[title])
    judged = sorted(answers)
    return {attempt: answers[attempt] for attempt in [1, *judged[1:][-_LATEST:]]}, stray


def _best_of_each(job: Job, run: Run, answers: Mapping[int, Mapping[str, Any]]) -> Iterator[MarkedAnswer]:
    """Give each question as its best attempt is marked, of equally good ones the later."""
    sheets = {attempt: job.sheet if attempt == 1 else job.sheet.at_attempt(attempt) for attempt in sorted(answers)}
    for title in job.sheet.titles:
        tried = [attempt for attempt in sheets if title in answers[attempt]] or [1]
        judged = {
            attempt: sheets[attempt].judge(title, answers[attempt].get(title, ""), earlier=answers[attempt])
            for attempt in tried
        }
        best = max(judged, key=lambda attempt: (judged[attempt].earned, attempt))
        verdict = replace(judged[best], attempt=best)
        if (
            plot := job.sheet.plan.question(title).plot
        ) and not verdict.picture:  # the page shows it beside right ones too
            verdict = replace(verdict, picture=plot_html(plot, sheets[best].own))
        yield _marked(sheets[best], answers[best].get(title, ""), verdict, _effort(job, run, title))


def _effort(job: Job, run: Run, title: str) -> Effort:
    """Return the greater of what the notebook kept of the learner's tries, and what it says now that it is run."""
    said = (job.efforts.get(title), run.efforts.get((job.sheet.name, title)))
    return max((effort for effort in said if effort), default=Effort(0, 0))


def _notes(run: Run, stray: int, *, put_in: int) -> list[str]:
    notes = [f"Code cell {fault.cell + 1 - put_in} failed ({fault.error})." for fault in run.faults[:_FAULTS_TOLD]]
    if len(run.faults) > _FAULTS_TOLD:
        notes.append(f"{len(run.faults) - _FAULTS_TOLD} more code cells failed.")
    if stray:
        notes.append(f"{stray} answers to questions that this sheet does not have were left out.")
    return notes


def _marked(sheet: Sheet, answer: Any, verdict: Verdict, effort: Effort) -> MarkedAnswer:
    question = sheet.plan.question(verdict.question)
    beside = "; taken on from an earlier answer" if verdict.follows_through else ""
    beside += f"; found right by {verdict.basis}" if verdict.basis else ""
    return MarkedAnswer(
        asked=sheet.asked(question.title),
        answer=_as_text(answer),
        verdict=verdict,
        mark=verdict.earned,
        out_of=1.0,
        rule=f"{question.rule}{beside}",
        expected=question.right_text(sheet.own, digits=4),
        tries=max(effort.tries, int(verdict.outcome != "unanswered")),
        seconds=effort.seconds,
    )


def _as_text(answer: Any) -> str:
    read = answer_from_json(answer)
    whole = read.typed or read.text or ("" if answer == "" else json.dumps(answer))
    return "\n".join(map(printable, whole[:_SHOWN].splitlines()))
