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


def _tell_error(sentence: str) -> None:
    print(sentence, file=sys.stderr)


def _start(options: argparse.Namespace) -> int:
    from labkit.workspace import prepare_folder, serve  # noqa: PLC0415 (nothing is imported before it is needed)

    report = prepare_folder(options.folder)
    for sentence in report.sentences():
        _tell(sentence)
    serve(report.folder, first_lesson=report.first_lesson, browser=not options.no_browser, tell=_tell)
    return 0


def _fit(options: argparse.Namespace) -> int:
    from labkit.bench import read_bench  # noqa: PLC0415 (as above)
    from labkit.fitting import fit_motor  # noqa: PLC0415 (as above)
    from labkit.reports.fit import report, report_html  # noqa: PLC0415 (as above)

    fit = fit_motor(
        read_bench(options.file),
        voltmeter=options.voltmeter,
        ammeter=options.ammeter,
        tachometer=options.tachometer,
        torque_meter=options.torque_meter,
    )
    _tell(report(fit))
    if options.page:
        options.page.write_text(report_html(fit), encoding="utf-8")
        _tell_error(f"Wrote {options.page}.")
    return 0


#: Exit status of a review by its verdict.
_REVIEW_STATUS = {"fine": 0, "tight": 10, "exceeded": 20, "cannot tell": 30}


def _review(options: argparse.Namespace) -> int:
    from labkit.reports.review import review_data, review_html, review_table  # noqa: PLC0415 (as above)
    from labkit.reviews import Tolerances, read_design, review  # noqa: PLC0415 (as above)

    design = read_design(options.design)
    tolerances = Tolerances() if options.corners else None
    found = review(design.drive, design.duty, design.frequency, duty_count=design.duty_count, tolerances=tolerances)
    if options.page:
        options.page.write_text(review_html(found, title=design.name), encoding="utf-8")
        _tell_error(f"Wrote {options.page}.")
    if options.json:
        import json  # noqa: PLC0415 (as above)

        _tell(json.dumps(review_data(found), ensure_ascii=False, indent=2))
    else:
        from rich.console import Console  # noqa: PLC0415 (as above)

        Console().print(review_table(found))
    return _REVIEW_STATUS[found.outcome.value]


def _sheets(options: argparse.Namespace) -> int:
    from labkit.sheets import new_key, read_class_list, read_key, write_sheets  # noqa: PLC0415 (as above)

    if options.new_key:
        new_key(options.new_key)
        _tell(f"Wrote a new key to {options.new_key}. Keep it to yourself: marking needs it, and no sheet shows it.")
        return 0
    for name in ("classlist", "sheet", "key", "folder"):
        if getattr(options, name) is None:
            wanted = "a class list" if name == "classlist" else f"--{name}"
            _tell_error(f"labkit sheets needs {wanted}. See: labkit sheets --help")
            return 2
    paths = write_sheets(
        read_class_list(options.classlist),
        sheet=options.sheet,
        key=read_key(options.key),
        folder=options.folder,
        assessed=options.assessed,
    )
    _tell(f"Wrote {len(paths)} {'sheet' if len(paths) == 1 else 'sheets'} to {options.folder}.")
    return 0


def _mark(options: argparse.Namespace) -> int:
    from labkit.marking import command  # noqa: PLC0415 (as above)

    if fault := command.unusable(options):
        _tell_error(fault)
        return 2
    return command.run(options, tell=_tell, tell_error=_tell_error)


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


def _add_fit(command: argparse.ArgumentParser) -> None:
    command.add_argument("file", type=Path, help="CSV with units in the header, or .xlsx")
    for meter in ("voltmeter", "ammeter", "tachometer", "torque-meter"):
        command.add_argument(
            f"--{meter}", metavar="ACCURACY", help="such as '0.5 %% + 2 counts', instead of the file's"
        )
    command.add_argument("--page", type=Path, metavar="FILE", help="write the report as HTML as well")


def _add_review(command: argparse.ArgumentParser) -> None:
    command.add_argument("design", type=Path, help="TOML file that describes the drive")
    command.add_argument("--corners", action="store_true", help="at the worst corner of the usual tolerances")
    command.add_argument("--json", action="store_true", help="plain data instead of a table")
    command.add_argument("--page", type=Path, metavar="FILE", help="write a page to keep as well")


def _add_sheets(command: argparse.ArgumentParser) -> None:
    command.add_argument("classlist", nargs="?", type=Path, help="CSV with a column id, and group if you have groups")
    command.add_argument("--sheet", metavar="NAME", help="which sheet, such as generator-action")
    command.add_argument("--key", type=Path, metavar="FILE", help="your own key, from which all numbers are drawn")
    command.add_argument("--folder", type=Path, metavar="OUT", help="where the notebooks go")
    command.add_argument("--assessed", action="store_true", help="cells say only that an answer is recorded")
    command.add_argument("--new-key", type=Path, metavar="FILE", help="make a key file, and do nothing else")


def _add_mark(command: argparse.ArgumentParser) -> None:
    command.add_argument("folder", nargs="?", type=Path, help="returned sheets: folders, zip archives, any names")
    command.add_argument("--class-list", type=Path, metavar="FILE", help="CSV with a column id, as for labkit sheets")
    command.add_argument("--key", type=Path, metavar="FILE", help="the key that the sheets were drawn with")
    command.add_argument("--out", type=Path, metavar="FOLDER", help="where marks go (default: FOLDER-marks)")
    command.add_argument(
        "--time-limit", type=float, default=30.0, metavar="SECONDS", help="for one sheet (default: %(default)g)"
    )
    command.add_argument("--due", metavar="WHEN", help="note files changed later, such as 2026-11-30T18:00, as late")
    command.add_argument("--again", action="store_true", help="mark again what is marked; corrections by hand stand")
    command.add_argument(
        "--without-isolation", action="store_true", help="run sheets unprotected: only for people whom you trust"
    )
    command.add_argument(
        "--correct",
        nargs=5,
        metavar=("LEARNER", "SHEET", "QUESTION", "MARK", "REASON"),
        help="set a mark by hand, and mark nothing",
    )
    command.add_argument(
        "--erase", metavar="LEARNER", help="erase one learner from the mark register, and mark nothing"
    )


#: Name of a command: its arguments, what runs it, its line in the list, and what more its own help says.
_COMMANDS = (
    ("start", _add_start, _start, "put lessons and sheets into a folder of yours and open JupyterLab there",
     "What you changed stays as it is: a newer version is put beside it. To stop, press Ctrl-C."),
    ("fit", _add_fit, _fit, "find a motor's constants from a file of bench readings",
     "Bad rows are named with line and reason, and the good ones used. labkit-lessons/bench has files to copy."),
    ("review", _add_review, _review, "look a drive over before power is applied",
     "Exit status: 0 fine, 10 tight, 20 exceeded, 30 cannot tell."),
    ("sheets", _add_sheets, _sheets, "write one homework sheet for each learner of a class list",
     "Make your key once with --new-key, and keep it: marking needs it."),
    ("mark", _add_mark, _mark, "run and mark a folder of returned sheets",
     ("Each sheet is run shut in, and its answers are judged here; marks and comment pages go into one folder. "
      "A file that names two learners is reported, not marked. Of several files for one sheet the best counts. "
      "What is marked stays marked: the same command goes on where it stopped.")),
)  # fmt: skip


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
    """Run one command and return its exit status: 0 done, 1 refused with a reason, 2 unusable arguments."""
    options = _parser().parse_args(arguments)
    try:
        return int(options.run(options))
    except LabkitError as error:
        print(f"labkit: {error}", file=sys.stderr)
        return 1
    except (FileNotFoundError, FileExistsError, IsADirectoryError, NotADirectoryError, PermissionError) as error:
        print(f"labkit: {error.strerror}: {error.filename}", file=sys.stderr)
        return 1
