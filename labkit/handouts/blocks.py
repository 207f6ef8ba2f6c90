"""What a cell shows, as it stands on paper: blanks in the learner's copy, answers in the teacher's."""

from __future__ import annotations

import string
from collections.abc import Sequence
from functools import cache
from html import escape
from typing import Any

from IPython.core.formatters import DisplayFormatter

from labkit.checks import Question
from labkit.display import teach
from labkit.errors import HandoutError
from labkit.figures import Picture, image_html, numbers_html
from labkit.handouts.prose import prose_html
from labkit.handouts.running import Asked
from labkit.panels import Comparison, Gate, Later, Panel, Prediction, QuantitySlider
from labkit.sheets import Sheet
from labkit.writing import unit_symbol

__all__ = ["block", "set_panel", "waits"]

BLANK = '<span class="blank"><span class="unseen">(a blank to write in)</span></span>'


def waits(value: object) -> bool:
    """Return whether a reader must have predicted before seeing this."""
    return isinstance(value, Gate) and value.waits_for is not None


def block(value: Any, *, teacher: bool) -> str:  # noqa: PLR0911 (one line for each sort of value)
    """Return one value as HTML."""
    if isinstance(value, Prediction):
        return _prediction(value)
    if isinstance(value, Comparison):
        return _comparison(value, teacher=teacher)
    if isinstance(value, Later):
        return block(value.shown, teacher=teacher)
    if isinstance(value, Panel):
        return value.to_html() + (_working(value) if teacher else "")
    if isinstance(value, Asked):
        return _question(value, teacher=teacher)
    if isinstance(value, Sheet):
        return _numbers(value)
    if isinstance(value, Picture):
        return _picture(value)
    return _formatted(value)


def set_panel(panel: Panel[Any], name: str, value: str) -> bool:
    """Set the control of that name to *value*; return whether there is one.

    Raises
    ------
    HandoutError
        When the control takes no such value.
    """
    for field, control in panel.controls.items():
        if name.lower() not in {field.lower(), control.label.lower()}:
            continue
        if isinstance(control, QuantitySlider):
            control.type_in(value)
            if control.refusal:
                raise HandoutError(f"{control.label} must be a value of the panel; got {value}. {control.refusal}")
        elif value in control.options:
            control.value = value
        else:
            raise HandoutError(f"{control.label} must be one of {', '.join(control.options)}; got {value}.")
        return True
    return False


def _prediction(prediction: Prediction) -> str:
    if prediction.options:
        choices = "".join(f"<li>{escape(option)}</li>" for option in prediction.options)
        answer = f'<ol class="choices">{choices}</ol><p>Ring one.</p>'
    else:
        answer = f"<p>Your prediction, in {escape(unit_symbol(prediction.unit))}: {BLANK}</p>"
    asked = f"<p><strong>Predict: {escape(prediction.question)}</strong></p>"
    return f'<section class="ask" aria-label="Prediction">{asked}{answer}</section>'


def _comparison(comparison: Comparison, *, teacher: bool) -> str:
    found = escape(comparison.found) if teacher else BLANK
    cells = (("You predicted", BLANK), ("The result", found))
    rows = "".join(f'<tr><th scope="row">{name}</th><td>{cell}</td></tr>' for name, cell in cells)
    why = f"<p>{escape(comparison.why)}</p>" if teacher else ""
    return f"<table><caption>Prediction and result</caption>{rows}</table>{why}"


def _working(panel: Panel[Any]) -> str:
    panel.working.fill()
    return (
        f'<section class="answer" aria-label="Working">{panel.working.content}</section>'
        if panel.working.content
        else ""
    )


def _question(asked: Asked, *, teacher: bool) -> str:
    wording = _lines(asked.verdict.comment.splitlines())
    heading = "" if asked.titled else f"<p><strong>{escape(asked.question.title)}</strong></p>"
    put = f"{heading}{wording}{asked.verdict.picture}<p>{_blank(asked.question)}</p>"
    if teacher:
        put += f'<div class="answer"><p><strong>Answer</strong></p>{_lines(_worked(asked))}</div>'
    return f'<section class="ask" aria-label="Question">{put}</section>'


def _blank(question: Question) -> str:
    """Return where an answer of this kind is written."""
    if question.options:
        return "Ring one letter and one number." if question.reasons else "Ring one letter."
    if question.parts:
        return "<br>".join(f"{escape(name)}: {BLANK}" for name in question.parts.names)
    if question.symbols:
        return f"Formula: {BLANK}"
    unit = ", with its ± and its unit" if question.measured else ", with its unit" if question.unit else ""
    return f"Answer{unit}: {BLANK}"


def _worked(asked: Asked) -> Sequence[str]:
    question = asked.question
    right = [
        f"{letter}) {option.text}"
        for letter, option in zip(string.ascii_lowercase, question.options, strict=False)
        if option.right
    ]
    return [*right, *question.worked_lines(asked.numbers)] or [question.rule]


def _lines(lines: Sequence[str]) -> str:
    return "".join(f"<p>{escape(line)}</p>" for line in lines if line.strip())


def _numbers(sheet: Sheet) -> str:
    rows = "".join(
        f'<tr><th scope="row">{escape(value.meaning)}</th><td>{escape(sheet.numbers[value.name])}</td></tr>'
        for value in sheet.plan.values
    )
    table = f"<table><caption>The numbers of {escape(sheet.learner)}</caption><tbody>{rows}</tbody></table>"
    return f"<p>{escape(sheet.own.fill(sheet.plan.about))}</p>{table}"


def _picture(picture: Picture) -> str:
    caption = f"<figcaption>{escape(picture.finding)}</figcaption>"
    return f"<figure>{image_html(picture)}{caption}</figure>{numbers_html(picture)}"


@cache
def _formatter() -> Any:
    formatter: Any = DisplayFormatter()
    teach(formatter.formatters)
    return formatter


def _formatted(value: object) -> str:
    """Return any other value as a notebook would show it."""
    forms, _ = _formatter().format(value)
    if "text/html" in forms:
        return str(forms["text/html"])
    if "text/markdown" in forms:
        return prose_html(str(forms["text/markdown"]))
    return f"<pre>{escape(str(forms.get('text/plain', '')))}</pre>"
