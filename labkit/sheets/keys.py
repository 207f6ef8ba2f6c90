"""The teacher's key: a file that stays with the teacher and is printed on no sheet."""

from __future__ import annotations

import hmac
import json
import os
import secrets
from pathlib import Path

from labkit.errors import SheetError

__all__ = ["is_key", "new_key", "read_key", "retry_permit"]

_SHORTEST = 16  # bytes


def new_key(path: Path) -> None:
    """Write a fresh key into a new file that only its owner may read.

    Raises
    ------
    SheetError
        When the file exists already: sheets drawn with the old key could no longer be marked.
    """
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        msg = (
            f"{path} exists already. Keep it as long as any sheet drawn with it is to be marked, or name another file."
        )
        raise SheetError(msg) from None
    with os.fdopen(descriptor, "w", encoding="ascii") as file:
        file.write(secrets.token_hex(32) + "\n")


def read_key(path: Path) -> bytes:
    """Return the key of a file.

    Raises
    ------
    SheetError
        When the file is no key of ``labkit sheets --new-key``.
    """
    text = Path(path).read_text(encoding="utf-8-sig", errors="replace")
    if not is_key(text):
        msg = f"{path} holds no key. Name the file that was made with: labkit sheets --new-key FILE"
        raise SheetError(msg)
    return bytes.fromhex(text)


def is_key(text: str) -> bool:
    """Return whether a file's text is a key.

    >>> is_key("00ff" * 8), is_key("00ff"), is_key("id,group")
    (True, False, False)
    """
    try:
        return len(bytes.fromhex(text)) >= _SHORTEST
    except ValueError:
        return False


def retry_permit(key: bytes, *, sheet: str, learner: str, group: str, bank: str) -> str:
    """Return the word on a practice sheet by which marking knows that its learner may draw new numbers.

    An assessed sheet carries none, and without the key nobody can make one, for this sheet or for another's.
    """
    named = json.dumps(["retries", group, sheet, bank, learner]).encode("ascii")
    return hmac.digest(key, named, "sha256").hex()[:32]
