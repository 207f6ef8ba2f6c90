"""Commands for measuring a motor."""

from __future__ import annotations

import argparse
from pathlib import Path

from labkit.cli._say import Command, tell, tell_error

__all__ = ["COMMANDS"]


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
    tell(report(fit))
    if options.page:
        options.page.write_text(report_html(fit), encoding="utf-8")
        tell_error(f"Wrote {options.page}.")
    return 0


def _add_fit(command: argparse.ArgumentParser) -> None:
    command.add_argument("file", type=Path, help="CSV with units in the header, or .xlsx")
    for meter in ("voltmeter", "ammeter", "tachometer", "torque-meter"):
        command.add_argument(
            f"--{meter}", metavar="ACCURACY", help="such as '0.5 %% + 2 counts', instead of the file's"
        )
    command.add_argument("--page", type=Path, metavar="FILE", help="write the report as HTML as well")


COMMANDS = (
    Command("fit", _add_fit, _fit, "find a motor's constants from a file of bench readings",
            "Bad rows are named with line and reason, and the good ones used. labkit-lessons/bench has files to copy."),
)  # fmt: skip
