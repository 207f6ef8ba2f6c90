"""What stays closed until a prediction is committed."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from typing import Any

from ipywidgets import HTML, VBox, Widget

from labkit.errors import PartError
from labkit.freshness import listen

__all__ = ["Gate"]

_CLOSED = (
    '<p class="labkit labkit-note">Commit your prediction first, in the box above. '
    "This opens by itself then; there is nothing to run again.</p>"
)


_OLD = '<p class="labkit labkit-note" role="status"><strong>Old: </strong>{}</p>'


class Gate(VBox):  # type: ignore[misc] # ipywidgets has no types
    """A box whose content is made and shown once there is something in the ``answer`` of a prediction.

    When what its cell rests on is made anew with other numbers, it says above its content that it is old.

    Parameters
    ----------
    prediction : widget with an ``answer``, or None
        Nothing to wait for where ``None``.
    content : callable
        Returns the widgets to show.

    Raises
    ------
    PartError
        When there is something else in the prediction's place.
    """

    def __init__(self, prediction: Any, content: Callable[[], Sequence[Widget]]) -> None:
        if prediction is not None and not hasattr(prediction, "answer"):
            got = f"a {type(prediction).__name__}"
            raise PartError("after", "a prediction", got, "Give what prediction(…) returns: after=guess.")
        #: The prediction, or None.
        self.waits_for = prediction
        self._content = content
        self._old = ""
        self._within: tuple[Widget, ...] = ()
        super().__init__()
        listen(self.age)
        if prediction is not None:
            prediction.observe(self._turn, "answer")
        self._turn()

    @property
    def is_open(self) -> bool:
        """Whether the content is shown."""
        return self.waits_for is None or bool(self.waits_for.answer)

    def age(self, words: str) -> None:
        """Say that the content rests on something that has changed since; take it back where *words* are empty."""
        if words != self._old:
            self._old = words
            self._fill()

    def _turn(self, _change: object = None) -> None:
        self._within = tuple(self._content()) if self.is_open else (HTML(_CLOSED),)
        self._fill()

    def _fill(self) -> None:
        warning = (HTML(_OLD.format(html.escape(self._old))),) if self._old else ()
        self.children = (*warning, *self._within)
