"""Find the files that were handed in: loose, in folders, in zip archives, with any names.

Nothing is unpacked to the disk: an entry of an archive is read in memory up to a limit,
so that its name cannot lead anywhere and a small archive cannot become a large one.
"""

from __future__ import annotations

import contextlib
import io
import stat
import zipfile
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO

from labkit.marking.answers import printable

__all__ = ["HandIn", "count_files", "hand_ins"]

_LARGEST = 20_000_000  #: bytes in one file
_LARGEST_ARCHIVE = 1_000_000_000  #: bytes that one archive may give in all, once unpacked
_ENTRIES = 20_000  #: entries in one archive
_DEPTH = 2  #: an archive of archives, and no deeper
_TRIES = ".tries"  #: a learner's own notes beside a notebook, which says as much in its outputs
#: How documents end that are archives inside.
_DOCUMENTS = frozenset({".docx", ".xlsx", ".pptx", ".odt", ".ods", ".odp", ".epub", ".jar"})
_NO_TIME = (1980, 1, 1, 0, 0, 0)  #: of an entry of an archive whose packer knew none
_NO_HAND_IN = frozenset({"__MACOSX", "__pycache__"})


@dataclass(frozen=True, kw_only=True, slots=True)
class HandIn:
    """One file as it was found."""

    #: Where it was, below the folder that is marked; in an archive, after its name.
    path: str
    #: What is in it; empty when it could not be read.
    data: bytes = b""
    #: When it was last changed, as the file or the archive says, in ISO 8601.
    changed: str = ""
    #: Why it could not be read; empty when it was.
    problem: str = ""


def count_files(folder: Path) -> int:
    """Return about how many files there are, for a progress bar; archives count by their lists of entries."""
    number = 0
    for path in _files(folder):
        number += 1
        with contextlib.suppress(OSError, ValueError, NotImplementedError, zipfile.BadZipFile):
            if stat.S_ISREG(path.lstat().st_mode) and _is_archive(path.name, path):
                with zipfile.ZipFile(path) as archive:
                    number += len(archive.infolist()) - 1
    return number


def hand_ins(folder: Path) -> Iterator[HandIn]:
    """Give each file below *folder* (or the one file that it is), in order of their names.

    What cannot be read is given too, with the reason in ``problem``.

    Raises
    ------
    FileNotFoundError
        When there is no such folder.
    """
    if not folder.exists():
        raise FileNotFoundError(2, "there is no such folder or file", str(folder))
    base = folder if folder.is_dir() else folder.parent
    for path in _files(folder):
        label = printable(path.relative_to(base).as_posix())
        try:
            yield from _one(path, label)
        except OSError as error:
            yield HandIn(path=label, problem=f"it cannot be read: {error.strerror}")


def _files(folder: Path) -> Iterator[Path]:
    if not folder.is_dir():
        yield folder
        return
    try:
        found = sorted(folder.iterdir())
    except OSError:
        yield folder  # why, is told with the other files
        return
    for path in found:
        if _left_out(path.name):
            continue
        if path.is_dir() and not path.is_symlink():
            yield from _files(path)
        else:
            yield path


def _left_out(name: str) -> bool:
    """Return whether nobody handed in what has this name: it is hidden, or a tool left it."""
    return name in _NO_HAND_IN or name.endswith(_TRIES) or bool(name.startswith(".") and name.strip("."))


def _one(path: Path, label: str) -> Iterator[HandIn]:
    status = path.lstat()
    changed = datetime.fromtimestamp(status.st_mtime).isoformat(timespec="seconds")  # noqa: DTZ006 (as archives keep it)
    if stat.S_ISLNK(status.st_mode):
        yield HandIn(path=label, changed=changed, problem="it is a link to another place, which is not followed")
    elif stat.S_ISDIR(status.st_mode):
        next(path.iterdir(), None)  # says why it cannot be looked into
    elif not stat.S_ISREG(status.st_mode):
        yield HandIn(path=label, changed=changed, problem="it is no ordinary file")
    elif _is_archive(path.name, path):
        with path.open("rb") as file:
            yield from _entries(file, label, depth=1)
    elif status.st_size > _LARGEST:
        yield HandIn(path=label, changed=changed, problem=_too_large())
    else:
        yield HandIn(path=label, data=path.read_bytes(), changed=changed)


def _is_archive(name: str, file: Path | IO[bytes]) -> bool:
    return Path(name).suffix.casefold() not in _DOCUMENTS and zipfile.is_zipfile(file)


def _too_large() -> str:
    return f"it is larger than {_LARGEST // 1_000_000} MB"


def _entries(file: io.BufferedIOBase | io.BufferedReader, label: str, *, depth: int) -> Iterator[HandIn]:
    try:
        archive = zipfile.ZipFile(file)
    except (zipfile.BadZipFile, ValueError, OSError, NotImplementedError) as error:
        yield HandIn(path=label, problem=f"the archive is damaged ({error})")
        return
    left = _LARGEST_ARCHIVE
    with archive:
        for number, entry in enumerate(archive.infolist()):
            if number == _ENTRIES or left <= 0:
                yield HandIn(
                    path=label, problem="the archive holds more than can be a class's sheets; the rest is not read"
                )
                return
            name = Path(entry.filename)
            if entry.is_dir() or any(map(_left_out, name.parts)):
                continue
            found = _entry(archive, entry, label)
            left -= max(len(found.data), 1_000)
            if depth < _DEPTH and _is_archive(name.name, io.BytesIO(found.data)):
                yield from _entries(io.BytesIO(found.data), found.path, depth=depth + 1)
            else:
                yield found


def _entry(archive: zipfile.ZipFile, entry: zipfile.ZipInfo, label: str) -> HandIn:
    path = printable(f"{label}/{entry.filename}"[:500])
    changed = ""
    if entry.date_time != _NO_TIME:
        with contextlib.suppress(ValueError):
            changed = datetime(*entry.date_time).isoformat(timespec="seconds")  # noqa: DTZ001 (archives name no zone)
    try:
        with archive.open(entry) as packed:
            data = packed.read(_LARGEST + 1)
    except (zipfile.BadZipFile, RuntimeError, NotImplementedError, OSError, EOFError, ValueError, zlib.error) as error:
        return HandIn(path=path, changed=changed, problem=f"it cannot be unpacked ({str(error)[:100]})")
    if len(data) > _LARGEST:
        return HandIn(path=path, changed=changed, problem=_too_large())
    return HandIn(path=path, data=data, changed=changed)
