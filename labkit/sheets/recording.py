"""Tell the marker what was answered: one line of JSON on a descriptor that it opened."""

from __future__ import annotations

import contextlib
import json
import os
from typing import Any

__all__ = ["record"]

_DESCRIPTOR = "LABKIT_ANSWERS_FD"


def record(sheet: str, question: str, answer: Any) -> bool:
    """Write an answer to the descriptor that the environment names, and return whether it names one.

    The line says what was answered and never whether it is right: only the marker judges, from numbers of its own.
    """
    named = os.environ.get(_DESCRIPTOR, "")
    if not named.isascii() or not named.isdigit():
        return False
    line = json.dumps({"sheet": sheet, "question": question, "answer": answer}, allow_nan=False)
    with contextlib.suppress(OSError):  # nobody listens any more: the learner's own run goes on
        os.write(int(named), line.encode("ascii") + b"\n")
    return True
