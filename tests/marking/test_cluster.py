"""Marking on the workers of a real Dask scheduler, one of which is lost in the middle; and who is refused."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import psutil
import pytest
from distributed import Future

from labkit.cli import main
from labkit.errors import MarkingError
from labkit.marking import Allowance, Marking, mark_folder
from labkit.marking.answers import Effort, Fault, Run
from labkit.marking.cluster import Cluster, _how_many, _runs, _told, connected, run_on_workers

_ALONE = ("--host", "127.0.0.1", "--no-dashboard")


class Workshop:
    """A scheduler, and workers that are started and lost."""

    def __init__(self, folder: Path, options: tuple[str, ...]) -> None:
        self.folder = folder
        self._options = options
        self._file = folder / "scheduler.json"
        self._started: list[subprocess.Popen[bytes]] = []
        self._start("dask_scheduler", "--port", "0", "--scheduler-file", str(self._file))
        self.address = self._address()

    def _start(self, command: str, *options: str, **environment: str) -> subprocess.Popen[bytes]:
        log = (self.folder / f"{command}-{len(self._started)}.log").open("wb")
        with log:
            process = subprocess.Popen(
                [sys.executable, "-m", f"distributed.cli.{command}", *_ALONE, *options, *self._options],
                cwd=self.folder, stdout=log, stderr=log, env=os.environ | environment,
            )  # fmt: skip
        self._started.append(process)
        return process

    def _address(self) -> str:
        deadline = time.monotonic() + 600
        while time.monotonic() < deadline:
            with contextlib.suppress(OSError, ValueError):
                return str(json.loads(self._file.read_text())["address"])
            assert self._started[0].poll() is None, self.logs()
            time.sleep(0.1)
        raise AssertionError(self.logs())

    def worker(self, **environment: str) -> psutil.Process:
        """Start a worker of two threads, and wait until it has joined."""
        number = len(self._started)
        options = ("--scheduler-file", str(self._file), "--nthreads", "2", "--no-nanny")
        process = self._start(
            "dask_worker", *options, "--local-directory", str(self.folder / f"w{number}"), **environment
        )
        deadline = time.monotonic() + 600
        log = self.folder / f"dask_worker-{number}.log"
        while "Registered to" not in log.read_text():
            assert process.poll() is None, log.read_text()
            assert time.monotonic() < deadline, log.read_text()
            time.sleep(0.1)
        return psutil.Process(process.pid)

    def logs(self) -> str:
        """Return what all processes said."""
        return "\n".join(path.read_text() for path in self.folder.glob("*.log"))

    def close(self) -> None:
        """End what was started here."""
        for process in reversed(self._started):
            process.kill()
            process.wait()


@pytest.fixture
def workshop(tmp_path: Path) -> Iterator[Callable[..., Workshop]]:
    """Return a function that starts a scheduler."""
    started = []

    def start(*options: str) -> Workshop:
        (tmp_path / "dask").mkdir()
        started.append(Workshop(tmp_path / "dask", options))
        return started[-1]

    yield start
    for one in started:
        one.close()


def _marking(classroom: Any, ids: list[str], workshop: Workshop, **options: Any) -> Marking:
    return Marking(
        learners=classroom.learners(*ids), key=classroom.key, allowance=Allowance(seconds=60),
        cluster=Cluster(address=workshop.address, **options),
    )  # fmt: skip


def test_a_worker_is_lost_in_the_middle(
    tmp_path: Path, needs: Callable[[str], str], classroom: Any, counted: Any, workshop: Any
) -> None:
    """One of two workers is killed when sheets go out in pairs: all are marked once and rightly, and none lives on."""
    needs("bwrap")
    ids = [f"learner-{number}" for number in range(48)]
    for number, learner in enumerate(ids):
        extra = "import os; os._exit(0)" if number == 5 else "import time; time.sleep(0.2)"
        classroom.hand_in(tmp_path / "returned" / f"{learner}.ipynb", learner, extra=extra, q1="0 V")
    room = workshop()
    lost, _ = room.worker(), room.worker()
    below: list[psutil.Process] = []

    def lose(done: int, _: int) -> None:
        if done >= 40 and not below:
            below.extend(lost.children(recursive=True))
            lost.kill()

    result = mark_folder(tmp_path / "returned", tmp_path / "marks", _marking(classroom, ids, room), progress=lose)
    assert below, "nothing was running on the worker that was lost"
    assert psutil.wait_procs(below, timeout=60)[1] == []
    assert result.marked == len(ids)
    sheets = {sheet.learner: sheet for sheet in counted(tmp_path / "marks")}
    assert {learner: sheet.mark for learner, sheet in sheets.items()} == dict.fromkeys(ids, 7) | {"learner-5": 3}
    assert all(sheet.hand_ins == 1 for sheet in sheets.values())
    assert "exit status 0" in sheets["learner-5"].trouble
    assert {sheet.run.isolation for sheet in sheets.values()} == {"bubblewrap"}


def test_what_goes_out_together_is_not_lost_together(needs: Callable[[str], str], workshop: Any) -> None:
    """Sheets that went out in pairs and came to nothing go out again one by one; each comes back once, as its own."""
    needs("bwrap")
    room = workshop()
    room.worker()
    line = 'import os; os.write(3, b\'{"sheet": "s", "question": "q", "answer": %d}\\n\')'
    with connected(Cluster(address=room.address), isolated=True) as client:

        def jobs() -> Iterator[tuple[int, list[str]]]:
            for number in range(30):
                if number == 24:  # from the sixteenth on they go to two threads in pairs
                    client.cancel([Future(key, client) for key in list(client.futures)[-2:]], force=True)
                yield number, [line % number]

        runs = list(run_on_workers(jobs(), client, Allowance(seconds=60), isolated=True))
    assert sorted(number for number, _ in runs) == list(range(30))
    assert {number: (run.answers, run.trouble) for number, run in runs} == {
        number: ((("s", "q", number),), "") for number in range(30)
    }


def test_what_a_sheet_did_comes_back_whole() -> None:
    """Answers, the attempts that they were worked from, tries, faults and time are what they were on the worker."""
    run = Run(
        answers=(("pin-limits", "Which?", "1 V"), ("pin-limits", "How much?", {"value": 2.0, "unit": "volt"})),
        attempts={1: 2},
        efforts={("pin-limits", "Which?"): Effort(2, 30)},
        faults=(Fault(cell=1, error="ValueError"),),
        trouble="It ended early.",
        seconds=1.5,
    )

    assert list(_runs(json.dumps({"runs": [_told(run), _told(Run())]}))) == [run, Run()]


@pytest.mark.parametrize("threads", [1, 2, 16])
def test_a_small_class_is_spread(threads: int) -> None:
    """Every thread has two sheets before two go out together, and no more than eight ever do."""
    together = [_how_many(sent, threads) for sent in range(200 * threads)]
    assert together[: 2 * threads] == [1] * (2 * threads)
    assert (together[2 * threads], together[-1], max(together)) == (2, 8, 8)


def test_workers_that_cannot_mark(tmp_path: Path, classroom: Any, workshop: Any) -> None:
    """A scheduler without workers is refused, and a worker without bubblewrap, before any sheet is run."""
    room = workshop()
    marking = _marking(classroom, ["amber-17"], room)
    classroom.hand_in(tmp_path / "returned" / "amber-17.ipynb", "amber-17")
    with pytest.raises(MarkingError, match="has no workers"):
        mark_folder(tmp_path / "returned", tmp_path / "marks", marking)
    room.worker(PATH=str(tmp_path))
    with pytest.raises(MarkingError, match="has no bubblewrap to shut sheets in"):
        mark_folder(tmp_path / "returned", tmp_path / "marks", marking)


@pytest.mark.parametrize(
    "address",
    [
        "tcp://10.0.0.5:8786",
        "10.0.0.5:8786",
        "tcp://0.0.0.0:8786",
        "marker.example:8786",
        "ws://127.0.0.1:8786",
    ],
)
def test_an_open_scheduler_is_refused(address: str) -> None:
    """An address that the network can reach without a certificate is refused with the reason, unconnected."""
    with (
        pytest.raises(MarkingError, match=r"asks nobody who they are.*tls://"),
        connected(Cluster(address=address), isolated=True),
    ):
        pass


@pytest.mark.parametrize(
    "address", ["", "tcp://", "127.0.0.1", "tcp://127.0.0.1:port", "localhost:99999", "tls://[::1"]
)
def test_what_is_no_address(address: str) -> None:
    """A text that is no address with a port is met with one that is."""
    with (
        pytest.raises(MarkingError, match=r"must be an address such as tcp://127\.0\.0\.1:8786; got"),
        connected(Cluster(address=address), isolated=True),
    ):
        pass


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "localhost:9", "tcp://[::1]:9"])
def test_nobody_answers(address: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where no scheduler listens, that is said with its address."""
    monkeypatch.setattr("labkit.marking.cluster._PATIENCE", 1.0)
    with (
        pytest.raises(MarkingError, match="No scheduler answers at"),
        connected(Cluster(address=address), isolated=True),
    ):
        pass


def test_without_dask(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where Dask is not installed, the sentence says what to install."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    with (
        pytest.raises(MarkingError, match=r'pip install "labkit\[cluster\]"'),
        connected(Cluster(address="tcp://127.0.0.1:9"), isolated=True),
    ):
        pass


def _certificates(folder: Path, openssl: str) -> None:
    """Make an authority, and a certificate by it for 127.0.0.1."""
    folder.mkdir()
    day = ["-days", "1", "-subj", "/CN=an authority of this test"]
    key = ["-newkey", "rsa:2048", "-nodes"]
    for command in (
        ["req", "-x509", *key, "-keyout", "ca.key", "-out", "ca.pem", *day],
        ["req", *key, "-keyout", "own.key", "-out", "own.csr", "-subj", "/CN=127.0.0.1"],
        ["x509", "-req", "-in", "own.csr", "-CA", "ca.pem", "-CAkey", "ca.key", "-CAcreateserial", "-out", "own.pem",
         "-days", "1"],
    ):  # fmt: skip
        subprocess.run([openssl, *command], cwd=folder, check=True, capture_output=True)


@pytest.mark.slow
def test_over_tls(
    tmp_path: Path, needs: Callable[[str], str], classroom: Any, workshop: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    """With certificates a tls:// scheduler marks; without them it is not even talked to; a missing file is named."""
    needs("bwrap")
    _certificates(tmp_path / "tls", needs("openssl"))
    files = [str(tmp_path / "tls" / name) for name in ("ca.pem", "own.pem", "own.key")]
    options = [word for pair in zip(("--tls-ca-file", "--tls-cert", "--tls-key"), files, strict=True) for word in pair]
    room = workshop(*options, "--protocol", "tls")
    room.worker()
    assert room.address.startswith("tls://")
    classroom.hand_in(tmp_path / "returned" / "amber-17.ipynb", "amber-17")
    (tmp_path / "class.csv").write_text("id,group\namber-17,tuesday\n")
    (tmp_path / "key").write_text(classroom.key.hex())
    mark = [
        "mark",
        str(tmp_path / "returned"),
        "--class-list",
        str(tmp_path / "class.csv"),
        "--key",
        str(tmp_path / "key"),
    ]
    mark += ["--scheduler", room.address]
    assert main(mark) == 1
    assert "asks for certificates. Name their folder with --certificates." in capsys.readouterr().err
    assert main([*mark, "--certificates", str(tmp_path)]) == 1
    assert "ca.pem" in capsys.readouterr().err
    assert main([*mark, "--certificates", str(tmp_path / "tls")]) == 0
    assert "Marked 1 sheet." in capsys.readouterr().out
