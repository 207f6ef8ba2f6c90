"""How fast marking is, every sheet shut in: against a kernel a sheet, its own overhead, one worker against two.

The sheets are those of all lessons, filled in. The ratios hang on the cores: let the machine do nothing else.
Scheduler and marker need a core as well: on two cores two workers cannot come near to twice what one does.
So two more lines say what two workers do that leave them room, each with half a core as if it were a slower machine of
its own (where control groups of version 1 can be made), and what two plain processes do that need only a core each.
"""

from __future__ import annotations

import contextlib
import json
import multiprocessing
import os
import statistics
import subprocess
import sys
import tempfile
import time
import warnings
from pathlib import Path

import nbclient
import nbformat
import psutil

from labkit.marking import Allowance, Marking, mark_folder
from labkit.marking.cluster import Cluster
from labkit.marking.isolation import bubblewrap
from labkit.marking.running import Runner
from labkit.problems import sheet_names
from labkit.sheets import Learner, personal_sheet, sheet_notebook

KEY = b"a key that only this benchmark knows"
SHEETS, BY_KERNEL, EMPTY = 480, 12, 200
COUNTED = 20_000_000
CONTROL_GROUPS = Path("/sys/fs/cgroup/cpu")
BUDGET = 0.060  # s: what starting, walling in, ending and clearing up may add to a sheet


def filled(name, learner):
    """Return a learner's sheet with an answer in each cell."""
    sheet = personal_sheet(name, learner=learner, key=KEY)
    book = json.loads(sheet_notebook(sheet))
    for cell in book["cells"]:
        title = cell["metadata"].get("labkit", {}).get("question")
        if title:
            cell["source"] = f"sheet.answer({title!r}, {sheet.plan.question(title).right_text(sheet.own) or '1 V'!r})"
    return json.dumps(book)


def write_class(folder, number):
    """Write so many filled sheets, all lessons in turn; return the class list."""
    names = sheet_names()
    learners = [Learner(f"learner-{place}") for place in range(-(-number // len(names)))]
    for place in range(number):
        learner, name = learners[place // len(names)].id, names[place % len(names)]
        (folder / f"{name}-{learner}.ipynb").write_text(filled(name, learner), encoding="utf-8")
    return learners


def seconds_by_kernel(folder):
    """Return the seconds that a sheet takes when each is executed in a kernel of its own."""
    paths = sorted(folder.glob("*.ipynb"))[:BY_KERNEL]
    begun = time.perf_counter()
    for path in paths:
        book = nbformat.reads(path.read_text(encoding="utf-8"), as_version=4)
        nbclient.NotebookClient(book, timeout=120, resources={"metadata": {"path": str(path.parent)}}).execute()
    return (time.perf_counter() - begun) / len(paths)


def seconds_marked(folder, learners, **options):
    """Return the seconds that a sheet takes to be marked, start and reports included."""
    with tempfile.TemporaryDirectory() as out:
        begun = time.perf_counter()
        result = mark_folder(folder, Path(out) / "marks", Marking(learners=learners, key=KEY, **options))
        spent = time.perf_counter() - begun
    assert result.marked == len(list(folder.glob("*.ipynb")))
    return spent / result.marked


def seconds_of_an_empty_sheet():
    """Return the median seconds from asking for an empty sheet to its end, all of it overhead."""
    spent = []
    with Runner(Allowance(), wall=bubblewrap()) as runner:
        for _ in range(EMPTY):
            begun = time.perf_counter()
            runner.run(["pass"])
            spent.append(time.perf_counter() - begun)
    return statistics.median(spent)


@contextlib.contextmanager
def workers(number, folder):
    """Start a scheduler on this machine with so many workers of one thread; give its address."""
    file = folder / f"scheduler-{number}.json"
    common = [sys.executable, "-m"]
    quiet = {"cwd": folder, "stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    alone = ["--host", "127.0.0.1", "--no-dashboard", "--scheduler-file", str(file)]
    one = [*common, "distributed.cli.dask_worker", *alone, "--nthreads", "1", "--no-nanny"]
    started = [subprocess.Popen([*common, "distributed.cli.dask_scheduler", *alone, "--port", "0"], **quiet)]
    started += [subprocess.Popen(one, **quiet) for _ in range(number)]
    try:
        while not file.exists():
            time.sleep(0.1)
        address = json.loads(file.read_text(encoding="utf-8"))["address"]
        from distributed import Client

        with Client(address, set_as_default=False) as client:
            client.wait_for_workers(number, timeout=120)
        yield address, started[1:]
    finally:
        for process in reversed(started):
            process.kill()
            process.wait()


def seconds_on_workers(number, base, folder, learners, *, share=1.0):
    """Return the seconds that a sheet takes on so many workers, once their warm processes have started.

    With a *share* below one each worker gets that part of a core, as if it were a slower machine of its own.
    """
    base = Path(tempfile.mkdtemp(dir=base))
    few = base / "few"
    few.mkdir()
    warm = write_class(few, 24)
    with contextlib.ExitStack() as limits, workers(number, base) as (address, processes):
        cluster = Cluster(address=address)
        seconds_marked(few, warm, cluster=cluster)
        if share < 1.0:
            for process in processes:
                limits.enter_context(limited(process, share))
        return seconds_marked(folder, learners, cluster=cluster)


@contextlib.contextmanager
def limited(process, share):
    """Give a process and all below it no more than a part of a core, by a control group."""
    group = CONTROL_GROUPS / f"labkit-{process.pid}"
    group.mkdir()
    (group / "cpu.cfs_period_us").write_text("20000")
    (group / "cpu.cfs_quota_us").write_text(f"{20_000 * share:.0f}")
    top = psutil.Process(process.pid)
    for one in (top, *top.children(recursive=True)):
        (group / "cgroup.procs").write_text(str(one.pid))
    try:
        yield
    finally:
        while (group / "cgroup.procs").read_text():  # they have been ended, and are gone soon
            time.sleep(0.1)
        group.rmdir()


def seconds_of_counting(number):
    """Return the seconds that a count takes, each of so many processes counting at once."""
    started = multiprocessing.Barrier(number + 1)
    counting = [multiprocessing.Process(target=_count, args=(started,)) for _ in range(number)]
    for process in counting:
        process.start()
    started.wait()
    begun = time.perf_counter()
    for process in counting:
        process.join()
    return (time.perf_counter() - begun) / number


def _count(started):
    started.wait()
    for _ in range(COUNTED):
        pass


def run():
    """Return throughput against kernels, the budget against the overhead, one worker against two, and the ceiling."""
    warnings.simplefilter("ignore")
    with tempfile.TemporaryDirectory() as base:
        folder = Path(base) / "returned"
        folder.mkdir()
        learners = write_class(folder, SHEETS)
        by_kernel = seconds_by_kernel(folder)
        marked = seconds_marked(folder, learners)
        empty = seconds_of_an_empty_sheet()
        one, two = (seconds_on_workers(number, base, folder, learners) for number in (1, 2))
        apart = []
        if os.access(CONTROL_GROUPS, os.W_OK):
            slow, both = (seconds_on_workers(number, base, folder, learners, share=0.5) for number in (1, 2))
            apart = [
                (f"sheets on two workers of half a core each ({1e3 * both:.0f} ms each)", slow / both,
                 f"one of half a core, {1e3 * slow:.0f} ms")
            ]  # fmt: skip
    counts = [seconds_of_counting(number) for number in (1, 2)]
    return [
        (f"sheets marked in a given time ({1e3 * marked:.0f} ms each)", by_kernel / marked,
         f"a kernel for each, {1e3 * by_kernel:.0f} ms"),
        (f"room left by the overhead of a sheet ({1e3 * empty:.0f} ms)", BUDGET / empty, "60 ms"),
        (f"sheets on two Dask workers ({1e3 * two:.0f} ms each)", one / two, f"one worker, {1e3 * one:.0f} ms"),
        *apart,
        ("plain counting in two processes", counts[0] / counts[1], "in one"),
    ]  # fmt: skip
