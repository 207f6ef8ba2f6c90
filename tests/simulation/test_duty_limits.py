"""Where a chopped drive starts, where its current becomes continuous, and what a frequency costs."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Load, desk_wind_tunnel
from labkit.simulation import (
    continuous_frequency,
    duty_from_count,
    frequency_choice,
    pwm_operating_point,
    starting_duty,
    switching_times,
)
from labkit.units import Q_

pytestmark = pytest.mark.core

TUNNEL = desk_wind_tunnel()


@pytest.mark.parametrize("frequency", ["50 Hz", "2 kHz", "100 kHz"])
def test_the_drive_starts_above_the_starting_duty_only(frequency):
    """A hair below it stands, a hair above it turns."""
    duty = float(starting_duty(TUNNEL, frequency).magnitude)
    below, above = pwm_operating_point(TUNNEL, [duty * (1 - 1e-6), duty * (1 + 1e-6)], frequency).turning

    assert (below, above) == (False, True)


def test_fast_pulses_need_what_the_mean_voltage_says():
    """At high frequency D = (V_start + V_F)/(V + V_F), where V_start is what the starting current needs."""
    held = dataclasses.replace(TUNNEL, motor=dataclasses.replace(TUNNEL.motor, starting_torque="2 mN*m"))
    amps = 2e-3 / 5.4e-3
    on_resistance = float(pwm_operating_point(held, 1.0, "1 kHz").switch_conduction_loss.magnitude) / float(
        pwm_operating_point(held, 1.0, "1 kHz").rms_current.magnitude ** 2
    )
    duty = (amps * 2.8 + 0.4) / (6.0 + 0.4 - amps * (0.6 + on_resistance))

    assert float(starting_duty(held, "10 MHz").magnitude) == pytest.approx(duty, rel=1e-3)


def test_a_motor_that_never_starts_is_said_so():
    """A held shaft does not start at full duty."""
    with pytest.raises(NoSolutionError, match="does not start at full duty"):
        starting_duty(dataclasses.replace(TUNNEL, load=Load(friction="1 N*m")), "2 kHz")


@pytest.mark.parametrize("duty", [0.2, 0.4, 0.8])
def test_the_current_is_continuous_from_there_on(duty):
    """A hair below the frequency the current stops, a hair above it does not; there its least value is zero."""
    limit = continuous_frequency(TUNNEL, duty)
    point = pwm_operating_point(TUNNEL, duty, Q_(limit.magnitude * np.array([1 - 1e-6, 1 + 1e-6]), "Hz"))

    assert point.continuous.tolist() == [False, True]
    assert float(point.minimum_current[1].magnitude) < 1e-5
    rule = 6.4 * duty * (1 - duty) / (2 * 0.9e-3 * point.mean_current[1].magnitude)
    assert float(limit.magnitude) == pytest.approx(rule, rel=0.15)  # the straight-line rule of thumb


def test_full_duty_has_no_such_frequency():
    """At full duty nothing switches; a duty above 1 is refused."""
    with pytest.raises(PartError, match="duty must be above 0 and below 1"):
        continuous_frequency(TUNNEL, 1)
    with pytest.raises(PartError, match="A percentage"):
        continuous_frequency(TUNNEL, 40)


def test_a_count_is_a_part_of_the_top():
    """50 of 255 is 19.6 %, not 50 % (common practice, no source); more than the top or half a count is refused."""
    assert duty_from_count([0, 50, 255]).magnitude == pytest.approx([0.0, 0.196, 1.0], abs=5e-4)
    with pytest.raises(PartError, match="count must be at most the top, 255; got 256"):
        duty_from_count(256)
    with pytest.raises(PartError, match=r"count must be a whole number; got 0\.5\. A timer counts"):
        duty_from_count(0.5)


def test_quiet_costs_heat_in_the_transistor_and_saves_it_in_the_winding():
    """Over the frequencies the ripple and the winding's extra heat fall, the switching loss and the junction rise."""
    choice = frequency_choice(TUNNEL, 0.6, Q_([0.5, 2, 8, 32, 128], "kHz"))

    assert choice.audible.tolist() == [True, True, True, False, False]
    assert np.all(np.diff(choice.ripple.magnitude) < 0)
    assert np.all(np.diff(choice.winding_heat_ratio.magnitude) < 0)
    assert np.all(np.diff(choice.switching_loss.magnitude) > 0)
    assert np.all(np.diff(choice.switching_share.magnitude) > 0)
    assert choice.winding_heat_ratio[-1] == pytest.approx(1.0, abs=1e-3)


def test_switching_times_of_a_bench_example():
    """3.3 V, plateau 2.4 V, 190 Ω and 5 nC: 1.06 µs on, 0.40 µs off (common practice, no source)."""
    switch = dataclasses.replace(TUNNEL.switch, gate_drain_charge="5 nC", plateau_voltage="2.4 V")
    on, off = switching_times(dataclasses.replace(TUNNEL, switch=switch, pull_down=None))

    assert float(on.to("us").magnitude) == pytest.approx(1.06, abs=0.005)
    assert float(off.to("us").magnitude) == pytest.approx(0.40, abs=0.005)
    high = dataclasses.replace(switch, plateau_voltage="3.3 V")
    with pytest.raises(NoSolutionError, match="never fully on"):
        switching_times(dataclasses.replace(TUNNEL, switch=high))
