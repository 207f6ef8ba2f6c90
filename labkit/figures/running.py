"""A running motor: speed, current, power and efficiency against the torque at its shaft."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from labkit.figures.chart import GREY, Chart, beside, house_style, nice_limit, write
from labkit.figures.picture import Picture, Reading, Table
from labkit.simulation import OperatingPoint
from labkit.units import Quantity
from labkit.writing import rpm_beside, show

__all__ = ["RunningChart", "RunningRun", "running_picture"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class RunningRun:
    """What the picture is drawn from."""

    #: What is on the shaft, as in ``"With the fan"``.
    loaded: str
    #: Where motor and load settle, and the voltage at the terminals there.
    point: OperatingPoint
    voltage: Quantity
    #: The motor on this battery against a torque that rises from nothing to what holds it, of shape (n,).
    line: OperatingPoint
    #: The same on a fresh battery.
    fresh: OperatingPoint
    #: The load by itself, at rising speeds, of shape (m,).
    load: OperatingPoint


def running_picture(run: RunningRun) -> Picture:
    """Return the picture of one setting."""
    return RunningChart().draw(run)


class RunningChart(Chart):
    """The picture, built once and then moved."""

    def __init__(self) -> None:
        super().__init__(6.4, 4.4)
        with house_style():
            (speeds, amps), (powers, shares) = self.figure.subplots(2, 2)
            self._build_speeds(speeds)
            self.amps, self.amps_parts = amps, self._build(amps, 0, "Current", "current (A)")
            self.shares, self.shares_parts = shares, self._build(shares, 2, "Efficiency", "efficiency (%)")
            self._build_powers(powers)

    def _build_speeds(self, speeds: Axes) -> None:
        self.fresh_line = self.line(speeds, 3, color=GREY, linewidth=1.0)
        self.load_line = self.line(speeds, 1)
        self.speeds, self.speeds_parts = speeds, self._build(speeds, 0, "Speed, and the load's own line", "speed (rpm)")
        self.fresh_words = self.words(speeds, color=GREY, va="bottom", ha="right")
        self.load_words = self.words(speeds, 1)

    def _build_powers(self, powers: Axes) -> None:
        self.input_line = self.line(powers, 0)
        self.powers, self.powers_parts = powers, self._build(powers, 1, "Power in, and at the shaft", "power (W)")
        self.input_words, self.output_words = self.words(powers, 0), self.words(powers, 1)

    def _build(self, axes: Axes, style: int, title: str, label: str) -> tuple[Any, Any, Any]:
        axes.set(title=title, xlabel="torque at the shaft (mN·m)", ylabel=label)
        axes.locator_params(axis="x", nbins=5)
        return self.line(axes, style), self.dot(axes, style), self.words(axes)

    def draw(self, run: RunningRun) -> Picture:
        """Return the picture of one setting."""
        right = nice_limit(1.02 * max(float(_torque(one)[-1]) for one in (run.line, run.fresh)))
        self._move(self.speeds, self.speeds_parts, run, ("speed", "rpm"), right)
        self._move(self.amps, self.amps_parts, run, ("current", "A"), right)
        self._move(self.powers, self.powers_parts, run, ("shaft_power", "W"), right)
        self._move(self.shares, self.shares_parts, run, ("efficiency", "percent"), right)
        self._name_speeds(run, right)
        self._name_powers(run, right)
        return self.picture(
            subject="Speed, current, power in and out, and efficiency of a motor against the torque at its shaft, with "
            "the line of its load and the point where both meet.",
            finding=finding(run),
            readings=readings(run),
            tables=tables(run),
        )

    def _move(
        self, axes: Axes, parts: tuple[Any, Any, Any], run: RunningRun, what: tuple[str, str], right: float
    ) -> None:
        (name, unit), (line, dot, words) = what, parts
        x, here = float(_torque(run.point)), getattr(run.point, name)
        highest = max(float(np.max(getattr(one, name).m_as(unit))) for one in (run.line, run.fresh))
        if name == "shaft_power":
            highest = max(float(np.max(one.input_power.m_as("W"))) for one in (run.line, run.fresh))
        top = 100.0 if unit == "percent" else nice_limit(1.05 * highest)
        self.limits(axes, x=(0, right), y=(-0.02 * top, top))
        line.set_data(_torque(run.line), getattr(run.line, name).m_as(unit))
        y = float(here.m_as(unit))
        dot.set_data([x], [y])
        beside(words, x, y, show(here, None if unit in {"A", "W"} else unit))

    def _name_speeds(self, run: RunningRun, right: float) -> None:
        self.fresh_line.set_data(_torque(run.fresh), run.fresh.speed.m_as("rpm"))
        self.load_line.set_data(_torque(run.load), run.load.speed.m_as("rpm"))
        top = self.speeds.get_ylim()[1]
        apart = abs(float(run.fresh.speed.m_as("rpm")[0] - run.line.speed.m_as("rpm")[0])) > 0.05 * top
        for artist in (self.fresh_line, self.fresh_words):
            artist.set_visible(apart)
        middle = len(_torque(run.fresh)) * 3 // 4
        at = float(_torque(run.fresh)[middle]), float(run.fresh.speed.m_as("rpm")[middle])
        write(self.fresh_words, at[0] + 0.24 * right, at[1] + 0.05 * top, "fresh battery")
        named = len(_torque(run.load)) * 7 // 10
        at = float(_torque(run.load)[named]), float(run.load.speed.m_as("rpm")[named])
        self.load_words.set_visible(min(at) > 0.0)
        write(self.load_words, at[0] + 0.03 * right, at[1] - 0.08 * top, "load")

    def _name_powers(self, run: RunningRun, right: float) -> None:
        torques, watts = _torque(run.line), run.line.input_power.m_as("W")
        self.input_line.set_data(torques, watts)
        write(self.input_words, float(torques[-1]) + 0.01 * right, float(watts[-1]), "in")
        late, top = len(torques) * 9 // 10, self.powers.get_ylim()[1]
        y = float(run.line.shaft_power.m_as("W")[late]) + 0.03 * top
        roomy = float(torques[-1]) < 0.7 * right
        place = (float(torques[-1]) + 0.02 * right, 0.05 * top) if roomy else (float(torques[late]), y)
        write(self.output_words, *place, "at the shaft")


def _torque(points: OperatingPoint) -> NDArray[np.float64]:
    return np.asarray(points.shaft_torque.m_as("mN*m"), dtype=np.float64)


def best(run: RunningRun) -> int:
    """Return the place of the line's best efficiency."""
    return int(np.argmax(run.line.efficiency.magnitude))


def finding(run: RunningRun) -> str:
    """Return what the picture shows, in words."""
    point = run.point
    if not point.turning:
        return (
            f"{run.loaded} the motor stands still: {show(point.current)}, {show(point.shaft_torque)} at the shaft, and "
            f"all of {show(point.input_power)} becomes heat."
        )
    most, at = run.line.efficiency[best(run)].to("percent"), run.line.shaft_torque[best(run)]
    return (
        f"{run.loaded} it settles at {rpm_beside(point.speed)}: {show(point.shaft_torque)} at the shaft take "
        f"{show(point.current)}. {show(point.input_power)} go in and {show(point.shaft_power)} come out, "
        f"{show(point.efficiency.to('percent'), digits=2)}; at its best it would be {show(most, digits=2)}, at "
        f"{show(at, digits=2)}."
    )


def readings(run: RunningRun) -> tuple[Reading, ...]:
    """Return the numbers at this setting."""
    point = run.point
    return (
        Reading("Voltage at the motor", run.voltage),
        Reading("Speed", point.speed, "rpm"),
        Reading("Speed in radians", point.speed, "rad/s"),
        Reading("Generator EMF (back-EMF)", point.emf),
        Reading("Current", point.current),
        Reading("Torque of the field", point.electromagnetic_torque),
        Reading("Torque at the shaft", point.shaft_torque),
        Reading("Power in", point.input_power),
        Reading("Heat in the winding", point.copper_loss),
        Reading("Heat at the brushes", point.brush_loss),
        Reading("Heat of friction", point.friction_loss),
        Reading("Power at the shaft", point.shaft_power),
        Reading("Efficiency", point.efficiency, "percent"),
    )


def tables(run: RunningRun) -> tuple[Table, ...]:
    """Return the curves of the picture."""
    line = run.line
    columns = (
        ("torque", line.shaft_torque, "mN*m"),
        ("speed", line.speed, "rpm"),
        ("current", line.current, "A"),
        ("power in", line.input_power, "W"),
        ("at the shaft", line.shaft_power, "W"),
        ("efficiency", line.efficiency, "percent"),
    )
    return (Table("The motor on this battery", columns),)
