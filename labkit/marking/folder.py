"""Mark a folder of returned sheets, from the files to the comment pages.

What was marked stays marked: a run that was ended, by whatever, is taken up where it stood by running it again.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from importlib.metadata import version
from pathlib import Path
from typing import TypeAlias

from labkit.errors import MarkingError
from labkit.marking.answers import Run
from labkit.marking.cluster import Cluster, connected, run_on_workers
from labkit.marking.collecting import HandIn, count_files, hand_ins
from labkit.marking.deadlines import due_times
from labkit.marking.isolation import Allowance, bubblewrap
from labkit.marking.judging import Job, judge_run
from labkit.marking.notebooks import NotebookError, read_notebook
from labkit.marking.owners import OwnerError, Owners
from labkit.marking.register import Before, Register
from labkit.marking.results import REGISTER, write_results
from labkit.marking.running import new_runner, run_all
from labkit.reports.tally import ClassTally
from labkit.sheets import Learner

__all__ = ["REGISTER", "Marking", "Result", "mark_folder"]

Progress = Callable[[int, int], None]
#: Takes jobs with their code cells, and gives each with what it did.
RunMany: TypeAlias = Callable[[Iterable[tuple[Job, Sequence[str]]]], Iterator[tuple[Job, Run]]]


@dataclass(frozen=True, kw_only=True, slots=True)
class Marking:
    """How a folder is marked.

    Parameters
    ----------
    learners : sequence of Learner
        The class list.
    key : bytes
        The one that the sheets were drawn with.
    allowance : Allowance
        What each sheet may use.
    isolated : bool
        Whether to refuse where strangers' code cannot be shut in.
    runners : int
        Sheets at work at once.
    due : datetime, optional
        Files changed later are noted as late, but for learners who have a time of their own in the class list.
    late_share : float
        The part of its marks that a late sheet keeps, from 0 to 1.
    again : bool
        Whether to mark again what is marked already.
    cluster : Cluster, optional
        Where sheets run instead of on this machine.
    """

    learners: Sequence[Learner]
    key: bytes
    allowance: Allowance = field(default_factory=Allowance)
    isolated: bool = True
    runners: int = field(default_factory=lambda: os.cpu_count() or 1)
    due: datetime | None = None
    late_share: float = 1.0
    again: bool = False
    cluster: Cluster | None = None


@dataclass(frozen=True, kw_only=True, slots=True)
class Result:
    """What stands in the mark register after a run."""

    #: Sheets marked by this run, and those that were marked before.
    marked: int
    before: int
    #: Of those marked before, how many were due at another time than now, or keep another part for being late.
    other_due: int
    #: What the register holds now, counted.
    tally: ClassTally


def mark_folder(folder: Path, out: Path, marking: Marking, *, progress: Progress = lambda _done, _all: None) -> Result:
    """Mark all returned sheets below *folder* and write marks and comment pages to *out*.

    Parameters
    ----------
    folder : Path
        Folders, archives and loose files with any names; or one such file.
    out : Path
        For the mark register, the tables and the comment pages; made where it is missing.
    marking : Marking
    progress : callable
        Gets the number of files done and about how many there are.

    Raises
    ------
    MarkingError
        When strangers' code cannot be shut in on this machine, or the mark register is another class's or unusable.
    FileNotFoundError
        When there is no such folder.
    """
    if not folder.exists():
        raise FileNotFoundError(2, "There is no such folder or file", str(folder))
    if folder.resolve() in (out.resolve(), *out.resolve().parents):
        raise MarkingError(f"out must be outside the folder that is marked; got {out}.")
    out.mkdir(parents=True, exist_ok=True)
    with Register(out / REGISTER) as register, _crew(marking) as run_many:
        register.begin(
            labkit=version("labkit"),
            isolation="bubblewrap" if marking.isolated else "limits only",
            seconds=marking.allowance.seconds,
            learners=marking.learners,
            whole=folder.is_dir(),
            again=marking.again,
        )
        marker = _Marker(register, marking)
        marked = _mark_all(folder, marker, run_many, progress)
        tally = write_results(register, out)
        return Result(marked=marked, before=marker.before, other_due=marker.other_due, tally=tally)


@contextmanager
def _crew(marking: Marking) -> Iterator[RunMany]:
    """Give what runs sheets: processes on this machine, or the workers of a scheduler."""
    if marking.cluster:
        with connected(marking.cluster, isolated=marking.isolated) as client:
            yield lambda jobs: run_on_workers(jobs, client, marking.allowance, isolated=marking.isolated)
        return
    wall = _wall(isolated=marking.isolated)
    with ExitStack() as runners:
        crew = [new_runner(marking.allowance, wall=wall, place=place) for place in range(marking.runners)]
        for runner in crew:
            runners.callback(runner.close)
        yield lambda jobs: run_all(jobs, crew)


def _wall(*, isolated: bool) -> str | None:
    found = bubblewrap()
    if found is None and isolated:
        raise MarkingError(
            "Strangers' code cannot be shut in on this machine, since bubblewrap is missing. "
            "On Linux, install bubblewrap. Else add --without-isolation, for sheets of people whom you trust."
        )
    return found if isolated else None


class _Marker:
    """Turns files into jobs and what they answered into entries of the register, and notes those that are none."""

    def __init__(self, register: Register, marking: Marking) -> None:
        self.before = 0
        self.other_due = 0
        self._register = register
        self._marking = marking
        self._owners = Owners(marking.learners)
        self._due = due_times(marking.learners, marking.due)

    def jobs(self, folder: Path, progress: Callable[[int], None]) -> Iterator[tuple[Job, Sequence[str]]]:
        for number, found in enumerate(hand_ins(folder)):
            progress(number)
            digest = hashlib.sha256(found.data).hexdigest()
            if not self._marking.again and (marked := self._register.marked_by(found.path, digest)):
                self.before += 1
                self.other_due += self._due_otherwise(marked)
                continue
            try:
                job = self._job(found, digest)
            except (NotebookError, OwnerError) as reason:
                self._register.could_not_read(found.path, str(reason))
            else:
                yield job, job.cells

    def _due_otherwise(self, marked: Before) -> bool:
        """Return whether a sheet was due at another time as it was marked, or keeps another part for being late."""
        due = self._due.get(marked.learner)
        other_share = marked.late_share not in (None, self._marking.late_share)
        return due is not None and (other_share or marked.due not in (None, due.at))

    def _job(self, found: HandIn, digest: str) -> Job:
        if found.problem:
            raise NotebookError(found.problem)
        notebook = read_notebook(found.data)
        owner = self._owners.find(notebook, found.path)
        return Job.of(found, digest, notebook, owner, key=self._marking.key)

    def enter(self, job: Job, run: Run) -> bool:
        """Judge what a sheet answered and enter it; return whether that could be done."""
        try:
            sheet = judge_run(job, run, due=self._due[job.owner.learner.id], late_share=self._marking.late_share)
        except Exception as error:  # noqa: BLE001 (one answer that judging does not bear must not end a class's marking)
            reason = f"its answers could not be judged ({type(error).__name__}: {error})"
            self._register.could_not_read(job.path, reason)
            return False
        self._register.enter(sheet, again=self._marking.again)
        return True


def _mark_all(folder: Path, marker: _Marker, run_many: RunMany, progress: Progress) -> int:
    """Mark what is to be marked, and return how many sheets that were."""
    total = count_files(folder)
    jobs = marker.jobs(folder, lambda done: progress(min(done, total), total))
    marked = sum(marker.enter(job, run) for job, run in run_many(jobs))
    progress(total, total)
    return marked
