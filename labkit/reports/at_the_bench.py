"""What people take to the bench: first power in stages, the shopping list, and the likely causes of a fault."""

from __future__ import annotations

from html import escape

from labkit.reports.page import table
from labkit.reviews import READINGS, Diagnosis, FirstPower, ShoppingList
from labkit.writing import sentence_case, show

__all__ = [
    "diagnosis_html",
    "diagnosis_text",
    "first_power_html",
    "first_power_text",
    "shopping_html",
    "shopping_text",
]

_BEFORE = (
    "Go on to the next stage only when every reading is as expected. At a reading to stop at, disconnect the supply "
    "and look for the fault first. Local rules and the qualified person who supervises your room come first."
)


def first_power_text(stages: FirstPower) -> str:
    """Return the stages as plain lines."""
    lines = [_BEFORE]
    for number, stage in enumerate(stages, 1):
        lines += ["", f"{number}. {stage.name}", f"   {stage.do}", f"   Caution: {stage.caution}"]
        for reading in stage.readings:
            lines += [f"   [ ] {reading.what}: {reading.expect}", f"       stop at: {reading.stop}"]
    return "\n".join(lines)


def first_power_html(stages: FirstPower) -> str:
    """Return the stages as tables to print, with room to write each reading down."""
    parts = [f"<p>{_BEFORE}</p>"]
    for number, stage in enumerate(stages, 1):
        rows = [(reading.what, reading.expect, reading.stop, "") for reading in stage.readings]
        readings = table(f"Readings of stage {number}", ("Read", "Expect", "Stop at", "What you read"), rows)
        parts.append(
            f"<section><h2>{number}. {escape(sentence_case(stage.name))}</h2><p>{escape(stage.do)}</p>"
            f"<p><strong>Caution:</strong> {escape(stage.caution)}</p>{readings}</section>"
        )
    return "".join(parts)


def shopping_text(items: ShoppingList) -> str:
    """Return the list as plain lines."""
    return "\n".join(f"{item.count} × {item.part}: {item.rating} ({item.why})" for item in items)


def shopping_html(items: ShoppingList) -> str:
    """Return the list as a table."""
    rows = [(item.part, str(item.count), item.rating, item.why) for item in items]
    return table("What to buy", ("Part", "How many", "Rating", "Why"), rows)


def diagnosis_text(diagnosis: Diagnosis) -> str:
    """Return the likely causes, and what to read next, as plain lines."""
    lines = [f"{share:>4}  {name}. {look} (lesson {lesson})" for name, share, look, lesson in _causes(diagnosis)]
    return "\n".join([*lines, _next(diagnosis)])


def diagnosis_html(diagnosis: Diagnosis) -> str:
    """Return the likely causes, and what to read next, as a table with what each would show there."""
    reading = diagnosis.next_reading
    told = [show(cause.predicted[reading]) if reading else "" for cause in diagnosis.causes]
    rows = [(*cause, there) for cause, there in zip(_causes(diagnosis), told, strict=False)]
    headings = ("Cause", "Likelihood", "What to look at", "Lesson", f"{reading or 'next reading'} would be")
    return f"{table('Likely causes', headings, rows)}<p>{escape(_next(diagnosis))}</p>"


def _causes(diagnosis: Diagnosis) -> list[tuple[str, str, str, str]]:
    """Return the causes that are worth a look: those with a hundredth or more, and the first in any case."""
    first, *others = diagnosis.causes
    likely = [first, *(cause for cause in others if cause.likelihood >= 0.01)]
    return [(cause.name, f"{100 * cause.likelihood:.0f} %", cause.look, str(cause.lesson)) for cause in likely]


def _next(diagnosis: Diagnosis) -> str:
    if diagnosis.next_reading is None:
        return "Everything was read: look at the first cause."
    return f"Read next: {diagnosis.probe} ({diagnosis.next_reading}, in {READINGS[diagnosis.next_reading][0]})."
