"""What every kind of question says alike: a verdict, a wrong idea with its name, and what to do before the next try."""

from __future__ import annotations

from labkit.checks.questions import Misconception, Question
from labkit.checks.verdicts import Verdict

__all__ = ["hint_after", "verdict_on", "wrong_by"]

#: Asked for after two wrong tries, by the kind of question.
_BEFORE_THE_NEXT = {
    "number": "Draw the circuit with your numbers at it, and say aloud what you expect. Then calculate again.",
    "plot": "Lay a ruler on the picture, draw the line that you read along, and predict what one division makes out.",
    "formula": "Predict in words what the result does when one of the letters grows, or is nothing. "
    "Then see whether your formula does that.",
    "design": "Draw the circuit with your parts in it, and predict which one comes nearest to its limit.",
    "choice": "Draw the circuit, and predict what a meter would show in it. Which of the answers says the same?",
    "measured": "Draw the readings as points with a line through them, and predict from their scatter how sure it is.",
}


def verdict_on(question: Question, outcome: str, comment: str, **more: object) -> Verdict:
    """Return a verdict on a question."""
    return Verdict(question=question.title, outcome=outcome, comment=comment, **more)  # type: ignore[arg-type]


def wrong_by(question: Question, comment: str, idea: Misconception | str, hint: str, *, share: float = 0.0) -> Verdict:
    """Return the verdict on an answer that an idea leads to: the idea, and where to read about it again."""
    belief = None if isinstance(idea, str) else idea
    rethink = belief.rethink if belief and question.kind != "formula" else ""  # there it may be the answer in words
    lesson = belief.lesson if belief else question.lesson
    return verdict_on(
        question,
        "wrong",
        f"{comment} {rethink}".rstrip(),
        misconception=belief.id if belief else None,
        slip=idea if isinstance(idea, str) else None,
        lesson=str(lesson) if lesson else None,
        hint=hint,
        share=share,
    )


def hint_after(question: Question, tries: int) -> str:
    """Return what is due after so many wrong answers before this one.

    First the first hint; after two wrong answers a drawing or a prediction, and the next hint; then the others.
    """
    hint = question.hints[min(tries, len(question.hints) - 1)] if question.hints else ""
    return f"{_BEFORE_THE_NEXT[question.kind]} {hint}".rstrip() if tries == 1 else hint
