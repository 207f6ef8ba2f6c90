"""What every test may ask for."""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings

# the same examples in every run, so that green means green (LABKIT_EXPLORE=1 draws new ones), however long one takes
settings.register_profile(
    "labkit",
    derandomize=os.environ.get("LABKIT_EXPLORE") != "1",
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("labkit")


@pytest.fixture(scope="session", autouse=True)
def _nothing_from_outside(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep out settings of whoever runs the tests, and a history that kernels of several test processes would share.

    A suite that is started in the background ignores Ctrl-C, and so would every program that it starts.
    """
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    with pytest.MonkeyPatch.context() as environment:
        for name in ("IPYTHONDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR"):
            environment.setenv(name, str(tmp_path_factory.mktemp(name.lower())))
        yield
    signal.signal(signal.SIGINT, before)


@pytest.fixture(scope="session")
def run_notebook() -> Callable[[Any, Path], None]:
    """Return a function that runs a notebook as Jupyter does, in a kernel of its own that works in a folder.

    The outputs are in the notebook afterwards; a cell that fails ends the run with nbclient's error.
    Kernel and client meet at files: of ports that are found free, another process may take one before the kernel does.
    """
    from nbclient import NotebookClient
    from traitlets.config import Config

    def run(book: Any, folder: Path) -> None:
        with tempfile.TemporaryDirectory() as meeting:  # its name is short, as that of a socket has to be
            kernel = {"transport": "ipc", "connection_file": f"{meeting}/kernel.json"} if os.name == "posix" else {}
            NotebookClient(
                book, timeout=600, startup_timeout=600, kernel_name="python3", config=Config(KernelManager=kernel),
                resources={"metadata": {"path": str(folder)}},
            ).execute()  # fmt: skip

    return run


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
        self.said.extend(self.process.communicate(timeout=300)[0].splitlines())
        return self.process.returncode


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
                kit.wait(timeout=60)
            except subprocess.TimeoutExpired:
                kit.kill()


@pytest.fixture(scope="session")
def start_kit() -> Callable[..., AbstractContextManager[RunningKit]]:
    """Return a context manager: ``labkit start`` in a folder's ``mine``, with no setting from outside that folder."""
    return _running_kit
