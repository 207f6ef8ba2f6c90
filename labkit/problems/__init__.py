"""The question bank: one file a lesson, each question with its wrong answers and the ideas that lead to them.

Numbers of the desk wind tunnel and all drawn values are invented, within what is usual for such parts.
"""

from labkit.problems.bank import (
    BANK,
    asked,
    check,
    is_private,
    newest,
    plan,
    plans,
    question,
    sheet_names,
    use_private_bank,
)
from labkit.problems.drawing import PRACTICE_KEY, draw
from labkit.problems.misconceptions import MISCONCEPTIONS
from labkit.problems.plans import SheetPlan

__all__ = [
    "BANK",
    "MISCONCEPTIONS",
    "PRACTICE_KEY",
    "SheetPlan",
    "asked",
    "check",
    "draw",
    "is_private",
    "newest",
    "plan",
    "plans",
    "question",
    "sheet_names",
    "use_private_bank",
]
