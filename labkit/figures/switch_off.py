"""Switching off in slow motion: where the current goes, what the drain and the motor see, and what takes the energy."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes

from labkit.figures.bars import Bars
from labkit.figures.chart import (
    GREY,
    STYLES,
    Chart,
    beside,
    decades,
    first_above,
    house_style,
    nice_limit,
    time_axis,
    write,
)
from labkit.figures.circuit import Circuit, Point
from labkit.figures.picture import Picture
from labkit.figures.switch_off_words import ENERGIES, SwitchOffRun, energies, finding, readings, tables
from labkit.writing import show

__all__ = ["SwitchOffChart", "switch_off_picture"]

#: Ends of the axes of current and of the two voltages.
_CURRENT_ENDS, _KICK_ENDS = (0.5, 1.0, 2.0, 4.0), (10.0, 20.0, 50.0)
_TIME = "time after opening (ns to ms)"
_TICKS = {-8: "10 ns", -6: "1 µs", -4: "100 µs", -2: "10 ms"}

#: From here on the words beside a dot reach the right end.
_LATE = -3.5

# the corners of the circuit
_LEFT, _MIDDLE, _RIGHT, _TOP, _JOINT, _BOTTOM = 0.0, 2.6, 4.4, 5.6, 2.7, 0.0
_SUPPLY_LOOP: list[Point] = [
    (_LEFT, _BOTTOM), (_LEFT, _TOP), (_MIDDLE, _TOP), (_MIDDLE, _BOTTOM), (_LEFT, _BOTTOM)
]  # fmt: skip
_DIODE_LOOP: list[Point] = [
    (_MIDDLE, _TOP), (_MIDDLE, _JOINT), (_RIGHT, _JOINT), (_RIGHT, _TOP), (_MIDDLE, _TOP)
]  # fmt: skip


def switch_off_picture(run: SwitchOffRun) -> Picture:
    """Return the picture of one setting."""
    return SwitchOffChart().draw(run)


class SwitchOffChart(Chart):
    """The picture, built once and then moved."""

    def __init__(self) -> None:
        super().__init__(6.4, 4.7)
        with house_style():
            halves = self.figure.add_gridspec(1, 2, width_ratios=[1.0, 1.25])
            left = halves[0, 0].subgridspec(2, 1, height_ratios=[3.2, 1.0])
            right = halves[0, 1].subgridspec(3, 1, height_ratios=[1.5, 1.0, 1.1])
            self._build_circuit(self.figure.add_subplot(left[0]))
            self._build_two(self.figure.add_subplot(left[1]))
            self._build_volts(self.figure.add_subplot(right[0]))
            self._build_amps(self.figure.add_subplot(right[1]))
            self._build_energy(self.figure.add_subplot(right[2]))

    def _build_circuit(self, axes: Axes) -> None:
        axes.set(title="Where the current flows")
        self.circuit = circuit = Circuit(self, axes, x=(-1.0, 5.6), y=(-0.3, 6.5))
        circuit.battery((_LEFT, _BOTTOM), (_LEFT, _TOP))
        circuit.wire((_LEFT, _TOP), (_MIDDLE, _TOP))
        circuit.motor((_MIDDLE, _TOP), (_MIDDLE, _JOINT))
        circuit.words((_MIDDLE - 0.45, _TOP - 0.5), "+", side="center")
        circuit.mosfet((_MIDDLE, _JOINT), (_MIDDLE, _BOTTOM))
        gate = circuit.gate((_MIDDLE, _JOINT), (_MIDDLE, _BOTTOM))
        circuit.words((gate[0] - 0.05, gate[1]), "0 V", side="right")
        circuit.wire((_MIDDLE, _BOTTOM), (_LEFT, _BOTTOM))
        circuit.joint((_MIDDLE, _JOINT))
        corner: Point = (_RIGHT, _TOP)
        diode = [
            *circuit.wire((_MIDDLE, _TOP), corner),
            *circuit.diode((_RIGHT, _JOINT), corner),
            *circuit.wire((_MIDDLE, _JOINT), (_RIGHT, _JOINT)),
            *circuit.joint((_MIDDLE, _TOP)),
        ]
        self.diode = self.all_moving(diode)
        self.drain_words = self.words(axes, 0, va="center", bbox=None)

    def _build_two(self, two: Axes) -> None:
        two.set(title="Two voltages, two causes", xlabel="voltage (V)", yticks=[0, 1])
        two.set(yticklabels=["EMF k·ω", "kick L·di/dt"], ylim=(1.7, -0.7))
        two.grid(visible=False, axis="y")
        two.axvline(0, color=GREY, linewidth=0.8)
        self.two = two
        two.locator_params(axis="x", nbins=5)
        bars = two.barh([0, 1], [0.0, 0.0], height=0.6, color=[STYLES[2]["color"], STYLES[3]["color"]])
        self.two_bars = [self.moving(bar) for bar in bars]
        self.two_words = [self.words(two, va="center", bbox=None) for _ in range(2)]

    def _build_volts(self, volts: Axes) -> None:
        volts.set(title="Voltage in slow motion", ylabel="voltage (V)")
        self.volts = volts
        time_axis(volts, _TICKS, 0.02)
        volts.tick_params(labelbottom=False)
        self.supply_line = self.line(volts, 3, color=GREY, linewidth=1.0)
        self.drain_line, self.motor_line = self.line(volts, 0), self.line(volts, 1)
        self.volts_mark = self.line(volts, 0, color=GREY, linestyle="-", linewidth=0.8)
        self.drain_dot, self.motor_dot = self.dot(volts, 0), self.dot(volts, 1)
        self.supply_words = self.words(volts, color=GREY, va="bottom", ha="right")
        self.drain_label, self.motor_label = self.words(volts, 0), self.words(volts, 1, va="top")

    def _build_amps(self, amps: Axes) -> None:
        amps.set(xlabel=_TIME, ylabel="current (A)", title="Current in the winding")
        self.amps = amps
        time_axis(amps, _TICKS, 0.02)
        self.amps_line = self.line(amps, 1, linestyle="-")
        self.amps_mark = self.line(amps, 0, color=GREY, linestyle="-", linewidth=0.8)
        self.amps_dot, self.amps_words = self.dot(amps, 1, marker="o"), self.words(amps, 1)

    def _build_energy(self, energy: Axes) -> None:
        energy.set(
            title="Where the energy is now",
            xlabel="share of what was stored (%)",
            xlim=(0, 190),
        )
        self.energy_bars = Bars(self, energy, ENERGIES, fontsize=7.5, bbox=None)

    def draw(self, run: SwitchOffRun) -> Picture:
        """Return the picture of one setting."""
        self._move_circuit(run)
        self._move_two(run)
        self._move_volts(run)
        self._move_amps(run)
        self._move_energy(run)
        return self.picture(
            subject="The circuit with the way of the current at one moment after the transistor opens; voltages at "
            "drain and motor and the winding's current against time, from 10 ns to 20 ms; generator EMF, "
            "switch-off kick and energies at that moment.",
            finding=finding(run),
            readings=readings(run),
            tables=tables(run),
        )

    def _move_circuit(self, run: SwitchOffRun) -> None:
        for artist in self.diode:
            artist.set_visible(run.has_diode)
        amps, on_the_way = show(run.now.current), run.stage != "stopped"
        through_diode = run.has_diode and run.stage == "flows"
        if through_diode:
            arrow, at, side = ((_MIDDLE + 0.2, _JOINT), (_RIGHT - 0.1, _JOINT)), (_RIGHT - 0.9, _JOINT - 0.55), "left"
        else:
            arrow, at, side = ((_LEFT + 0.5, _TOP), (_MIDDLE - 0.4, _TOP)), (_LEFT + 1.2, _TOP + 0.5), "center"
        path = (_DIODE_LOOP if through_diode else _SUPPLY_LOOP) if on_the_way else []
        self.circuit.flows(path, arrow, amps if on_the_way else "no current", at, side=side)
        write(self.drain_words, _MIDDLE + 0.35, 1.35, f"drain\n{show(run.now.switch_voltage)}")

    def _move_two(self, run: SwitchOffRun) -> None:
        # the kick drives the current on, which is the opposite way round across the motor
        signed: Any = (run.now.emf, -run.now.kick_voltage)
        reach = first_above(1.05 * float(np.max(run.course.kick_voltage.m_as("V"))), _KICK_ENDS)
        self.limits(self.two, x=(-reach, reach))
        for place, (bar, words, volts) in enumerate(zip(self.two_bars, self.two_words, signed, strict=True)):
            bar.set_width(float(volts.m_as("V")))
            # on the other side of zero, where there is room
            words.set_horizontalalignment("right" if place == 0 else "left")
            write(words, -0.04 * reach if place == 0 else 0.04 * reach, place, show(volts))

    def _move_volts(self, run: SwitchOffRun) -> None:
        course, now = run.course, run.now
        times, here = decades(course.time), float(decades(now.time))
        drain, motor = course.switch_voltage.m_as("V"), course.motor_voltage.m_as("V")
        high, low = nice_limit(1.25 * float(np.max(drain))), nice_limit(1.3 * max(float(-np.min(motor)), 1.5))
        self.limits(self.volts, y=(-low, high))
        self.drain_line.set_data(times, drain)
        self.motor_line.set_data(times, motor)
        supply = float(run.supply_voltage.m_as("V"))
        self.supply_line.set_data([times[0], times[-1]], [supply, supply])
        self._name_supply(run, here, 0.08 * (high + low))
        self.volts_mark.set_data([here, here], [-low, high])
        upper, lower = ("drain", "motor") if now.switch_voltage >= now.motor_voltage else ("motor", "drain")
        for name, size, dot, label in (
            ("drain", now.switch_voltage, self.drain_dot, self.drain_label),
            ("motor", now.motor_voltage, self.motor_dot, self.motor_label),
        ):
            dot.set_data([here], [float(size.m_as("V"))])
            label.set_verticalalignment("top" if name == lower else "bottom")
            shift = 0.0 if name == upper else -0.06 * (high + low)
            beside(label, here, float(size.m_as("V")) + shift, f"{name} {show(size, 'V')}")

    def _name_supply(self, run: SwitchOffRun, here: float, near: float) -> None:
        """Write the battery's voltage above its line at the right, or below it where a dot's own words stand there."""
        supply, now = float(run.supply_voltage.m_as("V")), run.now
        met = min(abs(float(size.m_as("V")) - supply) for size in (now.switch_voltage, now.motor_voltage)) < near
        below = met and here > _LATE
        self.supply_words.set_verticalalignment("top" if below else "bottom")
        write(self.supply_words, here - 0.2 if below else -1.75, supply, f"battery {show(run.supply_voltage)}")

    def _move_amps(self, run: SwitchOffRun) -> None:
        course, now = run.course, run.now
        here, amps = float(decades(now.time)), float(now.current.m_as("A"))
        top = first_above(1.2 * float(run.current.m_as("A")), _CURRENT_ENDS)
        self.limits(self.amps, y=(-0.05 * top, top))
        self.amps_line.set_data(decades(course.time), course.current.m_as("A"))
        self.amps_mark.set_data([here, here], [-0.05 * top, top])
        self.amps_dot.set_data([here], [amps])
        beside(self.amps_words, here, amps, show(now.current))

    def _move_energy(self, run: SwitchOffRun) -> None:
        stored = float(run.course.stored_energy[0].m_as("J"))
        sizes = energies(run.now).values()
        shares = [100.0 * float(size.m_as("J")) / stored for size in sizes]
        self.energy_bars.set(shares, [show(size, digits=2) for size in sizes], gap=3.0)
