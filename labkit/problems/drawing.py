"""A learner's own numbers: drawn from a keyed hash, the same on every machine and every Python.

HMAC-SHA256 (RFC 2104) over a text that names learner, sheet and bank gives as many whole numbers as are needed.
Values are picked by whole numbers from lists of decimal texts, so that two machines cannot disagree about them.
A set in which a wrong answer lies near the right one is thrown away, and the next is drawn from the same stream.
"""

from __future__ import annotations

import hashlib
import hmac
import itertools
import json
import math
import unicodedata
from collections.abc import Iterator

from labkit.checks import Numbers, Question
from labkit.checks.questions import size_of
from labkit.errors import SheetError
from labkit.problems.plans import SheetPlan

__all__ = ["PRACTICE_KEY", "draw", "well_posed"]

#: Practice sheets are drawn with this key, which everybody knows; a teacher has a key of their own.
PRACTICE_KEY = b"labkit practice sheets"

_MOST_REDRAWS = 2000
_TOLD_APART = 2.0 * (1 + 1e-9)
_APART = 3.0 * (1 + 1e-9)  # tolerances between the right answer and any wrong one; no machine rounds that far off


def draw(
    plan: SheetPlan, *, learner: str, group: str = "", bank: str, attempt: int = 1, key: bytes = PRACTICE_KEY
) -> dict[str, str]:
    """Return the numbers of one learner: ``{"speed": "3100 rpm", …}``.

    Parameters
    ----------
    plan : SheetPlan
    learner, group, bank : str
        Letters that look the same but are coded differently count as the same (Unicode NFC), as do spaces around.
    attempt : int
        Another gives other numbers.
    key : bytes

    Raises
    ------
    SheetError
        When no set is well posed: the plan's values need widening.
    """
    return _first_well_posed(plan, _stream(key, [_tidy(group), plan.name, bank, _tidy(learner), attempt]))[0]


def _first_well_posed(plan: SheetPlan, stream: Iterator[int]) -> tuple[dict[str, str], int]:
    for thrown_away in range(_MOST_REDRAWS):
        texts = {value.name: value.written(value.texts[_below(len(value.texts), stream)]) for value in plan.values}
        numbers = plan.numbers(texts)
        if plan.sensible(numbers) and all(well_posed(question, numbers) for question in plan.questions):
            return texts, thrown_away
    msg = f"The sheet {plan.name!r} found no fitting numbers in {_MOST_REDRAWS} draws. Widen its values."
    raise SheetError(msg)


def _tidy(text: str) -> str:
    return unicodedata.normalize("NFC", str(text)).strip()


def _stream(key: bytes, named: list[str | int]) -> Iterator[int]:
    """Yield whole numbers below 2⁶⁴ without end."""
    message = json.dumps(named, ensure_ascii=True, separators=(",", ":")).encode("ascii")
    counter = 0
    while True:
        block = hmac.new(key, message + b"#%d" % counter, hashlib.sha256).digest()
        yield from (int.from_bytes(block[start : start + 8], "big") for start in range(0, 32, 8))
        counter += 1


def _below(count: int, stream: Iterator[int]) -> int:
    """Return the next whole number below *count*, each equally likely."""
    fair = 2**64 - 2**64 % count
    return next(number for number in stream if number < fair) % count


def well_posed(question: Question, numbers: Numbers) -> bool:
    """Return whether the right answer and every listed wrong one are three tolerances apart or more.

    Wrong answers that come from different ideas are two apart, so that a rounded number can tell which it was.
    """
    if question.answer is None or question.symbols:  # nothing drawn decides what is right
        return True
    right = question.right_size(numbers)
    sizes = [(size_of(mistake.formula, numbers), mistake.idea) for mistake in question.mistakes]
    slack = question.slack(right)
    if not all(math.isfinite(size) for size, _ in [*sizes, (right, "")]):
        return False
    return all(abs(size - right) >= _APART * slack for size, _ in sizes) and all(
        abs(one - other) >= _TOLD_APART * question.slack(other)
        for (one, idea), (other, another) in itertools.combinations(sizes, 2)
        if idea is not another
    )
