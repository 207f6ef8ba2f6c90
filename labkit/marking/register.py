"""The mark register: one SQLite file that keeps every answer with its mark, and the run that gave it.

A sheet is entered in one transaction or not at all: a marker that is killed loses no sheet and marks none twice.
Entries are never changed. A teacher's correction stands beside the mark, with its reason,
and holds when sheets are marked again.

Of several files that one learner handed in for one sheet the best counts; of equally good ones the later.
So a file that only claims to be somebody's cannot lower their mark.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, Self

from labkit.checks import Verdict
from labkit.errors import MarkingError
from labkit.reports.marks import MarkedAnswer, MarkedSheet

__all__ = ["SCHEMA", "Register"]

#: The version of the tables below.
SCHEMA = 1

_TABLES = """
CREATE TABLE run (
    id INTEGER PRIMARY KEY, begun TEXT NOT NULL, labkit TEXT NOT NULL, isolation TEXT NOT NULL, seconds REAL NOT NULL
) STRICT;
CREATE TABLE hand_in (
    id INTEGER PRIMARY KEY, run INTEGER NOT NULL REFERENCES run,
    path TEXT NOT NULL, digest TEXT NOT NULL, generation INTEGER NOT NULL, changed TEXT NOT NULL,
    learner TEXT NOT NULL, sheet TEXT NOT NULL, bank TEXT NOT NULL, late INTEGER NOT NULL, mark REAL NOT NULL,
    trouble TEXT NOT NULL, notes TEXT NOT NULL,
    UNIQUE (path, digest, generation)
) STRICT;
CREATE INDEX hand_in_of_learner ON hand_in (learner, sheet);
CREATE TABLE answer (
    hand_in INTEGER NOT NULL REFERENCES hand_in ON DELETE CASCADE, place INTEGER NOT NULL,
    asked TEXT NOT NULL, answer TEXT NOT NULL, mark REAL NOT NULL, out_of REAL NOT NULL, rule TEXT NOT NULL,
    question TEXT NOT NULL, outcome TEXT NOT NULL, comment TEXT NOT NULL, misconception TEXT, slip TEXT, lesson TEXT,
    hint TEXT NOT NULL, follows_through INTEGER NOT NULL,
    PRIMARY KEY (hand_in, place)
) STRICT, WITHOUT ROWID;
CREATE TABLE correction (
    learner TEXT NOT NULL, sheet TEXT NOT NULL, question TEXT NOT NULL, mark REAL NOT NULL, reason TEXT NOT NULL,
    made TEXT NOT NULL, PRIMARY KEY (learner, sheet, question)
) STRICT, WITHOUT ROWID;
CREATE TABLE unread (path TEXT PRIMARY KEY, reason TEXT NOT NULL) STRICT, WITHOUT ROWID;
"""

_COUNTED = """
WITH latest AS (
    SELECT *, max(generation) OVER (PARTITION BY path, digest) AS newest FROM hand_in
), ranked AS (
    SELECT *,
        count(*) OVER (PARTITION BY learner, sheet) AS hand_ins,
        row_number() OVER (PARTITION BY learner, sheet ORDER BY mark DESC, changed DESC, path DESC, id DESC) AS rank
    FROM latest WHERE generation = newest
)
SELECT * FROM ranked WHERE rank = 1 ORDER BY learner, sheet
"""

_ANSWERS = """
SELECT answer.*, correction.mark AS corrected_mark, correction.reason AS corrected
FROM answer LEFT JOIN correction
    ON correction.learner = ? AND correction.sheet = ? AND correction.question = answer.question
WHERE hand_in = ? ORDER BY place
"""


class Register:
    """An open mark register; use it in a ``with``.

    Parameters
    ----------
    path : Path
        Its file; made where there is none.

    Raises
    ------
    MarkingError
        When the file is no mark register, or one of a later labkit.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        try:
            self._db = sqlite3.connect(path, timeout=30, isolation_level=None)
            self._db.row_factory = sqlite3.Row
            for setting in ("journal_mode = WAL", "synchronous = NORMAL", "foreign_keys = ON", "secure_delete = ON"):
                self._db.execute(f"PRAGMA {setting}")
            self._prepare()
        except sqlite3.DatabaseError as error:
            raise MarkingError(f"{path} cannot be used as a mark register: {error}.") from error
        self._run = 0

    def _prepare(self) -> None:
        with self._at_once():
            version = self._db.execute("PRAGMA user_version").fetchone()[0]
            if version == 0 and not self._db.execute("SELECT 1 FROM sqlite_schema").fetchone():
                for statement in filter(str.strip, _TABLES.split(";")):
                    self._db.execute(statement)
                self._db.execute(f"PRAGMA user_version = {SCHEMA}")
            elif version != SCHEMA:
                msg = f"{self._path} is a mark register of version {version}; this labkit reads version {SCHEMA}."
                raise MarkingError(msg)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_exception: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    @contextmanager
    def _at_once(self) -> Iterator[None]:
        """Do all that is inside, or nothing."""
        self._db.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            self._db.execute("ROLLBACK")
            raise
        self._db.execute("COMMIT")

    # --- marking ---

    def begin(self, *, labkit: str, isolation: str, seconds: float) -> None:
        """Begin a run: what is entered from now on belongs to it, and unread files are forgotten."""
        with self._at_once():
            self._db.execute("DELETE FROM unread")
            row = (_now(), labkit, isolation, seconds)
            self._run = self._insert("run (begun, labkit, isolation, seconds)", row)

    def has(self, path: str, digest: str) -> bool:
        """Return whether this file, with this in it, is marked."""
        found = self._db.execute("SELECT 1 FROM hand_in WHERE path = ? AND digest = ? LIMIT 1", (path, digest))
        return found.fetchone() is not None

    def enter(self, sheet: MarkedSheet) -> None:
        """Enter a marked sheet, whole; one that was entered before stays, and this one counts in its place."""
        with self._at_once():
            generation = self._db.execute(
                "SELECT coalesce(max(generation), 0) + 1 FROM hand_in WHERE path = ? AND digest = ?",
                (sheet.path, sheet.digest),
            ).fetchone()[0]
            row = (
                self._run, sheet.path, sheet.digest, generation, sheet.changed, sheet.learner, sheet.sheet, sheet.bank,
                int(sheet.late), sheet.mark, sheet.trouble, json.dumps(sheet.notes),
            )  # fmt: skip
            columns = "run, path, digest, generation, changed, learner, sheet, bank, late, mark, trouble, notes"
            hand_in = self._insert(f"hand_in ({columns})", row)
            for place, answer in enumerate(sheet.answers):
                self._insert("answer", (hand_in, place, *_answer_row(answer)))

    def could_not_read(self, path: str, reason: str) -> None:
        """Note a file that was not marked, and why."""
        self._db.execute("INSERT OR REPLACE INTO unread VALUES (?, ?)", (path, reason))

    def _insert(self, into: str, row: tuple[Any, ...]) -> int:
        marks = ", ".join("?" * len(row))
        return self._db.execute(f"INSERT INTO {into} VALUES ({marks})", row).lastrowid or 0  # noqa: S608 (our own words)

    # --- the teacher's hand ---

    def correct(self, *, learner: str, sheet: str, question: str, mark: float, reason: str) -> None:
        """Set a mark by hand, for as long as the register lives.

        Raises
        ------
        MarkingError
            When no such answer is marked, the mark cannot be, or there is no reason.
        """
        found = self._db.execute(
            "SELECT out_of FROM answer JOIN hand_in ON hand_in = id WHERE learner = ? AND sheet = ? AND question = ?",
            (learner, sheet, question),
        ).fetchone()
        if found is None:
            raise MarkingError(f"No answer of {learner} to {question!r} on {sheet} is marked. Check the three names.")
        if not 0 <= mark <= found["out_of"]:
            raise MarkingError(f"mark must be from 0 to {found['out_of']:g}; got {mark:g}.")
        if not reason.strip():
            raise MarkingError("A correction needs its reason: the learner reads it.")
        row = (learner, sheet, question, mark, reason.strip(), _now())
        self._db.execute("INSERT OR REPLACE INTO correction VALUES (?, ?, ?, ?, ?, ?)", row)

    def erase(self, learner: str) -> int:
        """Erase all that the register holds of one learner, past recovery; return how many hand-ins that were."""
        with self._at_once():
            number = self._db.execute("DELETE FROM hand_in WHERE learner = ?", (learner,)).rowcount
            self._db.execute("DELETE FROM correction WHERE learner = ?", (learner,))
            self._db.execute("DELETE FROM unread WHERE instr(lower(path), lower(?))", (learner,))
        self._db.execute("VACUUM")
        self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return number

    # --- what stands in it ---

    def counted(self) -> Iterator[MarkedSheet]:
        """Give the hand-in that counts for each learner and sheet, corrections applied, in order."""
        for row in self._db.execute(_COUNTED).fetchall():
            answers = self._db.execute(_ANSWERS, (row["learner"], row["sheet"], row["id"]))
            yield MarkedSheet(
                learner=row["learner"],
                sheet=row["sheet"],
                bank=row["bank"],
                path=row["path"],
                digest=row["digest"],
                changed=row["changed"],
                late=bool(row["late"]),
                trouble=row["trouble"],
                notes=tuple(json.loads(row["notes"])),
                answers=tuple(map(_marked_answer, answers)),
                hand_ins=row["hand_ins"],
            )

    def unread(self) -> list[tuple[str, str]]:
        """Return the path of each file that the last run did not mark, and the reason."""
        return [tuple(row) for row in self._db.execute("SELECT path, reason FROM unread ORDER BY path")]


def _answer_row(answer: MarkedAnswer) -> tuple[Any, ...]:
    verdict = answer.verdict
    return (
        answer.asked, answer.answer, answer.mark, answer.out_of, answer.rule,
        verdict.question, verdict.outcome, verdict.comment, verdict.misconception, verdict.slip, verdict.lesson,
        verdict.hint, int(verdict.follows_through),
    )  # fmt: skip


def _marked_answer(row: sqlite3.Row) -> MarkedAnswer:
    by_hand = row["corrected_mark"]
    return MarkedAnswer(
        asked=row["asked"],
        answer=row["answer"],
        mark=row["mark"] if by_hand is None else by_hand,
        out_of=row["out_of"],
        rule=row["rule"],
        corrected=row["corrected"],
        verdict=Verdict(
            question=row["question"],
            outcome=row["outcome"],
            comment=row["comment"],
            misconception=row["misconception"],
            slip=row["slip"],
            lesson=row["lesson"],
            hint=row["hint"],
            follows_through=bool(row["follows_through"]),
        ),
    )


def _now() -> str:
    return datetime.now().isoformat(timespec="seconds")  # noqa: DTZ005 (the teacher's own clock, as the files' dates)
