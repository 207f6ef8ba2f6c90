"""What a question is: its wording, its answer, and the wrong answers that tell which idea led there.

A formula is a function of ``Numbers``: it reads floats in coherent SI,
and gives a float in coherent SI of the asked unit, or a quantity from the library.
"""

from __future__ import annotations

import math
import string
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from labkit.checks.numbers import Numbers, Value, coherent_size, from_coherent
from labkit.errors import UnitError
from labkit.units import Quantity
from labkit.writing import show

__all__ = ["Formula", "Lesson", "Misconception", "Mistake", "Option", "Question", "size_of"]

Formula: TypeAlias = Callable[[Numbers], "float | Quantity"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Lesson:
    """Where a learner can read about it again."""

    number: int
    title: str

    def __str__(self) -> str:
        return f"lesson {self.number}, “{self.title}”"


@dataclass(frozen=True, kw_only=True, slots=True)
class Misconception:
    """A belief that leads to wrong numbers.

    Parameters
    ----------
    id : str
        ``"M14"``.
    belief : str
        What the learner takes for true, for the teacher's table.
    rethink : str
        What to think of instead, for the learner; it holds no number of the question.
    lesson : Lesson
    """

    id: str
    belief: str
    rethink: str
    lesson: Lesson


@dataclass(frozen=True, slots=True)
class Mistake:
    """A wrong answer as a formula, and the idea that leads to it.

    Parameters
    ----------
    idea : Misconception or str
        The belief, or in a few words the slip where it is no belief.
    because : str
        Ends the sentence "… is what comes out when".
    formula : function of Numbers
    """

    idea: Misconception | str
    because: str
    formula: Formula


@dataclass(frozen=True, slots=True)
class Option:
    """One answer of a choice; the one without an idea that leads to it is right.

    Parameters
    ----------
    text : str
    idea : Misconception or str, optional
    because : str
        A full sentence on why it is not that one.
    """

    text: str
    idea: Misconception | str = ""
    because: str = ""

    @property
    def right(self) -> bool:
        """Whether this is the answer."""
        return not self.idea


@dataclass(frozen=True, kw_only=True, slots=True)
class Question:
    """A question, known by its title.

    Parameters
    ----------
    title : str
        Unique in the bank.
    wording : str
        With ``{name}`` where a learner's own value stands.
    unit : str
        Of the answer; empty for a bare number by right and for a choice.
    answer : function of Numbers, optional
        Not for a choice.
    options : tuple of Option
        For a choice.
    mistakes : tuple of Mistake
    tolerance : float
        Allowed relative difference.
    allowance : float
        Allowed difference besides, in coherent SI: for answers that can be zero, and for temperatures.
    gives : str
        The name under which later steps use the answer.
    why : str
        One line for a right answer; ``{name}`` as in the wording.
    hints : tuple of str
        From a nudge to nearly the whole way.
    worked : tuple of str
        The worked answer, a step a line; ``{answer}`` is the right one.
    difficulty : int
        1 one formula, 2 two thoughts, 3 several.
    """

    title: str
    wording: str
    unit: str = ""
    answer: Formula | None = None
    options: tuple[Option, ...] = ()
    mistakes: tuple[Mistake, ...] = ()
    tolerance: float = 0.02
    allowance: float = 0.0
    gives: str = ""
    why: str = ""
    hints: tuple[str, ...] = ()
    worked: tuple[str, ...] = ()
    difficulty: int = 1
    lesson: Lesson | None = None
    values: tuple[Value, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """The values that the wording shows, in order."""
        fields = (name for _, name, _, _ in string.Formatter().parse(self.wording) if name)
        return tuple(dict.fromkeys(fields))

    @property
    def letters(self) -> Mapping[str, Option]:
        """The options of a choice by their letters."""
        return dict(zip(string.ascii_lowercase, self.options, strict=False))

    def right_size(self, numbers: Numbers) -> float:
        """Return the right answer as a float in coherent SI; worked out once where later steps use it too."""
        if self.gives:
            return float(getattr(numbers, self.gives))
        return size_of(self.answer, numbers) if self.answer else math.nan

    def slack(self, right: float) -> float:
        """Return how far from *right* an answer may lie."""
        return max(self.tolerance * abs(right), self.allowance)

    def asked(self, numbers: Numbers) -> str:
        """Return the question with this learner's values in it, the options of a choice below it."""
        lines = [numbers.fill(self.wording)]
        lines += [f"{letter}) {option.text}" for letter, option in self.letters.items()]
        return "\n".join(lines)

    def worked_lines(self, numbers: Numbers) -> list[str]:
        """Return the worked answer, a step a line, with this learner's values in it."""
        answer = next((option.text for option in self.options if option.right), "")
        if self.answer:
            answer = show(from_coherent(self.right_size(numbers), self.unit))
        return [numbers.fill(line, answer=answer) for line in self.worked]


def size_of(formula: Formula, numbers: Numbers) -> float:
    """Return what a formula gives, as a float in coherent SI; not a number where it has no value."""
    try:
        with np.errstate(all="ignore"):  # numbers that a learner's earlier answer leads to need not make sense
            value: Any = formula(numbers)
    except UnitError:  # a value of the sheet that cannot be read is the sheet's fault, and said
        raise
    except (ArithmeticError, ValueError):
        return math.nan
    return coherent_size(value) if isinstance(value, Quantity.__origin__) else float(value)  # type: ignore[attr-defined]
