"""The mark register: one SQLite file that keeps every answer with its mark, and the run that gave it.

A sheet is entered in one transaction or not at all: a marker that is killed loses no sheet and marks none twice.
Entries are never changed. A teacher's correction stands beside the mark, with its reason,
and holds when sheets are marked again.

Of several files that one learner handed in for one sheet the best counts; of equally good ones the later.
So a file that only claims to be somebody's cannot lower their mark.
Those whom the class list puts into one pair share their files: what one of them hands in counts for each.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any, NamedTuple, Self

from labkit.errors import MarkingError
from labkit.marking.rows import answer_row, marked_sheet, sheet_row
from labkit.marking.schema import ANSWERS, COUNTED, LISTED, MISSING, SCHEMA, UNLISTED, prepare
from labkit.reports.marks import MarkedSheet
from labkit.sheets import Learner
from labkit.sheets.classlist import plain_name

__all__ = ["SCHEMA", "Before", "Register"]

_NAMED = 5  #: learners that a message names


class Before(NamedTuple):
    """How a file was marked before."""

    learner: str
    #: When it was due; None where an earlier labkit did not keep that.
    due: str | None
    #: The part of its marks that it keeps for being late; None when it is not.
    late_share: float | None


class Register:
    """An open mark register; use it in a ``with``.

    Parameters
    ----------
    path : Path
        Its file; made where there is none, and brought up to date where an earlier labkit wrote it.

    Raises
    ------
    MarkingError
        When the file is no mark register, or one of a later labkit.
    """

    def __init__(self, path: Path) -> None:
        try:
            self._path = path
            self._db = sqlite3.connect(path, timeout=30, isolation_level=None)
            self._db.row_factory = sqlite3.Row
            for setting in ("journal_mode = WAL", "synchronous = NORMAL", "foreign_keys = ON", "secure_delete = ON"):
                self._db.execute(f"PRAGMA {setting}")
            with self._at_once():
                fault = prepare(self._db)
        except sqlite3.OperationalError as error:
            raise MarkingError(
                f"{path} cannot be opened: {error}. See that its folder can be written to, or name another one."
            ) from error
        except sqlite3.DatabaseError as error:
            raise self._unusable(error) from error
        if fault:
            self.close()
            raise MarkingError(f"{path} {fault}.")
        self._run = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(self, _type: object, error: BaseException | None, _traceback: object) -> None:
        self.close()
        if isinstance(error, sqlite3.DatabaseError):  # a page of the file that was not looked at before
            raise self._unusable(error) from error

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def _unusable(self, error: sqlite3.DatabaseError) -> MarkingError:
        return MarkingError(
            f"{self._path} cannot be used as a mark register: {error}. Put a copy back, or name another folder."
        )

    @contextmanager
    def _at_once(self) -> Iterator[None]:
        """Do all that is inside, or nothing."""
        with self._told():
            self._db.execute("BEGIN IMMEDIATE")
            try:
                yield
                self._db.execute("COMMIT")
            finally:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")

    @contextmanager
    def _told(self) -> Iterator[None]:
        """Say in a sentence why the file cannot be written."""
        try:
            yield
        except sqlite3.OperationalError as error:
            raise MarkingError(
                f"{self._path} cannot be written: {error}. "
                "What is marked stays marked: see that there is room, and give the same command again."
            ) from error

    # --- marking ---

    def begin(
        self, *, labkit: str, isolation: str, seconds: float, learners: Iterable[Learner] = (), whole: bool = True,
        again: bool = False,
    ) -> None:  # fmt: skip
        """Begin a run: what is entered from now on belongs to it; unread files and the last class list are forgotten.

        Parameters
        ----------
        labkit : str
            Its version.
        isolation : str
            What shuts sheets in.
        seconds : float
            What a sheet may take.
        learners : iterable of Learner
            The class list.
        whole : bool
            False when it is about one file alone: what could not be read of the others stays.
        again : bool
            Whether all is marked again, so that a class list with other groups may be the mended one.

        Raises
        ------
        MarkingError
            When the marks are another class's: two learners of one id would become one.
        """
        listed = [learner[:3] for learner in learners]
        with self._at_once():
            before = {tuple(row) for row in self._db.execute(LISTED)}
            if before and not again and before.isdisjoint(row[:2] for row in listed):
                names = ", ".join(sorted(name for name, _ in before)[:_NAMED])
                raise MarkingError(
                    f"{self._path} holds the marks of another class ({names}{' …' if len(before) > _NAMED else ''}). "
                    "Name an --out of its own for each class. Where only the groups were mended, add --again."
                )
            if whole:
                self._db.execute("DELETE FROM unread")
            self._db.execute("DELETE FROM learner")
            self._db.executemany("INSERT INTO learner VALUES (?, ?, ?)", listed)
            self._run = self._insert("run", begun=_now(), labkit=labkit, isolation=isolation, seconds=seconds)

    def has(self, path: str, digest: str) -> bool:
        """Return whether this file, with this in it, is marked."""
        return self.marked_by(path, digest) is not None

    def marked_by(self, path: str, digest: str) -> Before | None:
        """Return how this file, with this in it, was marked last; None if it is not."""
        found = self._db.execute(
            "SELECT learner, due, CASE WHEN late THEN share END FROM hand_in WHERE path = ? AND digest = ? "
            "ORDER BY generation DESC", (path, digest),
        ).fetchone()  # fmt: skip
        return Before(*found) if found else None

    def enter(self, sheet: MarkedSheet, *, again: bool = True) -> None:
        """Enter a marked sheet, whole; one that was entered before stays, and this one counts in its place.

        Parameters
        ----------
        sheet : MarkedSheet
        again : bool
            False leaves out a sheet that another run has entered meanwhile.
        """
        with self._at_once():
            if not again and self.has(sheet.path, sheet.digest):
                return
            self._db.execute("DELETE FROM unread WHERE path = ?", (sheet.path,))
            generation = self._db.execute(
                "SELECT coalesce(max(generation), 0) + 1 FROM hand_in WHERE path = ? AND digest = ?",
                (sheet.path, sheet.digest),
            ).fetchone()[0]
            hand_in = self._insert("hand_in", run=self._run, generation=generation, **sheet_row(sheet))
            for place, answer in enumerate(sheet.answers):
                self._insert("answer", hand_in=hand_in, place=place, **answer_row(answer))

    def could_not_read(self, path: str, reason: str) -> None:
        """Note a file that was not marked, and why."""
        with self._at_once():
            self._db.execute("INSERT OR REPLACE INTO unread VALUES (?, ?)", (path, reason))

    def _insert(self, table: str, **row: Any) -> int:
        columns, marks = ", ".join(row), ", ".join("?" * len(row))
        command = f"INSERT INTO {table} ({columns}) VALUES ({marks})"  # noqa: S608 (our own words)
        return self._db.execute(command, tuple(row.values())).lastrowid or 0

    # --- the teacher's hand ---

    def correct(self, *, learner: str, sheet: str, question: str, mark: float | None, reason: str) -> None:
        """Set a mark by hand, for as long as the register lives; it is this learner's alone, in a pair too.

        Parameters
        ----------
        learner, sheet, question : str
        mark : float or None
            None takes an earlier correction back.
        reason : str
            The learner reads it.

        Raises
        ------
        MarkingError
            When no such answer is marked, the mark cannot be, or there is no reason.
        """
        found = [
            answer.out_of
            for marked in self.counted(learner)
            if marked.sheet == sheet
            for answer in marked.answers
            if answer.question == question
        ]
        if not found:
            raise MarkingError(f"No answer of {learner} to {question!r} on {sheet} is marked. Check the three names.")
        if mark is not None and not 0 <= mark <= found[0]:
            raise MarkingError(f"mark must be from 0 to {found[0]:g}; got {mark:g}.")
        if not reason.strip():
            raise MarkingError("A correction needs its reason: the learner reads it.")
        with self._at_once():
            key = (learner, sheet, question)
            self._db.execute("DELETE FROM correction WHERE learner = ? AND sheet = ? AND question = ?", key)
            if mark is not None:
                self._db.execute(
                    "INSERT INTO correction VALUES (?, ?, ?, ?, ?, ?)", (*key, mark, reason.strip(), _now())
                )

    def erase(self, learner: str) -> int:
        """Erase all that the register holds of one learner, past recovery; return how many hand-ins that were."""
        with self._at_once():
            number = self._db.execute("DELETE FROM hand_in WHERE learner = ?", (learner,)).rowcount
            self._db.execute("DELETE FROM correction WHERE learner = ?", (learner,))
            self._db.execute("DELETE FROM learner WHERE id = ?", (learner,))
            named = f"_{plain_name(learner)}_"
            of_them = [(path,) for path, reason in self.unread() if named in f"_{plain_name(f'{path} {reason}')}_"]
            self._db.executemany("DELETE FROM unread WHERE path = ?", of_them)
        with self._told():
            self._db.execute("VACUUM")
            self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        return number

    # --- what stands in it ---

    def counted(self, learner: str = "") -> Iterator[MarkedSheet]:
        """Give the hand-in that counts for each sheet of each learner, or of one, in order; corrections are applied."""
        for row in self._db.execute(COUNTED, {"member": learner}):
            yield marked_sheet(row, self._db.execute(ANSWERS, (row["member"], row["sheet"], row["id"])))

    def missing(self) -> list[str]:
        """Return the ids of the last run's class list of whom nothing counts."""
        return [row[0] for row in self._db.execute(MISSING)]

    def unlisted(self) -> list[str]:
        """Return the ids of whom something is marked, and whom the last run's class list does not have."""
        return [row[0] for row in self._db.execute(UNLISTED)]

    def unread(self) -> list[tuple[str, str]]:
        """Return the path of each file that the last run did not mark, and the reason."""
        return [tuple(row) for row in self._db.execute("SELECT path, reason FROM unread ORDER BY path")]


def _now() -> str:
    return datetime.now().isoformat(timespec="seconds")  # noqa: DTZ005 (the teacher's own clock, as the files' dates)
