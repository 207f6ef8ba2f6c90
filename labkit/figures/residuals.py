"""What each reading misses the fitted motor by, in standard deviations."""

from __future__ import annotations

from typing import Any

import numpy as np
from matplotlib.axes import Axes

from labkit.figures.chart import STYLES, Chart, house_style
from labkit.figures.picture import Picture, Table
from labkit.fitting import MotorFit, ResidualSet
from labkit.parts._fields import expect
from labkit.units import Quantity
from labkit.writing import sentence_case

__all__ = ["residual_picture"]

_FAR = 2.0  # standard deviations; about 1 of 20 sound readings lies beyond
_NONE = 1e-3
_COLUMNS = 3
_BESIDE: dict[str, Any] = {"textcoords": "offset points", "fontsize": 8}
_AGAINST = {"A": "current (A)", "rpm": "speed (rpm)"}


def residual_picture(fit: MotorFit) -> Picture:
    """Return the residuals of every table and balance: a pattern in them is a law that does not hold.

    Parameters
    ----------
    fit : MotorFit

    Returns
    -------
    Picture
        In standard deviations of such a reading; between the dashed lines lie about 19 of 20 sound ones.
    """
    expect(fit, MotorFit, "residual_picture.fit", "Give what fit_motor returns.")
    sets = fit.residuals
    rows = -(-len(sets) // _COLUMNS)
    chart = Chart(2.9 * max(min(len(sets), _COLUMNS), 1), 2.3 * max(rows, 1))
    with house_style():
        tables = [
            _draw(chart.figure.add_subplot(rows, min(len(sets), _COLUMNS), place), one)
            for place, one in enumerate(sets, start=1)
        ]
    return chart.picture(
        vector=True,
        subject="How far each reading lies off the fitted motor, in standard deviations, table by table.",
        finding=_finding(fit),
        tables=tuple(tables),
    )


def _draw(axes: Axes, one: ResidualSet) -> Table:
    unit = "A" if one.table == "locked rotor" else "rpm"
    against, size = one.against.to(unit), one.standardized
    used = ~one.set_aside
    mark = {"linestyle": "", "color": STYLES[0]["color"], "marker": STYLES[0]["marker"]}
    axes.axhline(0, color="0.3", linewidth=0.8)
    for side in (-_FAR, _FAR):
        axes.axhline(side, color="0.3", linewidth=0.8, linestyle="--")
    axes.plot(against.magnitude[used], size[used], **mark)
    most = max(3.0, 1.1 * float(np.max(np.abs(size[used]), initial=0.0)))
    for place in np.flatnonzero(~used):
        x, far = float(against.magnitude[place]), abs(float(size[place])) > most
        shape = {"marker": "^" if size[place] > 0 else "v"} if far else {}
        axes.plot(x, np.clip(size[place], -0.9 * most, 0.9 * most), **{**mark, **shape}, fillstyle="none")
        if far:
            axes.annotate(f"{size[place]:.0f}", (x, np.sign(size[place]) * 0.9 * most), (6, -3), **_BESIDE)
    title = f"{sentence_case(one.table)}: {one.balance}"
    axes.set(title=title, xlabel=_AGAINST[unit], ylabel="std deviations", ylim=(-most, most), xlim=(0, None))
    axes.locator_params(axis="x", nbins=4)
    off = one.residual.to("mV" if one.balance == "voltage" else "mA")
    name = "current" if unit == "A" else "speed"
    columns: tuple[tuple[str, Quantity, str], ...] = (
        (name, against, unit),
        ("measured less fitted", off, str(off.units)),
        ("in standard deviations", Quantity(size, ""), ""),
    )
    return Table(title, columns)


def _finding(fit: MotorFit) -> str:
    kept = np.concatenate([one.standardized[~one.set_aside] for one in fit.residuals])
    if float(np.max(np.abs(kept), initial=0.0)) < _NONE:
        return "The motor passes through every reading: as many readings as constants show no scatter. Read more."
    far = int(np.sum(np.abs(kept) > _FAR))
    chance = f"about {max(round(len(kept) / 20), 1)} would by chance"
    words = f"Of {len(kept)} residuals {far} lie more than {_FAR:g} standard deviations off; {chance}."
    count = len(fit.set_aside)
    aside = f" {count} {'was' if count == 1 else 'were'} set aside (hollow marks)." if count else ""
    worst = fit.worst_reading
    if worst is None:
        return words + aside
    off = f"{worst.table}, line {worst.line}, {abs(worst.deviations):.1f} standard deviations"
    return f"{words}{aside} Farthest of those used: {off}."
