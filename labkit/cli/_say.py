"""What all commands share: how they speak, what they are, and how a page is written."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

__all__ = ["Command", "tell", "tell_error", "write_page"]


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


def tell(sentence: str) -> None:
    """Print a line."""
    print(sentence, flush=True)


def tell_error(sentence: str) -> None:
    """Print a line apart from what the command returns."""
    print(sentence, file=sys.stderr)


def write_page(path: Path, title: str, body: str) -> None:
    """Write a self-contained page, and say so."""
    from labkit.reports.page import page  # noqa: PLC0415 (nothing heavy is imported before it is needed)

    path.write_text(page(title, body), encoding="utf-8")
    tell_error(f"Wrote {path}.")
