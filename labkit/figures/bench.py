"""Bench readings, and the lines that the fitted constants draw through them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes

from labkit.figures.chart import STYLES, Chart, house_style
from labkit.figures.picture import Picture, Reading, Table
from labkit.fitting import MotorFit, ResidualSet
from labkit.parts._fields import expect
from labkit.units import Q_, Quantity
from labkit.writing import show

__all__ = ["bench_picture"]

#: What each table of readings is drawn against, in which unit, and under which title.
_AGAINST = {
    "locked rotor": ("current (A)", "A", "Shaft held"),
    "free running": ("speed (rpm)", "rpm", "Running free"),
    "loaded running": ("speed (rpm)", "rpm", "Running loaded"),
    "generator": ("speed (rpm)", "rpm", "Turned from outside"),
}
_CONSTANTS = {
    "resistance": ("Resistance", ""),
    "emf_constant": ("Motor constant k", "mV*s/rad"),
    "brush_drop": ("Brush drop", ""),
    "friction_torque": ("Friction torque", ""),
    "viscous_friction": ("Friction that grows with speed", "nN*m*s/rad"),
}


def bench_picture(fit: MotorFit) -> Picture:
    """Return the readings of every steady table with the fitted line: voltage against current or speed.

    Parameters
    ----------
    fit : MotorFit

    Returns
    -------
    Picture
        Its finding names each constant with its expanded uncertainty.
    """
    expect(fit, MotorFit, "bench_picture.fit", "Give what fit_motor returns.")
    sets = [one for one in fit.residuals if one.balance == "voltage" and one.table in _AGAINST]
    chart = Chart(2.9 * max(len(sets), 1), 2.6)
    with house_style():
        tables = [
            _draw(chart.figure.add_subplot(1, len(sets), place), fit, one) for place, one in enumerate(sets, start=1)
        ]
    titles = [_AGAINST[one.table][2].lower() for one in sets]
    return chart.picture(
        vector=True,
        subject=f"Readings and fitted lines of voltage at the terminals: {', '.join(titles)}.",
        finding=_finding(fit, sets),
        readings=tuple(Reading(_CONSTANTS[name][0], fit.value[name], _CONSTANTS[name][1]) for name in fit.names),
        tables=tuple(tables),
    )


def _draw(axes: Axes, fit: MotorFit, one: ResidualSet) -> Table:
    label, unit, title = _AGAINST[one.table]
    order = np.argsort(one.against.magnitude)
    against = one.against[order].to(unit)
    measured = _measured(fit, one)[order].to("V")
    fitted = measured - one.residual[order]
    used = ~one.set_aside[order]
    mark = {"linestyle": "", "color": STYLES[0]["color"], "marker": STYLES[0]["marker"]}
    axes.plot(against.magnitude, fitted.magnitude, **{**STYLES[1], "marker": ""})
    axes.plot(against.magnitude[used], measured.magnitude[used], **mark)
    axes.plot(against.magnitude[~used], measured.magnitude[~used], **mark, fillstyle="none")
    axes.set(title=title, xlabel=label, ylabel="voltage (V)")
    axes.locator_params(axis="x", nbins=4)
    if np.all(against.magnitude > 0):
        axes.set(xlim=(0, None), ylim=(min(0.0, float(np.min(fitted.magnitude))), None))
    axes.text(0.97, 0.05, "dashed: fitted", color=STYLES[1]["color"], ha="right", fontsize=8, transform=axes.transAxes)
    name = label.split(" (")[0]
    return Table(title, ((name, against, unit), ("measured", measured, "V"), ("fitted", fitted, "V")))


def _measured(fit: MotorFit, one: ResidualSet) -> Quantity:
    """Return the voltages that were read, in the order of the residuals."""
    table: Any = next(table for table in fit.record.tables if table.kind == one.table)
    places = {line: place for place, line in enumerate(table.line.tolist())}
    measured: Quantity = table.voltage[[places[line] for line in one.line.tolist()]]
    return measured


def _finding(fit: MotorFit, sets: Sequence[ResidualSet]) -> str:
    found = [
        f"{_CONSTANTS[name][0]} {show(fit.value[name], unit)} ± {show(fit.expanded_uncertainty[name], unit, digits=2)}"
        for name, unit in (("resistance", "ohm"), ("emf_constant", "mV*s/rad"))
        if name in fit.names
    ]
    off = [np.abs(one.residual.m_as("V")[~one.set_aside]) for one in sets]
    worst = max((float(np.max(one, initial=0.0)) for one in off), default=0.0)
    count = len(fit.set_aside)
    aside = f" {count} reading{' was' if count == 1 else 's were'} set aside (hollow marks)." if count else ""
    furthest = show(Q_(worst, "V"), digits=2)
    constants = f"{'; '.join(found)}. " if found else ""
    return f"{constants}No reading that was used misses its line by more than {furthest}.{aside}"
