"""The panel on measuring: its invented benches are fitted honestly, and what it teaches is what statistics say."""

from __future__ import annotations

import dataclasses
import re

import numpy as np
import pytest

from labkit import Q_, desk_wind_tunnel, measure_panel
from labkit.bench import Meter, practice_bench
from labkit.errors import BenchError
from labkit.panels.measured import MeasuredState, measured_run, practice_readings

STATE = MeasuredState()


def wide(state, name="resistance"):
    """Return the mean range of a constant over twenty benches, as a part of its true value."""
    runs = [measured_run(dataclasses.replace(state, bench=Q_(float(n), ""))) for n in range(1, 21)]
    return np.mean([float((run.fit.expanded_uncertainty[name] / getattr(run.truth, name)).m_as("")) for run in runs])


def test_the_truth_lies_within_the_range_about_as_often_as_it_says():
    """Of sixty benches the 95 % range holds R in all but a few: fewer than 51 would have a chance below 1 in 1,000.

    Binomial with p = 0.95: P(X <= 50 of 60) = 0.0003, from ``scipy.stats.binom``.
    """
    runs = [measured_run(dataclasses.replace(STATE, bench=Q_(float(n), ""))) for n in range(1, 61)]
    for name in ("resistance", "emf_constant"):
        off = [abs(float((run.fit.value[name] - getattr(run.truth, name)).to_base_units().m)) for run in runs]
        reach = [float(run.fit.expanded_uncertainty[name].to_base_units().m) for run in runs]
        assert sum(a <= b for a, b in zip(off, reach, strict=True)) > 50


def test_four_times_the_positions_halve_the_range():
    """Where the scatter between positions is all, the range goes with one over the root of their number."""
    quiet = dataclasses.replace(STATE, accuracy=Q_(0.1, "percent"), counts=Q_(0.0, ""), scatter=Q_(500, "mohm"))
    three, twelve = (wide(dataclasses.replace(quiet, positions=Q_(n, ""))) for n in (3.0, 12.0))
    student = 4.303 / 2.201  # t of a two-sided 95 % at 2 and 11 degrees of freedom, from a table of Student's t

    assert three / twelve == pytest.approx(2.0 * student, rel=0.25)


def test_currents_that_are_alike_tell_the_brushes_badly():
    """A short base makes a long error: the intercept is drawn from 270 and 300 mA down to zero."""
    alike = dataclasses.replace(STATE, low_current=Q_(270.0, "mA"))

    assert wide(alike, "brush_drop") > 1.4 * wide(STATE, "brush_drop")


def test_the_same_settings_give_the_same_readings():
    """Another number gives another bench, and the same one comes back."""
    first, again = practice_readings(STATE), practice_readings(STATE)
    other = practice_readings(dataclasses.replace(STATE, bench=Q_(2.0, "")))

    assert np.array_equal(first.tables[0].voltage.m, again.tables[0].voltage.m)
    assert not np.array_equal(first.tables[0].voltage.m, other.tables[0].voltage.m)


@pytest.mark.parametrize(
    "preset", ["One position", "Twelve positions", "Better meter", "Clean brushes", "Currents alike"]
)
def test_every_preset_draws_and_says_what_limits(preset):
    """No preset leads to a refusal; picture and working agree on R."""
    panel = measure_panel()
    panel.presets.press(preset)
    panel.working.fill()
    found = next(one for one in panel._picture.readings if one.name == "R, found")

    told = re.search(r"resistance R</th><td>([\d.]+)</td>", panel.working.content)
    assert float(told[1]) == pytest.approx(found.value.m_as("ohm"), abs=0.006)
    assert "What limits R" in panel.image.finding


def test_every_end_of_every_slider_draws():
    """One position, no scatter, no counts, the worst meter: all have an answer."""
    panel = measure_panel()
    for name, control in panel.controls.items():
        for text in (control.stops[0], control.stops[-1]):
            control.type_in(text)
            assert panel._picture is not None, (name, text)


@pytest.mark.parametrize("positions", [0, -1, 13])
def test_a_bench_without_positions_is_refused(positions):
    """No position, and more than a rotor is turned to, are named with what to take."""
    meter = Meter(percent=0.5, counts=2.0)
    with pytest.raises(BenchError, match=f"must be 1 to 12; got {positions}"):
        practice_bench(
            desk_wind_tunnel().motor,
            positions=positions,
            currents=(Q_("100 mA"), Q_("300 mA")),
            scatter=Q_("0 ohm"),
            meter=meter,
            seed=1,
        )
