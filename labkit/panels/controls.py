"""The parts a hand moves: a slider with a typed entry, a choice of a few, a row of buttons.

Each has a name that a screen reader speaks, works at the keyboard alone, and holds its value in Python.
The drawing side, in the ``.js`` file of the same name, only shows it and sends back what was done.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import anywidget
import numpy as np
import traitlets

from labkit.errors import UnitError
from labkit.units import Q_, Quantity, in_unit, parse_quantity
from labkit.writing import show, unit_symbol

__all__ = ["Buttons", "Choice", "QuantitySlider", "stops"]

HERE = Path(__file__).parent


def stops(first: float, last: float, step: float) -> list[float]:
    """Return the values from *first* to *last*, *step* apart, free of rounding dust.

    >>> stops(0.0, 0.5, 0.1)
    [0.0, 0.1, 0.2, 0.3, 0.4, 0.5]
    """
    count = round((last - first) / step)
    return [float(f"{first + i * step:.10g}") for i in range(count + 1)]


class QuantitySlider(anywidget.AnyWidget):
    """A slider over chosen values of one quantity, and an entry that takes any value between its ends.

    Parameters
    ----------
    label : str
        What is set, such as ``"Shaft speed"``.
    values : sequence of float
        The stops of the slider in *unit*, rising: an arrow key goes to the next.
    unit : str
    value : Quantity
        Where it stands at first.
    page : int, optional
        How many stops Page Up and Page Down go: a tenth of the slider.
    digits : int
        Significant figures of the text.
    prefixed : bool
        Whether the text takes the prefix that suits instead of *unit* as it stands: for many factors of ten.

    Examples
    --------
    >>> speed = QuantitySlider("Shaft speed", stops(0, 9000, 100), "rpm", Q_(3000, "rpm"), digits=4)
    >>> speed.index, speed.text
    (30, '3000 rpm')
    >>> speed.type_in("4,5 krpm")
    >>> speed.type_in("2950 rpm")
    >>> print(speed.text, speed.index)
    2950 rpm 29
    >>> speed.type_in("2950")
    >>> print(speed.refusal)
    2950 has no unit. Write it too, as in 2950 rpm.
    """

    _esm = HERE / "slider.js"
    _css = HERE / "panels.css"
    label = traitlets.Unicode().tag(sync=True)
    stops = traitlets.List(traitlets.Unicode()).tag(sync=True)
    index = traitlets.Int().tag(sync=True)
    page = traitlets.Int(10).tag(sync=True)
    text = traitlets.Unicode().tag(sync=True)
    refusal = traitlets.Unicode().tag(sync=True)
    disabled = traitlets.Bool(default_value=False).tag(sync=True)
    value = traitlets.Any()

    def __init__(
        self,
        label: str,
        values: Sequence[float],
        unit: str,
        value: Quantity,
        *,
        page: int = 0,
        digits: int = 3,
        prefixed: bool = False,
    ) -> None:
        self._values = np.asarray(values, dtype=float)
        self._unit = unit
        self._digits = digits
        self._shown_in = None if prefixed else unit
        self._symbol = unit_symbol(unit)
        super().__init__(
            label=label,
            stops=[self._written(Q_(v, unit)) for v in self._values.tolist()],
            page=page or max(1, len(values) // 10),
            value=value,
        )
        self.on_msg(self._heard)

    def _written(self, quantity: Quantity) -> str:
        size = float(quantity.magnitude)
        if not self._symbol and size.is_integer():
            return f"{size:.0f}"  # a count
        return show(quantity, self._shown_in, digits=self._digits)

    @traitlets.observe("value")
    def _settled(self, _change: object) -> None:
        size = float(in_unit(self.value, self._unit, self.label).magnitude)
        with self.hold_sync():
            self.refusal = ""
            self.index = int(np.argmin(np.abs(self._values - size)))
            self.text = self._written(self.value)

    def type_in(self, text: str) -> None:
        """Take what a person typed; what cannot be is refused in words, and changes as little as an empty text."""
        try:
            self._set(self._admitted(text) if text.strip() else self.value)
        except UnitError as error:
            self.refusal = str(error)

    def _set(self, value: Quantity) -> None:
        self.refusal = ""  # the value may be the one that stands already, of which nobody is told
        self.value = value

    def _admitted(self, text: str) -> Quantity:
        given = parse_quantity(text)
        if self._unit and str(given.units) == "dimensionless" and not Q_(1.0, self._unit).dimensionless:
            raise UnitError(f"{text.strip()} has no unit.", f"Write it too, as in {text.strip()} {self._symbol}.")
        quantity = in_unit(given, self._unit, f"“{self.label}”")
        low, high = self._values[0], self._values[-1]
        if not low <= quantity.magnitude <= high:
            advice = f"Here it goes from {self.stops[0]} to {self.stops[-1]}."
            if self._unit == "percent" and str(given.units) == "dimensionless" and 1 < given.magnitude <= 100:
                advice = f"A percentage? Write {text.strip()} %."
            raise UnitError(f"{text.strip()} is too {'low' if quantity.magnitude < low else 'high'}.", advice)
        return quantity

    def _heard(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        try:
            if "move" in content:
                self._set(Q_(float(self._values[int(content["move"])]), self._unit))
            elif "typed" in content:
                self.type_in(str(content["typed"]))
        finally:
            self.send({"done": content.get("view")})  # the next move may come


class Choice(anywidget.AnyWidget):
    """One of a few named options, as radio buttons.

    Parameters
    ----------
    label : str
    options : sequence of str
    value : str
    """

    _esm = HERE / "choice.js"
    _css = HERE / "panels.css"
    label = traitlets.Unicode().tag(sync=True)
    options = traitlets.List(traitlets.Unicode()).tag(sync=True)
    index = traitlets.Int().tag(sync=True)
    disabled = traitlets.Bool(default_value=False).tag(sync=True)
    value = traitlets.Unicode()

    def __init__(self, label: str, options: Sequence[str], value: str) -> None:
        super().__init__(label=label, options=list(options), index=list(options).index(value), value=value)

    @traitlets.observe("index")
    def _chosen(self, _change: object) -> None:
        self.value = self.options[self.index]

    @traitlets.observe("value")
    def _set(self, _change: object) -> None:
        self.index = self.options.index(self.value)


class Buttons(anywidget.AnyWidget):
    """A named row of buttons, each of which calls a function.

    Parameters
    ----------
    label : str
    actions : dict of str to callable
    """

    _esm = HERE / "buttons.js"
    _css = HERE / "panels.css"
    label = traitlets.Unicode().tag(sync=True)
    names = traitlets.List(traitlets.Unicode()).tag(sync=True)

    def __init__(self, label: str, actions: dict[str, Callable[[], object]]) -> None:
        self._actions = dict(actions)
        super().__init__(label=label, names=list(actions))
        self.on_msg(self._heard)

    def press(self, name: str) -> None:
        """Do what the button of that name does."""
        self._actions[name]()

    def _heard(self, _widget: object, content: dict[str, Any], _buffers: object) -> None:
        if content.get("press") in self._actions:
            self.press(content["press"])
