"""Commands for lessons."""

from __future__ import annotations

import argparse
from pathlib import Path

from labkit.cli._say import Command, tell

__all__ = ["COMMANDS"]


def _start(options: argparse.Namespace) -> int:
    from labkit.workspace import prepare_folder, serve  # noqa: PLC0415 (nothing heavy is imported before it is needed)

    report = prepare_folder(options.folder)
    for sentence in report.sentences():
        tell(sentence)
    serve(report.folder, first_lesson=report.first_lesson, browser=not options.no_browser, tell=tell)
    return 0


def _add_start(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "folder",
        nargs="?",
        type=Path,
        default=Path("labkit-lessons"),
        metavar="FOLDER",
        help="your folder, made where it is missing (default: %(default)s)",
    )
    command.add_argument("--no-browser", action="store_true", help="print the address instead of opening a browser")


def _prepare(options: argparse.Namespace) -> int:
    from labkit.reviews import demo_design, read_design  # noqa: PLC0415 (as above)
    from labkit.workspace.prepare import write_room  # noqa: PLC0415 (as above)

    drive = read_design(options.design or demo_design()).drive
    for path in write_room(drive, options.people, options.folder):
        tell(f"Wrote {path}.")
    return 0


def _add_prepare(command: argparse.ArgumentParser) -> None:
    command.add_argument("folder", type=Path, metavar="FOLDER", help="where the pages go")
    command.add_argument("--people", type=int, required=True, metavar="N", help="how many build the drive")
    command.add_argument(
        "--design", type=Path, metavar="FILE", help="TOML file of what they build (default: the desk wind tunnel)"
    )


def _self_test(_: argparse.Namespace) -> int:
    from labkit.workspace import self_test  # noqa: PLC0415 (as above)

    result = self_test()
    tell(str(result))
    return 0 if result.whole else 1


COMMANDS = (
    Command("start", _add_start, _start, "put lessons and sheets into a folder of yours and open JupyterLab there",
            "What you changed stays as it is: a newer version is put beside it. To stop, press Ctrl-C."),
    Command("prepare", _add_prepare, _prepare, "write what a teacher needs for a room of people",
            "Pages to print: session plan, parts list with spares, cards for the bench, risk sheet, first power."),
    Command("self-test", lambda _: None, _self_test, "say in one look whether the installation is whole",
            "Each part is used once. What only some people need may be missing."),
)  # fmt: skip
