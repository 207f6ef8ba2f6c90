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
import tempfile
import time
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from dataclasses import dataclass, field
from queue import SimpleQueue
from typing import IO, Any, Self, TypeVar

from labkit.errors import MarkingError
from labkit.marking.isolation import Allowance, child_command, child_environment

__all__ = ["Fault", "Run", "Runner", "run_all"]

_LINE = 4_000  #: bytes in one line, at most
_LINES = 2_000  #: lines of one sheet, at most
_GRACE = 10.0  #: s, for the warm parent to end a sheet before it is ended itself
_START = 180.0  #: s, to import everything once, even on a machine that is busy

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
        self._folder: tempfile.TemporaryDirectory[str] | None = None

    def __enter__(self) -> Self:
        self._start()
        return self

    def __exit__(self, *_exception: object) -> None:
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
        if self._folder is not None:
            self._folder.cleanup()
        self._socket = self._process = self._folder = None

    def _start(self) -> None:
        if self._wall is None and os.geteuid() == 0:
            raise MarkingError(
                "Without isolation a sheet can end or delete anything. Mark as an ordinary user, not as root."
            )
        if self._wall is None:
            self._folder = tempfile.TemporaryDirectory(prefix="labkit-marking-", ignore_cleanup_errors=True)
        home = self._folder.name if self._folder else "/tmp"  # noqa: S108 (bubblewrap's own, in memory)
        self._socket, theirs = socket.socketpair()
        self._socket.settimeout(_START)
        with theirs, tempfile.TemporaryFile() as complaints:
            self._process = subprocess.Popen(  # noqa: S603 (our own command)
                child_command(self._allowance, warm=True, wall=self._wall, place=self._place),
                stdin=theirs.fileno(),
                stdout=subprocess.DEVNULL,
                stderr=complaints,
                cwd=self._folder.name if self._folder else "/",
                env=child_environment(home),
                start_new_session=True,
            )
            theirs.close()
            if _line(self._socket) is None:
                self.close()
                complaints.seek(0)
                said = complaints.read(2_000).decode(errors="replace").strip()
                raise MarkingError(f"The process for sheets did not start: {said or 'it said nothing.'}")
        self._socket.settimeout(self._allowance.seconds + _GRACE)

    def run(self, cells: Sequence[str]) -> Run:
        """Run one sheet's code cells and return what it answered.

        A sheet that ends the process which runs it gets a second one; what it answered then is what counts.
        """
        for _ in range(2):
            begun = time.monotonic()
            reader = _Reader()
            if self._process is None:
                self._start()
            with tempfile.TemporaryFile() as job:
                job.write(json.dumps(list(cells)).encode("ascii"))
                job.seek(0)
                ended = self._exchange(job, reader)
            if ended is not None:
                break
            self.close()
        return Run(
            answers=tuple(reader.answers),
            faults=tuple(reader.faults),
            trouble=self._trouble(ended, reader),
            seconds=time.monotonic() - begun,
        )

    def _exchange(self, job: IO[bytes], reader: _Reader) -> dict[str, Any] | None:
        """Have the warm parent run the job; return how it ended, or None when the warm parent is gone."""
        if self._socket is None:
            return None
        pipe, far_end = os.pipe()
        with os.fdopen(pipe, "rb", buffering=0) as answers:
            os.set_blocking(pipe, False)
            try:
                socket.send_fds(self._socket, [b"r"], [job.fileno(), far_end])
            except OSError:
                return None
            finally:
                os.close(far_end)
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
    """Read one line of the warm parent's; None when it is gone or silent."""
    data = b""
    while not data.endswith(b"\n"):
        try:
            more = connection.recv(4096)
        except OSError:
            return None
        if not more:
            return None
        data += more
    decoded: dict[str, Any] = json.loads(data)
    return decoded


def run_all(jobs: Iterable[tuple[Key, Sequence[str]]], runners: Sequence[Runner]) -> Iterator[tuple[Key, Run]]:
    """Run many sheets, as many at once as there are runners, and give each as it is done.

    Parameters
    ----------
    jobs : iterable of (key, cells)
        Taken up as runners get free, so that any number passes through.
    runners : sequence of Runner
    """
    idle: SimpleQueue[Runner] = SimpleQueue()
    for runner in runners:
        idle.put(runner)

    def work(cells: Sequence[str]) -> Run:
        runner = idle.get()
        try:
            return runner.run(cells)
        finally:
            idle.put(runner)

    with ThreadPoolExecutor(len(runners)) as pool:
        waiting: dict[Future[Run], Key] = {}
        for key, cells in jobs:
            waiting[pool.submit(work, cells)] = key
            while len(waiting) >= 2 * len(runners):
                yield from _done(waiting)
        while waiting:
            yield from _done(waiting)


def _done(waiting: dict[Future[Run], Key]) -> Iterator[tuple[Key, Run]]:
    """Wait until something is done, and give that."""
    for future in wait(waiting, return_when=FIRST_COMPLETED).done:
        yield waiting.pop(future), future.result()
