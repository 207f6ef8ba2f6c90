"""A bench of invented readings, and how near the fit comes to the constants that they were made from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from labkit.figures.chart import Chart, house_style, nice_limit, write
from labkit.figures.picture import Picture, Reading, Table
from labkit.fitting import MotorFit
from labkit.parts import Motor
from labkit.units import Q_, Quantity
from labkit.writing import show

__all__ = ["MeasuredChart", "MeasuredRun", "measured_picture"]

#: Field of a motor: its letter, and the unit it is written in.
_SHOWN = {"resistance": ("R", "ohm"), "brush_drop": ("brush drop", "mV"), "emf_constant": ("k", "mV*s/rad")}


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class MeasuredRun:
    """What the picture is drawn from."""

    #: What the readings were made from.
    truth: Motor
    fit: MotorFit

    @property
    def held(self) -> tuple[Quantity, Quantity]:
        """Current and voltage of the readings with the shaft held, both of shape (n,)."""
        table = next(table for table in self.fit.record.tables if table.kind == "locked rotor")
        if table.current is None or table.voltage is None:
            return Q_(np.empty(0), "A"), Q_(np.empty(0), "V")
        return table.current, table.voltage


def measured_picture(run: MeasuredRun) -> Picture:
    """Return the picture of one bench."""
    return MeasuredChart().draw(run)


class MeasuredChart(Chart):
    """The picture, built once and then moved."""

    def __init__(self) -> None:
        super().__init__(6.4, 3.4)
        with house_style():
            held, sure = self.figure.subplots(1, 2)
            self._build_held(held)
            self._build_sure(sure)

    def _build_held(self, held: Axes) -> None:
        held.set(title="Shaft held", xlabel="current (A)", ylabel="voltage (V)")
        held.locator_params(axis="x", nbins=5)
        self.held = held
        self.points, self.fitted = self.dot(held, 0, markersize=5), self.line(held, 1)
        self.fitted_words = self.words(held, 1)

    def _build_sure(self, sure: Axes) -> None:
        count = len(_SHOWN)
        sure.set(title="How near, and how sure", xlabel="off the truth (%)", ylim=(count - 0.3, -0.7))
        sure.set_yticks(range(count), labels=[letter for letter, _ in _SHOWN.values()])
        sure.grid(visible=False, axis="y")
        sure.axvline(0, color="black", linewidth=1)
        self.sure = sure
        self.ranges = [self.line(sure, 0, linewidth=2.5) for _ in _SHOWN]
        self.found = [self.dot(sure, 1, markersize=7) for _ in _SHOWN]
        self.found_words = [self.words(sure, va="bottom", ha="center") for _ in _SHOWN]

    def draw(self, run: MeasuredRun) -> Picture:
        """Return the picture of one bench."""
        self._move_held(run)
        self._move_sure(run)
        current, voltage = run.held
        return self.picture(
            subject="Voltage against current with the shaft held, and the fitted line; the constants found against the "
            "true ones, each with the range that the fit claims.",
            finding=finding(run),
            readings=readings(run),
            tables=(Table("Shaft held", (("current", current, "mA"), ("voltage", voltage, "V"))),),
        )

    def _move_held(self, run: MeasuredRun) -> None:
        amps, volts = (np.asarray(one.m_as(unit)) for one, unit in zip(run.held, ("A", "V"), strict=True))
        right, top = nice_limit(1.1 * float(amps.max())), nice_limit(1.1 * float(volts.max()))
        self.limits(self.held, x=(0.0, right), y=(0.0, top))
        self.points.set_data(amps, volts)
        ohms, drop = (_size(run.fit.value, name, unit) for name, unit in (("resistance", "ohm"), ("brush_drop", "V")))
        ends = [0.0, right]
        self.fitted.set_data(ends, [drop + ohms * end for end in ends])
        write(self.fitted_words, 0.55 * right, 0.25 * top, "fitted line")

    def _move_sure(self, run: MeasuredRun) -> None:
        off = [_off(run, name, unit) for name, (_, unit) in _SHOWN.items()]
        reach = nice_limit(1.15 * max(abs(middle) + wide for middle, wide in off))
        self.limits(self.sure, x=(-reach, reach))
        for place, ((middle, wide), (name, (_, unit))) in enumerate(zip(off, _SHOWN.items(), strict=True)):
            self.ranges[place].set_data([middle - wide, middle + wide], [place, place])
            self.found[place].set_data([middle], [place])
            write(self.found_words[place], 0.0, place - 0.15, _with_range(run.fit, name, unit))


def _size(values: Mapping[str, Quantity], name: str, unit: str) -> float:
    """Return a constant as a float; zero where the readings do not give it."""
    return float(values[name].m_as(unit)) if name in values else 0.0


def _off(run: MeasuredRun, name: str, unit: str) -> tuple[float, float]:
    """Return how far a constant is off the truth, and half of its range, in per cent of the truth."""
    truth = float(getattr(run.truth, name).m_as(unit))
    found, wide = (_size(of, name, unit) for of in (run.fit.value, run.fit.expanded_uncertainty))
    return 100.0 * (found / truth - 1.0), 100.0 * wide / truth


def _with_range(fit: MotorFit, name: str, unit: str) -> str:
    if name not in fit.value:
        return "not given by these readings"
    return f"{show(fit.value[name], unit)} ± {show(fit.expanded_uncertainty[name], unit, digits=2)}"


def finding(run: MeasuredRun) -> str:
    """Return what the picture shows, in words."""
    said = [f"{letter} = {_with_range(run.fit, name, unit)}" for name, (letter, unit) in _SHOWN.items()]
    missed = [
        letter
        for name, (letter, unit) in _SHOWN.items()
        if name in run.fit.value and abs(_off(run, name, unit)[0]) > _off(run, name, unit)[1]
    ]
    verdict = f"The truth lies outside for {' and '.join(missed)}." if missed else "The truth lies within each range."
    source = _greatest(run.fit)
    return f"{'; '.join(said)}. {verdict}{f' What limits R is mostly {source}.' if source else ''}"


def _greatest(fit: MotorFit) -> str:
    sources = fit.budget.get("resistance", {})
    return max(sources, key=lambda name: float(sources[name].m_as("ohm")), default="")


def readings(run: MeasuredRun) -> tuple[Reading, ...]:
    """Return the numbers of this bench."""
    found = []
    for name, (letter, unit) in _SHOWN.items():
        found.append(Reading(f"{letter}, true", getattr(run.truth, name), unit))
        if name in run.fit.value:
            found.append(Reading(f"{letter}, found", run.fit.value[name], unit))
            found.append(Reading(f"{letter}, ± 95 %", run.fit.expanded_uncertainty[name], unit))
    return tuple(found)
