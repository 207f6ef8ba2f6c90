"""The process in which returned sheets run; ``python -m labkit.marking._child`` starts it, and only the marker does.

With ``--warm`` it imports once all that sheets use, then waits on a socket (its standard input).
Each request carries two descriptors: the sheet's cells, and the end of a pipe for its answers.
It forks a clean child for the sheet, watches time and memory, ends everything the sheet started, and says how it went.
It reads nothing that a sheet wrote.

Without ``--warm`` (where there is no fork) it runs the one sheet on its standard input,
and answers on its standard output.
"""

from __future__ import annotations

import argparse
import contextlib
import ctypes
import gc
import itertools
import json
import os
import select
import signal
import socket
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

from labkit.marking._cells import preload, prepare, run_cells

_ANSWERS = 3  #: where the learner's process finds the pipe
_MANY = 8  #: sheets, after which it is worth loading all that any sheet may use
_COLLAPSE = 25  #: advice on memory, from Linux 6.1 on; an older one refuses it
_LOOK_EVERY = 0.05  #: s, between looks at the memory in use


def run_sheet(job: int, answers: int, *, seconds: float, confine: Callable[[], None]) -> NoReturn:
    """Run the cells that *job* holds, in this process, and end it."""
    code = 70
    try:
        with os.fdopen(os.dup(job), encoding="utf-8") as file:
            cells = json.load(file)
        os.dup2(answers, _ANSWERS)
        nothing = os.open(os.devnull, os.O_RDWR)
        for standard in (0, 1, 2):
            os.dup2(nothing, standard)
        os.closerange(_ANSWERS + 1, 4096)
        confine()
        os.environ["LABKIT_ANSWERS_FD"] = str(_ANSWERS)

        def report(position: int, error: str) -> None:
            _write({"cell": position, "error": error})

        _write({"begun": True})
        run_cells(cells, seconds=seconds, report=report)
        _write({"finished": True})
        code = 0
    finally:
        os._exit(code)


def _own_folder() -> None:
    """Make an empty folder this process's own, for its home and all its files."""
    folder = tempfile.mkdtemp(prefix="sheet-")
    os.environ["HOME"] = os.environ["TMPDIR"] = tempfile.tempdir = folder
    os.chdir(folder)


def _write(record: dict[str, Any]) -> None:
    with contextlib.suppress(OSError):  # the marker has stopped listening
        os.write(_ANSWERS, json.dumps(record).encode("ascii") + b"\n")


# --- the warm parent ------------------------------------------------------------------------------


class _Warm:
    """Forks a child for each sheet, and attends it to its end."""

    def __init__(self, marker: socket.socket, options: argparse.Namespace) -> None:
        from labkit.marking import _confine  # noqa: PLC0415 (it needs a Unix; without --warm nothing else does)

        self._confine = _confine
        self._marker = marker
        self._limits = _confine.Limits(
            seconds=options.seconds, memory=options.memory, processes=options.processes, file_size=options.file_size
        )
        self._inside = options.inside
        self._user = options.user
        self._own_processes = os.open("/proc/self/ns/pid", os.O_RDONLY) if options.inside else -1
        self._base = 0
        self._wake, wake = os.pipe()
        os.set_blocking(wake, False)
        signal.set_wakeup_fd(wake, warn_on_full_buffer=False)
        signal.signal(signal.SIGCHLD, lambda *_: None)
        with contextlib.suppress(OSError, AttributeError):  # Linux: whoever a sheet leaves behind becomes our child
            ctypes.CDLL(None).prctl(36, 1, 0, 0, 0)

    def serve(self) -> None:
        """Answer requests until the marker goes away."""
        self._settle()
        self._marker.sendall(b"ready\n")
        for served in itertools.count(1):
            request, descriptors, _, _ = socket.recv_fds(self._marker, 1, 2)
            if not request:
                return
            if not descriptors:
                continue  # it asked to stop a sheet that had ended by itself
            job, answers = descriptors
            child = self._fork(job, answers)
            os.close(job)
            os.close(answers)
            ended = self._attend(child)
            self._marker.sendall(ended.encode("ascii") + b"\n")
            if served == _MANY:
                preload()
                self._settle()
                _in_large_pages()

    def _settle(self) -> None:
        """Note what each fork starts with, and let its garbage collection copy no page of it."""
        gc.collect()
        gc.freeze()
        self._base = _own_memory("self")

    def _fork(self, job: int, answers: int) -> int:
        if self._inside:
            self._confine.enter_new_process_namespace()
        child = os.fork()
        if child == 0:
            signal.set_wakeup_fd(-1)
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            os.setsid()
            run_sheet(job, answers, seconds=self._limits.seconds, confine=self._confine_sheet)
        if self._inside:
            self._confine.leave_process_namespace(self._own_processes)
        return child

    def _confine_sheet(self) -> None:
        if self._inside:
            self._confine.confine(self._limits, user=self._user)
        else:
            self._confine.limit(self._limits, count_processes=False)
        _own_folder()

    def _attend(self, child: int) -> str:
        ends = time.monotonic() + self._limits.seconds
        reason = ""
        watched: list[Any] = [self._wake, self._marker]
        while not reason:
            readable, _, _ = select.select(watched, [], [], _LOOK_EVERY)
            if self._wake in readable:
                os.read(self._wake, 4096)
            done, status = os.waitpid(child, os.WNOHANG)
            if done:
                self._clear_up(child)
                code = os.waitstatus_to_exitcode(status)
                return f"stopped by signal {-code}" if code < 0 else f"exit status {code}"
            if self._marker in readable:
                reason = "marker"  # it says stop, or it is gone
                self._marker.recv(1)
            elif time.monotonic() > ends:
                reason = "time"
            elif self._inside and self._memory_of_sheet() > 1.25 * self._limits.memory:
                reason = "memory"
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        self._clear_up(child)
        return reason

    def _memory_of_sheet(self) -> int:
        """Return the bytes that the sheet's processes hold beyond what each got from this one."""
        here = {"1", str(os.getpid())}  # the first is bubblewrap's own
        others = [
            folder.name for folder in Path("/proc").iterdir() if folder.name.isdecimal() and folder.name not in here
        ]
        return sum(max(0, _own_memory(process) - self._base) for process in others)

    def _clear_up(self, child: int) -> None:
        """End whatever the sheet left running; in a namespace of its own, all of it has ended already."""
        if self._inside:
            return
        with contextlib.suppress(ProcessLookupError, PermissionError):
            os.killpg(child, signal.SIGKILL)
        children = Path(f"/proc/self/task/{os.getpid()}/children")
        with contextlib.suppress(OSError):
            while left := children.read_text(encoding="ascii").split():
                for one in left:
                    os.kill(int(one), signal.SIGKILL)
                    os.waitpid(int(one), 0)


def _own_memory(process: str) -> int:
    """Return the bytes that a process holds and does not share with files; zero when it is gone."""
    try:
        _, resident, shared, *_ = Path(f"/proc/{process}/statm").read_text(encoding="ascii").split()
    except (OSError, ValueError):
        return 0
    return (int(resident) - int(shared)) * os.sysconf("SC_PAGE_SIZE")


def _in_large_pages() -> None:
    """Have what this process holds lie in pages of 2 MB where Linux can: each fork has fewer of them to take over."""
    with contextlib.suppress(OSError):  # no /proc
        for line in Path("/proc/self/maps").read_text(encoding="utf-8").splitlines():
            place, rights, _, _, file, *_ = line.split()
            if (rights, file) == ("rw-p", "0"):
                start, end = (int(border, 16) for border in place.split("-"))
                ctypes.CDLL(None).madvise(ctypes.c_void_p(start), ctypes.c_size_t(end - start), _COLLAPSE)


# --- the command ----------------------------------------------------------------------------------


def main(arguments: Sequence[str] | None = None) -> int:
    """Run as the marker asks."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--warm", action="store_true")
    parser.add_argument("--inside", action="store_true", help="bubblewrap is around this process")
    parser.add_argument("--user", type=int, default=None)
    parser.add_argument("--seconds", type=float, required=True)
    parser.add_argument("--memory", type=int, required=True)
    parser.add_argument("--processes", type=int, required=True)
    parser.add_argument("--file-size", type=int, required=True)
    options = parser.parse_args(arguments)
    prepare()
    if not options.warm:
        run_sheet(0, 1, seconds=options.seconds, confine=_own_folder)
    with socket.socket(fileno=os.dup(0)) as marker:
        _Warm(marker, options).serve()
    return 0


if __name__ == "__main__":
    sys.exit(main())
