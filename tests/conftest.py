"""What every test may ask for."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import settings

# the same examples in every run, so that green means green; LABKIT_EXPLORE=1 draws new ones
settings.register_profile("repeatable", derandomize=True)
if os.environ.get("LABKIT_EXPLORE") != "1":
    settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def needs() -> Callable[[str], str]:
    """Return a function that finds a program, and skips where it is missing.

    With ``LABKIT_REQUIRE_ALL=1`` in the environment, as in CI, a missing program is a failure.
    """

    def find(program: str) -> str:
        path = shutil.which(program)
        if path is None:
            reason = f"{program} is not on this machine"
            (pytest.fail if os.environ.get("LABKIT_REQUIRE_ALL") == "1" else pytest.skip)(reason)
        return str(path)

    return find


@dataclass(frozen=True, kw_only=True)
class RunningKit:
    """A ``labkit start --no-browser`` that answers."""

    folder: Path
    #: What it said, one sentence a line; grows until it has ended.
    said: list[str]
    #: The address it told, its token included.
    address: str
    process: subprocess.Popen[str]
    #: What it and its kernels wrote to the terminal's error stream.
    errors: Path

    @property
    def server(self) -> str:
        """The address of the server alone, without a slash at its end."""
        return self.address.partition("/lab")[0]

    @property
    def token(self) -> str:
        """What the server asks of every request."""
        return self.address.partition("token=")[2]

    def stop(self) -> int:
        """Press Ctrl-C, wait, and return the exit status."""
        self.process.send_signal(signal.SIGINT)
        assert self.process.stdout is not None
        self.said.extend(self.process.stdout.read().splitlines())
        return self.process.wait(timeout=30)


@contextlib.contextmanager
def _running_kit(home: Path, *, browser: Path | None = None) -> Iterator[RunningKit]:
    private = {f"JUPYTER_{name}_DIR": str(home / f"jupyter-{name.lower()}") for name in ("CONFIG", "DATA", "RUNTIME")}
    environment = os.environ | private | {"IPYTHONDIR": str(home / "ipython"), "BROWSER": f"{browser} %s"}
    command = [sys.executable, "-m", "labkit", "start", "mine", *([] if browser else ["--no-browser"])]
    errors, said = home / "errors.txt", []
    with (
        errors.open("w") as stream,
        subprocess.Popen(command, cwd=home, env=environment, text=True, stdout=subprocess.PIPE, stderr=stream) as kit,
    ):
        try:
            assert kit.stdout is not None
            for line in kit.stdout:
                said.append(line.rstrip())
                if "Ctrl-C" in line:
                    break
            found = re.search(r"http://\S+", "\n".join(said))
            assert found, f"no address told: {said} {errors.read_text()}"
            yield RunningKit(folder=home / "mine", said=said, address=found[0], process=kit, errors=errors)
        finally:
            kit.send_signal(signal.SIGTERM)
            try:
                kit.wait(timeout=20)
            except subprocess.TimeoutExpired:
                kit.kill()


@pytest.fixture(scope="session")
def start_kit() -> Callable[..., AbstractContextManager[RunningKit]]:
    """Return a context manager: ``labkit start`` in a folder's ``mine``, with no setting from outside that folder."""
    return _running_kit
