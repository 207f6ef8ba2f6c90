"""What every panel is: a frozen state, controls that replace it, and a picture that follows it."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Collection, Mapping
from functools import partial
from typing import Any, Generic, Protocol, TypeVar

import traitlets
from IPython.display import HTML, display
from ipywidgets import Box, Layout, Widget

from labkit.errors import LabkitError
from labkit.figures import Picture, numbers_html
from labkit.panels.controls import Buttons, Choice, QuantitySlider
from labkit.panels.frozen import frozen_html
from labkit.panels.gate import Gate
from labkit.panels.prediction import Prediction
from labkit.panels.views import Fold, Image

__all__ = ["Panel"]

State = TypeVar("State")
Run = TypeVar("Run")
Shown_contra = TypeVar("Shown_contra", contravariant=True)

_show: Any = display  # IPython's functions have no types
_page: Any = HTML

_MOST_UNDO = 100
#: How many frozen pictures stand below a panel: the newest.
_MOST_FROZEN = 6


class Drawing(Protocol[Shown_contra]):
    """A chart as a panel uses it."""

    def draw(self, run: Shown_contra, /) -> Picture:
        """Return the picture of what is given."""

    def svg(self) -> str:
        """Return the picture as it stands as SVG."""


class Panel(Gate, Generic[State]):
    """Controls, a picture, the working and the numbers, around one frozen state.

    Set ``panel.state`` and all follows: the controls, the picture, the words.
    A control sets it too; so do the presets and the undo button.
    What is frozen stands below the panel as plain HTML: it is saved with the notebook, and prints.

    Parameters
    ----------
    state : frozen dataclass
        Where the panel starts.
    controls : dict of str to control
        A slider or choice for each field of the state that a hand may change.
    presets : dict of str to dict
        Name of the button, and the fields that it sets.
    chart : chart
        What draws the picture: its ``draw`` takes what *run* returns.
    run : callable
        Takes a state and returns all that the picture shows at it.
    working : callable
        Takes a state and returns its derivations with the present numbers, as HTML.
    idle : callable, optional
        Takes a state and returns the names of the controls that play no part in it.
    after : Prediction, optional
        The panel stays closed until this is committed.
    """

    state = traitlets.Any()

    def __init__(
        self,
        state: State,
        *,
        controls: Mapping[str, QuantitySlider | Choice],
        presets: Mapping[str, Mapping[str, object]],
        chart: Drawing[Run],
        run: Callable[[State], Run],
        working: Callable[[State], str],
        idle: Callable[[State], Collection[str]] = lambda _state: (),
        after: Prediction | None = None,
    ) -> None:
        self.controls = dict(controls)
        self.image = Image()
        self.presets = Buttons(
            "Presets",
            {name: partial(self.change, f"preset {name}", fields) for name, fields in presets.items()}
            | {"Undo": self.undo},
        )
        self.working = Fold("Show the working", lambda: working(self.state))
        self.numbers = Fold("Show the numbers", self._numbers)
        self.keeping = Buttons("For print", {"Freeze for print": self.freeze, "Clear what is frozen": self.thaw})
        #: What was frozen, oldest first, as HTML.
        self.frozen: tuple[str, ...] = ()
        self._places: list[Any] = []
        #: Draws the picture; built once and then moved.
        self.chart = chart
        self._draw: Callable[[Any], Picture] = lambda state: chart.draw(run(state))
        self._idle = idle
        self._past: list[tuple[str, Any]] = []
        self._picture: Picture | None = None
        super().__init__(after, self._laid_out)
        for name, control in self.controls.items():
            control.observe(partial(self._moved, name), "value")
        self.state = state

    def undo(self) -> None:
        """Go back to the state before the last change; moves of one control in a row are one change."""
        if self._past:
            _, self.state = self._past.pop()

    def change(self, cause: str, fields: Mapping[str, object]) -> None:
        """Replace fields of the state, so that it can be undone; *cause* names what did it."""
        changed = dataclasses.replace(self.state, **fields)
        if changed == self.state:
            return
        if not self._past or self._past[-1][0] != cause:
            self._past = [*self._past[1 - _MOST_UNDO :], (cause, self.state)]
        self.state = changed

    def settings(self) -> list[tuple[str, str]]:
        """Return name and value, as written, of each control that plays a part at present."""
        idle = self._idle(self.state)
        return [
            (control.label, control.text if isinstance(control, QuantitySlider) else control.value)
            for name, control in self.controls.items()
            if name not in idle
        ]

    def to_html(self) -> str:
        """Return the present picture as SVG, its settings and its numbers, as HTML that needs nothing else."""
        picture = self._picture and dataclasses.replace(self._picture, svg=self.chart.svg())
        return frozen_html(self.settings(), picture, self.image.finding)

    def freeze(self) -> None:
        """Put the present picture, its settings and its numbers below the panel, to keep and to print."""
        if not self.is_open:
            return
        one = self.to_html()
        kept = [other for other in self.frozen if other != one]
        self._put((*kept, one)[-_MOST_FROZEN:])

    def thaw(self) -> None:
        """Take away what is frozen."""
        self._put(())

    def _put(self, frozen: tuple[str, ...]) -> None:
        self.frozen = frozen
        for place in self._places:
            place.update(_page("".join(frozen)))

    def _ipython_display_(self) -> None:
        """Show the panel, and below it a place for what is frozen: that one is no widget, so it is saved."""
        _show(self._repr_mimebundle_(), raw=True)
        place = _show(_page("".join(self.frozen)), display_id=True)
        if place is not None:
            self._places.append(place)

    def _moved(self, name: str, change: Any) -> None:
        self.change(name, {name: change["new"]})

    def _laid_out(self) -> tuple[Widget, ...]:
        left = Box(
            [*self.controls.values(), self.presets],
            layout=Layout(display="flex", flex_flow="column", flex="1 1 230px", max_width="290px"),
        )
        right = Box([self.image], layout=Layout(flex="2 1 420px", min_width="0"))
        both = Box([left, right], layout=Layout(display="flex", flex_flow="row wrap", grid_gap="4px 20px"))
        return both, self.working, self.numbers, self.keeping

    @traitlets.observe("state")
    def _follow(self, _change: object) -> None:
        for name, control in self.controls.items():
            control.value = getattr(self.state, name)
            control.disabled = name in self._idle(self.state)
        try:
            self._picture = self._draw(self.state)
            self.image.show(self._picture)
        except LabkitError as refusal:
            self._picture = None
            self.image.refuse(str(refusal))
        self.working.stale()
        self.numbers.stale()

    def _numbers(self) -> str:
        return numbers_html(self._picture) if self._picture else ""
