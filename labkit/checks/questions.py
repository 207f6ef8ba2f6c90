"""What a question is: its wording, its answer, and the wrong answers that tell which idea led there.

Six kinds: a number, a choice, a formula, a design, a value read off a plot, and a measured result.
A formula is a function of ``Numbers``: it reads floats in coherent SI,
and gives a float in coherent SI of the asked unit, or a quantity from the library.
"""

from __future__ import annotations

import math
import string
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal, TypeAlias

import numpy as np

from labkit.checks.designs import Parts, parts_help
from labkit.checks.measured import Measured
from labkit.checks.numbers import Numbers, Value, coherent_size, from_coherent
from labkit.checks.plots import Plot
from labkit.checks.symbols import Symbol, letters_help
from labkit.errors import UnitError
from labkit.units import Quantity
from labkit.writing import show

__all__ = ["Formula", "Kind", "Lesson", "Misconception", "Mistake", "Option", "Question", "size_of"]

Kind: TypeAlias = Literal["number", "choice", "formula", "design", "plot", "measured"]
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
        Not for a choice, nor for a design. Of a formula its value at any sizes of the symbols.
    options : tuple of Option
        For a choice, lettered.
    reasons : tuple of Option
        For a choice that wants its reason, numbered; the text of each ends "… because".
    symbols : tuple of Symbol
        For a formula: all that may stand in it.
    formula : str
        The right formula as a person writes it, for the worked answer.
    parts : Parts, optional
        For a design: what is chosen, and the circuit around it.
    ideas : mapping of str to Misconception or str
        For a design: the idea behind a finding of the review, by its name, causes before what follows from them.
    plot : Plot, optional
        For a value to read off; the tolerance is then one small division of its axis.
    measured : Measured, optional
        For a result with its uncertainty.
    kit : tuple of str, optional
        The functions of the kit that may be used; none of them where it is empty. Without it all may.
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
    reasons: tuple[Option, ...] = ()
    symbols: tuple[Symbol, ...] = ()
    formula: str = ""
    parts: Parts | None = None
    ideas: Mapping[str, Misconception | str] = field(default_factory=dict)
    plot: Plot | None = None
    measured: Measured | None = None
    kit: tuple[str, ...] | None = None
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
    def kind(self) -> Kind:
        """What sort of answer it wants."""
        if self.options:
            return "choice"
        if self.symbols:
            return "formula"
        if self.parts:
            return "design"
        return "measured" if self.measured else "plot" if self.plot else "number"

    @property
    def blank(self) -> str:
        """An answer of several lines before anything is filled in; empty where one line will do."""
        if self.parts:
            return "".join(f"{name} = \n" for name in self.parts.names)
        return "\n" if self.measured and not self.measured.readings else ""

    @property
    def letters(self) -> Mapping[str, Option]:
        """The options of a choice by their letters."""
        return dict(zip(string.ascii_lowercase, self.options, strict=False))

    @property
    def numerals(self) -> Mapping[str, Option]:
        """The reasons of a choice by their numbers."""
        return {str(index): reason for index, reason in enumerate(self.reasons, start=1)}

    def right_size(self, numbers: Numbers) -> float:
        """Return the right answer as a float in coherent SI; worked out once where later steps use it too."""
        if self.gives:
            return float(getattr(numbers, self.gives))
        return size_of(self.answer, numbers) if self.answer else math.nan

    def slack(self, right: float) -> float:
        """Return how far from *right* an answer may lie."""
        return max(self.tolerance * abs(right), self.allowance, self.plot.slack if self.plot else 0.0)

    def asked(self, numbers: Numbers) -> str:
        """Return the question with this learner's values in it, and what an answer may be made of below it."""
        return "\n".join([numbers.fill(self.wording), *self._below(numbers), *self._kit_lines()])

    def _below(self, numbers: Numbers) -> list[str]:
        lines = [f"{letter}) {option.text}" for letter, option in self.letters.items()]
        if self.reasons:
            lines += ["Because:", *(f"{numeral}) {reason.text}" for numeral, reason in self.numerals.items())]
            lines += ["Give the letter and the number of the reason, as in c 2."]
        if self.symbols:
            lines += [letters_help(self.symbols)]
        if self.parts:
            lines += parts_help(self.parts)
        if self.measured and self.measured.readings:
            lines += [f"    {line}" for line in self.measured.readings(numbers).splitlines()]
        if self.measured and self.measured.layout:
            lines += ["Value and uncertainty (95 %) in the first line, the readings below it, as in:"]
            lines += [f"    {line}" for line in (self.measured_example, *self.measured.layout.splitlines())]
        elif self.measured:
            lines += [f"Give value and uncertainty (95 %), as in {self.measured_example}."]
        return lines

    @property
    def measured_example(self) -> str:
        """A result as it is written."""
        return f"7.4 ± 0.3 {self.unit}"

    def _kit_lines(self) -> list[str]:
        if self.kit is None or self.kind == "choice":
            return []
        if not self.kit:
            return ["By hand: without the kit's own functions."]
        return [f"Of the kit you may use: {', '.join(self.kit)}."]

    def worked_lines(self, numbers: Numbers) -> list[str]:
        """Return the worked answer, a step a line, with this learner's values in it."""
        return [numbers.fill(line, answer=self.right_text(numbers)) for line in self.worked]

    def right_text(self, numbers: Numbers, digits: int = 3) -> str:
        """Return the right answer as a person writes it, or one that will do; empty where it is the learner's own."""
        if self.options:
            letter, option = next(pair for pair in self.letters.items() if pair[1].right)
            numeral = next((numeral for numeral, reason in self.numerals.items() if reason.right), "")
            return f"{option.text} ({letter}{f' {numeral}' if numeral else ''})"
        if self.formula or self.parts:
            return self.formula or (self.parts.example if self.parts else "")
        return show(from_coherent(self.right_size(numbers), self.unit), digits=digits) if self.answer else ""

    @property
    def rule(self) -> str:
        """By which rule an answer is right, for the teacher."""
        if self.measured:
            return (
                "agrees with a fit of the readings within both expanded uncertainties, "
                f"the stated one at most {100 * self.measured.cap:.0f} % of the value"
            )
        if self.kind == "number":
            near = [f"{100 * self.tolerance:.2g} %"] if self.tolerance else []
            if self.allowance:
                near.append(show(from_coherent(self.allowance, "kelvin" if self.unit == "°C" else self.unit), digits=2))
            return f"within {' or '.join(near)} of the answer from the learner's own numbers"
        return {
            "choice": "the option that is right" + (" and its reason, half each" if self.reasons else ""),
            "formula": "the same as the right formula for all sizes that its letters can have",
            "design": "no finding of the review is exceeded, or waits for a figure of a part of one's own",
            "plot": "within one small division of the axis that is read",
        }[self.kind]


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
