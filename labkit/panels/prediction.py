"""A prediction: committed before anything is shown, kept, and set beside the result."""

from __future__ import annotations

import html
import json
import re
import weakref
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import anywidget
import pint
import traitlets
from ipywidgets import HTML

from labkit.errors import PartError, UnitError
from labkit.panels.controls import HERE
from labkit.panels.gate import Gate
from labkit.units import Q_, Quantity, convertible, parse_quantity
from labkit.writing import show

__all__ = ["Comparison", "Later", "Prediction", "prediction"]

#: The predictions of this session by their files, so that a cell that runs again shows the same one again.
_ASKED: weakref.WeakValueDictionary[Path, Prediction] = weakref.WeakValueDictionary()

UNSURE = "I do not know yet"


class Prediction(anywidget.AnyWidget):
    """A question with a few answers to choose from, or an entry for a quantity.

    The answer is kept in the folder ``.labkit`` beside the notebook, and is still there after a restart.

    Parameters
    ----------
    title : str
        Names the prediction; the same title is the same prediction.
    question : str
    options : sequence of str
        The answers to choose from; none to have a quantity typed.
    unit : str
        The unit of a typed quantity.
    folder : Path, optional
        Where answers are kept.

    Raises
    ------
    PartError
        When title, question or an option is no text.
    """

    _esm = HERE / "prediction.js"
    _css = HERE / "panels.css"
    question = traitlets.Unicode().tag(sync=True)
    options = traitlets.List(traitlets.Unicode()).tag(sync=True)
    #: What was committed; empty before.
    answer = traitlets.Unicode().tag(sync=True)
    refusal = traitlets.Unicode().tag(sync=True)

    def __init__(
        self, title: str, question: str, *, options: Sequence[str] = (), unit: str = "", folder: Path | None = None
    ) -> None:
        _must_be_text(title=title, question=question)
        if isinstance(options, str) or not isinstance(options, Sequence):
            raise PartError("options", "a list of answers", repr(options)[:80], "Write them as in ['more', 'less'].")
        _must_be_text(**{f"options[{place}]": option for place, option in enumerate(options)})
        name = re.sub(r"[\W_]+", "-", title.lower()).strip("-")
        #: Where the answer is kept.
        self.file = ((folder or Path(".labkit")) / "predictions" / f"{name}.json").absolute()
        #: The unit of a typed quantity; empty where one is chosen.
        self.unit = unit
        choices = [*options, UNSURE] if options else []
        answer, first = self._kept(question)
        #: What was committed the first time; a later answer does not take its place.
        self.first = first
        super().__init__(question=question, options=choices, answer=answer)
        self.on_msg(self._heard)

    def asks_the_same(self, other: Prediction) -> bool:
        """Return whether *other* puts the same question with the same answers to choose from."""
        return (self.question, self.options, self.unit) == (other.question, other.options, other.unit)

    def commit(self, answer: str) -> None:
        """Take *answer* as the prediction; what is no answer is refused in words."""
        try:
            answer = self._admitted(answer.strip())
        except UnitError as error:
            self.refusal = str(error)
            return
        self.first = self.first or answer
        self._keep(answer)
        with self.hold_sync():
            self.refusal = ""
            self.answer = answer

    def again(self) -> None:
        """Let another prediction be made; what was said the first time is kept."""
        self._keep("")
        self.answer = ""

    def beside(self, result: Quantity | str, why: str = "") -> Comparison:
        """Return the prediction and the result side by side; closed until the prediction is committed.

        Parameters
        ----------
        result : Quantity or str
        why : str
            One or two sentences on what makes it so.

        Raises
        ------
        PartError
            When the result is neither.
        """
        if not isinstance(result, str | pint.Quantity):
            raise PartError("result", "a quantity or text", repr(result)[:80], "Give what the kit worked out.")
        found = result if isinstance(result, str) else show(result, self.unit or None)
        return Comparison(self, found, why)

    def then(self, shown: Any) -> Later:
        """Return a derivation or a picture that stays closed until the prediction is committed.

        Raises
        ------
        PartError
            When it is neither.
        """
        if not hasattr(shown, "to_html"):
            remedy = "Give what derivation(…) or a function for a picture returns."
            raise PartError("then", "a derivation or a picture", f"a {type(shown).__name__}", remedy)
        return Later(self, shown)

    def _admitted(self, answer: str) -> str:
        if self.options:
            if answer in self.options:
                return answer
            raise UnitError("No answer is chosen yet.", "Choose one; not knowing yet is an answer too.")
        like = f"as in {show(Q_(3.0, self.unit), self.unit, digits=1)}"
        if not answer:
            raise UnitError("Nothing is typed yet.", f"A rough guess is what is wanted, {like}.")
        if not convertible(parse_quantity(answer), self.unit):
            raise UnitError(f"{answer} is not of the right kind.", f"Write it {like}.")
        return answer

    def _keep(self, answer: str) -> None:
        kept = {"question": self.question, "answer": answer, "first": self.first}
        self.file.parent.mkdir(parents=True, exist_ok=True)
        self.file.write_text(json.dumps(kept), encoding="utf-8")

    def _kept(self, question: str) -> tuple[str, str]:
        try:
            kept = json.loads(self.file.read_text(encoding="utf-8"))
            if kept["question"] == question:
                return str(kept["answer"]), str(kept.get("first", kept["answer"]))
        except (OSError, ValueError, KeyError, TypeError):
            pass  # none yet, or no longer readable: ask again
        return "", ""

    def _heard(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        if "commit" in content:
            self.commit(str(content["commit"]))
        elif "again" in content:
            self.again()


class Comparison(Gate):
    """A prediction and the result side by side, once it is committed.

    Parameters
    ----------
    prediction : Prediction
    found : str
        The result, as written.
    why : str
    """

    def __init__(self, prediction: Prediction, found: str, why: str) -> None:
        self.found, self.why = found, why
        super().__init__(prediction, lambda: [HTML(_table(prediction, found, why))])


class Later(Gate):
    """A derivation or a picture that is shown once a prediction is committed.

    Parameters
    ----------
    prediction : Prediction
    shown : object with ``to_html``
    """

    def __init__(self, prediction: Prediction, shown: Any) -> None:
        self.shown = shown
        super().__init__(prediction, lambda: [HTML(shown.to_html()).add_class("jp-RenderedHTMLCommon")])


def _must_be_text(**texts: object) -> None:
    for name, text in texts.items():
        if not isinstance(text, str):
            raise PartError(name, "text", repr(text)[:80], "Write it in quotes.")


def _table(said: Prediction, found: str, why: str) -> str:
    rows = [("You predicted", said.answer), ("The result", found)]
    if said.first != said.answer:
        rows[:1] = [("You predicted at first", said.first), ("and then", said.answer)]
    cells = "".join(f'<tr><th scope="row">{name}</th><td>{html.escape(text)}</td></tr>' for name, text in rows)
    return f'<div class="labkit"><table class="labkit-compared">{cells}</table><p>{html.escape(why)}</p></div>'


def prediction(title: str, question: str, *, options: Sequence[str] = (), unit: str = "") -> Prediction:
    """Return a prediction to commit to, as kept from last time if there is one.

    A cell that runs again returns the prediction that it made before, so that all that waits for it stays joined to it.

    Parameters
    ----------
    title : str
        Names it.
    question : str
    options : sequence of str
        Answers to choose from; "I do not know yet" is added.
    unit : str
        Without options: the unit of the quantity to type.

    Examples
    --------
    >>> guess = prediction("Held still", "What does the meter read?", unit="V")
    >>> guess.beside("0 V").is_open
    False
    """
    made = Prediction(title, question, options=options, unit=unit)
    known = _ASKED.get(made.file)
    if known is not None and known.asks_the_same(made):
        made.close()
        return known
    _ASKED[made.file] = made
    return made
