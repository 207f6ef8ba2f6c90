"""Fill a learner's folder: put what is missing, renew what nobody changed, and leave the learner's work alone.

A hidden record in the folder holds the hash of every file as labkit put it there.
A file with another hash than that has been worked on, so it is the learner's.
"""

from __future__ import annotations

import errno
import hashlib
import itertools
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple

from labkit.errors import FolderError
from labkit.sheets.whole import DRAFT, whole_file
from labkit.workspace.shipped import shipped_files

__all__ = ["FolderReport", "prepare_folder"]

_HIDDEN = ".labkit"
_RECORD = f"{_HIDDEN}/shipped.json"
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}
_REFUSED = {errno.EACCES, errno.EPERM, errno.EROFS}


@dataclass(frozen=True, kw_only=True, slots=True)
class FolderReport:
    """What was done to a learner's folder; each tuple holds names of files in it."""

    #: The folder, as a full path.
    folder: Path
    #: The lesson to open, or nothing where there is none yet.
    first_lesson: str | None
    #: Files that were missing and were put there.
    new: tuple[str, ...]
    #: Files that the learner had not changed, replaced by newer ones.
    renewed: tuple[str, ...]
    #: Files that the learner changed, left as they are.
    kept: tuple[str, ...]
    #: Newer versions of such files, put beside them.
    beside: tuple[str, ...]

    def sentences(self) -> list[str]:
        """Return what was done, in plain words."""
        told = [f"Your folder: {self.folder}"]
        if self.new:
            told.append(f"New in it: {_counted(self.new)}.")
        if self.renewed:
            told.append(f"Renewed, as you had not changed them: {', '.join(self.renewed)}.")
        if self.kept:
            told.append(f"Left as you changed them: {', '.join(self.kept)}.")
        if self.beside:
            told.append(f"Newer versions, put beside yours: {', '.join(self.beside)}.")
        if not (self.new or self.renewed or self.beside):
            told.append("Nothing had to be added.")
        if self.first_lesson is None:
            told.append("This labkit has no lessons in it.")
        return told


def _counted(names: tuple[str, ...]) -> str:
    """Return how many files of each room there are: ``3 lessons, 1 sheet``."""
    rooms = {"notebooks": "lesson", "exercises": "sheet", "bench": "bench file", "designs": "design"}
    counts = {word: sum(name.startswith(f"{room}/") for name in names) for room, word in rooms.items()}
    return ", ".join(f"{n} {word}{'s' if n > 1 else ''}" for word, n in counts.items() if n)


class _Known(NamedTuple):
    """Hashes of one file: as labkit last put it there, and of the newest version laid beside it."""

    put: str = ""
    offered: str = ""


@dataclass(slots=True)
class _Done:
    new: list[str] = field(default_factory=list)
    renewed: list[str] = field(default_factory=list)
    kept: list[str] = field(default_factory=list)
    beside: list[str] = field(default_factory=list)


def prepare_folder(folder: Path, shipped: Mapping[str, Path] | None = None) -> FolderReport:
    """Put lessons, sheets and bench files into *folder*, never overwriting a learner's work.

    Parameters
    ----------
    folder : Path
        Made where it does not exist.
    shipped : mapping of str to Path, optional
        Name in the folder (forward slashes) to the file to copy; by default what labkit ships.

    Raises
    ------
    FolderError
        When the folder cannot be made or written; says why and what to do.
    """
    files = shipped_files() if shipped is None else shipped
    folder = Path(os.path.abspath(folder.expanduser()))  # noqa: PTH100 (resolve() would lose the name that was typed)
    done = _Done()
    try:
        _make_rooms(folder, files)
        record = _read_record(folder)
        try:
            for name, source in files.items():
                record[name] = _settle(folder, name, source.read_bytes(), record, done)
        finally:  # what was put there is known, even if the disk filled up on the way
            _write_record(folder, record)
    except OSError as error:
        raise FolderError(_reason(error, folder)) from error
    lessons = sorted(name for name in files if name.startswith("notebooks/") and name.endswith(".ipynb"))
    return FolderReport(
        folder=folder, first_lesson=lessons[0] if lessons else None, new=tuple(done.new),
        renewed=tuple(done.renewed), kept=tuple(done.kept), beside=tuple(done.beside),
    )  # fmt: skip


def _make_rooms(folder: Path, files: Mapping[str, Path]) -> None:
    for name in [_RECORD, *files]:
        room = (folder / name).parent
        room.mkdir(parents=True, exist_ok=True)
        for left_over in room.glob(f".*{DRAFT}*"):  # of a start that was killed
            left_over.unlink(missing_ok=True)


def _settle(folder: Path, name: str, shipped: bytes, record: dict[str, _Known], done: _Done) -> _Known:
    """Bring one file up to date where that costs the learner nothing, and return what is known of it now."""
    target, newest, known = folder / name, _digest(shipped), record.get(name, _Known())
    present = _digest_of(target)
    if present == newest:
        return _Known(put=newest)
    if present is None or present == known.put:
        _write(target, shipped)
        (done.new if present is None else done.renewed).append(name)
        return _Known(put=newest)
    done.kept.append(name)
    if newest in (known.put, known.offered):
        return known
    done.beside.append(_lay_beside(folder, name, shipped, newest))
    return _Known(put=known.put, offered=newest)


def _lay_beside(folder: Path, name: str, shipped: bytes, newest: str) -> str:
    """Write a newer version under the first free name beside the learner's file, and return that name."""
    for beside in _names_beside(name):
        present = _digest_of(folder / beside)
        if present is None:
            _write(folder / beside, shipped)
        if present in (None, newest):
            return beside
    raise AssertionError  # the names never end


def _names_beside(name: str) -> Iterator[str]:
    """Yield ``03-a.newer.ipynb``, ``03-a.newer-2.ipynb`` and so on."""
    stem, dot, ending = name.rpartition(".")
    yield f"{stem}.newer{dot}{ending}"
    yield from (f"{stem}.newer-{number}{dot}{ending}" for number in itertools.count(2))


# --- files that are whole or not there ------------------------------------------------------------


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _digest_of(path: Path) -> str | None:
    """Return the hash of a file, ``None`` where nothing has that name, and no hash where it is no plain file."""
    if path.is_file():
        return _digest(path.read_bytes())
    return "not a plain file" if os.path.lexists(path) else None


def _write(target: Path, content: bytes) -> None:
    with whole_file(target, "wb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())  # after a power cut it is whole as well


def _read_record(folder: Path) -> dict[str, _Known]:
    """Return what is recorded of each file; nothing where the record is missing or damaged, so all files are kept."""
    try:
        entries = json.loads((folder / _RECORD).read_text(encoding="utf-8"))["files"]
        return {name: _Known(str(entry["put"]), str(entry["offered"])) for name, entry in entries.items()}
    except (FileNotFoundError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _write_record(folder: Path, record: dict[str, _Known]) -> None:
    entries = {name: known._asdict() for name, known in sorted(record.items())}
    text = json.dumps({"what this is": "the hash of each file as labkit put it here", "files": entries}, indent=1)
    _write(folder / _RECORD, text.encode())


def _reason(error: OSError, folder: Path) -> str:
    where = Path(error.filename or folder)
    remedy = "Nothing of yours was changed. Choose another folder: labkit start FOLDER"
    if error.errno in _FULL:
        return (
            f"There is no room left on the disk for {folder}. Nothing of yours was changed. Free some and start again."
        )
    if error.errno in _REFUSED:
        return f"{where} cannot be read or written. If another program has it open, close it there. {remedy}"
    if error.errno in (errno.ENOTDIR, errno.EEXIST):
        blocking = next((path for path in (where, *where.parents) if path.is_file()), where)
        return f"{blocking} is a file where a folder is needed. {remedy}"
    return f"{where}: {error.strerror}. {remedy}"
