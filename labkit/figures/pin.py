"""A pin and what hangs on it: where the two lines meet, how the voltage divides, and where the heat is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from labkit.figures.bars import Bars
from labkit.figures.chart import GREY, STYLES, Chart, beside, house_style, nice_limit, write
from labkit.figures.picture import Picture, Reading, Table
from labkit.parts import Pin
from labkit.simulation import PinPoint
from labkit.units import Quantity
from labkit.writing import show

__all__ = ["PinChart", "PinRun", "pin_picture"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class PinRun:
    """What the picture is drawn from."""

    #: What hangs on the pin, such as ``"a resistor of 150 Ω"``.
    load: str
    #: Its limit is the rated current, at which the data sheet tests it.
    pin: Pin
    #: The current that it must never see.
    damage_limit: Quantity
    #: Where pin and load meet.
    point: PinPoint
    #: What the pin gives into a short circuit.
    short: Quantity
    #: The load by itself, over rising voltage, of shape (n,).
    line: PinPoint
    #: What a free motor draws while it turns; ``None`` where there is none.
    needed: Quantity | None

    @property
    def rated(self) -> Quantity:
        """The rated current; the short circuit's where the pin has none."""
        return self.short if self.pin.current_limit is None else self.pin.current_limit


def pin_picture(run: PinRun) -> Picture:
    """Return the picture of one setting."""
    return PinChart().draw(run)


class PinChart(Chart):
    """The picture, built once and then moved."""

    def __init__(self) -> None:
        super().__init__(6.4, 4.3)
        with house_style():
            grid = self.figure.add_gridspec(2, 2, width_ratios=[1.5, 1.0])
            volts, watts = self.figure.add_subplot(grid[0, 1]), self.figure.add_subplot(grid[1, 1])
            self._build_lines(self.figure.add_subplot(grid[:, 0]))
            self.volts, self.volts_bars = volts, self._build_bars(volts, "How the voltage divides", "voltage (V)")
            self.watts, self.watts_bars = watts, self._build_bars(watts, "Where the power goes", "power (mW)")

    def _build_lines(self, lines: Axes) -> None:
        lines.set(title="The pin meets its load", xlabel="current (mA)", ylabel="voltage at the pin (V)")
        lines.locator_params(axis="x", nbins=6)
        self.lines = lines
        self.rated_line = self.line(lines, 3, color=GREY, linewidth=1.2)
        self.damage_line = self.line(lines, 2, color=GREY, linewidth=1.2)
        self.pin_line, self.load_line, self.dot_here = self.line(lines, 0), self.line(lines, 1), self.dot(lines, 1)
        self.rated_words, self.damage_words = (self.words(lines, color=GREY, va="top", fontsize=8) for _ in "ab")
        self.pin_words = self.words(lines, 0, va="bottom")
        self.load_words, self.dot_words = self.words(lines, 1, va="bottom"), self.words(lines)

    def _build_bars(self, axes: Axes, title: str, label: str) -> Bars:
        axes.set(title=title, xlabel=label)
        axes.locator_params(axis="x", nbins=4)
        return Bars(self, axes, ["in the pin", "at the load"], colour=[STYLES[0]["color"], STYLES[1]["color"]])

    def draw(self, run: PinRun) -> Picture:
        """Return the picture of one setting."""
        self._move_lines(run)
        point = run.point
        self._move_bars(self.volts, self.volts_bars, divided(run), "V")
        self._move_bars(self.watts, self.watts_bars, (point.internal_loss, point.load_power), "mW")
        return self.picture(
            subject=f"Voltage of a pin against its current, with the line of {run.load}, the pin's rated current and "
            "its damage limit; how the voltage divides between pin and load; where the power goes.",
            finding=finding(run),
            readings=readings(run),
            tables=tables(run),
        )

    def _move_lines(self, run: PinRun) -> None:
        short, high = float(run.short.m_as("mA")), float(run.pin.high_level.m_as("V"))
        marked = [run.rated, run.damage_limit, *([] if run.needed is None else [run.needed])]
        reach = [short, *(float(amps.m_as("mA")) for amps in marked)]
        right, top = nice_limit(1.1 * max(reach)), nice_limit(1.15 * high)
        self.limits(self.lines, x=(0, right), y=(0, top))
        self.pin_line.set_data([0, short], [high, 0])
        self.load_line.set_data(run.line.current.m_as("mA"), run.line.voltage.m_as("V"))
        x, y = float(run.point.current.m_as("mA")), float(run.point.voltage.m_as("V"))
        self.dot_here.set_data([x], [y])
        beside(self.dot_words, x, y, f"{show(run.point.current)} at {show(run.point.voltage)}")
        write(self.pin_words, 0.6 * short + 0.02 * right, 0.4 * high + 0.02 * top, "pin")
        self._name_load(run, right, top)
        for line, words, limit, place, name in (
            (self.rated_line, self.rated_words, run.rated, 0.99, "rated"),
            (self.damage_line, self.damage_words, run.damage_limit, 0.93, "damage from"),
        ):
            at = float(limit.m_as("mA"))
            line.set_data([at, at], [0, top])
            write(words, at + 0.01 * right, place * top, f"{name} {show(limit)}")

    def _name_load(self, run: PinRun, right: float, top: float) -> None:
        amps, volts = run.line.current.m_as("mA"), run.line.voltage.m_as("V")
        seen = np.flatnonzero((amps <= 0.97 * right) & (volts <= 0.85 * top))[-1]  # up to where it leaves the picture
        x, y = float(amps[seen]), float(volts[seen])
        near_edge = x > 0.85 * right
        self.load_words.set_horizontalalignment("right" if near_edge else "left")
        write(self.load_words, x if near_edge else x + 0.015 * right, y + 0.01 * top, "load")

    def _move_bars(self, axes: Axes, bars: Bars, sizes: Sequence[Quantity], unit: str) -> None:
        right = nice_limit(1.45 * max(0.1, *(float(size.m_as(unit)) for size in sizes)))
        self.limits(axes, x=(0, right))
        bars.move(sizes, unit, gap=0.02 * right)


def divided(run: PinRun) -> tuple[Quantity, Quantity]:
    """Return the voltage inside the pin and at its load."""
    return run.pin.high_level - run.point.voltage, run.point.voltage


def finding(run: PinRun) -> str:
    """Return what the picture shows, in words."""
    point = run.point
    flows = show(point.current)
    if point.current > run.damage_limit:
        verdict = f"beyond the {show(run.damage_limit)} that may destroy it"
    elif point.current > run.rated:
        verdict = f"{show(point.current / run.rated, '')} times the {show(run.rated)} that it is rated for"
    else:
        verdict = f"within the {show(run.rated)} that it is rated for"
    lost, left = divided(run)
    turns = ""
    if run.needed is not None:
        turns = (
            " The motor turns."
            if point.turning
            else f" The motor does not turn: it needs {show(run.needed)} merely to keep going."
        )
    return (
        f"With {run.load} on it the pin gives {flows}, {verdict}.{turns} {show(lost)} drop inside the pin and "
        f"{show(left)} are left; {show(point.internal_loss)} heat the chip."
    )


def readings(run: PinRun) -> tuple[Reading, ...]:
    """Return the numbers at this setting."""
    point = run.point
    lost, left = divided(run)
    return (
        Reading("Pin, nothing connected", run.pin.high_level),
        Reading("Current", point.current),
        Reading("Current over rated current", point.current / run.rated, ""),
        Reading("Voltage inside the pin", lost),
        Reading("Voltage at the load", left),
        Reading("Heat inside the pin", point.internal_loss),
        Reading("Power of the load", point.load_power),
        Reading("Into a short circuit", run.short),
    )


def tables(run: PinRun) -> tuple[Table, ...]:
    """Return the curves of the picture."""
    return (Table("The load by itself", (("voltage", run.line.voltage, "V"), ("current", run.line.current, "mA"))),)
