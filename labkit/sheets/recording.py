"""Tell the marker what was answered: one line of JSON on a descriptor that it opened."""

from __future__ import annotations

import json
import os
from typing import Any

__all__ = ["record"]

_DESCRIPTOR = "LABKIT_ANSWERS_FD"


def record(sheet: str, question: str, answer: Any) -> None:
    """Write an answer to the descriptor that the environment names; do nothing where it names none.

    The line says what was answered and never whether it is right: only the marker judges, from numbers of its own.
    """
    named = os.environ.get(_DESCRIPTOR, "")
    if not named.isascii() or not named.isdigit():
        return
    line = json.dumps({"sheet": sheet, "question": question, "answer": answer}, allow_nan=False)
    try:
        os.write(int(named), line.encode("ascii") + b"\n")
    except OSError:  # nobody listens any more: the learner's own run goes on
        return
