"""Judge one answer: read it as a person typed it, compare, and name the idea that leads to a wrong number.

A wrong answer is a result, never an exception; nothing here runs what a learner wrote.
"""

from labkit.checks.answers import Answer, answer_from_json, answer_to_json, read_answer
from labkit.checks.judging import judge
from labkit.checks.numbers import Numbers, Value
from labkit.checks.questions import Lesson, Misconception, Mistake, Option, Question
from labkit.checks.verdicts import Verdict

__all__ = [
    "Answer",
    "Lesson",
    "Misconception",
    "Mistake",
    "Numbers",
    "Option",
    "Question",
    "Value",
    "Verdict",
    "answer_from_json",
    "answer_to_json",
    "judge",
    "read_answer",
]
