"""Commands for homework."""

from __future__ import annotations

import argparse
from pathlib import Path

from labkit.cli._say import Command, tell, tell_error

__all__ = ["COMMANDS"]


def _sheets(options: argparse.Namespace) -> int:
    from labkit.problems import is_private, use_private_bank  # noqa: PLC0415 (nothing heavy is imported before it is needed)
    from labkit.sheets import (  # noqa: PLC0415 (as above)
        new_key,
        read_class_list,
        read_key,
        write_practice_sheets,
        write_sheets,
    )

    if options.new_key:
        new_key(options.new_key)
        tell(f"Wrote a new key to {options.new_key}. Keep it to yourself: marking needs it, and no sheet shows it.")
        return 0
    if options.practice:
        if options.folder is None:
            tell_error("labkit sheets --practice needs --folder. See: labkit sheets --help")
            return 2
        tell(f"Wrote {len(write_practice_sheets(options.folder))} practice sheets to {options.folder}.")
        return 0
    for name in ("classlist", "sheet", "key", "folder"):
        if getattr(options, name) is None:
            wanted = "a class list" if name == "classlist" else f"--{name}"
            tell_error(f"labkit sheets needs {wanted}. See: labkit sheets --help")
            return 2
    if options.bank:
        use_private_bank(options.bank)
    paths = write_sheets(
        read_class_list(options.classlist),
        sheet=options.sheet,
        key=read_key(options.key),
        folder=options.folder,
        assessed=options.assessed,
    )
    kind = "assessed" if options.assessed or is_private(options.sheet) else "practice"
    tell(f"Wrote {len(paths)} {kind} {'sheet' if len(paths) == 1 else 'sheets'} to {options.folder}.")
    return 0


def _mark(options: argparse.Namespace) -> int:
    from labkit.marking import command  # noqa: PLC0415 (as above)

    if fault := command.unusable(options) or _bank_among_the_returned(options):
        tell_error(fault)
        return 2
    if options.bank:
        from labkit.problems import use_private_bank  # noqa: PLC0415 (as above)

        use_private_bank(options.bank)
    return command.run(options, tell=tell, tell_error=tell_error)


def _bank_among_the_returned(options: argparse.Namespace) -> str:
    """Return why a bank is not taken: what learners handed in is never loaded."""
    if not options.bank or not options.folder:
        return ""
    bank, returned = options.bank.resolve(), options.folder.resolve()
    if returned == bank or returned in bank.parents or bank in returned.parents:
        return "--bank must be outside the folder of returned sheets: what learners hand in is never loaded."
    return ""


def _add_sheets(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "classlist", nargs="?", type=Path, help="CSV or .xlsx with a column id, and group if you have groups"
    )
    command.add_argument("--sheet", metavar="NAME", help="which sheet, such as generator-action")
    command.add_argument("--key", type=Path, metavar="FILE", help="your own key, from which all numbers are drawn")
    command.add_argument("--folder", type=Path, metavar="OUT", help="where the notebooks go")
    command.add_argument("--bank", type=Path, metavar="FOLDER", help="your own private bank, beside the kit's")
    command.add_argument(
        "--assessed", action="store_true", help="cells say only that an answer is recorded, and the numbers stay"
    )
    command.add_argument(
        "--practice",
        action="store_true",
        help="write the practice sheet of each lesson to --folder, for everybody alike",
    )
    command.add_argument("--new-key", type=Path, metavar="FILE", help="make a key file, and do nothing else")


def _add_mark(command: argparse.ArgumentParser) -> None:
    command.add_argument("folder", nargs="?", type=Path, help="returned sheets: folders, zip archives, any names")
    command.add_argument(
        "--class-list",
        type=Path,
        metavar="FILE",
        help="the same as for labkit sheets; a column pair joins people, a column due gives some another time",
    )
    command.add_argument("--key", type=Path, metavar="FILE", help="the key that the sheets were drawn with")
    command.add_argument("--bank", type=Path, metavar="FOLDER", help="the private bank that sheets were made from")
    command.add_argument(
        "--out", type=Path, metavar="FOLDER", help="where marks go, one for each class (default: FOLDER-marks)"
    )
    command.add_argument(
        "--time-limit", type=float, default=30.0, metavar="SECONDS", help="for one sheet (default: %(default)g)"
    )
    command.add_argument("--due", metavar="WHEN", help="note files changed later, such as 2026-11-30T18:00, as late")
    command.add_argument(
        "--late-keeps", type=float, default=100.0, metavar="PERCENT", help="of its marks, a late sheet (default: all)"
    )
    command.add_argument(
        "--again",
        action="store_true",
        help="mark again what is marked, by key, groups and due times as they are now; corrections by hand stand",
    )
    command.add_argument(
        "--without-isolation", action="store_true", help="run sheets unprotected: only for people whom you trust"
    )
    command.add_argument(
        "--scheduler", metavar="ADDRESS", help="run sheets on the workers of a Dask scheduler, as tcp://127.0.0.1:8786"
    )
    command.add_argument(
        "--certificates", type=Path, metavar="FOLDER", help="ca.pem, own.pem and own.key, for a tls:// scheduler"
    )
    register = command.add_argument_group("with the marks in --out, marking nothing")
    register.add_argument(
        "--explain", nargs="+", metavar=("LEARNER", "SHEET QUESTION"), help="say why marks are what they are"
    )
    register.add_argument(
        "--correct",
        nargs=5,
        metavar=("LEARNER", "SHEET", "QUESTION", "MARK", "REASON"),
        help="set a mark by hand, or with 'rule' for MARK take that back",
    )
    register.add_argument("--export", type=Path, metavar="FILE", help="write all answers to a new .xlsx or .csv file")
    register.add_argument("--erase", metavar="LEARNER", help="erase one learner past recovery")


COMMANDS = (
    Command("sheets", _add_sheets, _sheets, "write one homework sheet for each learner of a class list",
            "Make your key once with --new-key, and keep it: marking needs it."),
    Command("mark", _add_mark, _mark, "run and mark a folder of returned sheets",
            ("Each sheet is run shut in, and its answers are judged here; "
             "class report, tables and comment pages go into one folder. "
             "A file that names two learners is reported, not marked, unless the class list has them as a pair. "
             "Of several files for one sheet the best counts. "
             "Who was ill or has an extension gets a time of their own, in a column due of the class list. "
             "What is marked stays marked: the same command goes on where it stopped.")),
)  # fmt: skip
