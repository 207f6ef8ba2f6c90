"""Marked sheets as rows of the mark register, and back."""

from __future__ import annotations

import json
import sqlite3
import zlib
from collections.abc import Iterable
from typing import Any

from labkit.checks import Verdict
from labkit.reports.marks import Due, MarkedAnswer, MarkedSheet, MarkingRun

__all__ = ["answer_row", "marked_sheet", "sheet_row"]


def sheet_row(sheet: MarkedSheet) -> dict[str, Any]:
    """Return what the register keeps of a sheet beside its answers."""
    return {
        "path": sheet.path, "digest": sheet.digest, "changed": sheet.changed, "learner": sheet.learner,
        "sheet": sheet.sheet, "bank": sheet.bank, "late": int(sheet.late), "mark": sheet.mark, "share": sheet.share,
        "trouble": sheet.trouble, "notes": json.dumps(sheet.notes), "due": sheet.due.at,
        "own_due": int(sheet.due.own),
    }  # fmt: skip


def marked_sheet(row: sqlite3.Row, answers: Iterable[sqlite3.Row]) -> MarkedSheet:
    """Return the sheet of a row, as it counts for the member that the row names."""
    return MarkedSheet(
        learner=row["member"],
        by="" if row["learner"] == row["member"] else row["learner"],
        sheet=row["sheet"],
        bank=row["bank"],
        path=row["path"],
        digest=row["digest"],
        changed=row["changed"],
        due=Due(row["due"] or "", own=bool(row["own_due"])),
        late=bool(row["late"]),
        share=row["share"],
        trouble=row["trouble"],
        notes=tuple(json.loads(row["notes"])),
        answers=tuple(map(_marked_answer, answers)),
        hand_ins=row["hand_ins"],
        run=MarkingRun(row["begun"], row["labkit"], row["isolation"], row["allowed"]),
    )


def answer_row(answer: MarkedAnswer) -> dict[str, Any]:
    """Return what the register keeps of an answer; its picture packed."""
    verdict = answer.verdict
    return {
        "asked": answer.asked, "answer": answer.answer, "mark": answer.mark, "out_of": answer.out_of,
        "rule": answer.rule, "expected": answer.expected, "tries": answer.tries, "seconds": answer.seconds,
        "question": verdict.question, "outcome": verdict.outcome, "comment": verdict.comment,
        "misconception": verdict.misconception, "slip": verdict.slip, "lesson": verdict.lesson, "hint": verdict.hint,
        "follows_through": int(verdict.follows_through), "attempt": verdict.attempt,
        "picture": zlib.compress(verdict.picture.encode()) if verdict.picture else None,
    }  # fmt: skip


def _marked_answer(row: sqlite3.Row) -> MarkedAnswer:
    by_hand = row["corrected_mark"]
    return MarkedAnswer(
        asked=row["asked"],
        answer=row["answer"],
        mark=row["mark"] if by_hand is None else by_hand,
        out_of=row["out_of"],
        rule=row["rule"],
        expected=row["expected"],
        tries=row["tries"],
        seconds=row["seconds"],
        corrected=row["corrected"],
        by_rule=None if by_hand is None else row["mark"],
        verdict=Verdict(
            question=row["question"],
            outcome=row["outcome"],
            comment=row["comment"],
            misconception=row["misconception"],
            slip=row["slip"],
            lesson=row["lesson"],
            hint=row["hint"],
            follows_through=bool(row["follows_through"]),
            attempt=row["attempt"],
            picture=zlib.decompress(row["picture"]).decode() if row["picture"] else "",
            share=row["mark"] / row["out_of"] if row["outcome"] == "wrong" else 0.0,
        ),
    )
