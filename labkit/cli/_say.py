"""What all commands share: how they speak, what they are, and how a page is written."""

from __future__ import annotations

import argparse
import codecs
import io
import os
import sys
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from labkit.errors import FolderError

__all__ = ["Command", "end_lines", "nobody_reads", "speak_anywhere", "tell", "tell_error", "write_html", "write_page"]

#: What is written where a terminal or a file lacks a sign, as on Windows it may; Greek letters go by their names.
_PLAIN = {
    "Ω": "ohm", "μ": "u", "±": "+/-", "°": "deg ", "·": "*", "⋅": "*", "∙": "*", "×": "x", "÷": "/", "⁄": "/", "−": "-",
    "–": "-", "√": "sqrt", "≈": "~", "≥": ">=", "≤": "<=", "∞": "inf", "→": "->", "✓": "ok", "✗": "X", "△": "!",
    "○": "o", "●": "*", "“": '"', "”": '"', "’": "'",
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


def _plain(sign: str) -> str:
    """Return a sign in ASCII; one that Unicode puts together from others as these, without accents."""
    parts = unicodedata.normalize("NFKD", sign)
    if parts != sign:
        return "".join(map(_plain, parts))
    if sign.isascii() or unicodedata.combining(sign):
        return sign if sign.isascii() else ""
    *kind, name = unicodedata.name(sign, "").split() or [""]
    return _PLAIN.get(sign) or (name.lower() if "GREEK" in kind else "?")


def _is_raised(sign: str) -> bool:
    return unicodedata.decomposition(sign).startswith("<super>")


def _plainly(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    plain, before = "", error.object[error.start - 1] if error.start else " "
    for sign in error.object[error.start : error.end]:
        begins_a_power = _is_raised(sign) and not _is_raised(before)
        plain += ("^" if begins_a_power else "") + _plain(sign)
        before = sign
    return plain, error.end


def speak_anywhere() -> None:
    """Let a sign that the terminal does not have be written in plain ones, and stop nothing."""
    codecs.register_error("plainly", _plainly)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="plainly")


def end_lines() -> None:
    """Pass on what is printed and still held back; without a standard output there is nothing to pass on.

    Raises
    ------
    OSError
        When it can no longer be written.
    """
    if sys.stdout is not None:
        sys.stdout.flush()


def nobody_reads() -> bool:
    """Return whether lines can no longer be passed on; if so, whatever is still held back is dropped.

    A pipe whose reader has had enough, as ``head`` has, is a broken pipe; on Windows it is an invalid argument.
    """
    try:
        end_lines()
    except OSError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return True
    return False


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
