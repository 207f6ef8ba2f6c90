"""Run returned sheets, each in a process of its own, and collect what they answered.

This side reads lines of JSON with a fixed shape and a bounded length from a pipe, and nothing else.
It never imports, unpickles or evaluates anything that a learner wrote.
Whatever a sheet writes is an answer to one of its own questions, and is worth what that answer is worth.
"""

from __future__ import annotations

import json
import os
import select
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from types import TracebackType
from typing import IO, Any, Self, TypeVar

from labkit.errors import MarkingError
from labkit.marking.isolation import Allowance, child_command, child_environment

__all__ = ["Fault", "Run", "Runner", "run_all"]

_LINE = 4_000  #: bytes in one line, at most
_LINES = 2_000  #: lines of one sheet, at most
_GRACE = 10.0  #: s, for the warm parent to end a sheet before it is ended itself
_START = 60.0  #: s, to import everything once

Key = TypeVar("Key")


@dataclass(frozen=True, kw_only=True, slots=True)
class Fault:
    """A cell that failed."""

    #: Its place among the cells that were run, from 0.
    cell: int
    #: The error in one line, in the learner's process's words.
    error: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Run:
    """What one sheet did."""

    #: One ``(sheet, question, answer)`` a call of ``sheet.answer``, in order; the answer is JSON of any shape.
    answers: tuple[tuple[str, str, Any], ...] = ()
    faults: tuple[Fault, ...] = ()
    #: A sentence when it did not run to its end; empty when it did.
    trouble: str = ""
    #: Seconds on the clock.
    seconds: float = 0.0


@dataclass(slots=True)
class _Reader:
    """Lines off the pipe, checked one by one."""

    answers: list[tuple[str, str, Any]] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    finished: bool = False
    lines: int = 0
    rest: bytes = b""
    too_much: bool = False

    def feed(self, data: bytes) -> None:
        *lines, self.rest = (self.rest + data).split(b"\n")
        for line in lines:
            self.lines += 1
            if self.lines <= _LINES and len(line) <= _LINE:
                self._take(line)
        if self.lines > _LINES or len(self.rest) > _LINE:
            self.too_much = True

    def _take(self, line: bytes) -> None:
        try:
            record = json.loads(line)
        except (ValueError, RecursionError):
            return
        match record:
            case {"sheet": str(sheet), "question": str(question), "answer": answer, **rest} if not rest:
                self.answers.append((sheet, question, answer))
            case {"cell": int(cell), "error": str(error), **rest} if not rest:
                self.faults.append(Fault(cell=cell, error=error[:300]))
            case {"finished": int()}:
                self.finished = True


class Runner:
    """A warm process that runs one sheet after another, each in a clean fork of it; use it in a ``with``.

    Parameters
    ----------
    allowance : Allowance
        What each sheet may use.
    wall : str or None
        Where ``bwrap`` is; None runs sheets with limits only.
    place : int
        Which of several runners at work together this is.

    Raises
    ------
    MarkingError
        When the process does not start; with *wall*, when this machine does not let bubblewrap work.
    """

    def __init__(self, allowance: Allowance, *, wall: str | None, place: int = 0) -> None:
        self._allowance = allowance
        self._wall = wall
        self._place = place
        self._process: subprocess.Popen[bytes] | None = None
        self._socket: socket.socket | None = None

    def __enter__(self) -> Self:
        self._start()
        return self

    def __exit__(self, *_exception: type[BaseException] | BaseException | TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """End the process and whatever runs in it."""
        if self._socket is not None:
            self._socket.close()
        if self._process is not None:
            try:
                self._process.wait(timeout=2)
            except subprocess.TimeoutExpired:
                self._process.kill()
                self._process.wait()
        self._socket = self._process = None

    def _start(self) -> None:
        if self._wall is None and hasattr(os, "geteuid") and os.geteuid() == 0:
            raise MarkingError("Without isolation a sheet could end or delete anything: mark as an ordinary user, not as root.")
        self._folder = tempfile.TemporaryDirectory(prefix="labkit-marking-")
        ours, theirs = socket.socketpair()
        ours.settimeout(_START)
        folder = "/tmp" if self._wall else self._folder.name  # noqa: S108 (bubblewrap's own, in memory)
        with theirs, tempfile.TemporaryFile() as complaints:
            self._process = subprocess.Popen(
                child_command(self._allowance, warm=True, wall=self._wall, place=self._place),
                stdin=theirs,
                stdout=subprocess.DEVNULL,
                stderr=complaints,
                cwd="/" if self._wall else self._folder.name,
                env=child_environment(folder),
                start_new_session=True,
            )
            self._socket = ours
            theirs.close()
            try:
                ready = _line(ours)
            except OSError:
                ready = None
            if ready is None:
                self.close()
                complaints.seek(0)
                said = complaints.read(2_000).decode(errors="replace").strip()
                raise MarkingError(f"The process for sheets did not start: {said or 'it said nothing.'}")
        ours.settimeout(self._allowance.seconds + _GRACE)

    def run(self, cells: Sequence[str]) -> Run:
        """Run one sheet's code cells and return what it answered; the process is started again if the sheet broke it."""
        if self._process is None:
            self._start()
        begun = time.monotonic()
        reader = _Reader()
        with tempfile.TemporaryFile() as job:
            job.write(json.dumps(list(cells)).encode("ascii"))
            job.seek(0)
            ended = self._exchange(job, reader)
        seconds = time.monotonic() - begun
        if ended is None:
            self.close()
        return Run(
            answers=tuple(reader.answers),
            faults=tuple(reader.faults),
            trouble=self._trouble(ended, reader),
            seconds=seconds,
        )

    def _exchange(self, job: IO[bytes], reader: _Reader) -> dict[str, Any] | None:
        assert self._socket is not None
        pipe, far_end = os.pipe()
        try:
            socket.send_fds(self._socket, [b"r"], [job.fileno(), far_end])
        except OSError:
            os.close(pipe)
            return None
        finally:
            os.close(far_end)
        with os.fdopen(pipe, "rb", buffering=0) as answers:
            os.set_blocking(pipe, False)
            return self._listen(self._socket, answers, reader)

    def _listen(self, warm: socket.socket, answers: IO[bytes], reader: _Reader) -> dict[str, Any] | None:
        """Read answers until the warm parent says how the sheet ended; None when it says nothing."""
        deadline = time.monotonic() + self._allowance.seconds + _GRACE
        listening: list[Any] = [warm, answers]
        try:
            while warm not in (ready := select.select(listening, [], [], deadline - time.monotonic())[0]):
                if not ready:
                    return None
                if not _take(answers, reader):
                    listening = [warm]
                if reader.too_much and answers in listening:
                    listening = [warm]
                    warm.sendall(b"s")
            while _take(answers, reader) and not reader.too_much:
                pass
            return _line(warm)
        except (OSError, ValueError):  # gone, or past the deadline
            return None

    def _trouble(self, ended: dict[str, Any] | None, reader: _Reader) -> str:
        if reader.too_much:
            return "It wrote more than a sheet can answer; what came after was not read."
        if ended is None:
            return "It broke the process that ran it."
        if ended["ended"] == "time":
            return f"It ran longer than {self._allowance.seconds:g} s and was stopped there."
        if ended["ended"] == "memory":
            return f"It used more than {self._allowance.memory // 1_000_000} MB of memory and was stopped there."
        if not reader.finished:
            return f"Its process ended before its last cell ({_exit_words(ended['code'])})."
        return ""


def _take(answers: IO[bytes], reader: _Reader) -> bool:
    """Feed the reader with what the pipe holds now; False when that is nothing, or it has ended."""
    data = answers.read(65_536)
    if data:
        reader.feed(data)
    return bool(data)


def _exit_words(code: int) -> str:
    return f"stopped by signal {-code}" if code < 0 else f"exit status {code}"


def _line(connection: socket.socket) -> dict[str, Any] | None:
    """Read one line of the warm parent's; None when it is gone."""
    data = b""
    while not data.endswith(b"\n"):
        more = connection.recv(4096)
        if not more:
            return None
        data += more
    decoded: dict[str, Any] = json.loads(data)
    return decoded
