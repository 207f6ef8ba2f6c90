"""A file's bytes to lines of text, whatever wrote it."""

from __future__ import annotations

import codecs
from pathlib import Path

from labkit.errors import BenchError

__all__ = ["lines_of"]

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)  # a spreadsheet's "Unicode text" is UTF-16 with a byte-order mark
_LARGEST = 1 << 30


def lines_of(path: Path) -> list[str]:
    """Return the lines of a text file: UTF-8 with or without mark, UTF-16 with mark, else Windows-1252.

    Raises
    ------
    BenchError
        When the file is empty, larger than 1 GiB or no text.
    """
    size = path.stat().st_size
    if size > _LARGEST:
        raise BenchError(f"{path.name} has {size / 1e9:.1f} GB: too large to read. Keep every tenth row.")
    raw = path.read_bytes()
    coding = next((name for mark, name in _MARKS if raw.startswith(mark)), "utf-8")
    if coding != "utf-16" and b"\0" in raw:
        raise BenchError(f"{path.name} is no text file. Save the table as CSV.")
    try:
        text = raw.decode(coding)
    except UnicodeDecodeError:
        text = raw.decode("cp1252", errors="replace")
    if not text.isascii():
        text = _told_once(text)
    if not text or text.isspace():
        raise BenchError(f"{path.name} is empty. Write the readings into it and save it again.")
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _told_once(text: str) -> str:
    """Return text as it was before a spreadsheet took its UTF-8 for Windows-1252 and saved that as UTF-8.

    >>> _told_once("temperature [Â°C]"), _told_once("temperature [°C], 4 Ω")
    ('temperature [°C]', 'temperature [°C], 4 Ω')
    """
    try:
        return text.encode("cp1252").decode("utf-8")
    except UnicodeError:
        return text
