"""Tell the marker what was answered: one line of JSON on a descriptor that it opened."""

from __future__ import annotations

import contextlib
import json
import os
from typing import Any

__all__ = ["record"]

_DESCRIPTOR = "LABKIT_ANSWERS_FD"


def record(sheet: str, question: str, answer: Any, *, attempt: int = 1, tries: int = 0, seconds: int = 0) -> bool:
    """Write an answer to the descriptor that the environment names, and return whether it names one.

    The line says what was answered and never whether it is right: only the marker judges, from numbers of its own.
    By which attempt's numbers it was worked stands beside it, where that is not the first; so do how many different
    answers there were, and the seconds from the first to this one.
    """
    named = os.environ.get(_DESCRIPTOR, "")
    if not named.isascii() or not named.isdigit():
        return False
    told = {"sheet": sheet, "question": question, "answer": answer}
    told |= {"attempt": attempt} if attempt > 1 else {}
    told |= {"tries": tries, "seconds": seconds} if tries else {}
    line = json.dumps(told, allow_nan=False, ensure_ascii=False).encode("utf-8", "replace")
    with contextlib.suppress(OSError):  # nobody listens any more: the learner's own run goes on
        os.write(int(named), line + b"\n")
    return True
