"""The command for a room of benches."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

from labkit.cli._say import Command, tell, write_html

__all__ = ["COMMANDS"]

_READ = {".csv", ".tsv", ".txt", ".xlsx"}
_HIDDEN = (".", "~$")  #: the second while a spreadsheet is open


def _room(options: argparse.Namespace) -> int:
    from labkit.bench import BenchRecord, read_bench  # noqa: PLC0415 (nothing is imported before it is needed)
    from labkit.errors import BenchError  # noqa: PLC0415 (as above)
    from labkit.fitting import fit_room  # noqa: PLC0415 (as above)
    from labkit.reports.benches import room_page, room_report  # noqa: PLC0415 (as above)

    files = list(_files(options.files))
    if not files:
        raise BenchError(f"{options.files[0]} has no file of readings: none ends in {', '.join(sorted(_READ))}.")
    alike = Counter(path.name for path in files)
    unread: dict[str, str] = {}

    def records() -> Iterator[BenchRecord]:
        for path in files:
            name = path.name if alike[path.name] == 1 else f"{path.parent.name}/{path.name}"
            try:
                yield replace(read_bench(path), source=name)
            except BenchError as error:
                unread[name] = str(error)
            except PermissionError as error:  # on Windows, where a program lets nobody else read what it has open
                unread[name] = f"{name} cannot be read: {error.strerror}. Close it where it is open."

    try:
        room = fit_room(records())
    except BenchError as error:
        raise BenchError("\n".join([str(error), *unread.values()])) from error
    room = replace(room, unfit={**unread, **room.unfit})
    tell(room_report(room))
    if options.page:
        write_html(options.page, room_page(room))
    return 0


def _files(given: Sequence[Path]) -> Iterator[Path]:
    """Give each file, and of each folder those below it that can hold readings, in order of their names."""
    for path in given:
        if path.is_dir():
            found = (below for below in path.rglob("*") if below.suffix.casefold() in _READ)
            yield from sorted(below for below in found if not below.name.startswith(_HIDDEN))
        else:
            yield path


def _add_room(command: argparse.ArgumentParser) -> None:
    command.add_argument("files", nargs="+", type=Path, help="one file of readings a bench, or a folder of them")
    command.add_argument("--page", type=Path, metavar="FILE", help="write a page with the room's picture")


COMMANDS = (
    Command("room", _add_room, _room, "fit the readings of a room of benches, and show them together",
            "The motors are taken to be of one type. A bench far off the others is named, and left out of the mean."),
)  # fmt: skip
