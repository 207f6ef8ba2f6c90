"""What is said about one answer: always in words, with a symbol beside them, never by colour alone."""

from __future__ import annotations

import html
from dataclasses import dataclass
from typing import Literal

__all__ = ["Outcome", "Verdict"]

Outcome = Literal["right", "wrong", "refused", "unanswered", "recorded"]

_SAID: dict[str, tuple[str, str]] = {
    "right": ("✓", "right"),
    "wrong": ("✗", "not yet"),
    "refused": ("!", "cannot be judged as it stands"),
    "unanswered": ("○", "not answered yet"),
    "recorded": ("●", "recorded"),
}


@dataclass(frozen=True, kw_only=True, slots=True, repr=False)
class Verdict:
    """The verdict on one answer.

    Parameters
    ----------
    question : str
        Its title.
    outcome : "right", "wrong", "refused", "unanswered" or "recorded"
        Refused: the answer could not be read as one, so it says nothing about what the learner knows.
        Recorded: an assessed sheet says no more.
    comment : str
        For the learner. Of an unanswered question: the question itself.
    misconception : str, optional
        ``"M14"`` where the wrong number matches one.
    slip : str, optional
        ``"prefix"``, ``"rpm for rad/s"`` and the like.
    lesson : str, optional
        Where to read about it again.
    hint : str
        Empty where none is due.
    follows_through : bool
        Right by a consistent working from an earlier wrong answer.
    """

    question: str
    outcome: Outcome
    comment: str
    misconception: str | None = None
    slip: str | None = None
    lesson: str | None = None
    hint: str = ""
    follows_through: bool = False

    @property
    def right(self) -> bool:
        """Whether the answer is right."""
        return self.outcome == "right"

    @property
    def symbol(self) -> str:
        """One character that stands beside the word."""
        return _SAID[self.outcome][0]

    @property
    def word(self) -> str:
        """The outcome in words."""
        return _SAID[self.outcome][1]

    @property
    def heading(self) -> str:
        """Symbol and word."""
        return f"{self.symbol} {self.word}"

    def _lines(self) -> list[str]:
        lines = [f"{self.heading}: {self.question}", *self.comment.splitlines()]
        if self.lesson:
            lines.append(f"Read again: {self.lesson}.")
        if self.hint:
            lines.append(f"Hint: {self.hint}")
        return lines

    def __str__(self) -> str:
        return "\n".join(self._lines())

    __repr__ = __str__

    def _repr_html_(self) -> str:
        first, *rest = (html.escape(line) for line in self._lines())
        paragraphs = "".join(f"<p>{line}</p>" for line in rest)
        return f'<div class="labkit-verdict labkit-{self.outcome}"><p><strong>{first}</strong></p>{paragraphs}</div>'

    def _repr_markdown_(self) -> str:
        first, *rest = (_plain(line) for line in self._lines())
        return "\n\n".join([f"**{first}**", *rest])


def _plain(line: str) -> str:
    """Return *line* so that Markdown shows it as it is."""
    return "".join(f"\\{character}" if character in "\\`*_{}[]<>#|$~!" else character for character in line)
