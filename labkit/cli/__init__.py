"""The command line: parse, call, print, exit code. No logic, and nothing heavy is imported before it is needed."""

from __future__ import annotations

import argparse
import errno
import os
from collections.abc import Sequence

from labkit.cli import bench, benches, design, handouts, homework, lessons
from labkit.cli._say import end_lines, nobody_reads, speak_anywhere, tell_error
from labkit.errors import LabkitError

__all__ = ["main"]

_COMMANDS = (
    *lessons.COMMANDS,
    *handouts.COMMANDS,
    *bench.COMMANDS,
    *benches.COMMANDS,
    *design.COMMANDS,
    *homework.COMMANDS,
)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="labkit", description="Teach, measure and mark: a small brushed motor on a microcontroller pin."
    )

    def show_help(_: argparse.Namespace) -> int:
        parser.print_help()
        return 0

    parser.set_defaults(run=show_help)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")
    for name, add, run, line, more in _COMMANDS:
        command = commands.add_parser(name, help=line, description=f"{line[0].upper()}{line[1:]}. {more}")
        add(command)
        command.set_defaults(run=run)
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status: 0 done, 1 refused with a reason, 2 unusable arguments, 130 stopped.

    Some commands tell more by theirs, as their help says.
    """
    speak_anywhere()
    try:
        try:
            options = _parser().parse_args(arguments)
            return int(options.run(options))
        finally:
            end_lines()
    except LabkitError as error:
        tell_error(f"labkit: {error}")
        return 1
    except KeyboardInterrupt:
        tell_error("labkit: stopped.")
        return 130
    except OSError as error:
        unread = nobody_reads() or isinstance(error, BrokenPipeError)
        if error.errno in (errno.ENOSPC, errno.EDQUOT):
            tell_error("labkit: there is no room left on the disk. Free some, and try again.")
        elif error.filename is not None:
            tell_error(f"labkit: {error.strerror}: {error.filename}{_remedy(error)}")
        elif not unread:  # it is about no file that anybody named, and not about our lines
            raise
        return 1


def _remedy(error: OSError) -> str:
    """Return what to do about a file that may not be read or written, as when a spreadsheet has it open on Windows."""
    if not isinstance(error, PermissionError):
        return ""
    if os.path.isdir(error.filename):  # noqa: PTH112 (it may be bytes; Windows has no error of its own for this)
        return ". It is a folder: where a file is asked for, name one."
    return ". If another program has it open, such as a spreadsheet, close it there and try again."
