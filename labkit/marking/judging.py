"""Judge what a sheet answered, from numbers that are drawn here again; nothing that the file claims of them is used."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

from labkit.checks import Verdict, answer_from_json
from labkit.marking.answers import Run
from labkit.marking.collecting import HandIn
from labkit.marking.notebooks import ReturnedNotebook
from labkit.marking.owners import Owner
from labkit.problems import question
from labkit.reports.marks import MarkedAnswer, MarkedSheet
from labkit.sheets import Sheet, personal_sheet

__all__ = ["OTHER_NUMBERS", "Job", "judge_run"]

_FAULTS_TOLD = 3


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

    @classmethod
    def of(cls, found: HandIn, digest: str, notebook: ReturnedNotebook, owner: Owner, *, key: bytes) -> Job:
        """Return the job for a notebook; where its opening cell is gone, one is put in its place."""
        sheet = personal_sheet(
            owner.sheet, learner=owner.learner.id, group=owner.learner.group, bank=owner.bank, key=key, assessed=True
        )
        put_in = () if notebook.opens else (_opening(sheet),)
        return cls(
            path=found.path,
            digest=digest,
            changed=found.changed,
            owner=owner,
            sheet=sheet,
            cells=(*put_in, *notebook.cells),
            put_in=len(put_in),
            other_numbers=bool(notebook.code.numbers) and dict(notebook.code.numbers) != dict(sheet.numbers),
        )


#: What stands beside a mark whose sheet shows other numbers than it was judged by.
OTHER_NUMBERS = "The sheet shows other numbers than this key and class list draw; it was judged by those drawn here."


def _opening(sheet: Sheet) -> str:
    given = f"learner={sheet.learner!r}, group={sheet.group!r}, bank={sheet.bank!r}, numbers={dict(sheet.numbers)!r}"
    return f"from labkit import open_sheet\nsheet = open_sheet({sheet.name!r}, {given}, assessed=True)"


def judge_run(job: Job, run: Run, *, due: str = "") -> MarkedSheet:
    """Return the marked sheet.

    The last answer to a question counts; an empty one does not take back what was answered before.

    Parameters
    ----------
    job : Job
    run : Run
        What it answered.
    due : str
        When it was due, in ISO 8601; a file that was changed later is late. Empty: nothing is late.
    """
    answers, stray = _last_answers(job.sheet, run)
    notes = [*job.owner.notes, *([OTHER_NUMBERS] if job.other_numbers else []), *_notes(run, stray, put_in=job.put_in)]
    verdicts = job.sheet.judge_all(answers)
    return MarkedSheet(
        learner=job.owner.learner.id,
        sheet=job.sheet.name,
        bank=job.sheet.bank,
        path=job.path,
        digest=job.digest,
        changed=job.changed,
        late=bool(due) and job.changed > due,
        trouble=run.trouble,
        notes=tuple(notes),
        answers=tuple(
            _marked(job.sheet, title, answers.get(title, ""), verdict) for title, verdict in verdicts.items()
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


def _notes(run: Run, stray: int, *, put_in: int) -> list[str]:
    notes = [f"Code cell {fault.cell + 1 - put_in} failed ({fault.error})." for fault in run.faults[:_FAULTS_TOLD]]
    if len(run.faults) > _FAULTS_TOLD:
        notes.append(f"{len(run.faults) - _FAULTS_TOLD} more code cells failed.")
    if stray:
        notes.append(f"{stray} answers to questions that this sheet does not have were left out.")
    return notes


def _marked(sheet: Sheet, title: str, answer: Any, verdict: Verdict) -> MarkedAnswer:
    return MarkedAnswer(
        asked=sheet.asked(title),
        answer=_as_text(answer),
        verdict=verdict,
        mark=1.0 if verdict.right else 0.0,
        out_of=1.0,
        rule=_rule(title, verdict),
    )


def _as_text(answer: Any) -> str:
    text = answer_from_json(answer).text
    return (text or ("" if answer == "" else json.dumps(answer)))[:200]


def _rule(title: str, verdict: Verdict) -> str:
    asked = question(title)
    if asked.options:
        rule = "the option that is right"
    else:
        rule = f"within {asked.tolerance:.2g} of the answer from the learner's own numbers, as a part of it"
        if asked.allowance:
            rule += f", or within {asked.allowance:g} in SI units"
    return f"{rule}; taken on from an earlier answer" if verdict.follows_through else rule
