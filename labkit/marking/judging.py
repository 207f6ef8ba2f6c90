"""Judge what a sheet answered, from numbers that are drawn here again; nothing that the file claims of them is used."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from labkit.checks import Verdict, answer_from_json
from labkit.marking.answers import Effort, Run, printable
from labkit.marking.collecting import HandIn
from labkit.marking.notebooks import ReturnedNotebook
from labkit.marking.owners import Owner
from labkit.reports.marks import OTHER_NUMBERS, MarkedAnswer, MarkedSheet
from labkit.sheets import Sheet, personal_sheet, sheet_opening

__all__ = ["Job", "judge_run"]

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
    #: The sheet's opening carries other numbers than these: another key or group, or a change by hand.
    other_numbers: bool = False
    #: By question, as the cells' outputs say that were saved with the notebook.
    efforts: Mapping[str, Effort] = field(default_factory=dict)

    @classmethod
    def of(cls, found: HandIn, digest: str, notebook: ReturnedNotebook, owner: Owner, *, key: bytes) -> Job:
        """Return the job for a notebook; where its opening cell is gone, one is put in its place."""
        sheet = personal_sheet(
            owner.sheet, learner=owner.learner.id, group=owner.learner.group, bank=owner.bank, key=key, assessed=True
        )
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
            other_numbers=bool(notebook.code.numbers) and dict(notebook.code.numbers) != dict(sheet.numbers),
        )


def _withholding(sheet: Sheet) -> Iterator[str]:
    """Give the cell that withholds, before any of the learner's, what of the kit the sheet does not allow."""
    if sheet.plan.kit is not None:
        yield f"__import__('labkit.sheets').sheets.withhold({sheet.name!r}, {sorted(sheet.plan.kit)!r})"


def judge_run(job: Job, run: Run, *, due: str = "", late_share: float = 1.0) -> MarkedSheet:
    """Return the marked sheet.

    The last answer to a question counts; an empty one does not take back what was answered before.

    Parameters
    ----------
    job : Job
    run : Run
        What it answered.
    due : str
        When it was due, in ISO 8601; a file that was changed later is late. Empty: nothing is late.
    late_share : float
        The part of its marks that a late sheet keeps.
    """
    answers, stray = _last_answers(job.sheet, run)
    notes = [*job.owner.notes, *([OTHER_NUMBERS] if job.other_numbers else []), *_notes(run, stray, put_in=job.put_in)]
    verdicts = job.sheet.judge_all(answers)
    late = bool(due) and job.changed > due
    return MarkedSheet(
        learner=job.owner.learner.id,
        sheet=job.sheet.name,
        bank=job.sheet.bank,
        path=job.path,
        digest=job.digest,
        changed=job.changed,
        late=late,
        share=late_share if late else 1.0,
        trouble=run.trouble,
        notes=tuple(notes),
        answers=tuple(
            _marked(job.sheet, answers.get(title, ""), verdict, _effort(job, run, title))
            for title, verdict in verdicts.items()
        ),
    )


def _last_answers(sheet: Sheet, run: Run) -> tuple[dict[str, Any], int]:
    answers: dict[str, Any] = {}
    stray = 0
    for name, title, answer in run.answers:
        if name != sheet.name or title not in sheet.titles:
            stray += 1
        elif answer != "" or title not in answers:
            answers[title] = answer
    return answers, stray


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
    return MarkedAnswer(
        asked=sheet.asked(question.title),
        answer=_as_text(answer),
        verdict=verdict,
        mark=verdict.earned,
        out_of=1.0,
        rule=f"{question.rule}; taken on from an earlier answer" if verdict.follows_through else question.rule,
        expected=question.right_text(sheet.own, digits=4),
        tries=max(effort.tries, int(verdict.outcome != "unanswered")),
        seconds=effort.seconds,
    )


def _as_text(answer: Any) -> str:
    text = answer_from_json(answer).text
    whole = text or ("" if answer == "" else json.dumps(answer))
    return "\n".join(map(printable, whole[:_SHOWN].splitlines()))
