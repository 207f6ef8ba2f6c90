"""A motor as a load: its line on the battery's, the heat in its winding, and how that climbs with time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from labkit.figures.bars import Bars
from labkit.figures.chart import GREY, Chart, beside, house_style, nice_limit, write
from labkit.figures.picture import Picture, Reading, Table
from labkit.simulation import OnSupply, OperatingPoint, WindingCourse
from labkit.units import Q_, Quantity
from labkit.writing import show

__all__ = ["StallChart", "StallRun", "stall_picture"]

_HOTTEST = 200.0
_ON = {"free": "With nothing on its shaft", "fan": "With the fan"}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class StallRun:
    """What the picture is drawn from."""

    #: Names of what may be on the shaft, the last one held still, and which of them is.
    shafts: tuple[str, ...]
    shaft: str
    #: The motor with each of them, while its winding is cold.
    settled: tuple[OnSupply, ...]
    #: What the held motor draws at no voltage, at the drop of its brushes, and at the battery's, both of shape (3,).
    held_currents: Quantity
    held_voltages: Quantity
    #: Two points of the battery's line: with nothing connected, and with the held motor, both of shape (2,).
    battery_currents: Quantity
    battery_voltages: Quantity
    #: The winding from a cold start on, and at the present time, a scalar.
    course: WindingCourse
    now: WindingCourse
    limit: Quantity

    @property
    def point(self) -> OperatingPoint:
        """The motor as it is set."""
        return self.settled[self.shafts.index(self.shaft)].point

    @property
    def voltage(self) -> Quantity:
        """At its terminals."""
        return self.settled[self.shafts.index(self.shaft)].voltage

    @property
    def losses(self) -> tuple[Quantity, ...]:
        """Heat in the winding with each of the shafts."""
        return tuple(one.point.copper_loss for one in self.settled)

    @property
    def time_to_limit(self) -> Quantity | None:
        """When the winding passes its limit, read off the course; ``None`` where it does not so far."""
        degrees, limit = self.course.winding.m_as("degC"), float(self.limit.m_as("degC"))
        if float(degrees[-1]) < limit:
            return None
        return Q_(float(np.interp(limit, degrees, self.course.time.m_as("s"))), "s")


def stall_picture(run: StallRun) -> Picture:
    """Return the picture of one setting."""
    return StallChart(run.shafts).draw(run)


class StallChart(Chart):
    """The picture, built once for what may be on the shaft, and then moved."""

    def __init__(self, shafts: tuple[str, ...] = ("free", "fan", "held")) -> None:
        super().__init__(6.4, 4.4)
        with house_style():
            grid = self.figure.add_gridspec(2, 2, width_ratios=[1.35, 1.0], height_ratios=[1.25, 1.0])
            self._build_lines(self.figure.add_subplot(grid[0, 0]))
            self._build_heat(self.figure.add_subplot(grid[0, 1]), shafts)
            self._build_climb(self.figure.add_subplot(grid[1, :]))

    def _build_lines(self, lines: Axes) -> None:
        lines.set(title="The battery meets the motor", xlabel="current (A)", ylabel="voltage (V)")
        self.lines = lines
        self.battery_line, self.held_line = self.line(lines, 0), self.line(lines, 1)
        self.emf_line, self.lines_dot = self.line(lines, 2, linewidth=2.4), self.dot(lines, 0)
        self.battery_words, self.held_words = self.words(lines, 0, va="top", ha="center"), self.words(lines, 1)
        self.emf_words, self.lines_words = self.words(lines, 2, va="center"), self.words(lines, va="bottom")

    def _build_heat(self, heat: Axes, shafts: tuple[str, ...]) -> None:
        heat.set(title="Heat in the winding", xlabel="power (W)")
        heat.locator_params(axis="x", nbins=4)
        self.heat, self.heat_bars = heat, Bars(self, heat, shafts)

    def _build_climb(self, climb: Axes) -> None:
        climb.set(title="After switching on", xlabel="time (s)", ylabel="temperature (°C)")
        self.climb = climb
        self.limit_line = self.line(climb, 3, color=GREY, linewidth=1.0)
        self.housing_line, self.winding_line, self.climb_dot = (
            self.line(climb, 0),
            self.line(climb, 1),
            self.dot(climb, 1),
        )
        self.limit_words = self.words(climb, color=GREY, va="bottom")
        self.housing_words = self.words(climb, 0, va="top", ha="right")
        self.winding_words, self.climb_words = self.words(climb, 1, va="bottom", ha="right"), self.words(climb)

    def draw(self, run: StallRun) -> Picture:
        """Return the picture of one setting."""
        self._move_lines(run)
        self._move_heat(run)
        self._move_climb(run)
        return self.picture(
            subject="Voltage of a battery against its current, with the line of the held motor; the heat in the "
            "winding for each shaft; temperature of winding and housing after switching on.",
            finding=finding(run),
            readings=readings(run),
            tables=tables(run),
        )

    def _move_lines(self, run: StallRun) -> None:
        amps, volts = run.battery_currents.m_as("A"), run.battery_voltages.m_as("V")
        right, top = nice_limit(1.3 * float(amps[-1])), nice_limit(1.1 * float(volts[0]))
        self.limits(self.lines, x=(0, right), y=(0, top))
        self.battery_line.set_data(amps, volts)
        self.held_line.set_data(run.held_currents.m_as("A"), run.held_voltages.m_as("V"))
        write(self.battery_words, 0.7 * float(amps[-1]), 0.3 * volts[0] + 0.7 * volts[-1] - 0.02 * top, "battery")
        knee, end = (np.array([run.held_currents.m_as("A")[i], run.held_voltages.m_as("V")[i]]) for i in (1, 2))
        name = knee + min(0.22, 0.6 * right / end[0]) * (end - knee)  # the line may leave the picture early
        write(self.held_words, name[0] + 0.03 * right, name[1] - 0.06 * top, "motor, held")
        x, y, emf = (
            float(one.magnitude) for one in (run.point.current.to("A"), run.voltage.to("V"), run.point.emf.to("V"))
        )
        self.lines_dot.set_data([x], [y])
        self.emf_line.set_data([x, x], [y - emf, y])
        turns = bool(run.point.turning)
        for artist in (self.emf_line, self.emf_words):
            artist.set_visible(turns)
        write(self.emf_words, x + 0.02 * right, y - 0.5 * emf, f"generator EMF {show(run.point.emf)}")
        self.lines_words.set_horizontalalignment("left" if turns else "right")
        place = (x + 0.03 * right, y + 0.03 * top) if turns else (right, y - 0.13 * top)
        write(self.lines_words, *place, f"{show(run.point.current)} at {show(run.voltage)}")

    def _move_heat(self, run: StallRun) -> None:
        watts = [float(loss.m_as("W")) for loss in run.losses]
        right = nice_limit(1.5 * max(watts))
        self.limits(self.heat, x=(0, right))
        now = {run.shaft: ", now"}
        texts = [f"{show(loss)}{now.get(shaft, '')}" for shaft, loss in zip(run.shafts, run.losses, strict=True)]
        self.heat_bars.set(watts, texts, gap=0.02 * right)

    def _move_climb(self, run: StallRun) -> None:
        course, now = run.course, run.now
        seconds, right = course.time.m_as("s"), float(course.time.m_as("s")[-1])
        limit, hottest = float(run.limit.m_as("degC")), float(course.winding.m_as("degC")[-1])
        self.limits(self.climb, x=(0, right), y=(0, max(_HOTTEST, nice_limit(1.15 * max(limit, hottest)))))
        self.winding_line.set_data(seconds, course.winding.m_as("degC"))
        self.housing_line.set_data(seconds, course.housing.m_as("degC"))
        self.limit_line.set_data([0, right], [limit, limit])
        write(self.limit_words, 0.01 * right, limit + 2, f"limit {show(run.limit)}")
        x, y = float(now.time.m_as("s")), float(now.winding.m_as("degC"))
        named = len(seconds) // 3 if x > 0.5 * right else -1  # away from the dot and its words
        write(self.winding_words, seconds[named], float(course.winding.m_as("degC")[named]) + 4, "winding")
        write(self.housing_words, seconds[named], float(course.housing.m_as("degC")[named]) - 4, "housing")
        self.climb_dot.set_data([x], [y])
        beside(self.climb_words, x, y, f"{show(now.winding)} after {show(now.time)}")


def finding(run: StallRun) -> str:
    """Return what the picture shows, in words."""
    point = run.point
    heat = f"and the winding makes {show(point.copper_loss)} of heat"
    if point.turning:
        share = f"{show(run.voltage - point.emf)} of the {show(run.voltage)} drive it, the generator EMF takes the rest"
        words = f"{_ON[run.shaft]} the motor draws {show(point.current)}: {share}, {heat}."
    else:
        words = f"It stands still and draws {show(point.current)} at {show(run.voltage)}, {heat}."
        if run.shaft == run.shafts[-1] and run.settled[-2].point.turning:
            times = show(run.losses[-1] / run.losses[-2], "", digits=2)
            words += f" That is {times} times as much as with the {run.shafts[-2]}."
    passes = run.time_to_limit
    fate = (
        f"it stays below its limit of {show(run.limit)} so far"
        if passes is None
        else f"it passes its limit of {show(run.limit)} after about {show(passes, digits=2)}"
    )
    return f"{words} After {show(run.now.time)} it has {show(run.now.winding)}; {fate}."


def readings(run: StallRun) -> tuple[Reading, ...]:
    """Return the numbers at this setting."""
    point, now = run.point, run.now
    return (
        Reading("Voltage at the motor", run.voltage),
        Reading("Current", point.current),
        Reading("Generator EMF", point.emf),
        Reading("Voltage that drives the current", run.voltage - point.emf),
        Reading("Power into the motor", point.input_power),
        Reading("Heat in the winding", point.copper_loss),
        Reading("Time since switching on", now.time),
        Reading("Winding now", now.winding, "degC"),
        Reading("Housing now", now.housing, "degC"),
        Reading("Resistance now", now.resistance),
        Reading("Current now", now.current),
        Reading("Heat now", now.power),
    )


def tables(run: StallRun) -> tuple[Table, ...]:
    """Return the curves of the picture."""
    course = run.course
    columns = (
        ("time", course.time, "s"),
        ("winding", course.winding, "degC"),
        ("housing", course.housing, "degC"),
        ("resistance", course.resistance, "ohm"),
        ("current", course.current, "A"),
    )
    return (Table("After switching on", columns),)
