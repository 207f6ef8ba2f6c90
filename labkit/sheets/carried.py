"""Questions that a sheet carries with it, because the learner's kit does not know them: a private bank's.

What is asked goes with the sheet as plain data, and never an answer; so such a sheet can be recorded and not judged.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from typing import Any

from labkit.checks import Lesson, Measured, Numbers, Option, Parts, Question, Symbol
from labkit.errors import SheetError
from labkit.parts import desk_wind_tunnel
from labkit.problems import SheetPlan

__all__ = ["carried_plan", "carried_questions"]


def carried_questions(plan: SheetPlan, numbers: Numbers) -> list[dict[str, Any]]:
    """Return what a learner's notebook needs of each question, as plain data."""
    return [_carried(question, numbers) for question in plan.questions]


def _carried(question: Question, numbers: Numbers) -> dict[str, Any]:
    told: dict[str, Any] = {"title": question.title, "asked": numbers.fill(question.wording), "unit": question.unit}
    told["options"] = [option.text for option in question.options]
    told["reasons"] = [reason.text for reason in question.reasons]
    told["symbols"] = [[getattr(symbol, item.name) for item in fields(Symbol)] for symbol in question.symbols]
    told["parts"] = list(question.parts.names) if question.parts else []
    if question.measured:
        supplied = question.measured.readings
        told["measured"] = [question.measured.constant, supplied(numbers) if supplied else ""]
    if question.kit is not None:
        told["kit"] = list(question.kit)
    return {name: value for name, value in told.items() if value or name == "kit"}


def carried_plan(name: str, questions: Sequence[Mapping[str, Any]]) -> SheetPlan:
    """Return a plan of the questions that a sheet carries; it knows no answers.

    Raises
    ------
    SheetError
        When the sheet's opening was changed so that they cannot be read.
    """
    try:
        asked = tuple(_question(told) for told in questions)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        msg = "The questions in this sheet's opening cell cannot be read. Take that cell from the sheet you were given."
        raise SheetError(msg) from error
    title = name.replace("-", " ").capitalize()
    return SheetPlan(name=name, lesson=Lesson(number=1, title=title), about="", values=(), questions=asked)


def _question(told: Mapping[str, Any]) -> Question:
    parts, measured = told.get("parts"), told.get("measured")
    return Question(
        title=str(told["title"]),
        wording=str(told["asked"]).replace("{", "{{").replace("}", "}}"),
        unit=str(told.get("unit", "")),
        options=tuple(Option(str(text)) for text in told.get("options", ())),
        reasons=tuple(Option(str(text)) for text in told.get("reasons", ())),
        symbols=tuple(Symbol(*given) for given in told.get("symbols", ())),
        parts=Parts(names=tuple(parts), around=lambda _: desk_wind_tunnel(), example="") if parts else None,
        measured=_measured(*measured) if measured else None,
        kit=tuple(told["kit"]) if "kit" in told else None,
    )


def _measured(constant: str, readings: str) -> Measured:
    return Measured(constant=constant, cap=1.0, readings=(lambda _: readings) if readings else None)
