"""Shut one sheet in: what a forked child does to itself before a stranger's code runs in it (Linux, inside bubblewrap).

``bubblewrap`` has already given the warm parent a read-only view of a few folders, no network and no other process.
Each sheet then gets, for itself alone, a process namespace (whatever it starts ends with it),
an IPC namespace, a small folder of its own in memory, a fresh ``/proc``, limits, and no privilege at all.

Where the marker is real root, the sheet drops to a user number of its own, since the process limit does not bind root.
Where it is an ordinary user, bubblewrap's user namespace counts the sheet's processes apart from the user's own.
"""

from __future__ import annotations

import contextlib
import ctypes
import os
import platform
import resource
import struct
from pathlib import Path
from typing import NamedTuple

from labkit.marking.isolation import FOLDER

__all__ = ["Limits", "confine", "enter_new_process_namespace", "leave_process_namespace", "limit"]

MEGABYTE = 1_000_000

_NEW_MOUNTS = 0x00020000
_NEW_IPC = 0x08000000
_NEW_PROCESSES = 0x20000000
_NEW_USERS = 0x10000000
_PRIVATE_AND_BELOW = 0x40000 | 0x4000
_NO_SETUID_NO_DEVICES = 0x2 | 0x4
_SET_SECCOMP, _DROP_FROM_BOUND, _NO_NEW_PRIVILEGES, _DIE_WITH_PARENT = 22, 24, 38, 1

_libc = ctypes.CDLL(None, use_errno=True)


class Limits(NamedTuple):
    """What one sheet may use."""

    seconds: float  #: wall clock; processor time is held to the same, rounded up
    memory: int  #: bytes, by one process beyond what it starts with; all together may have a quarter more
    processes: int  #: processes and threads at once
    file_size: int  #: bytes in one file, and in its folder together


def _call(name: str, *arguments: object) -> None:
    if getattr(_libc, name)(*arguments) != 0:
        number = ctypes.get_errno()
        raise OSError(number, f"{name}: {os.strerror(number)}")


def enter_new_process_namespace() -> None:
    """Let the next fork be the first process of a namespace: when it ends, all in it end."""
    _call("unshare", _NEW_PROCESSES)


def leave_process_namespace(own: int) -> None:
    """Let forks stay here again; *own* is a descriptor of ``/proc/self/ns/pid``."""
    _call("setns", own, _NEW_PROCESSES)


def limit(limits: Limits, *, count_processes: bool) -> None:
    """Set the limits that any Unix keeps; the process limit only where it counts this sheet's processes alone."""
    whole_seconds = int(limits.seconds) + 1
    _lower(resource.RLIMIT_CPU, whole_seconds)
    _lower(resource.RLIMIT_CORE, 0)
    _lower(resource.RLIMIT_NOFILE, 256)
    _lower(resource.RLIMIT_FSIZE, limits.file_size)
    with contextlib.suppress(OSError):  # no /proc
        used = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0]) * resource.getpagesize()
        _lower(resource.RLIMIT_AS, used + limits.memory)
    if count_processes:
        _lower(resource.RLIMIT_NPROC, limits.processes)


def _lower(which: int, value: int) -> None:
    hard = resource.getrlimit(which)[1]
    most = value if hard == resource.RLIM_INFINITY else min(value, hard)
    resource.setrlimit(which, (most, most))


def confine(limits: Limits, *, user: int | None) -> None:
    """Give the calling process its own mounts, IPC, folder and ``/proc``, and take its privileges away.

    Parameters
    ----------
    limits : Limits
    user : int or None
        The user number to become, where the caller is real root.

    Raises
    ------
    OSError
        When the system refuses one step; the sheet must not run then.
    """
    _call("unshare", _NEW_MOUNTS | _NEW_IPC)
    _call("mount", b"none", b"/", None, _PRIVATE_AND_BELOW, None)
    owner = f",uid={user},gid={user}" if user is not None else ""
    for folder in (FOLDER.encode(), b"/dev/shm"):
        options = f"size={limits.file_size},nr_inodes=10000,mode=0700{owner}"
        _call("mount", b"tmpfs", folder, b"tmpfs", _NO_SETUID_NO_DEVICES, options.encode())
    _call("mount", b"proc", b"/proc", b"proc", _NO_SETUID_NO_DEVICES, None)
    limit(limits, count_processes=True)
    _drop_privileges(user)
    _call("prctl", _NO_NEW_PRIVILEGES, 1, 0, 0, 0)
    _filter_system_calls()


def _drop_privileges(user: int | None) -> None:
    for capability in range(64):
        if _libc.prctl(_DROP_FROM_BOUND, capability, 0, 0, 0) != 0:
            break  # past the last one that this kernel has
    if user is not None:
        os.setgroups([])
        os.setresgid(user, user, user)
        os.setresuid(user, user, user)
    header = struct.pack("Ii", 0x20080522, 0)  # version 3 of the capability call, this process
    _call("capset", header, bytes(24))


# --- system calls ---------------------------------------------------------------------------------

# A sheet that computes needs none of these.
# The first group could undo the confinement, the second could hold memory that no limit sees.
_REFUSED = {
    "x86_64": (
        0xC000003E, 56,
        (101, 155, 161, 165, 166, 167, 169, 175, 176, 246, 248, 249, 250, 272, 298, 308, 310, 311, 313, 320, 321, 323,
         319, 29, 68, 240),
    ),
    "aarch64": (
        0xC00000B7, 220,
        (117, 41, 51, 40, 39, 224, 142, 105, 106, 104, 217, 218, 219, 97, 241, 268, 270, 271, 273, 294, 280, 282,
         279, 194, 186, 180),
    ),
}  # fmt: skip
# Numbers that all machines share: io_uring (3), the new mount calls (8) and memfd_secret.
_REFUSED_EVERYWHERE = (425, 426, 427, 428, 429, 430, 431, 432, 433, 442, 447)
_CLONE3 = 435

_LOAD, _EQUAL, _AT_LEAST, _ANY_BIT, _RETURN = 0x20, 0x15, 0x35, 0x45, 0x06
_ALLOW, _NOT_PERMITTED, _NO_SUCH_CALL, _END = 0x7FFF0000, 0x00050001, 0x00050026, 0x80000000


class _Program(ctypes.Structure):
    _fields_ = (("length", ctypes.c_ushort), ("steps", ctypes.c_char_p))


def _filter_system_calls() -> None:
    """Refuse the calls above; on a machine whose numbers are not listed, leave the other walls to hold."""
    if platform.machine() not in _REFUSED:
        return
    architecture, clone, refused = _REFUSED[platform.machine()]
    steps = [
        (_LOAD, 0, 0, 4), (_EQUAL, 1, 0, architecture), (_RETURN, 0, 0, _END),
        (_LOAD, 0, 0, 0), (_AT_LEAST, 0, 1, 0x40000000), (_RETURN, 0, 0, _NOT_PERMITTED),
        (_EQUAL, 0, 1, _CLONE3), (_RETURN, 0, 0, _NO_SUCH_CALL),  # its flags lie in memory, unseen
    ]  # fmt: skip
    for number in (*refused, *_REFUSED_EVERYWHERE):
        steps += [(_EQUAL, 0, 1, number), (_RETURN, 0, 0, _NOT_PERMITTED)]
    steps += [
        (_EQUAL, 0, 3, clone), (_LOAD, 0, 0, 16), (_ANY_BIT, 0, 1, _NEW_USERS), (_RETURN, 0, 0, _NOT_PERMITTED),
        (_RETURN, 0, 0, _ALLOW),
    ]  # fmt: skip
    code = b"".join(struct.pack("HBBI", *step) for step in steps)
    _call("prctl", _SET_SECCOMP, 2, ctypes.byref(_Program(len(steps), code)), 0, 0)
