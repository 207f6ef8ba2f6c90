"""The command line: parse, call, print, exit code. No logic, and nothing heavy is imported before it is needed."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from labkit.errors import LabkitError

__all__ = ["main"]


def _tell(sentence: str) -> None:
    print(sentence, flush=True)


def _start(options: argparse.Namespace) -> int:
    from labkit.workspace import prepare_folder, serve  # noqa: PLC0415 (nothing is imported before it is needed)

    report = prepare_folder(options.folder)
    for sentence in report.sentences():
        _tell(sentence)
    serve(report.folder, first_lesson=report.first_lesson, browser=not options.no_browser, tell=_tell)
    return 0


def _fit(options: argparse.Namespace) -> int:
    raise NotImplementedError


def _sheets(options: argparse.Namespace) -> int:
    raise NotImplementedError


def _mark(options: argparse.Namespace) -> int:
    raise NotImplementedError


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="labkit", description="Teach, measure and mark: a small brushed motor on a microcontroller pin."
    )
    commands = parser.add_subparsers(title="commands", required=True, metavar="COMMAND")

    start = commands.add_parser("start", help="put lessons and sheets into a folder of yours and open JupyterLab there")
    start.add_argument(
        "folder", nargs="?", type=Path, default=Path("labkit-lessons"), help="your folder (default: %(default)s)"
    )
    start.add_argument("--no-browser", action="store_true", help="print the address instead of opening a browser")
    start.set_defaults(run=_start)

    fit = commands.add_parser("fit", help="find a motor's constants from a file of bench readings")
    fit.add_argument("file", type=Path, help="CSV with units in the header")
    fit.set_defaults(run=_fit)

    sheets = commands.add_parser("sheets", help="write one homework sheet for each learner of a class list")
    sheets.set_defaults(run=_sheets)

    mark = commands.add_parser("mark", help="run and mark a folder of returned sheets")
    mark.set_defaults(run=_mark)
    return parser


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command and return its exit status: 0 done, 1 refused with a reason, 2 unusable arguments."""
    options = _parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except LabkitError as error:
        print(f"labkit: {error}", file=sys.stderr)
        return 1
    except (FileNotFoundError, IsADirectoryError, PermissionError) as error:
        print(f"labkit: {error.strerror}: {error.filename}", file=sys.stderr)
        return 1
