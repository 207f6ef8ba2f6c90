"""Run sheets where no process is forked, on Windows and macOS: each in a new process, with a limit on time only."""

from __future__ import annotations

import json
import os
import subprocess
import tempfile
import threading
import time
from collections.abc import Sequence
from queue import Empty, Queue
from typing import IO

from labkit.errors import MarkingError
from labkit.marking.answers import Reader, Run
from labkit.marking.isolation import Allowance, child_command, child_environment

__all__ = ["START", "ColdRunner"]

#: Seconds that a process may take to import everything, even on a machine that is busy.
START = 180.0


class ColdRunner:
    """Starts a process for each sheet.

    Parameters
    ----------
    allowance : Allowance
        Of which only the time is kept everywhere.
    """

    def __init__(self, allowance: Allowance) -> None:
        self._allowance = allowance
        self._process: subprocess.Popen[bytes] | None = None
        self._stopped = False

    def run(self, cells: Sequence[str]) -> Run:
        """Run one sheet's code cells and return what it answered.

        Raises
        ------
        MarkingError
            When root asks: a sheet could end or delete anything.
        """
        if hasattr(os, "geteuid") and os.geteuid() == 0:
            raise MarkingError("Without isolation a sheet can end or delete anything. Mark as an ordinary user.")
        reader = Reader()
        with (
            tempfile.TemporaryDirectory(prefix="labkit-sheet-", ignore_cleanup_errors=True) as folder,
            tempfile.TemporaryFile() as job,
        ):
            job.write(json.dumps(list(cells)).encode("ascii"))
            job.seek(0)
            with subprocess.Popen(  # noqa: S603 (our own command)
                child_command(self._allowance, warm=False, wall=None),
                stdin=job,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                cwd=folder,
                env=child_environment(folder),
            ) as self._process:
                if self._stopped:  # before there was a process that could be ended
                    self._process.kill()
                ended = self._listen(self._process, reader)
        return reader.run(ended, self._allowance)

    def _listen(self, process: subprocess.Popen[bytes], reader: Reader) -> str:
        """Read until the process ends or its time is over; say how it ended."""
        told: Queue[bytes] = Queue(maxsize=100)
        assert process.stdout is not None  # noqa: S101 (it is a pipe)
        threading.Thread(target=_forward, args=(process.stdout, told), daemon=True).start()
        deadline = time.monotonic() + START
        try:
            while (data := told.get(timeout=max(0.0, deadline - time.monotonic()))) and not reader.too_much:
                reader.feed(data)
                deadline = reader.begun + self._allowance.seconds if reader.begun else deadline
        except Empty:
            process.kill()
            return "time"
        if reader.too_much:
            process.kill()
        return f"exit status {process.wait()}"

    def stop(self) -> None:
        """End whatever runs, from another thread; the runner is of no use afterwards."""
        self._stopped = True
        if self._process is not None:
            self._process.kill()

    close = stop


def _forward(pipe: IO[bytes], told: Queue[bytes]) -> None:
    """Pass on what comes off the pipe; an empty piece at its end."""
    while data := os.read(pipe.fileno(), 65_536):
        told.put(data)
    told.put(b"")
