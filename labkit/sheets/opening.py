"""Open a learner's sheet: in a notebook, or with the numbers that a teacher's key gives."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from labkit.errors import SheetError
from labkit.problems import BANK, PRACTICE_KEY, draw, is_private, plan
from labkit.sheets.carried import carried_plan
from labkit.sheets.keys import retry_permit
from labkit.sheets.sheet import MOST_ATTEMPTS, Sheet
from labkit.sheets.tries import TriesFile
from labkit.sheets.withholding import in_notebook, withhold

__all__ = ["open_sheet", "personal_sheet"]


def open_sheet(
    name: str,
    *,
    learner: str = "practice",
    group: str = "",
    bank: str = BANK,
    attempt: int = 1,
    numbers: Mapping[str, str] | None = None,
    assessed: bool = False,
    tries: str | Path | None = None,
    questions: Sequence[Mapping[str, Any]] | None = None,
    retries: str = "",
) -> Sheet:
    """Open a sheet in a notebook.

    Parameters
    ----------
    name : str
        ``"generator-action"``, for instance.
    learner, group : str
        Any id: another has other numbers.
    bank : str
        The version of the question bank that the sheet was drawn from.
    attempt : int
        Another gives the same learner other numbers, as ``sheet.again()`` does; an assessed sheet has only the first.
    numbers : mapping of str to str, optional
        What a personal sheet carries, for the first attempt. Without it the numbers are drawn, as for practice.
    assessed : bool
        Say only whether an answer is of the right kind and recorded, and withhold what of the kit the sheet does not
        allow.
    tries : str or Path, optional
        A file beside the notebook that keeps the tries, so that a restarted kernel knows them.
    questions : sequence of mappings, optional
        What is asked, carried by a sheet of a teacher's private bank; such a sheet is always assessed.
    retries : str
        Carried by a practice sheet that will be marked: it lets the answers of later attempts count.

    Returns
    -------
    Sheet

    Raises
    ------
    SheetError
        When there is no such sheet, a number is missing, or an argument is of the wrong kind.

    Examples
    --------
    >>> sheet = open_sheet("generator-action", learner="amber-17", bank="2026-11")
    >>> sheet.numbers["speed"]
    '4200 rpm'
    >>> sheet.answer("Generator EMF at this speed", "23.9 V").misconception
    'M14'
    """
    _check_owner(learner, group, attempt)
    found = plan(name, bank) if questions is None else carried_plan(name, questions)
    assessed = assessed or questions is not None
    if attempt > 1 and assessed:
        raise SheetError(f"An assessed sheet has only its first numbers; got attempt={attempt}. Take that word out.")
    if numbers is None or attempt > 1:
        numbers = draw(found, learner=learner, group=group, bank=bank, attempt=attempt, key=PRACTICE_KEY)
    found.numbers(numbers)  # says which one is missing
    if assessed and found.kit is not None and in_notebook():
        withhold(found.name, found.kit)
    owner = {"sheet": name, "bank": bank, "group": group, "learner": learner, "attempt": attempt}
    return Sheet(
        plan=found, learner=learner, group=group, bank=bank, numbers=dict(numbers), assessed=assessed, attempt=attempt,
        tries=TriesFile(Path(tries), owner) if tries else None, retries=retries,
    )  # fmt: skip


def _check_owner(learner: object, group: object, attempt: object) -> None:
    for name, value in (("learner", learner), ("group", group)):
        if not isinstance(value, str):
            msg = f"{name} must be a text; got {value!r}. Write it between quotation marks."
            raise SheetError(msg)
    if type(attempt) is not int or not 1 <= attempt <= MOST_ATTEMPTS:
        msg = (
            f"attempt must be a whole number from 1 to {MOST_ATTEMPTS}; got {attempt!r}. "
            "Write attempt=2 for the second set of numbers."
        )
        raise SheetError(msg)


def personal_sheet(
    name: str,
    *,
    learner: str,
    group: str = "",
    bank: str = BANK,
    key: bytes,
    assessed: bool = False,
) -> Sheet:
    """Return a learner's sheet with the numbers that the key gives; whatever a returned file says is not looked at.

    Parameters
    ----------
    name, learner, group, bank : str
    key : bytes
        The teacher's, or ``PRACTICE_KEY``.
    assessed : bool
        One of a private bank always is: it carries no answers.

    Raises
    ------
    SheetError
        When there is no such sheet.
    """
    found = plan(name, bank)
    numbers = draw(found, learner=learner, group=group, bank=bank, key=key)
    assessed = assessed or is_private(name)
    permit = "" if assessed else retry_permit(key, sheet=name, learner=learner, group=group, bank=bank)
    return Sheet(
        plan=found, learner=learner, group=group, bank=bank, numbers=numbers, assessed=assessed, retries=permit
    )
