"""What is said about one answer: always in words, with a symbol beside them, never by colour alone."""

from __future__ import annotations

import html
import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
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
    basis : str
        Of a formula that is right, on what it rests that it is: a proof, or agreement at places.
    share : float
        What a wrong answer still earns, 0 to 1: half where the choice is right and its reason is not.
    picture : str
        HTML of what is to be read off; empty where there is none.
    picture_text : str
        The same as lines of numbers, for a terminal.
    asked : str
        The question once more, to be unfolded where the answer that needs another try has taken its place.
    attempt : int
        By which set of a learner's numbers it was judged: ``sheet.again()`` brings another.
    tries : int
        How many different answers there were so far; zero where nobody counts.
    seconds : int
        From the first of them to this one.
    """

    question: str
    outcome: Outcome
    comment: str
    misconception: str | None = None
    slip: str | None = None
    lesson: str | None = None
    hint: str = ""
    follows_through: bool = False
    basis: str = ""
    share: float = 0.0
    picture: str = field(default="", compare=False)
    picture_text: str = field(default="", compare=False)
    asked: str = field(default="", compare=False)
    attempt: int = 1
    tries: int = 0
    seconds: int = 0

    @property
    def earned(self) -> float:
        """The part of a mark: all of it when right, else what a right half of the answer is worth."""
        return 1.0 if self.right else self.share

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
        basis = [f"Found right by {self.basis}."] if self.basis else []
        lines = [f"{self.heading}: {self.question}", *basis, *self.comment.splitlines()]
        if self.lesson:
            lines.append(f"Read again: {self.lesson}.")
        if self.hint:
            lines.append(f"Hint: {self.hint}")
        return lines

    def __str__(self) -> str:
        return "\n".join([*self._lines(), *self.picture_text.splitlines()])

    __repr__ = __str__

    def _repr_html_(self) -> str:
        first, *rest = self._lines()
        told = "".join(_paragraphs(rest))
        heading = f"<p><strong>{html.escape(first)}</strong></p>"
        again = "".join(_paragraphs(self.asked.splitlines()))
        folded = f"<details><summary>The question again</summary>{again}</details>" if again else ""
        return f'<div class="labkit-verdict labkit-{self.outcome}">{heading}{told}{folded}{self.picture}</div>'

    def _repr_markdown_(self) -> str:
        first, *rest = [*self._lines(), *self.picture_text.splitlines()]
        told = (f"    {line.strip()}" if line.startswith("    ") else _plain(line) for line in rest)
        return "\n\n".join([f"**{_plain(first)}**", *told])

    def _repr_mimebundle_(self, **_: object) -> tuple[dict[str, str], dict[str, object]]:
        """Leave tries, and an attempt after the first, in the notebook that is saved: so they reach the teacher."""
        counted: dict[str, object] = {"question": self.question, "tries": self.tries, "seconds": self.seconds}
        counted |= {"attempt": self.attempt} if self.attempt > 1 else {}
        return {}, {"labkit": counted} if self.tries else {}


def _paragraphs(lines: list[str]) -> Iterator[str]:
    """Yield a paragraph a line; indented lines that follow each other stand together as they are."""
    for indented, together in itertools.groupby(lines, key=lambda line: line.startswith("    ")):
        if indented:
            yield f'<pre style="margin: 0 0 1em">{html.escape(chr(10).join(line[4:] for line in together))}</pre>'
        else:
            yield from (f"<p>{html.escape(line)}</p>" for line in together)


def _plain(line: str) -> str:
    """Return *line* so that Markdown shows it as it is."""
    return "".join(f"\\{character}" if character in "\\`*_{}[]<>#|$~!" else character for character in line)
