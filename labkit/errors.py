"""Everything that labkit can refuse, in one tree.

::

    LabkitError
    ├── PartError (ValueError)            a field of a part, or an argument, has a value that cannot be
    ├── UnitError (ValueError)            a text or quantity is not in the unit that was asked for
    ├── NoSolutionError (ValueError)      the physics has no answer: the motor does not turn, the junction runs away
    ├── DerivationError (ValueError)      a step does not follow, or a formula cannot be turned round
    ├── DesignError (ValueError)          a design file that cannot be read
    ├── BenchError (ValueError)           a bench file or record cannot be used
    ├── FormulaError (ValueError)         a learner's text is no formula, or its units do not fit
    ├── SheetError (ValueError)           a sheet, a class list or a question cannot be found or read
    ├── FolderError (ValueError)          a learner's folder cannot be made, written or completed
    ├── HandoutError (ValueError)         a handout cannot be made or written; nothing was overwritten
    └── MarkingError (ValueError)         returned sheets cannot be run, or a mark register not be used

Each error keeps its parts as attributes and survives pickling to another process.
A wrong *answer* is a result, never an exception.
"""

from __future__ import annotations

__all__ = [
    "BenchError",
    "DerivationError",
    "DesignError",
    "FolderError",
    "FormulaError",
    "HandoutError",
    "LabkitError",
    "MarkingError",
    "NoSolutionError",
    "PartError",
    "SheetError",
    "UnitError",
]


class LabkitError(Exception):
    """The root: catch this to catch all that labkit raises on purpose."""


class PartError(LabkitError, ValueError):
    """A field or an argument that cannot be; the sentence names it, its value and what to do.

    Parameters
    ----------
    where : str
        ``"Owner.field"`` or the argument's name.
    requirement : str
        What it must be, such as ``"positive"``.
    got : object
        The value that was given.
    remedy : str
        A full sentence that says what to do.
    """

    def __init__(self, where: str, requirement: str, got: object, remedy: str = "") -> None:
        super().__init__(where, requirement, got, remedy)
        self.where = where
        self.requirement = requirement
        self.got = got
        self.remedy = remedy

    def __str__(self) -> str:
        sentence = f"{self.where} must be {self.requirement}; got {self.got}."
        return f"{sentence} {self.remedy}".rstrip()


class _SentenceError(LabkitError, ValueError):
    """An error whose sentence is written where it is raised."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message


class UnitError(LabkitError, ValueError):
    """A text that is no quantity, or a quantity in a unit of another kind: what is wrong, and what to write."""

    def __init__(self, fault: str, advice: str) -> None:
        super().__init__(fault, advice)
        self.fault = fault
        self.advice = advice

    def __str__(self) -> str:
        return f"{self.fault} {self.advice}"


class NoSolutionError(_SentenceError):
    """The physics has no answer for these numbers, and the sentence says why."""


class DerivationError(_SentenceError):
    """A derivation's step does not follow, or its formula cannot be turned round."""


class DesignError(_SentenceError):
    """A design file that cannot be read, and where."""


class BenchError(_SentenceError):
    """A bench file or record that cannot be used."""


class FormulaError(_SentenceError):
    """A text that is no formula, or a formula that adds volts to amperes; a full sentence for the learner."""


class SheetError(_SentenceError):
    """A sheet, class list or question that cannot be found or read."""


class FolderError(_SentenceError):
    """A learner's own folder that cannot be made, written or completed; nothing in it was lost."""


class HandoutError(_SentenceError):
    """A handout that cannot be made or written; nothing was overwritten."""


class MarkingError(_SentenceError):
    """Returned sheets cannot be run safely here, or a mark register cannot be read or written."""
