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
import time
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from queue import SimpleQueue
from typing import IO, Any, Self, TypeAlias, TypeVar

from labkit.errors import MarkingError
from labkit.marking.answers import Reader, Run
from labkit.marking.cold import START, ColdRunner
from labkit.marking.isolation import FOLDER, Allowance, child_command, child_environment

__all__ = ["AnyRunner", "Runner", "new_runner", "run_all"]

_ADVICE = "Where bubblewrap may not work, --without-isolation runs the sheets of people whom you trust."
_GRACE = 10.0  #: s, for the warm parent to end a sheet before it is ended itself
_PAUSE = 0.02  #: s, between looks at the answers: each look costs the sheet some time, and the pipe holds many

Key = TypeVar("Key")


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
        self._stopped = False

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
        home = self._folder.name if self._folder else FOLDER
        self._socket, theirs = socket.socketpair()
        self._socket.settimeout(START)
        with theirs, tempfile.TemporaryFile() as complaints:
            process = subprocess.Popen(  # noqa: S603 (our own command)
                child_command(self._allowance, warm=True, wall=self._wall, place=self._place),
                stdin=theirs.fileno(),
                stdout=subprocess.DEVNULL,
                stderr=complaints,
                cwd=self._folder.name if self._folder else "/",
                env=child_environment(home),
                start_new_session=True,
            )
            theirs.close()
            started = _line(self._socket) is not None
            self._process = process  # not before: bubblewrap that is killed as it starts leaves a process behind
            if self._stopped:
                process.kill()
                self.close()
                return
            if not started:
                self.close()
                complaints.seek(0)
                said = complaints.read(2_000).decode(errors="replace").strip()
                raise MarkingError(f"The process for sheets did not start: {said or 'it said nothing.'} {_ADVICE}")
        self._socket.settimeout(self._allowance.seconds + _GRACE)
        trial = Reader()
        if (ended := self._exchange([], trial)) and not trial.finished:
            self.close()
            raise MarkingError(f"A sheet cannot be shut in here ({ended}). {_ADVICE}")

    def run(self, cells: Sequence[str]) -> Run:
        """Run one sheet's code cells and return what it answered.

        A sheet that ends the process which runs it gets a second one; what it answered then is what counts.
        """
        for _ in range(2):
            if self._process is None:
                self._start()
            reader = Reader()
            ended = self._exchange(cells, reader)
            if ended is not None or self._stopped:
                break
            self.close()
        return reader.run(ended or "broken", self._allowance)

    def stop(self) -> None:
        """End whatever runs, from another thread; the runner is of no use afterwards."""
        self._stopped = True
        if (process := self._process) is not None:
            process.kill()

    def _exchange(self, cells: Sequence[str], reader: Reader) -> str | None:
        """Have the warm parent run the cells; return how that ended, or None when the warm parent is gone."""
        if self._socket is None or self._stopped:
            return None
        pipe, far_end = os.pipe()
        with os.fdopen(pipe, "rb", buffering=0) as answers, tempfile.TemporaryFile() as job:
            job.write(json.dumps(list(cells)).encode("ascii"))
            job.seek(0)
            os.set_blocking(pipe, False)
            try:
                socket.send_fds(self._socket, [b"r"], [job.fileno(), far_end])
            except OSError:
                return None
            finally:
                os.close(far_end)
            return self._listen(self._socket, answers, reader)

    def _listen(self, warm: socket.socket, answers: IO[bytes], reader: Reader) -> str | None:
        """Read answers until the warm parent says how the sheet ended; None when it says nothing."""
        before, after = time.monotonic() + START, self._allowance.seconds + _GRACE
        listening: list[Any] = [warm, answers]
        try:
            while True:
                deadline = reader.begun + after if reader.begun else before
                ready = select.select(listening, [], [], deadline - time.monotonic())[0]
                if warm in ready:
                    break
                if not ready:
                    return None
                if not _take(answers, reader):
                    listening = [warm]
                if reader.too_much and answers in listening:
                    listening = [warm]
                    warm.sendall(b"s")
                select.select([warm], [], [], _PAUSE)
            while _take(answers, reader) and not reader.too_much:
                pass
            return _line(warm)
        except (OSError, ValueError):  # gone, or past the deadline
            return None


def _take(answers: IO[bytes], reader: Reader) -> bool:
    """Feed the reader with what the pipe holds now; False when that is nothing, or it has ended."""
    data = answers.read(65_536)
    if data:
        reader.feed(data)
    return bool(data)


def _line(connection: socket.socket) -> str | None:
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
    return data.decode("ascii").strip()


# --- many sheets ----------------------------------------------------------------------------------

AnyRunner: TypeAlias = Runner | ColdRunner


def new_runner(allowance: Allowance, *, wall: str | None, place: int = 0) -> AnyRunner:
    """Return the best runner that this machine can have.

    On macOS a fork may crash, since the system's libraries start threads: Python's page on multiprocessing says so.
    """
    if hasattr(os, "fork") and sys.platform != "darwin":
        return Runner(allowance, wall=wall, place=place)
    return ColdRunner(allowance)


def run_all(jobs: Iterable[tuple[Key, Sequence[str]]], runners: Sequence[AnyRunner]) -> Iterator[tuple[Key, Run]]:
    """Run many sheets, as many at once as there are runners, and give each as it is done.

    Parameters
    ----------
    jobs : iterable of (key, cells)
        Taken up as runners get free, so that any number passes through.
    runners : sequence of Runner or ColdRunner
    """
    idle: SimpleQueue[AnyRunner] = SimpleQueue()
    for runner in runners:
        idle.put(runner)

    def work(cells: Sequence[str]) -> Run:
        runner = idle.get()
        try:
            return runner.run(cells)
        finally:
            idle.put(runner)

    pool = ThreadPoolExecutor(len(runners))
    waiting: dict[Future[Run], Key] = {}
    try:
        for key, cells in jobs:
            waiting[pool.submit(work, cells)] = key
            while len(waiting) >= 2 * len(runners):
                yield from _done(waiting)
        while waiting:
            yield from _done(waiting)
    except BaseException:  # Ctrl-C, a full disk: wait for no sheet
        for future in waiting:
            future.cancel()
        for runner in runners:
            runner.stop()
        raise
    finally:
        pool.shutdown()


def _done(waiting: dict[Future[Run], Key]) -> Iterator[tuple[Key, Run]]:
    """Wait until something is done, and give that."""
    for future in wait(waiting, return_when=FIRST_COMPLETED).done:
        yield waiting.pop(future), future.result()
