"""A motor's start on a real battery: the sag, the shift of a shared ground, and what is left for the board."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes

from labkit.figures.chart import GREY, Chart, beside, decades, first_above, house_style, time_axis, write
from labkit.figures.circuit import Circuit, Point
from labkit.figures.picture import Picture
from labkit.figures.supply_words import SHARED, STAR, UNJOINED, SupplyRun, finding, readings, tables
from labkit.units import Quantity
from labkit.writing import show

__all__ = ["SupplyChart", "supply_picture"]

#: Ends of the axes, few enough to be drawn but once each.
_VOLT_ENDS, _AMP_ENDS, _SHIFT_ENDS = (6.0, 8.0, 10.0), (1.0, 2.0, 4.0), (50.0, 200.0, 500.0, 1000.0, 2000.0)
_TIME = "time after the start (µs to s)"
_TICKS = {-5: "10 µs", -3: "1 ms", -1: "100 ms"}

# the corners of the circuit
_LEFT, _BOARD, _MIDDLE = 0.0, 2.6, 5.3
_TOP, _JOINT, _SOURCE, _BOTTOM = 5.6, 2.9, 0.2, -1.3
_LOOP: list[Point] = [
    (_LEFT, _BOTTOM), (_LEFT, _TOP), (_MIDDLE, _TOP), (_MIDDLE, _BOTTOM), (_LEFT, _BOTTOM)
]  # fmt: skip


def supply_picture(run: SupplyRun) -> Picture:
    """Return the picture of one setting."""
    return SupplyChart().draw(run)


class SupplyChart(Chart):
    """The picture, built once and then moved."""

    def __init__(self) -> None:
        super().__init__(6.4, 4.7)
        with house_style():
            halves = self.figure.add_gridspec(1, 2, width_ratios=[1.15, 1.0])
            right = halves[0, 1].subgridspec(3, 1, height_ratios=[1.6, 1.0, 1.0])
            volts, amps, shift = (self.figure.add_subplot(right[row]) for row in range(3))
            self._build_circuit(self.figure.add_subplot(halves[0, 0]))
            self._build_volts(volts)
            self._build_others(amps, shift)

    def _build_circuit(self, axes: Axes) -> None:
        axes.set(title="Battery, board and motor")
        self.circuit = circuit = Circuit(self, axes, x=(-1.7, 6.7), y=(-2.3, 6.5))
        circuit.battery((_LEFT, _BOTTOM), (_LEFT, 2.6))
        circuit.resistor((_LEFT, 2.6), (_LEFT, _TOP))
        circuit.wire((_LEFT, _TOP), (_MIDDLE, _TOP))
        drain, source = (_MIDDLE, _JOINT), (_MIDDLE, _SOURCE)
        gate = circuit.gate(drain, source)
        circuit.motor((_MIDDLE, _TOP), drain)
        circuit.mosfet(drain, source)
        circuit.wire(source, (_MIDDLE, _BOTTOM))
        circuit.resistor((_LEFT + 0.3, _BOTTOM), (_BOARD - 0.5, _BOTTOM))
        circuit.wire((_LEFT, _BOTTOM), (_LEFT + 0.3, _BOTTOM))
        circuit.wire((_BOARD - 0.5, _BOTTOM), (_MIDDLE, _BOTTOM))
        circuit.box((_BOARD - 0.9, 0.2), 1.8, 2.2, facecolor="#f2f2f2")
        circuit.wire((_BOARD + 0.9, gate[1]), gate)
        self._build_board()

    def _build_board(self) -> None:
        circuit, foot = self.circuit, (_BOARD, 0.2)
        feed, low = (_BOARD, _TOP), (_BOARD, 2.4)
        self.plain_feed = self.all_moving([*circuit.wire(feed, low), *circuit.joint(feed)])
        buffered = [
            *circuit.diode((_BOARD, _TOP), (_BOARD, 3.7)), *circuit.wire((_BOARD, 3.7), low), *circuit.joint(feed),
            *circuit.wire((_BOARD, 3.2), (_BOARD - 1.4, 3.2)), *circuit.joint((_BOARD, 3.2)),
            *circuit.capacitor((_BOARD - 1.4, 3.2), (_BOARD - 1.4, -0.3)),
            *circuit.wire((_BOARD - 1.4, -0.3), (_BOARD, -0.3)), *circuit.joint((_BOARD, -0.3)),
        ]  # fmt: skip
        self.buffered_feed = self.all_moving(buffered)
        shared = [*circuit.wire(foot, (_BOARD, _BOTTOM)), *circuit.joint((_BOARD, _BOTTOM))]
        star = [*circuit.wire(foot, (_BOARD, -0.6), (_LEFT, -0.6)), *circuit.joint((_LEFT, -0.6))]
        open_end = [*circuit.wire(foot, (_BOARD, -0.4)), *circuit.words((_BOARD + 0.25, -0.45), "open")]
        self.grounds = {
            SHARED: self.all_moving(shared),
            STAR: self.all_moving(star),
            UNJOINED: self.all_moving(open_end),
        }
        axes, plain = circuit.axes, dict[str, Any](va="center", bbox=None)
        self.board_words = self.words(axes, **plain, ha="center", position=(_BOARD, 1.5), zorder=6)
        self.battery_words = self.words(axes, **plain, ha="right", position=(_LEFT - 0.35, 1.6))
        self.lead_words = self.words(axes, **plain, ha="center", position=((_LEFT + _BOARD) / 2 - 0.1, _BOTTOM - 0.55))
        self.inner_words = self.words(axes, **plain, ha="right", position=(_LEFT - 0.35, 4.1))

    def _build_volts(self, volts: Axes) -> None:
        volts.set(title="Voltage", ylabel="voltage (V)")
        time_axis(volts, _TICKS, 3.0)
        volts.tick_params(labelbottom=False)
        self.volts = volts
        self.limit_line = self.line(volts, 3, color=GREY, linewidth=1.0)
        self.battery_line, self.board_line = self.line(volts, 0), self.line(volts, 1)
        self.board_dot = self.dot(volts, 1)
        self.limit_words = self.words(volts, color=GREY, va="top")
        self.battery_label = self.words(volts, 0, va="bottom", ha="right")
        self.board_label = self.words(volts, 1, va="top")

    def _build_others(self, amps: Axes, shift: Axes) -> None:
        amps.set(title="Motor current", ylabel="current (A)")
        shift.set(title="Lift of the board's ground", ylabel="lift (mV)", xlabel=_TIME)
        time_axis(amps, _TICKS, 3.0)
        time_axis(shift, _TICKS, 3.0)
        amps.tick_params(labelbottom=False)
        self.amps, self.shift = amps, shift
        self.amps_line, self.amps_words = self.line(amps, 0), self.words(amps, 0, va="bottom", ha="right")
        self.shift_line, self.shift_words = self.line(shift, 2), self.words(shift, 2, va="bottom", ha="right")

    def draw(self, run: SupplyRun) -> Picture:
        """Return the picture of one setting."""
        self._move_circuit(run)
        self._move_volts(run)
        self._move_others(run)
        return self.picture(
            subject="The circuit of battery, board and motor with the way of the motor's current and the grounds; "
            "voltage at battery and board, motor current, and lift of the board's ground, from 10 µs to 3 s after the "
            "start.",
            finding=finding(run),
            readings=readings(run),
            tables=tables(run),
        )

    def _move_circuit(self, run: SupplyRun) -> None:
        joined = run.ground != UNJOINED
        for part, drawn in (
            (self.plain_feed, joined and run.buffer is None),
            (self.buffered_feed, joined and run.buffer is not None),
            *((part, name == run.ground) for name, part in self.grounds.items()),
        ):
            for artist in part:
                artist.set_visible(drawn)
        most = run.start.current.max()
        arrow = ((_BOARD + 0.5, _TOP), (_MIDDLE - 0.4, _TOP))
        text = f"{show(most)} at the start" if joined else "no current"
        at = ((_LEFT + _MIDDLE) / 2, _TOP + 0.5)
        self.circuit.flows(_LOOP if joined else [], arrow, text, at, side="center")
        left = f"down to\n{show(run.board.lowest_voltage)}" if joined else "on its own\nsupply"
        self.board_words.set_text(f"board\n{left}")
        self.battery_words.set_text(show(run.supply_voltage))
        self.inner_words.set_text(show(run.internal_resistance))
        self.lead_words.set_text(show(run.lead))

    def _move_volts(self, run: SupplyRun) -> None:
        top = first_above(1.12 * float(run.supply_voltage.m_as("V")), _VOLT_ENDS)
        self.limits(self.volts, y=(0.0, top))
        times, battery, board = decades(run.start.time), run.start.supply_voltage, run.board.voltage
        self.battery_line.set_data(times, battery.m_as("V"))
        self.board_line.set_data(times, board.m_as("V"))
        limit = float(run.brown_out.m_as("V"))
        self.limit_line.set_data([times[0], times[-1]], [limit, limit])
        write(self.limit_words, -4.9, limit - 0.02 * top, f"resets below {show(run.brown_out)}")
        write(self.battery_label, times[-1], float(battery[-1].m_as("V")) + 0.02 * top, "battery")
        for artist in (self.board_line, self.board_dot, self.board_label):
            artist.set_visible(run.ground != UNJOINED)  # else it has a supply of its own
        here = int(np.argmin(board.magnitude))
        x, y = float(times[here]), float(board[here].m_as("V"))
        self.board_dot.set_data([x], [y])
        beside(self.board_label, x, y - 0.05 * top, f"board {show(run.board.lowest_voltage)}")

    def _move_others(self, run: SupplyRun) -> None:
        times, amps, shift = decades(run.start.time), run.start.current, run.board.ground_shift
        top = first_above(1.25 * float(amps.max().m_as("A")), _AMP_ENDS)
        high = first_above(1.35 * float(shift.max().m_as("mV")), _SHIFT_ENDS)
        self.limits(self.amps, y=(-0.03 * top, top))
        self.limits(self.shift, y=(-0.03 * high, high))
        self.amps_line.set_data(times, amps.m_as("A"))
        self.shift_line.set_data(times, shift.m_as("mV"))
        right = float(times[-1])
        write(self.amps_words, right, float(amps.max().m_as("A")) + 0.03 * top, _up_to(amps.max()))
        write(self.shift_words, right, float(shift.max().m_as("mV")) + 0.03 * high, _up_to(shift.max()))


def _up_to(most: Quantity) -> str:
    return f"up to {show(most)}" if most.magnitude else "none"
