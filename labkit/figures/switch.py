"""A transistor as a switch: what the pin gives it, what it lets through, and what each part keeps of the voltage."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes

from labkit.figures.bars import Bars
from labkit.figures.chart import GREY, Chart, beside, first_above, house_style
from labkit.figures.circuit import Circuit, Point
from labkit.figures.picture import Picture
from labkit.figures.switch_words import SwitchRun, finding, readings, tables
from labkit.writing import show

__all__ = ["SwitchChart", "switch_picture"]

_KEEPERS = ("load", "transistor", "inside battery")
_MOMENTS = ("first instant", "held on")
#: Ends of the axes of the load's and of the pin's current, few enough to be drawn but once each.
_AMPS_ENDS, _PIN_ENDS = (0.1, 0.5, 1.0, 2.0, 3.0), (30.0, 100.0, 300.0, 600.0)

# the corners of the circuit
_BOARD, _PIN, _FEED, _MIDDLE, _DIODE, _RIGHT = -3.0, -0.9, 0.85, 2.3, 3.7, 5.3
_TOP, _JOINT, _SOURCE, _BOTTOM = 5.6, 2.7, 0.0, -0.8
_LOOP: list[Point] = [
    (_RIGHT, _BOTTOM), (_RIGHT, _TOP), (_MIDDLE, _TOP), (_MIDDLE, _BOTTOM), (_RIGHT, _BOTTOM)
]  # fmt: skip


def switch_picture(run: SwitchRun) -> Picture:
    """Return the picture of one setting."""
    return SwitchChart(run.pin_limit.m_as("mA")).draw(run)


class SwitchChart(Chart):
    """The picture, built once and then moved.

    Parameters
    ----------
    pin_limit : float
        What the pin is made to give, in mA.
    """

    def __init__(self, pin_limit: float = 20.0) -> None:
        super().__init__(6.4, 4.7)
        with house_style():
            halves = self.figure.add_gridspec(1, 2, width_ratios=[1.35, 1.0])
            right = halves[0, 1].subgridspec(3, 1, height_ratios=[1.6, 0.8, 0.6])
            self._build_circuit(self.figure.add_subplot(halves[0, 0]))
            self._build_amps(self.figure.add_subplot(right[0]))
            self._build_volts(self.figure.add_subplot(right[1]))
            self._build_pin(self.figure.add_subplot(right[2]), pin_limit)

    def _build_circuit(self, axes: Axes) -> None:
        axes.set(title="Pin, transistor and load")
        self.circuit = circuit = Circuit(self, axes, x=(-3.1, 6.0), y=(-1.5, 6.5))
        drain, source = (_MIDDLE, _JOINT), (_MIDDLE, _SOURCE)
        gate = circuit.gate(drain, source)
        circuit.box((_BOARD, _BOTTOM - 0.35), _PIN - _BOARD, 2.9, facecolor="#f2f2f2")
        circuit.words(((_BOARD + _PIN) / 2, 1.35), "board", side="center", zorder=4)
        circuit.words((_PIN - 0.1, _BOTTOM), "0 V", side="right", zorder=4)
        circuit.resistor((_PIN, gate[1]), (_FEED - 0.1, gate[1]))
        circuit.wire((_FEED - 0.1, gate[1]), gate)
        circuit.wire((_PIN, _BOTTOM), (_RIGHT, _BOTTOM))
        circuit.wire(source, (_MIDDLE, _BOTTOM))
        circuit.battery((_RIGHT, _BOTTOM), (_RIGHT, _TOP))
        circuit.wire((_MIDDLE, _TOP), (_RIGHT, _TOP))
        circuit.joint(drain, (_MIDDLE, _BOTTOM), (_DIODE, _TOP))
        circuit.diode((_DIODE, _JOINT), (_DIODE, _TOP))
        circuit.wire(drain, (_DIODE, _JOINT))
        circuit.joint((_MIDDLE, _TOP))
        self.motor = self.all_moving(circuit.motor((_MIDDLE, _TOP), drain))
        self.ballast = self.all_moving(circuit.resistor((_MIDDLE, _TOP), drain))
        self.mosfet, self.bipolar = (
            self.all_moving(part) for part in (circuit.mosfet(drain, source), circuit.bipolar(drain, source))
        )
        down = ((_FEED, gate[1]), (_FEED, _BOTTOM))
        self.pull_down = self.all_moving([*circuit.resistor(*down), *circuit.joint(*down)])
        self.pin_words = self.words(axes, va="center", ha="right", bbox=None, position=(_PIN - 0.1, gate[1]))
        self.resistor_words = self.words(axes, va="bottom", ha="center", bbox=None, position=(0.0, gate[1] + 0.3))
        self.pull_words = self.words(axes, va="top", ha="center", bbox=None, position=(_FEED, _BOTTOM - 0.15))
        self.gate_words = self.words(axes, 0, va="bottom", ha="right", bbox=None, position=(1.4, 1.75))
        self.drain_words = self.words(axes, 0, va="center", bbox=None, position=(_MIDDLE + 0.3, 1.3))
        self.load_words = self.words(axes, va="center", ha="right", bbox=None, position=(_MIDDLE - 0.8, 4.15))
        self.battery_words = self.words(axes, va="center", ha="right", bbox=None, position=(_RIGHT - 0.55, 2.2))

    def _build_amps(self, amps: Axes) -> None:
        amps.set(title="Current in the load", xlabel="pin level (V)", ylabel="current (A)", xlim=(0, 5))
        self.amps = amps
        self.amps_line, self.amps_dot, self.amps_words = self.line(amps, 0), self.dot(amps, 0), self.words(amps, 0)

    def _build_volts(self, volts: Axes) -> None:
        volts.set(title="Who keeps the voltage", xlabel="voltage (V)", xlim=(0, 8))
        self.volts_bars = Bars(self, volts, _KEEPERS, fontsize=7.5)

    def _build_pin(self, pin: Axes, limit: float) -> None:
        pin.set(title="Pin current and limit", xlabel="current (mA)")
        pin.axvline(limit, color=GREY, linestyle=":", linewidth=1.5)
        self.pin, self.pin_bars = pin, Bars(self, pin, _MOMENTS, fontsize=7.5)

    def draw(self, run: SwitchRun) -> Picture:
        """Return the picture of one setting."""
        self._move_circuit(run)
        self._move_amps(run)
        self._move_bars(run)
        return self.picture(
            subject="The circuit of a pin, a transistor and its load with the way of the current; load current "
            "against the pin's level; what load, transistor and battery keep of the voltage; the pin's own current.",
            finding=finding(run),
            readings=readings(run),
            tables=tables(run),
        )

    def _move_circuit(self, run: SwitchRun) -> None:
        pulled = run.pull_down is not None and not run.bipolar
        for part, fitted in (
            (self.motor, run.is_motor), (self.ballast, not run.is_motor),
            (self.bipolar, run.bipolar), (self.mosfet, not run.bipolar), (self.pull_down, pulled),
        ):  # fmt: skip
            for artist in part:
                artist.set_visible(fitted)
        now, flows = run.now, float(run.now.current.m_as("A")) >= 1e-3
        self.circuit.flows(
            _LOOP if flows else [],
            ((_RIGHT - 0.4, _TOP), (_DIODE - 0.4, _TOP)),
            show(now.current) if flows else "no current",
            ((_MIDDLE + _RIGHT) / 2, _TOP + 0.5),
            side="center",
        )
        self.pin_words.set_text("pin" if run.level is None else f"pin {show(run.level)}")
        self.resistor_words.set_text(show(run.resistor))
        self.pull_words.set_text(show(run.pull_down) if pulled and run.pull_down is not None else "")
        self.gate_words.set_text(f"{'base' if run.bipolar else 'gate'} {show(now.gate_voltage)}")
        self.drain_words.set_text(f"{show(now.switch_voltage)}\n{show(now.switch_power)}")
        self.load_words.set_text(f"{show(run.load)}\n{show(now.load_voltage)}")
        self.battery_words.set_text(show(run.supply_voltage))

    def _move_amps(self, run: SwitchRun) -> None:
        most = float(np.max(run.sweep.current.m_as("A")))
        top = first_above(1.1 * most, _AMPS_ENDS)
        self.limits(self.amps, y=(-0.03 * top, top))
        self.amps_line.set_data(run.levels.m_as("V"), run.sweep.current.m_as("A"))
        known = run.level is not None
        for artist in (self.amps_dot, self.amps_words):
            artist.set_visible(known)
        if run.level is not None:
            volts, amps = float(run.level.m_as("V")), float(run.now.current.m_as("A"))
            self.amps_dot.set_data([volts], [amps])
            beside(self.amps_words, volts, amps - 0.13 * top if amps > 0.5 * top else amps, show(run.now.current))

    def _move_bars(self, run: SwitchRun) -> None:
        now = run.now
        self.volts_bars.move((now.load_voltage, now.switch_voltage, now.source_drop), "V", gap=0.15)
        top = first_above(1.5 * float(now.first_pin_current.m_as("mA")), _PIN_ENDS)
        self.limits(self.pin, x=(0, top))
        self.pin_bars.move((now.first_pin_current, now.pin_current), "mA", gap=0.02 * top)
