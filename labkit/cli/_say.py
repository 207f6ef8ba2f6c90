"""What all commands share: how they speak, what they are, and how a page is written."""

from __future__ import annotations

import argparse
import codecs
import io
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from labkit.errors import FolderError

__all__ = ["Command", "speak_anywhere", "tell", "tell_error", "write_html", "write_page"]

#: What is written where a terminal or a file knows the ASCII signs only, as on Windows it may.
_PLAIN = {
    "Ω": "ohm", "µ": "u", "±": "+/-", "°": "deg ", "·": "*", "×": "x", "−": "-", "–": "-", "…": "...",
    "ω": "omega", "η": "eta", "θ": "theta", "τ": "tau", "√": "sqrt", "½": "1/2", "²": "^2", "³": "^3", "⁻": "-",
    "✓": "ok", "✗": "X", "△": "!", "○": "o", "“": '"', "”": '"', "’": "'", "→": "->", "≥": ">=", "≤": "<=",
}  # fmt: skip


class Command(NamedTuple):
    """One command."""

    name: str
    #: Adds its arguments.
    add: Callable[[argparse.ArgumentParser], None]
    #: Runs it and returns the exit status.
    run: Callable[[argparse.Namespace], int]
    #: Its line in the list.
    line: str
    #: What more its own help says.
    more: str


def _plainly(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(_PLAIN.get(sign, "?") for sign in error.object[error.start : error.end]), error.end


def speak_anywhere() -> None:
    """Let a sign that the terminal does not have be written in plain ones, and stop nothing."""
    codecs.register_error("plainly", _plainly)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plainly")


def tell(sentence: str) -> None:
    """Print a line."""
    print(sentence, flush=True)


def tell_error(sentence: str) -> None:
    """Print a line apart from what the command returns."""
    print(sentence, file=sys.stderr)


def write_page(path: Path, title: str, body: str) -> None:
    """Write a self-contained page, and say so; see ``write_html``."""
    from labkit.reports.page import page  # noqa: PLC0415 (nothing heavy is imported before it is needed)

    write_html(path, page(title, body))


def write_html(path: Path, text: str) -> None:
    """Write a whole page, over an earlier one if that is what stands there, and say so.

    Raises
    ------
    FolderError
        When the file holds something else, such as the readings themselves.
    """
    if path.is_file():
        with path.open("rb") as there:
            begins = there.read(15).lower()
        if begins and begins != b"<!doctype html>":
            raise FolderError(f"{path} is there already and is no page. Name another file, so that nothing is lost.")
    path.write_text(text, encoding="utf-8")
    tell_error(f"Wrote {path}.")
