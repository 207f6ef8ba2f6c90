"""A teacher's private bank: a folder of Python files with plans of their own, which no learner ever has.

The files are run in the teacher's own process, as any program of theirs; nothing that a learner wrote is ever loaded.
Sheets made from it carry what is asked, and never an answer: only the folder's owner can mark them.
"""

from __future__ import annotations

import importlib.util
import re
import sys
import traceback
from collections.abc import Iterable, Iterator
from pathlib import Path
from types import ModuleType

from labkit.errors import SheetError
from labkit.problems.drawing import draw, well_posed
from labkit.problems.plans import SheetPlan

__all__ = ["read_private_bank"]

_VERSION = re.compile(r"\d{4}-\d{2}(-\d{2})?")
_TRIED = 20  # learners for whom each plan is drawn before it is taken


def read_private_bank(folder: Path, shipped: Iterable[SheetPlan]) -> tuple[SheetPlan, ...]:
    """Return the plans of a private bank, each tried on a few learners.

    Parameters
    ----------
    folder : Path
        Each ``*.py`` file in it has a tuple ``SHEETS``; names that begin with an underscore are left out.
    shipped : iterable of SheetPlan
        Plans whose names are taken already, and whose questions' titles are.

    Raises
    ------
    SheetError
        Names the file and what to mend.
    """
    if not Path(folder).is_dir():
        msg = f"There is no folder {folder}. Name the folder with your own bank."
        raise SheetError(msg)
    files = sorted(path for path in Path(folder).glob("*.py") if not path.name.startswith(("_", ".")))
    if not files:
        msg = f"{folder} holds no bank. Put a file with SHEETS = (SheetPlan(…),) there."
        raise SheetError(msg)
    found = [(path, plan) for path in files for plan in _plans_in(path)]
    taken = {plan.name: "labkit's own bank" for plan in shipped}
    titles = {question.title: plan.name for plan in shipped for question in plan.questions}
    for path, plan in found:
        if fault := _fault(plan, path, taken, titles):
            msg = f"{path.name}: {fault}"
            raise SheetError(msg)
        taken[plan.name] = path.name
        titles |= {question.title: plan.name for question in plan.questions}
    return tuple(plan for _, plan in found)


def _plans_in(path: Path) -> Iterator[SheetPlan]:
    sheets = getattr(_loaded(path), "SHEETS", None)
    if not isinstance(sheets, tuple) or not all(isinstance(plan, SheetPlan) for plan in sheets) or not sheets:
        msg = f"{path.name} must have SHEETS, a tuple of SheetPlan; got {sheets!r:.60}. Write SHEETS = (SheetPlan(…),)."
        raise SheetError(msg)
    yield from sheets


def _loaded(path: Path) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"labkit_private_bank_{path.stem}", path)
    assert spec is not None and spec.loader is not None  # noqa: S101, PT018 (it ends in .py)
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module  # dataclasses of the file look themselves up there
    try:
        spec.loader.exec_module(module)
    except Exception as error:
        line = next((frame.lineno for frame in reversed(traceback.extract_tb(error.__traceback__))
                     if frame.filename == str(path)), getattr(error, "lineno", None))  # fmt: skip
        msg = f"{path.name}, line {line}: {type(error).__name__}: {error}. Mend it there."
        raise SheetError(msg) from error
    return module


def _fault(plan: SheetPlan, path: Path, taken: dict[str, str], titles: dict[str, str]) -> str:
    """Return what is wrong with a plan, in a sentence; empty when it will do."""
    if taken.get(plan.name, path.name) != path.name:
        return f"the sheet's name {plan.name!r} is taken by {taken[plan.name]}. Choose another."
    if not _VERSION.fullmatch(plan.since):
        return f"since must be a year and a month, such as '2027-01'; got {plan.since!r}. Date it."
    for question in plan.questions:
        if titles.get(question.title, plan.name) != plan.name:
            return f"the title {question.title!r} is taken by {titles[question.title]}. Choose another."
    numbers = plan.numbers(plan.reference)
    if unsound := next((question for question in plan.questions if not well_posed(question, numbers)), None):
        return (
            f"with the reference values a wrong answer to {unsound.title!r} lies nearer to the right one than three "
            "tolerances. Choose others."
        )
    for number in range(_TRIED):
        draw(plan, learner=f"trial-{number}", bank=plan.since)
    return ""
