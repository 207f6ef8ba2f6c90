"""A design: the parts that a learner chooses pass the review, or the comment names the finding that they fail."""

from __future__ import annotations

from labkit.checks.answers import Answer
from labkit.checks.choosing import checked_parts
from labkit.checks.designs import Looked, looked_over, tightest
from labkit.checks.numbers import Numbers
from labkit.checks.questions import Question
from labkit.checks.said import verdict_on, wrong_by
from labkit.checks.verdicts import Verdict
from labkit.errors import LabkitError
from labkit.writing import show

__all__ = ["fault", "verdict"]


def fault(question: Question, answer: Answer) -> str:
    """Return why a text chooses no circuit, or an empty text."""
    if question.parts is None or answer.too_long:
        return answer.fault
    try:
        checked_parts(question.parts.names, answer.typed)
    except LabkitError as error:
        return str(error)
    return ""


def verdict(question: Question, numbers: Numbers, answer: Answer, hint: str) -> Verdict:
    """Return the verdict on chosen parts; of several findings that they fail, the first by the question's order."""
    if question.parts is None or (wrong := fault(question, answer)):
        return verdict_on(question, "refused", wrong)
    try:
        looked = looked_over(question.parts, numbers, answer.typed)
    except LabkitError as error:
        return verdict_on(question, "refused", str(error))
    if looked.failed:
        return _failed(question, looked, hint)
    if looked.untold:
        return verdict_on(question, "refused", _untold(looked))
    return verdict_on(question, "right", f"{numbers.fill(question.why)} {tightest(looked.others)}".rstrip())


def _untold(looked: Looked) -> str:
    lines = [f"The review cannot tell “{found.name}”. {found.remedy}" for found in looked.untold]
    return "\n".join([*lines, "Write the figures below your part: what cannot be told does not count as passed."])


def _failed(question: Question, looked: Looked, hint: str) -> Verdict:
    failed = looked.failed
    by_name = {found.name: found for found in failed}
    worst = next((by_name[name] for name in question.ideas if name in by_name), failed[0])
    sums = f": {worst.formula}" if worst.formula else ""
    limit = "" if worst.limit is None else show(worst.limit)
    limit = f" The limit is {limit}." if limit and limit not in worst.formula else ""
    lines = [f"The review stops at “{worst.name}”{sums}.{limit}", worst.caution]
    if len(failed) > 1:
        rest = ", ".join(f"“{found.name}”" for found in failed if found is not worst)
        lines.append(f"It stops at {rest} as well.")
    lines.append(worst.reason)
    idea = question.ideas.get(worst.name)
    return wrong_by(question, "\n".join(filter(None, lines)), idea if idea is not None else worst.name, hint)
