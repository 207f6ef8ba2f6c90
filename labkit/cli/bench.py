"""Commands for measuring a motor."""

from __future__ import annotations

import argparse
from pathlib import Path

from labkit.cli._say import Command, tell, tell_error, write_page

__all__ = ["COMMANDS"]


def _fit(options: argparse.Namespace) -> int:
    from labkit.bench import read_bench  # noqa: PLC0415 (as above)
    from labkit.fitting import fit_motor  # noqa: PLC0415 (as above)
    from labkit.reports.beside import record_report, record_report_html  # noqa: PLC0415 (as above)
    from labkit.reports.fit import report, report_html  # noqa: PLC0415 (as above)

    record = read_bench(options.file)
    if not record.tables:
        tell(record_report(record))
        if options.page:
            write_page(options.page, f"Readings of {record.source}", record_report_html(record))
        return 0
    fit = fit_motor(
        record,
        voltmeter=options.voltmeter,
        ammeter=options.ammeter,
        tachometer=options.tachometer,
        torque_meter=options.torque_meter,
    )
    tell(report(fit))
    if options.page:
        from labkit.figures import bench_picture, residual_picture  # noqa: PLC0415 (as above)

        pictures = "".join(picture(fit).to_html() for picture in (bench_picture, residual_picture) if fit.names)
        write_page(options.page, f"Fit of {record.source}", report_html(fit) + pictures)
    return 0


def _procedure(options: argparse.Namespace) -> int:
    from labkit.bench import procedure  # noqa: PLC0415 (as above)
    from labkit.reports.procedure import procedure_list, procedure_page, procedure_text  # noqa: PLC0415 (as above)

    if options.name is None:
        tell(procedure_list())
        return 0
    found = procedure(options.name)
    tell(procedure_text(found))
    for path, text in ((options.sheet, found.sheet), (options.page, lambda: procedure_page(found))):
        if path is not None:
            written = text()
            with path.open("x", encoding="utf-8") as file:  # readings that were typed in are never written over
                file.write(written)
            tell_error(f"Wrote {path}.")
    return 0


def _speed(options: argparse.Namespace) -> int:
    from labkit.fitting import speed_from_log, speed_from_sound  # noqa: PLC0415 (as above)
    from labkit.reports.heard import heard_text  # noqa: PLC0415 (as above)

    between = {"slowest": options.slowest, "fastest": options.fastest}
    if options.file.suffix.lower() in (".csv", ".txt", ".xlsx"):
        from labkit.bench import read_bench  # noqa: PLC0415 (as above)

        heard = speed_from_log(read_bench(options.file), bars=options.bars, **between)
    else:
        heard = speed_from_sound(options.file, blades=options.blades, **between)
    tell(heard_text(heard))
    if options.page:
        from labkit.figures import spectrum_picture  # noqa: PLC0415 (as above)

        write_page(options.page, f"Speed from {options.file.name}", spectrum_picture(heard).to_html())
    return 0


def _add_speed(command: argparse.ArgumentParser) -> None:
    command.add_argument("file", type=Path, help="recording (WAV, about 5 s), or CSV of a logged current")
    command.add_argument("--blades", type=int, default=1, metavar="N", help="of the fan on the shaft (default: none)")
    command.add_argument("--bars", type=int, default=3, metavar="N", help="of the commutator (default: %(default)s)")
    command.add_argument("--slowest", default="300 rpm", metavar="SPEED", help="that it can be (default: %(default)s)")
    command.add_argument("--fastest", default="40000 rpm", metavar="SPEED", help="the same (default: %(default)s)")
    command.add_argument("--page", type=Path, metavar="FILE", help="write the spectrum as a page as well")


def _add_procedure(command: argparse.ArgumentParser) -> None:
    command.add_argument("name", nargs="?", metavar="NAME", help="which measurement; without it they are listed")
    command.add_argument("--sheet", type=Path, metavar="FILE", help="write the empty sheet (CSV) to fill in")
    command.add_argument("--page", type=Path, metavar="FILE", help="write a page to print")


def _add_fit(command: argparse.ArgumentParser) -> None:
    command.add_argument("file", type=Path, help="CSV with units in the header, or .xlsx")
    for meter in ("voltmeter", "ammeter", "tachometer", "torque-meter"):
        command.add_argument(
            f"--{meter}", metavar="ACCURACY", help='such as "0.5 %% + 2 counts", in place of what the file says'
        )
    command.add_argument("--page", type=Path, metavar="FILE", help="write the report as HTML as well")


COMMANDS = (
    Command("fit", _add_fit, _fit, "find a motor's constants from a file of bench readings",
            "Bad rows are named with line and reason, and the good ones used. labkit-lessons/bench has files to copy."),
    Command("procedure", _add_procedure, _procedure, "show how a constant is measured, and write its sheet",
            "Sheets are plain CSV: fill them in and give them to labkit fit. No file is written over."),
    Command("speed", _add_speed, _speed, "find a motor's speed from its sound, or from its current's ripple",
            "It says which line it took, how sure it is, and what else it could be."),
)  # fmt: skip
