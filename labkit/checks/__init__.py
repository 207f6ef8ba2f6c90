"""Judge one answer: read it as a person typed it, compare, and name the idea that leads to a wrong number.

A wrong answer is a result, never an exception; nothing here runs what a learner wrote.
"""

from labkit.checks.answers import Answer, answer_from_json, answer_to_json, read_answer
from labkit.checks.designs import Parts
from labkit.checks.judging import judge
from labkit.checks.measured import Measured
from labkit.checks.numbers import Numbers, Value
from labkit.checks.plots import Axis, Plot
from labkit.checks.questions import Lesson, Misconception, Mistake, Option, Question
from labkit.checks.symbols import Symbol
from labkit.checks.verdicts import Verdict

__all__ = [
    "Answer",
    "Axis",
    "Lesson",
    "Measured",
    "Misconception",
    "Mistake",
    "Numbers",
    "Option",
    "Parts",
    "Plot",
    "Question",
    "Symbol",
    "Value",
    "Verdict",
    "answer_from_json",
    "answer_to_json",
    "judge",
    "read_answer",
]
