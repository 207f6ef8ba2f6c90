"""The command for handouts."""

from __future__ import annotations

import argparse
from pathlib import Path

from labkit.cli._say import Command, tell, tell_error
from labkit.errors import HandoutError

__all__ = ["COMMANDS"]


def _handout(options: argparse.Namespace) -> int:
    from labkit.handouts import COPIES, find_notebook, handouts, printer, write_handout  # noqa: PLC0415 (nothing heavy is imported before it is needed)

    notebook = find_notebook(options.lesson, sheet=options.sheet)
    settings = [_setting(text) for text in options.at]
    as_pdf = options.form != "html"
    if as_pdf and not printer() and options.form is None:
        tell_error('No PDF: it needs Chromium, or pip install "labkit[handout]". The HTML prints from any browser.')
        as_pdf = False
    copies = COPIES if options.copy == "both" else (options.copy,)
    for made in handouts(notebook, copies=copies, at=settings):
        html = options.form != "pdf"
        for path in write_handout(made, options.folder, html=html, as_pdf=as_pdf, replace=options.replace):
            tell(f"Wrote {path}.")
    return 0


def _setting(text: str) -> tuple[str, str]:
    name, sign, value = (part.strip() for part in text.partition("="))
    if not (name and sign and value):
        raise HandoutError(f'--at must be NAME=VALUE; got {text!r}. Write it as in --at "Duty=60 %".')
    return name, value


def _add_handout(command: argparse.ArgumentParser) -> None:
    command.add_argument(
        "lesson", help="a lesson's number or name, or the file of a notebook that you trust: it is run"
    )
    command.add_argument("--sheet", action="store_true", help="the homework sheet of that lesson")
    command.add_argument(
        "--copy", choices=("learner", "teacher", "both"), default="learner",
        help="with blanks, with answers and worked solutions, or one of each (default: %(default)s)",
    )  # fmt: skip
    command.add_argument("--form", choices=("html", "pdf"), help="only one of the two; otherwise both")
    command.add_argument("--folder", type=Path, default=Path(), metavar="OUT", help="where they go (default: here)")
    command.add_argument(
        "--at", action="append", default=[], metavar="NAME=VALUE", help='freeze panels there, such as "Duty=60 %%"'
    )
    command.add_argument("--replace", action="store_true", help="write over handouts that are there already")


COMMANDS = (
    Command("handout", _add_handout, _handout, "put a lesson or a sheet on paper",
            "Self-contained HTML and PDF: panels stand still, formulas need no network, pictures keep their words."),
)  # fmt: skip
