"""Speed control by duty: the waveform at this frequency, speed against duty, the load line, and the heat."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from labkit.figures.bars import Bars
from labkit.figures.chart import GREY, Chart, beside, house_style, nice_limit, write
from labkit.figures.picture import Picture, Reading, Table
from labkit.simulation import PwmOperatingPoint, PwmPeriod
from labkit.units import Quantity, magnitude
from labkit.writing import rpm_beside, show

__all__ = ["DutyChart", "DutyRun", "TorqueCurve", "duty_picture"]

_HEAT = ("winding", "switch", "diode", "battery", "friction")


class TorqueCurve(NamedTuple):
    """A motor that settles against a rising load torque, both of shape (m,)."""

    speed: Quantity
    shaft_torque: Quantity


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class DutyRun:
    """What the picture is drawn from."""

    duty: Quantity
    frequency: Quantity
    #: Where the drive settles.
    point: PwmOperatingPoint
    #: One period of it.
    period: PwmPeriod
    #: The motor at this duty.
    line: TorqueCurve
    #: The same at full duty.
    full: TorqueCurve
    #: The drive with its own load at each of ``sweep_duty``, both of shape (n,).
    sweep: PwmOperatingPoint
    sweep_duty: Quantity

    @property
    def heat(self) -> tuple[Quantity, ...]:
        """Heat in winding, switch, diode, battery and the motor's friction."""
        return heat_of(self.point)


def heat_of(point: PwmOperatingPoint) -> tuple[Quantity, ...]:
    """Return the heat in winding, switch, diode, battery and the motor's friction."""
    return (point.winding_loss, point.switch_loss, point.diode_loss, point.source_loss, point.friction_loss)


def duty_picture(run: DutyRun) -> Picture:
    """Return the picture of one setting."""
    return DutyChart().draw(run)


class DutyChart(Chart):
    """The picture, built once and then moved."""

    def __init__(self) -> None:
        super().__init__(6.4, 4.5)
        with house_style():
            halves = self.figure.add_gridspec(1, 2, width_ratios=[1.1, 1.0])
            three, two = halves[0, 0].subgridspec(3, 1, height_ratios=[0.9, 1.3, 1.25]), halves[0, 1].subgridspec(2, 1)
            volts, amps, heat = (self.figure.add_subplot(three[row]) for row in range(3))
            speeds, torques = (self.figure.add_subplot(two[row]) for row in range(2))
            self._build_waveforms(volts, amps)
            self._build_heat(heat)
            self._build_speeds(speeds)
            self._build_torques(torques)

    def _build_waveforms(self, volts: Axes, amps: Axes) -> None:
        volts.set(title="Two periods", ylabel="voltage (V)", xlim=(0, 2), xticks=[0, 0.5, 1, 1.5, 2])
        volts.tick_params(labelbottom=False)
        amps.set(xlabel="time (periods)", ylabel="current (A)", xlim=(0, 2), xticks=[0, 0.5, 1, 1.5, 2])
        self.volts, self.amps = volts, amps
        self.volts_line, self.amps_line = self.line(volts, 0), self.line(amps, 0)
        self.volts_mean, self.amps_mean = self.line(volts, 1), self.line(amps, 1)
        self.volts_words = self.words(volts, 1, va="bottom", ha="right")
        self.amps_words = self.words(amps, 1, va="bottom", ha="right")
        self.kind_words = self.words(amps, transform=amps.transAxes, va="top", position=(0.02, 0.98), bbox=None)
        self.length_words = self.words(
            volts, transform=volts.transAxes, va="bottom", ha="right", position=(1, 1.04), bbox=None
        )

    def _build_heat(self, heat: Axes) -> None:
        heat.set(title="Heat in each part", xlabel="power (W)")
        self.heat, self.heat_bars = heat, Bars(self, heat, _HEAT, fontsize=7.5, bbox=None)

    def _build_speeds(self, speeds: Axes) -> None:
        speeds.set(title="Speed against duty", xlabel="duty (%)", ylabel="speed (rpm)", xlim=(0, 100))
        self.speeds = speeds
        self.in_proportion = self.line(speeds, 3, color=GREY, linewidth=1.0)
        self.speeds_line, self.speeds_dot = self.line(speeds, 0), self.dot(speeds, 0)
        self.speeds_words = self.words(speeds, 0, ha="right")
        speeds.text(0.03, 0.97, "dotted: in proportion to duty", color=GREY, transform=speeds.transAxes, va="top")

    def _build_torques(self, torques: Axes) -> None:
        torques.set(title="Motor and its load", xlabel="speed (rpm)", ylabel="torque (mN·m)")
        torques.locator_params(axis="x", nbins=4)
        self.torques = torques
        self.full_line = self.line(torques, 3, color=GREY, linewidth=1.0)
        self.full_words = self.words(torques, color=GREY, va="bottom")
        self.motor_line, self.load_line = self.line(torques, 0), self.line(torques, 1)
        self.torques_dot = self.dot(torques, 1)
        self.motor_words, self.load_words = self.words(torques, 0, va="bottom"), self.words(torques, 1, va="bottom")

    def draw(self, run: DutyRun) -> Picture:
        """Return the picture of one setting."""
        self._move_waveforms(run)
        self._move_heat(run)
        self._move_speeds(run)
        self._move_torques(run)
        return self.picture(
            subject="Voltage and current at the motor over two switching periods, the heat in each part, "
            "speed against duty, and torque against speed.",
            finding=finding(run),
            readings=readings(run),
            tables=tables(run),
        )

    def _move_waveforms(self, run: DutyRun) -> None:
        period, point = run.period, run.point
        once = magnitude(period.time, "s") * magnitude(run.frequency, "Hz")
        twice = np.concatenate([once, once + 1.0])
        volts, amps = (np.tile(values, 2) for values in (period.voltage.m_as("V"), period.current.m_as("A")))
        self.volts_line.set_data(twice, volts)
        self.amps_line.set_data(twice, amps)
        mean_volts, mean_amps = point.mean_voltage.m_as("V"), point.mean_current.m_as("A")
        self.volts_mean.set_data([0, 2], [mean_volts] * 2)
        self.amps_mean.set_data([0, 2], [mean_amps] * 2)
        top = nice_limit(1.2 * float(np.max(run.sweep.peak_current.m_as("A"), initial=0.01)))
        highest = float(np.max(run.sweep.supply_voltage.m_as("V")))  # with the switch open: the battery gives no more
        self.limits(self.volts, y=(-1.0, nice_limit(1.1 * highest)))
        self.limits(self.amps, y=(-0.03 * top, top))
        write(self.volts_words, 1.98, mean_volts, f"mean {show(point.mean_voltage)}")
        write(self.amps_words, 1.98, mean_amps, f"mean {show(point.mean_current)}")
        self.kind_words.set_text(_kind(point))
        self.length_words.set_text(f"of {show((1 / run.frequency).to('s'))} each")

    def _move_heat(self, run: DutyRun) -> None:
        top = nice_limit(1.25 * max(float(np.max(losses.m_as("W"))) for losses in heat_of(run.sweep)))
        self.limits(self.heat, x=(0, top))
        self.heat_bars.move(run.heat, "W", gap=0.02 * top)

    def _move_speeds(self, run: DutyRun) -> None:
        duty, speed = run.sweep_duty.m_as("percent"), run.sweep.speed.m_as("rpm")
        x, y = float(run.duty.m_as("percent")), float(run.point.speed.m_as("rpm"))
        top = nice_limit(1.05 * float(np.max(run.full.speed.m_as("rpm"))))
        self.limits(self.speeds, y=(-0.03 * top, top))
        self.speeds_line.set_data(duty, speed)
        self.in_proportion.set_data([0, 100], [0, speed[-1]])
        self.speeds_dot.set_data([x], [y])
        beside(self.speeds_words, x, y, show(run.point.speed, "rpm"))

    def _move_torques(self, run: DutyRun) -> None:
        motor_speed, motor_torque = _curve(run.line)
        full_speed, full_torque = _curve(run.full)
        x, y = float(run.point.speed.m_as("rpm")), float(run.point.shaft_torque.m_as("mN*m"))
        right, top = nice_limit(1.05 * float(np.max(full_speed))), nice_limit(1.05 * float(np.max(full_torque)))
        self.limits(self.torques, x=(0, right), y=(-0.03 * top, top))
        self.full_line.set_data(full_speed, full_torque)
        self.motor_line.set_data(motor_speed, motor_torque)
        self.load_line.set_data(*_curve(run.sweep))
        self.torques_dot.set_data([x], [y])
        middle = int(np.argmin(np.abs(motor_torque - 0.55 * np.max(motor_torque))))
        write(self.motor_words, motor_speed[middle] + 0.03 * right, motor_torque[middle], "motor")
        write(self.full_words, full_speed[-6] + 0.03 * right, full_torque[-6], "at full duty")
        beside(self.load_words, x, y, f"load {show(run.point.shaft_torque)}")


def _curve(points: TorqueCurve | PwmOperatingPoint) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    return points.speed.m_as("rpm"), points.shaft_torque.m_as("mN*m")


def _kind(point: PwmOperatingPoint) -> str:
    if float(point.mean_current.m_as("A")) == 0.0:
        return "no current"
    if float(point.ripple.m_as("A")) < 1e-9:
        return "steady current"
    return "current never stops" if point.continuous else "current stops in each period"


def finding(run: DutyRun) -> str:
    """Return what the picture shows, in words."""
    point = run.point
    heat = {name: float(loss.m_as("W")) for name, loss in zip(_HEAT, run.heat, strict=True)}
    hottest = max(heat, key=heat.__getitem__)
    swing, mean, peak = show(point.ripple), show(point.mean_current), show(point.peak_current)
    flow = {
        "no current": "No current flows.",
        "steady current": f"The current is steady, {mean}.",
        "current never stops": f"The current never stops: it swings by {swing} about {mean}.",
        "current stops in each period": f"The current stops in each period: up to {peak}, then nothing.",
    }[_kind(point)]
    turns = f"settles at {rpm_beside(point.speed)}" if point.turning else "stands still"
    worst = f" Most heat is in the {hottest}, {show(run.heat[_HEAT.index(hottest)])}." if heat[hottest] > 0 else ""
    return f"At {show(run.duty, 'percent')} duty and {show(run.frequency)} the motor {turns}. {flow}{worst}"


def readings(run: DutyRun) -> tuple[Reading, ...]:
    """Return the numbers at this setting."""
    point = run.point
    return (
        Reading("Duty", run.duty, "percent"),
        Reading("Frequency", run.frequency),
        Reading("Speed", point.speed, "rpm"),
        Reading("Speed in radians", point.speed, "rad/s"),
        Reading("Generator EMF (back-EMF)", point.emf),
        Reading("Mean voltage at the motor", point.mean_voltage),
        Reading("Mean current in the motor", point.mean_current),
        Reading("Ripple, peak to peak", point.ripple),
        Reading("RMS current in the motor", point.rms_current),
        Reading("Mean current from the battery", point.supply_current),
        Reading("Torque at the shaft", point.shaft_torque),
        *(Reading(f"Heat: {name}", loss) for name, loss in zip(_HEAT, run.heat, strict=True)),
        Reading("Power at the shaft", point.shaft_power),
    )


def tables(run: DutyRun) -> tuple[Table, ...]:
    """Return the curves of the picture."""
    return (
        Table(
            "One period",
            (
                ("time", run.period.time, "ms"),
                ("voltage", run.period.voltage, "V"),
                ("current", run.period.current, "A"),
            ),
        ),
        Table("Speed against duty", (("duty", run.sweep_duty, "percent"), ("speed", run.sweep.speed, "rpm"))),
        Table("Motor at this duty", (("speed", run.line.speed, "rpm"), ("torque", run.line.shaft_torque, "mN*m"))),
    )
