"""How strangers' code is shut in on this machine, and the command that starts its process.

On Linux, ``bubblewrap`` gives the process a read-only view of Python and the system's libraries and nothing else:
no class list, no other sheet, no home folder, no network, no other process.
Elsewhere there are only limits, on Windows and macOS on time alone, and a folder of its own: no protection from malice.
"""

from __future__ import annotations

import os
import shutil
import site
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from labkit.errors import MarkingError

__all__ = ["FOLDER", "Allowance", "bubblewrap", "child_command", "child_environment"]

MEGABYTE = 1_000_000
#: The only place inside the walls, beside ``/dev/shm``, where a sheet can write; no name that Python may live under.
FOLDER = "/sheet"
_VIEW = Path("/tmp")  # noqa: S108 (bubblewrap's choice, in version 0.8)
_PACKAGE = Path(__file__).parents[1]
_USERS_FROM, _USERS = 60_600, 4_000  #: above ordinary accounts, below those that systems use for themselves
_APART = 61  #: has no factor in common with the above, so that two markers at once seldom have numbers in common


@dataclass(frozen=True, kw_only=True, slots=True)
class Allowance:
    """What one returned sheet may use."""

    #: Seconds on the clock for the whole sheet.
    seconds: float = 30.0
    #: Bytes of memory beyond what Python and its libraries take; several processes together may have a quarter more.
    memory: int = 1_000 * MEGABYTE
    #: Processes and threads at once.
    processes: int = 32
    #: Bytes in one file.
    file_size: int = 32 * MEGABYTE


def bubblewrap() -> str | None:
    """Return where ``bwrap`` is, or None where this machine has none.

    Raises
    ------
    MarkingError
        When it is there and cannot work, since the folder on which it builds its view is missing.
    """
    found = shutil.which("bwrap") if sys.platform == "linux" else None
    if found and not _VIEW.is_dir():
        raise MarkingError(f"bubblewrap builds its view of the machine on {_VIEW}, which is missing here. Make it.")
    return found


def child_environment(folder: str) -> dict[str, str]:
    """Return all of the environment that a sheet's process sees; *folder* is its home."""
    kept = {name: os.environ[name] for name in ("SYSTEMROOT", "LD_LIBRARY_PATH") if name in os.environ}
    return kept | {
        "PATH": os.defpath,
        "HOME": folder,
        "USERPROFILE": folder,  # the same on Windows
        "TMPDIR": folder,
        "MPLBACKEND": "agg",
        "MPLCONFIGDIR": folder,
        "IPYTHONDIR": folder,
        "LANG": "C.UTF-8",
        "PYTHONPATH": str(_PACKAGE.parent),
        "PYTHONDONTWRITEBYTECODE": "1",
        "PYTHONWARNINGS": "ignore",
        "OPENBLAS_NUM_THREADS": "1",  # a forking process must have one thread
        "OMP_NUM_THREADS": "1",
        "MKL_NUM_THREADS": "1",
    }


def child_command(allowance: Allowance, *, warm: bool, wall: str | None, place: int = 0) -> list[str]:
    """Return the command that starts a process for sheets.

    Parameters
    ----------
    allowance : Allowance
    warm : bool
        Whether it serves many sheets, forking for each.
    wall : str or None
        Where ``bwrap`` is; None to run without it.
    place : int
        Its place among the processes of this run: at a time, each needs a user number of its own.
    """
    command = [
        sys.executable, "-P", "-s", "-m", "labkit.marking._child",
        "--seconds", str(allowance.seconds), "--memory", str(allowance.memory),
        "--processes", str(allowance.processes), "--file-size", str(allowance.file_size),
    ]  # fmt: skip
    if not warm:
        return command
    command.append("--warm")
    if wall is None:
        return command
    command.append("--inside")
    root = os.geteuid() == 0
    if root:
        command += ["--user", str(_USERS_FROM + (os.getpid() * _APART + place) % _USERS)]
    return [wall, *_walls(root=root), "--", *command]


def _walls(*, root: bool) -> Iterator[str]:
    yield from (
        "--die-with-parent",
        "--new-session",
        "--unshare-pid",
        "--unshare-net",
        "--unshare-ipc",
        "--unshare-uts",
    )
    yield "--unshare-cgroup-try"
    if not root:
        yield "--unshare-user"
    yield from ("--cap-drop", "ALL")
    for capability in ("CAP_SYS_ADMIN", "CAP_SETPCAP", "CAP_KILL", *(("CAP_SETUID", "CAP_SETGID") if root else ())):
        yield from ("--cap-add", capability)
    made: set[Path] = set()
    for folder in _seen():
        for parent in reversed(folder.parents):
            if parent not in made and parent != Path("/"):
                yield from ("--perms", "0755", "--dir", str(parent))
                made.add(parent)
        if folder.is_symlink():
            yield from ("--symlink", str(folder.readlink()), str(folder))
        else:
            yield from ("--ro-bind", str(folder), str(folder))
    yield from ("--perms", "0755", "--dir", "/dev")
    for device in ("null", "zero", "full", "random", "urandom"):
        yield from ("--dev-bind", f"/dev/{device}", f"/dev/{device}")
    for writable in ("/dev/shm", FOLDER):  # noqa: S108 (bubblewrap's own, in memory)
        yield from ("--perms", "1777", "--tmpfs", writable)
    yield from ("--proc", "/proc", "--remount-ro", "/", "--chdir", FOLDER)


def _seen() -> list[Path]:
    """Return what a sheet may read: the system's programs and libraries, Python, and labkit itself."""
    system = [Path(name) for name in ("/usr", "/bin", "/lib", "/lib64", "/sbin")]
    settings = [Path("/etc") / name for name in ("ld.so.cache", "fonts", "alternatives", "localtime")]
    python = [Path(sys.prefix), Path(sys.base_prefix), *map(Path, site.getsitepackages())]
    wanted = [path for path in (*system, *python, _PACKAGE, *settings) if os.path.lexists(path)]
    inside = [path for path in wanted if not any(other in path.parents for other in wanted)]
    return list(dict.fromkeys(inside))
