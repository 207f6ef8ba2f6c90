"""Run returned sheets on the workers of a Dask scheduler, shut in there as they are here.

Each thread of a worker starts a warm process of its own: a worker has many threads, and forking from it is unsafe.
Only code cells go out, and only JSON text with a fixed shape comes back; judging and the mark register stay here.
A small class goes out sheet by sheet, so that every worker has some; of a large one several sheets go out together,
since sending costs as much for one as for eight.
Sheets whose worker is lost are run by another.

A scheduler's port asks nobody who they are: whoever reaches it can run code on every worker.
So a scheduler and its workers must be on this machine's own loopback address, or speak TLS with certificates.
"""

from __future__ import annotations

import importlib
import ipaddress
import json
import threading
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from importlib.metadata import version
from itertools import count, islice
from pathlib import Path
from typing import Any, TypeAlias, TypeVar
from urllib.parse import urlsplit

from labkit.errors import MarkingError
from labkit.marking.answers import Effort, Fault, Run
from labkit.marking.isolation import Allowance, bubblewrap
from labkit.marking.running import AnyRunner, new_runner

__all__ = ["Cluster", "connected", "run_on_workers"]

_PATIENCE = 20.0  #: s, for a scheduler to answer
_TOGETHER = 8  #: sheets that go out together, at most
_LOST = "The workers that ran it were lost, one after the other."

Key = TypeVar("Key")
Batch: TypeAlias = list[tuple[Key, Sequence[str]]]


@dataclass(frozen=True, kw_only=True, slots=True)
class Cluster:
    """Where sheets are run.

    Parameters
    ----------
    address : str
        Of the scheduler: ``"tcp://127.0.0.1:8786"``, ``"tls://marker.example:8786"``.
    certificates : Path, optional
        A folder with ``ca.pem``, ``own.pem`` and ``own.key`` for TLS.
    """

    address: str
    certificates: Path | None = None


@contextmanager
def connected(cluster: Cluster, *, isolated: bool) -> Iterator[Any]:
    """Give a client of the scheduler, once it is sure that sheets can be run on its workers.

    Raises
    ------
    MarkingError
        When strangers could reach scheduler or workers, none answers, or a worker cannot shut sheets in.
    """
    distributed = _distributed()
    _refuse_open(cluster.address)
    try:
        client = distributed.Client(
            cluster.address,
            security=_security(distributed, cluster),
            timeout=_PATIENCE,
            set_as_default=False,
            deserializers=["dask", "msgpack", "error"],  # nothing that comes back is unpickled
        )
    except (OSError, ValueError, TimeoutError) as error:
        msg = f"No scheduler answers at {cluster.address}: {error}. Is it running, and the port right?"
        raise MarkingError(msg) from error
    with client:
        told = client.scheduler_info(n_workers=-1)
        workers = told["workers"]
        if not workers:
            raise MarkingError(f"The scheduler at {cluster.address} has no workers. Start some, and try again.")
        for address in (told["address"], *workers):
            _refuse_open(address)
        for address, about in client.run(_about).items():
            _refuse_unfit(address, json.loads(about), isolated=isolated)
        yield client


def _distributed() -> Any:
    try:
        return importlib.import_module("distributed")
    except ImportError as error:
        msg = '--scheduler needs Dask, on this machine and on its workers: pip install "labkit[cluster]"'
        raise MarkingError(msg) from error


def _security(distributed: Any, cluster: Cluster) -> Any:
    if cluster.certificates is None:
        configured = distributed.Security()  # Dask's own settings may name certificates
        if cluster.address.startswith("tls://") and not configured.tls_ca_file:
            raise MarkingError(f"{cluster.address} asks for certificates. Name their folder with --certificates.")
        return configured
    files = {name: cluster.certificates / name for name in ("ca.pem", "own.pem", "own.key")}
    for path in files.values():
        path.stat()  # a missing file is told by its name
    authority, own, key = map(str, files.values())
    return distributed.Security(tls_ca_file=authority, tls_client_cert=own, tls_client_key=key, require_encryption=True)


def _refuse_open(address: str) -> None:
    """Refuse an address that anybody on the network can reach without a certificate."""
    try:
        parts = urlsplit(address if "://" in address else f"tcp://{address}")
        complete = bool(parts.hostname and parts.port)
    except ValueError:
        complete = False
    if not complete:
        raise MarkingError(f"--scheduler must be an address such as tcp://127.0.0.1:8786; got {address!r}.")
    if parts.scheme == "tls" or (parts.scheme == "tcp" and _is_this_machine(parts.hostname or "")):
        return
    raise MarkingError(
        f"{address} is open to the network: a scheduler's port asks nobody who they are, and whoever reaches it can "
        "run code on every worker. Bind scheduler and workers to 127.0.0.1, or use tls:// with certificates."
    )


def _is_this_machine(host: str) -> bool:
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def _refuse_unfit(address: str, about: dict[str, Any], *, isolated: bool) -> None:
    if about["labkit"] != version("labkit"):
        raise MarkingError(
            f"The worker {address} has labkit {about['labkit']}, and this is {version('labkit')}. Install one version."
        )
    if isolated and not about["walls"]:
        raise MarkingError(f"The worker {address} has no bubblewrap to shut sheets in. Install it there.")


# --- here: sending sheets out ---------------------------------------------------------------------


def run_on_workers(
    jobs: Iterable[tuple[Key, Sequence[str]]], client: Any, allowance: Allowance, *, isolated: bool
) -> Iterator[tuple[Key, Run]]:
    """Run many sheets on a scheduler's workers, and give each as it is done.

    Parameters
    ----------
    jobs : iterable of (key, cells)
        Taken up as workers get free, so that any number passes through.
    client : distributed.Client
    allowance : Allowance
    isolated : bool

    Raises
    ------
    MarkingError
        When a worker refuses to run sheets.
    """
    left, limits, sent = iter(jobs), asdict(allowance), 0
    finished = _distributed().as_completed(loop=client.loop)
    waiting: dict[Any, Batch[Key]] = {}

    def send(batch: Batch[Key]) -> None:
        cells = [list(cells) for _, cells in batch]
        future = client.submit(_run_there, cells, limits, isolated, pure=False, retries=1)
        waiting[future] = batch
        finished.add(future)

    try:
        while True:
            threads = max(1, sum(client.ncores().values()))
            while len(waiting) < 2 * threads and (batch := list(islice(left, _how_many(sent, threads)))):
                send(batch)
                sent += len(batch)
            if not waiting:
                return
            future = next(finished)
            batch = waiting.pop(future)
            if future.status == "finished":
                yield from zip((key for key, _ in batch), _runs(future.result()), strict=True)
            elif len(batch) == 1:  # its workers were lost, or it was cancelled from elsewhere
                yield batch[0][0], Run(trouble=_LOST)
            else:  # by one of its sheets, perhaps: the others are not to suffer for it
                for job in batch:
                    send([job])
    finally:
        client.cancel(list(waiting))


def _how_many(sent: int, threads: int) -> int:
    """Return how many sheets go out together next: one by one at first, so that every thread has some."""
    return min(_TOGETHER, 1 + sent // (2 * threads))


def _runs(text: str) -> Iterator[Run]:
    """Give what each sheet of a batch did.

    Raises
    ------
    MarkingError
        When the worker refused.
    """
    told = json.loads(text)
    if "refused" in told:
        raise MarkingError(told["refused"])
    for run in told["runs"]:
        yield Run(
            answers=tuple((sheet, question, answer) for sheet, question, answer in run["answers"]),
            attempts=dict(run["attempts"]),
            efforts={(sheet, question): Effort(*effort) for sheet, question, *effort in run["efforts"]},
            faults=tuple(Fault(cell=cell, error=error) for cell, error in run["faults"]),
            trouble=run["trouble"],
            seconds=run["seconds"],
        )


# --- there: on a worker ---------------------------------------------------------------------------

_own = threading.local()
_places = count()


def _about() -> str:
    return json.dumps({"labkit": version("labkit"), "walls": bubblewrap() is not None})


def _run_there(sheets: list[list[str]], limits: dict[str, Any], isolated: bool) -> str:
    """Run sheets, one after the other, in the warm process of this worker's thread; return their answers as JSON."""
    try:
        runner = _runner(limits, isolated=isolated)
        return json.dumps({"runs": [_told(runner.run(cells)) for cells in sheets]})
    except MarkingError as error:
        return json.dumps({"refused": str(error)})


def _told(run: Run) -> dict[str, Any]:
    return {
        "answers": run.answers,
        "attempts": list(run.attempts.items()),
        "efforts": [(*key, *effort) for key, effort in run.efforts.items()],
        "faults": [(fault.cell, fault.error) for fault in run.faults],
        "trouble": run.trouble,
        "seconds": run.seconds,
    }


def _runner(limits: dict[str, Any], *, isolated: bool) -> AnyRunner:
    if getattr(_own, "made_for", None) != (limits, isolated):
        if (before := getattr(_own, "runner", None)) is not None:
            before.close()
        wall = bubblewrap() if isolated else None
        if isolated and wall is None:
            raise MarkingError("A worker has no bubblewrap to shut sheets in. Install it there.")
        _own.runner = new_runner(Allowance(**limits), wall=wall, place=next(_places))
        _own.made_for = (limits, isolated)
    runner: AnyRunner = _own.runner
    return runner
