"""A learner's tries, kept in a small file beside the notebook, so that a restart forgets nothing.

One line of JSON a try. The file is the learner's own: marks never depend on it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

__all__ = ["TriesFile", "Try"]

_LARGEST = 2_000_000  # bytes: more than anybody types


class Try(NamedTuple):
    """One earlier try."""

    question: str
    answer: Any
    outcome: str
    #: When, in seconds since 1970; zero where the file does not say.
    when: float


def _moment(text: object) -> float:
    try:
        return datetime.fromisoformat(str(text)).timestamp()
    except (ValueError, OverflowError):
        return 0.0


@dataclass(frozen=True, slots=True)
class TriesFile:
    """The tries of one learner on one sheet, in a file that may hold others' as well.

    Parameters
    ----------
    path : Path
        Made at the first try.
    owner : dict of str to str
        Which sheet, learner and numbers: only lines with the same are read.
    """

    path: Path
    owner: dict[str, Any]

    def read(self) -> Iterator[Try]:
        """Yield each earlier try, in order; lines that are none are passed over."""
        try:
            with self.path.open(encoding="utf-8", errors="replace") as file:
                lines = file.read(_LARGEST).splitlines()
        except OSError:
            return
        for line in lines:
            try:
                entry = json.loads(line)
            except (ValueError, RecursionError):
                continue
            if isinstance(entry, dict) and all(entry.get(name) == value for name, value in self.owner.items()):
                question, outcome = entry.get("question"), entry.get("outcome")
                if isinstance(question, str) and isinstance(outcome, str):
                    yield Try(question, entry.get("answer"), outcome, _moment(entry.get("when")))

    def of(self, *, attempt: int) -> TriesFile:
        """Return the same file for another set of numbers."""
        return TriesFile(self.path, self.owner | {"attempt": attempt})

    def add(self, question: str, answer: Any, outcome: str) -> None:
        """Add a try, with the time; a folder that cannot be written to is no reason to stop learning."""
        when = datetime.now(UTC).isoformat(timespec="seconds")
        entry = self.owner | {"question": question, "answer": answer, "outcome": outcome, "when": when}
        try:
            with self.path.open("a", encoding="utf-8", errors="replace") as file:
                file.write(json.dumps(entry, ensure_ascii=False, allow_nan=False) + "\n")
        except OSError:
            return
