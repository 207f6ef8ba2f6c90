"""A motor whose shaft is turned: voltage, current, torque and light against speed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import Circle

from labkit.figures.chart import GREY, INK, Chart, beside, house_style, nice_limit, write
from labkit.figures.picture import Picture, Reading, Table
from labkit.simulation import GeneratorPoint
from labkit.units import Quantity, absolute
from labkit.writing import rpm_beside, show

__all__ = ["GeneratorChart", "GeneratorRun", "generator_picture"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class GeneratorRun:
    """What the picture is drawn from."""

    #: What is connected, such as ``"the LED"``.
    load: str
    #: From which speed on the LED is seen to glow; ``None`` where none is connected.
    lighting_speed: Quantity | None
    #: At the present speed.
    point: GeneratorPoint
    #: At every speed, of shape (n,).
    curve: GeneratorPoint


def generator_picture(run: GeneratorRun) -> Picture:
    """Return the picture of one setting."""
    return GeneratorChart().draw(run)


class GeneratorChart(Chart):
    """The picture, built once and then moved."""

    def __init__(self) -> None:
        super().__init__(6.4, 4.3)
        with house_style():
            (volts, light), (amps, torques) = self.figure.subplots(2, 2, width_ratios=[1.25, 1.0])
            self._build_volts(volts)
            self._build_light(light)
            self.amps, self.torques = amps, torques
            self.amps_line, self.amps_dot, self.amps_words = self._build_curve(amps, 2, "Current", "current (mA)")
            self.torques_line, self.torques_dot, self.torques_words = self._build_curve(
                torques, 3, "Torque that turns the shaft", "torque (mN·m)"
            )

    def _build_volts(self, volts: Axes) -> None:
        volts.set(title="Voltage", xlabel="speed (rpm)", ylabel="voltage (V)")
        volts.locator_params(axis="x", nbins=5)
        self.volts = volts
        self.emf_line, self.terminal_line = self.line(volts, 0), self.line(volts, 1)
        self.led_line = self.line(volts, 3, color=GREY, linewidth=1.0)
        self.emf_dot, self.terminal_dot = self.dot(volts, 0), self.dot(volts, 1)
        self.emf_words, self.terminal_words = self.words(volts, 0), self.words(volts, 1, va="top")
        self.led_words = self.words(volts, color=GREY, va="bottom")

    def _build_light(self, light: Axes) -> None:
        light.set(title="Light", xlim=(-1.6, 1.6), ylim=(-1.5, 1.2), xticks=[], yticks=[], aspect="equal")
        light.spines[["left", "bottom"]].set_visible(False)
        self.glow = self.moving(light.add_patch(Circle((0, 0.1), 0.5, edgecolor=INK, linewidth=1.5)))
        angles = np.linspace(0, 2 * np.pi, 12, endpoint=False)
        ends = [np.outer(radius, (np.cos(angles), np.sin(angles))).reshape(2, -1) for radius in (0.62, 0.95)]
        rays = np.stack([*ends, np.full_like(ends[0], np.nan)], axis=2).reshape(2, -1)
        self.rays = self.line(light, 0, color=INK)
        self.rays.set_data(rays[0], rays[1] + 0.1)
        self.light_words = self.words(light, ha="center", va="top", position=(0, -0.95), bbox=None)

    def _build_curve(self, axes: Axes, style: int, title: str, label: str) -> tuple[Any, Any, Any]:
        axes.set(title=title, xlabel="speed (rpm)", ylabel=label)
        axes.locator_params(axis="x", nbins=5)
        return self.line(axes, style), self.dot(axes, style), self.words(axes, style)

    def draw(self, run: GeneratorRun) -> Picture:
        """Return the picture of one setting."""
        reach = nice_limit(float(np.max(np.abs(run.curve.speed.m_as("rpm")))))
        self._move_volts(run, reach)
        self._move_light(run)
        point, curve = run.point, run.curve
        for axes, line, dot, words, name, unit in (
            (self.amps, self.amps_line, self.amps_dot, self.amps_words, "current", "mA"),
            (self.torques, self.torques_line, self.torques_dot, self.torques_words, "shaft_torque", "mN*m"),
        ):
            here, all_along = _seen(getattr(point, name)), getattr(curve, name).m_as(unit)
            high = nice_limit(1.15 * float(np.max(np.abs(all_along), initial=0.1)))
            self.limits(axes, x=(-reach, reach), y=(-high, high))
            line.set_data(curve.speed.m_as("rpm"), all_along)
            dot.set_data([point.speed.m_as("rpm")], [here.m_as(unit)])
            beside(words, point.speed.m_as("rpm"), here.m_as(unit), show(here))
        return self.picture(
            subject=f"Voltage, current and torque of a motor whose shaft is turned, against speed, with {run.load} "
            "connected, and the light that it makes.",
            finding=finding(run),
            readings=readings(run),
            tables=tables(run),
        )

    def _move_volts(self, run: GeneratorRun, reach: float) -> None:
        curve, point = run.curve, run.point
        rpm, x = curve.speed.m_as("rpm"), float(point.speed.m_as("rpm"))
        emf, terminal = float(point.emf.m_as("V")), float(point.terminal_voltage.m_as("V"))
        high = nice_limit(1.1 * float(np.max(np.abs(curve.emf.m_as("V")))))
        self.limits(self.volts, x=(-reach, reach), y=(-high, high))
        self.emf_line.set_data(rpm, curve.emf.m_as("V"))
        self.terminal_line.set_data(rpm, curve.terminal_voltage.m_as("V"))
        self.emf_dot.set_data([x], [emf])
        self.terminal_dot.set_data([x], [terminal])
        beside(self.emf_words, x, emf, f"generator EMF {show(point.emf)}")
        beside(self.terminal_words, x, terminal - 0.1 * high, f"terminals {show(point.terminal_voltage)}")
        lights = run.lighting_speed
        for artist in (self.led_line, self.led_words):
            artist.set_visible(lights is not None)
        if lights is not None:
            rpm = float(lights.m_as("rpm"))
            self.led_line.set_data([rpm, rpm], [-high, high])
            write(self.led_words, rpm + 0.03 * reach, -0.95 * high, f"LED lights\nfrom {show(lights, 'rpm')}")

    def _move_light(self, run: GeneratorRun) -> None:
        lit = is_lit(run)
        self.glow.set_visible(run.lighting_speed is not None)
        self.rays.set_visible(lit)
        most = float(np.max(run.curve.current.m_as("A"), initial=1e-9))
        share = min(float(run.point.current.m_as("A")) / most, 1.0) if lit else 0.0
        self.glow.set_facecolor((1.0, 1.0 - 0.25 * share, 1.0 - 0.95 * share**0.4) if lit else "#d9d9d9")
        self.light_words.set_text(_light_words(run).replace("; ", "\n"))
        self.light_words.set_y(-0.95 if self.glow.get_visible() else 0.3)


def is_lit(run: GeneratorRun) -> bool:
    """Return whether an LED is connected and seen to glow."""
    return run.lighting_speed is not None and bool(run.point.speed >= run.lighting_speed)


def _light_words(run: GeneratorRun) -> str:
    if run.lighting_speed is None:
        power = run.point.load_power
        return f"no LED; the resistor turns {show(power)} into heat" if power.m_as("W") > 0 else "no LED"
    if is_lit(run):
        return f"lit by {show(run.point.current)}"
    return "dark: the LED blocks this way round" if run.point.emf.m_as("V") < 0 else "dark: too few volts"


def _seen(quantity: Quantity) -> Quantity:
    """Return a plain zero for what no meter here would show, such as the leakage of an LED that blocks."""
    return quantity if abs(quantity.to_base_units().magnitude) > 1e-6 else 0.0 * quantity


def finding(run: GeneratorRun) -> str:
    """Return what the picture shows, in words."""
    point = run.point
    if point.speed.m_as("rad/s") == 0.0:
        return "The shaft stands still, so there is no generator EMF, no current and no light."
    amps = absolute(_seen(point.current))
    current = f"{show(amps)} flows" if amps.magnitude else "no current flows"
    light = "" if run.lighting_speed is None else f" The LED is {_light_words(run)}."
    return (
        f"At {rpm_beside(point.speed)} the generator EMF is {show(point.emf)}; with {run.load} connected {current}, "
        f"and the terminals show {show(point.terminal_voltage)}. "
        f"Turning the shaft takes {show(absolute(point.shaft_torque))}.{light}"
    )


def readings(run: GeneratorRun) -> tuple[Reading, ...]:
    """Return the numbers at this setting."""
    point = run.point
    return (
        Reading("Speed", point.speed, "rpm"),
        Reading("Speed in radians", point.speed, "rad/s"),
        Reading("Generator EMF", point.emf),
        Reading("Voltage at the terminals", point.terminal_voltage),
        Reading("Current", _seen(point.current)),
        Reading("Torque that turns the shaft", point.shaft_torque),
        Reading("Power into the shaft", point.shaft_power),
        Reading("Heat in the winding", _seen(point.copper_loss)),
        Reading("Power in the load", _seen(point.load_power)),
    )


def tables(run: GeneratorRun) -> tuple[Table, ...]:
    """Return the curves of the picture."""
    curve = run.curve
    columns = (
        ("speed", curve.speed, "rpm"),
        ("generator EMF", curve.emf, "V"),
        ("terminals", curve.terminal_voltage, "V"),
        ("current", curve.current, "mA"),
        ("torque", curve.shaft_torque, "mN*m"),
    )
    return (Table("Against speed", columns),)
