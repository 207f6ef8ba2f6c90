"""The spectrum of a recording, with the line that was taken for the motor's."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from labkit.figures.chart import STYLES, Chart, house_style
from labkit.figures.picture import Picture, Reading, Table
from labkit.fitting import HeardSpeed
from labkit.parts._fields import expect
from labkit.units import Q_
from labkit.writing import show

__all__ = ["spectrum_picture"]

Floats: TypeAlias = NDArray[np.float64]

_SHOWN = 4.5  # times the line that was taken
_MOST_POINTS = 4000


def spectrum_picture(heard: HeardSpeed) -> Picture:
    """Return the spectrum of a recording, the line that was taken, and the other multiples of a turn.

    Parameters
    ----------
    heard : HeardSpeed

    Returns
    -------
    Picture
        Its finding says how sure the speed is, and what else it could be.
    """
    expect(heard, HeardSpeed, "spectrum_picture.heard", "Give what speed_from_sound returns.")
    line, turning = float(heard.line.m_as("Hz")), float(heard.speed.m_as("rad/s")) / (2 * np.pi)
    frequency, level = heard.frequency.m_as("Hz"), heard.level
    own = np.array([one * turning for one in heard.multiples])
    last = min(float(frequency[-1]), max(_SHOWN * line, 12 * turning))
    shown = (frequency > 0.2 * turning) & (frequency <= last)
    own, multiples = own[own <= last], np.array(heard.multiples)[own <= last]
    height = np.array([_near(frequency, level, float(one)) for one in own])
    chart = Chart(6.4, 3.2)
    with house_style():
        axes = chart.figure.add_subplot()
        every = max(int(shown.sum()) // _MOST_POINTS, 1)
        axes.plot(
            frequency[shown][::every],
            np.maximum(level[shown][::every], 0),
            **{**STYLES[0], "marker": ""},
            linewidth=0.8,
        )
        axes.plot(own, height, **{**STYLES[1], "linestyle": ""}, markersize=5)
        place = int(np.argmin(np.abs(own - line)))
        words = f"taken: {show(heard.line)}, {heard.multiple} × a turn"
        right = line > 0.6 * last
        axes.annotate(
            words, (own[place], height[place]), (-6 if right else 6, 4), textcoords="offset points",
            ha="right" if right else "left", fontsize=9,
        )  # fmt: skip
        axes.set(xlabel="frequency (Hz)", ylabel="above the noise (dB)", xlim=(0, last))
        axes.set_ylim(0, 1.15 * max(float(np.max(height)), 6.0))
    return chart.picture(
        vector=True,
        subject="Spectrum of the recording with the multiples of the turning frequency marked.",
        finding=" ".join(heard.sentences[:4]),
        readings=(Reading("Speed", heard.speed, "rpm"), Reading("Line taken", heard.line)),
        tables=(
            Table(
                "Multiples of a turn that stand out",
                (
                    ("multiple of a turn", Q_(multiples.astype(float), ""), ""),
                    ("frequency", Q_(own, "Hz"), "Hz"),
                    ("above the noise in dB", Q_(height, ""), ""),
                ),
            ),
        ),
    )


def _near(frequency: Floats, level: Floats, at: float) -> float:
    own = np.abs(frequency - at) <= max(0.01 * at, 2 * float(frequency[1]))
    return float(np.max(level[own], initial=0.0))
