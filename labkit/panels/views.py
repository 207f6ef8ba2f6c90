"""The parts that show: a picture with its words, and something to unfold."""

from __future__ import annotations

import html
from collections.abc import Callable
from typing import Any

import anywidget
import traitlets

from labkit.errors import LabkitError
from labkit.figures import Picture
from labkit.panels.controls import HERE

__all__ = ["Fold", "Image"]


class Image(anywidget.AnyWidget):
    """A picture in a panel: the image with its alternative text, and the finding in words below it."""

    _esm = HERE / "image.js"
    _css = HERE / "panels.css"
    png = traitlets.Bytes().tag(sync=True)
    width = traitlets.Int().tag(sync=True)
    alt = traitlets.Unicode().tag(sync=True)
    finding = traitlets.Unicode().tag(sync=True)

    def show(self, picture: Picture) -> None:
        """Show *picture* from now on; all that belongs together travels in one message."""
        with self.hold_sync():
            self.png = picture.png
            self.width = picture.width
            self.finding = picture.finding
            self.alt = picture.alt

    def refuse(self, sentence: str) -> None:
        """Show no picture, since there is none for these numbers, and say why."""
        with self.hold_sync():
            self.png = b""
            self.finding = self.alt = sentence


class Fold(anywidget.AnyWidget):
    """A heading that unfolds; its content is made only when somebody looks, and again when it has gone stale.

    Parameters
    ----------
    title : str
    content : callable
        Returns HTML.
    """

    _esm = HERE / "fold.js"
    _css = HERE / "panels.css"
    title = traitlets.Unicode().tag(sync=True)
    content = traitlets.Unicode().tag(sync=True)
    #: Counts the changes of what the content is about.
    version = traitlets.Int(1).tag(sync=True)
    #: The version that the content belongs to.
    asked = traitlets.Int(0).tag(sync=True)

    def __init__(self, title: str, content: Callable[[], str]) -> None:
        self._make = content
        super().__init__(title=title)
        self.on_msg(self._heard)

    def stale(self) -> None:
        """Say that the content belongs to an earlier setting."""
        self.version += 1

    def fill(self) -> None:
        """Make the content for the present setting."""
        version = self.version
        try:
            content = self._make()
        except LabkitError as refusal:
            content = f"<p>{html.escape(str(refusal))}</p>"
        with self.hold_sync():
            self.content = content
            self.asked = version

    def _heard(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        if "ask" in content:
            self.fill()
