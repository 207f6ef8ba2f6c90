"""The question bank: every sheet's plan, found by name, and every question, found by title."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path

from labkit.checks import Numbers, Question, Verdict, judge, read_answer
from labkit.errors import SheetError
from labkit.problems import (
    control_program,
    design_review,
    driver_dissipation,
    duty_speed_control,
    generator_action,
    motor_as_load,
    own_motor,
    pin_limits,
    running_motor,
    supply_and_wiring,
    switching_off,
    transistor_switch,
)
from labkit.problems.plans import SheetPlan
from labkit.problems.private import read_private_bank
from labkit.units import Q_

__all__ = [
    "BANK",
    "asked",
    "check",
    "is_private",
    "newest",
    "plan",
    "plans",
    "question",
    "sheet_names",
    "use_private_bank",
]

#: The version of the bank that new sheets are drawn from.
BANK = "2026-12"

_LESSONS = (
    pin_limits, motor_as_load, generator_action, running_motor, transistor_switch, driver_dissipation,
    switching_off, duty_speed_control, supply_and_wiring, own_motor, control_program, design_review,
)  # fmt: skip
#: Every plan of the kit that was ever handed out.
_SHIPPED: tuple[SheetPlan, ...] = tuple(sheet for lesson in _LESSONS for sheet in lesson.SHEETS)
#: The same, and those of a teacher's private bank.
_PLANS: tuple[SheetPlan, ...] = _SHIPPED


def use_private_bank(folder: Path) -> None:
    """Add a teacher's own plans to the bank, in this process; those of an earlier call are forgotten.

    Raises
    ------
    SheetError
        Names the file and what to mend; the bank stays as it was.
    """
    global _PLANS  # noqa: PLW0603 (the bank of this process)
    _PLANS = (*_SHIPPED, *read_private_bank(folder, _SHIPPED))
    plans.cache_clear()


def is_private(name: str) -> bool:
    """Whether a sheet is of a private bank, which the learner's kit does not know."""
    return name not in {plan.name for plan in _SHIPPED}


def newest(name: str) -> str:
    """Return the version that new sheets of this name are drawn from."""
    return max((plan.since for plan in _PLANS if plan.name == name), default=BANK) if is_private(name) else BANK


@cache
def plans(bank: str = BANK) -> tuple[SheetPlan, ...]:
    """Return the plans that hold at a bank version: of each name the latest that is not later, in order of lessons.

    A private bank has dates of its own: with today's version all of its latest plans hold.
    """
    held: dict[str, SheetPlan] = {}
    for candidate in sorted(_PLANS, key=lambda plan: plan.since):
        if candidate.since <= bank or (bank == BANK and is_private(candidate.name)):
            held[candidate.name] = candidate
    return tuple(sorted(held.values(), key=lambda plan: plan.number))


def sheet_names(bank: str = BANK) -> tuple[str, ...]:
    """Return the names of all sheets, in order of lessons."""
    return tuple(plan.name for plan in plans(bank))


def plan(name: str, bank: str = BANK) -> SheetPlan:
    """Return the plan of a sheet at a bank version.

    Raises
    ------
    SheetError
        Lists the sheets, or the versions, that there are.
    """
    versions = sorted({candidate.since for candidate in _PLANS})
    if not versions[0] <= bank <= versions[-1]:
        late = " A newer labkit may know it." if bank > versions[-1] else ""
        msg = f"There is no version {bank!r} of the bank. There is: {', '.join(versions)}.{late}"
        raise SheetError(msg)
    for candidate in plans(bank):
        if candidate.name == name:
            return candidate
    msg = f"There is no sheet {name!r}. There is: {', '.join(sheet_names(bank))}."
    raise SheetError(msg)


def _all_questions() -> Iterator[tuple[SheetPlan, Question]]:
    return ((sheet, question) for sheet in plans() for question in sheet.questions)


def question(title: str) -> Question:
    """Return the question of a title.

    Raises
    ------
    SheetError
        Names titles that are near.
    """
    return _found(title)[1]


def _found(title: str) -> tuple[SheetPlan, Question]:
    from difflib import get_close_matches  # noqa: PLC0415 (only to word an error)

    by_title = {question.title: (sheet, question) for sheet, question in _all_questions()}
    if title in by_title:
        return by_title[title]
    near = get_close_matches(title, by_title, n=3, cutoff=0.3)
    advice = f"Did you mean: {'; '.join(near)}?" if near else "The lesson writes its questions' titles out: copy one."
    msg = f"There is no question {title!r}. {advice}"
    raise SheetError(msg)


def check(answer: object, title: str, **given: object) -> Verdict:
    """Judge an answer in a lesson, with the desk wind tunnel's own numbers.

    Parameters
    ----------
    answer : Quantity, str or float
        As a person types it; a bare number where the question asks for one; of a choice, the letter or the text.
        An empty text shows the question.
    title : str
        The question's own title.
    **given : Quantity, str or float
        Values that stand in place of the desk wind tunnel's: ``speed="8000 rpm"``.

    Returns
    -------
    Verdict

    Raises
    ------
    SheetError
        When there is no such question, or it has no such value.

    Examples
    --------
    >>> print(check("45,3 V", "Generator EMF at this speed", speed="8382 rpm").misconception)
    M14
    """
    found, numbers = asked(title, **given)
    verdict = judge(found, numbers, read_answer(answer))
    again = found.asked(numbers) if verdict.outcome in {"wrong", "refused"} else ""
    return replace(verdict, asked=again)


def asked(title: str, **given: object) -> tuple[Question, Numbers]:
    """Return a lesson's question and the numbers in it: the desk wind tunnel's, but for those *given* by name.

    Raises
    ------
    SheetError
        When there is no such question, or it has no such value.
    """
    sheet, found = _found(title)
    texts = dict(sheet.reference)
    for name, value in given.items():
        texts[name] = _as_text(sheet, name, value)
    return found, sheet.numbers(texts)


def _as_text(sheet: SheetPlan, name: str, value: object) -> str:
    declared = {item.name: item for item in sheet.values}
    if name not in declared:
        msg = f"These questions have no value {name!r}. They have: {', '.join(declared)}."
        raise SheetError(msg)
    answer = read_answer(value)
    like = Q_(declared[name].written(declared[name].reference))
    if answer.quantity is None or answer.quantity.dimensionality != like.dimensionality:
        msg = (
            f"{name} must be {declared[name].meaning}, such as {sheet.reference[name]!r}; got {value!r}. {answer.fault}"
        )
        raise SheetError(msg.rstrip())
    return answer.text
