"""Files that are there whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO, Any, Literal

__all__ = ["DRAFT", "whole_file"]

#: Stands in the name of a file that is being written, before the number of the process that writes it.
DRAFT = ".draft-"


@contextmanager
def whole_file(path: Path, mode: Literal["w", "wb"] = "w") -> Iterator[IO[Any]]:
    """Write a file whole: a reader never sees half of it, and what was there stays until all of the new one is.

    Text is UTF-8; a CSV begins with the mark without which spreadsheets take it for something else.

    Raises
    ------
    OSError
        With the file's name, also where the system gives none, as on a full disk.
    """
    draft = path.with_name(f".{path.name}{DRAFT}{os.getpid()}")
    encoding = "utf-8-sig" if path.suffix.casefold() == ".csv" else "utf-8"
    text = {"encoding": encoding, "newline": ""} if mode == "w" else {}
    try:
        with draft.open(mode, **text) as file:  # type: ignore[call-overload]  # of the two modes
            yield file
        draft.replace(path)
    except BaseException as error:
        draft.unlink(missing_ok=True)
        if isinstance(error, OSError) and error.filename in (None, str(draft)):
            raise OSError(error.errno, error.strerror, str(path)) from error
        raise
