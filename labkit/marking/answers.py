"""What a sheet's process says, read line by line: JSON of a fixed shape and a bounded length, and nothing else."""

from __future__ import annotations

import json
import re
import time
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from labkit.marking.isolation import Allowance
from labkit.sheets.sheet import MOST_ATTEMPTS

__all__ = ["Effort", "Fault", "Reader", "Run", "attempt_told", "decoded", "printable"]

_LINE = 16_000  #: bytes in one line, at most
_LINES = 2_000  #: lines of one sheet, at most
_MOST = 100_000_000  #: tries or seconds that are believed: three years
#: How half a sign begins, written out or in UTF-8, and what stands in every other coding.
_MAY_HOLD_HALVES = re.compile(rb"\\u[dD]|\xed|\x00")
_BESIDE = frozenset({"attempt", "tries", "seconds"})  #: what a line may say beside its answer


def printable(text: str) -> str:
    r"""Return a text of a learner's without signs that could steer a terminal or turn a line round.

    >>> printable("a\x1b[2J\u202eb"), printable("4\u00a0V")
    ('a?[2J?b', '4\xa0V')
    """
    return "".join(sign if sign.isprintable() or unicodedata.category(sign) == "Zs" else "?" for sign in text)


def decoded(data: bytes) -> Any:
    r"""Return what a learner's JSON says; halves of signs, which no file and no database holds, become question marks.

    >>> decoded(b'["\\ud800 V", "\\ud83d\\ude00"]')
    ['? V', '😀']

    Raises
    ------
    ValueError, RecursionError
        When it is no JSON, or deeper than can be read.
    """
    content = json.loads(data)
    if not _MAY_HOLD_HALVES.search(data):
        return content
    return json.loads(json.dumps(content, ensure_ascii=False).encode("utf-8", "replace"))


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """A cell that failed."""

    #: Its place among the cells that were run, from 0.
    cell: int
    #: The error in one line, in the learner's process's words.
    error: str


class Effort(NamedTuple):
    """What a learner's own notebook says of one question; no mark depends on it."""

    #: Different answers so far.
    tries: int
    #: From the first of them to the last.
    seconds: int

    @classmethod
    def told(cls, told: Mapping[Any, object]) -> Effort:
        """Return what a learner's notebook says, zero where that cannot be."""
        return cls(_whole(told.get("tries")), _whole(told.get("seconds")))


@dataclass(frozen=True, kw_only=True, slots=True)
class Run:
    """What one sheet did."""

    #: One ``(sheet, question, answer)`` a call of ``sheet.answer``, in order; the answer is JSON of any shape.
    answers: tuple[tuple[str, str, Any], ...] = ()
    #: By the place of an answer among them, the attempt whose numbers it was worked from, where that is not the first.
    attempts: Mapping[int, int] = field(default_factory=dict)
    #: By ``(sheet, question)``, where it says so.
    efforts: Mapping[tuple[str, str], Effort] = field(default_factory=dict)
    faults: tuple[Fault, ...] = ()
    #: A sentence when it did not run to its end; empty when it did.
    trouble: str = ""
    #: Seconds on the clock, from its first cell to its end.
    seconds: float = 0.0


@dataclass(slots=True)
class Reader:
    """Lines off the pipe, checked one by one."""

    answers: list[tuple[str, str, Any]] = field(default_factory=list)
    attempts: dict[int, int] = field(default_factory=dict)
    efforts: dict[tuple[str, str], Effort] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)
    #: When the first cell was begun, on this machine's running clock; zero before that.
    begun: float = 0.0
    #: Whether the last cell has ended.
    finished: bool = False
    #: Whether it wrote more than is read.
    too_much: bool = False
    lines: int = 0
    rest: bytes = b""

    def feed(self, data: bytes) -> None:
        """Take what came off the pipe; lines that are none of the three kinds are passed over."""
        *lines, self.rest = (self.rest + data).split(b"\n")
        for line in lines:
            self.lines += 1
            if self.lines <= _LINES and len(line) <= _LINE:
                self._take(line)
        if self.lines > _LINES or len(self.rest) > _LINE:
            self.too_much = True

    def _take(self, line: bytes) -> None:
        try:
            record = decoded(line)
        except (ValueError, RecursionError):
            return
        match record:
            case {"sheet": str(sheet), "question": str(question), "answer": answer, **rest} if rest.keys() <= _BESIDE:
                if (attempt := attempt_told(rest)) > 1:
                    self.attempts[len(self.answers)] = attempt
                self.answers.append((sheet, question, answer))
                if "tries" in rest:
                    self.efforts[sheet, question] = Effort.told(rest)
            case {"cell": int(cell), "error": str(error), **rest} if not rest and 0 <= cell < _LINES:
                self.faults.append(Fault(cell=cell, error=printable(error[:300])))
            case {"begun": True}:
                self.begun = self.begun or time.monotonic()
            case {"finished": True}:
                self.finished = True

    def run(self, ended: str, allowance: Allowance) -> Run:
        """Return what the sheet did.

        Parameters
        ----------
        ended : str
            ``"time"``, ``"memory"``, ``"broken"``, or the words for how its process ended by itself.
        allowance : Allowance
        """
        trouble = {
            "time": f"It ran longer than {allowance.seconds:g} s and was stopped there.",
            "memory": f"It used more than {allowance.memory // 1_000_000} MB of memory and was stopped there.",
            "broken": "It broke the process that ran it.",
        }.get(ended, "" if self.finished else f"Its process ended before its last cell ({ended}).")
        if self.too_much:
            trouble = "It wrote more than a sheet can answer; what came after was not read."
        seconds = time.monotonic() - self.begun if self.begun else 0.0
        return Run(
            answers=tuple(self.answers),
            attempts=self.attempts,
            efforts=self.efforts,
            faults=tuple(self.faults),
            trouble=trouble,
            seconds=seconds,
        )


def attempt_told(told: Mapping[Any, object]) -> int:
    """Return the attempt that a learner's notebook names; the first where it names none that can be."""
    attempt = told.get("attempt")
    return attempt if type(attempt) is int and 1 <= attempt <= MOST_ATTEMPTS else 1


def _whole(value: object) -> int:
    return value if type(value) is int and 0 <= value <= _MOST else 0
