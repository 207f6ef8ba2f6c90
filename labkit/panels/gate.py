"""What stays closed until a prediction is committed."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from ipywidgets import HTML, VBox, Widget

__all__ = ["Gate"]

_CLOSED = (
    '<p class="labkit labkit-note">Commit your prediction first, in the box above. '
    "This opens by itself then; there is nothing to run again.</p>"
)


class Gate(VBox):  # type: ignore[misc] # ipywidgets has no types
    """A box whose content is made and shown once there is something in the ``answer`` of a prediction.

    Parameters
    ----------
    prediction : widget with an ``answer``, or None
        Nothing to wait for where ``None``.
    content : callable
        Returns the widgets to show.
    """

    def __init__(self, prediction: Any, content: Callable[[], Sequence[Widget]]) -> None:
        self._prediction, self._content = prediction, content
        super().__init__()
        if prediction is not None:
            prediction.observe(self._turn, "answer")
        self._turn()

    @property
    def is_open(self) -> bool:
        """Whether the content is shown."""
        return self._prediction is None or bool(self._prediction.answer)

    def _turn(self, _change: object = None) -> None:
        self.children = tuple(self._content()) if self.is_open else (HTML(_CLOSED),)
