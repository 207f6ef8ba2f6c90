"""The sampled period agrees with the means that the chopper finds without sampling."""

import dataclasses

import pytest
from scipy.integrate import trapezoid

from labkit.errors import PartError
from labkit.parts import Drive, Load, Motor, Supply, desk_wind_tunnel
from labkit.simulation import pwm_operating_point, pwm_period
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core

CASES = [(0.4, "2 kHz"), (0.4, "20 kHz"), (0.1, "500 Hz"), (0.9, "5 kHz"), (1.0, "1 kHz"), (0.0, "1 kHz")]


def mean(period, values):
    """Return the mean over the samples, by trapezoids."""
    length = period.time[-1] - period.time[0]
    return Q_(trapezoid(values.magnitude, period.time.magnitude), "s") * values.units / length


@pytest.mark.parametrize(("duty", "frequency"), CASES)
def test_the_mean_over_the_samples_is_the_choppers_mean(duty, frequency):
    """Two routes to mean current and mean voltage: summed over the drawn curve, and in closed form."""
    drive = desk_wind_tunnel()
    point = pwm_operating_point(drive, duty, frequency)
    period = pwm_period(drive, point, duty, frequency, points=400)

    # trapezoids over 400 samples a stretch: good to 1e-4 of the peak
    slack = Q_(1e-4, "") * (point.peak_current + Q_(1, "mA"))
    assert_quantity_close(point.mean_current, mean(period, period.current), absolute=slack)
    assert_quantity_close(point.mean_voltage, mean(period, period.voltage), absolute=Q_(1, "mV"))


@pytest.mark.parametrize(("duty", "frequency"), CASES)
def test_a_period_ends_where_the_next_begins(duty, frequency):
    """The curve is periodic: its last current is its first, and its highest is the chopper's peak."""
    drive = desk_wind_tunnel()
    point = pwm_operating_point(drive, duty, frequency)
    period = pwm_period(drive, point, duty, frequency)

    assert_quantity_close(period.current[0], period.current[-1], absolute=Q_(1e-9, "A"))
    assert_quantity_close(point.peak_current, period.current.max(), absolute=Q_(1e-9, "A"))
    assert_quantity_close(Q_(1, "") / Q_(frequency), period.time[-1], relative=1e-12)


@pytest.mark.parametrize("load", [desk_wind_tunnel().load, Load(friction="1 N*m")], ids=["fan", "held"])
def test_a_switch_that_never_changes_draws_no_spike(load):
    """Never closed, the supply's 6 V are nowhere at the motor; never opened, the diode's -0.4 V are not."""
    drive = dataclasses.replace(desk_wind_tunnel(), load=load)
    never, always = (
        pwm_period(drive, pwm_operating_point(drive, duty, "2 kHz"), duty, "2 kHz").voltage.m_as("V")
        for duty in (0.0, 1.0)
    )

    assert max(abs(never)) < 0.01
    assert min(always) > 4.0


def test_the_curve_is_that_of_the_voltage_which_the_point_was_settled_on():
    """Behind a buffer capacitor, or on another voltage than the supply's, the curve has the point's mean and peak."""
    drive = desk_wind_tunnel()
    supply = dataclasses.replace(drive.supply, capacitance="470 uF", capacitor_resistance="50 mOhm")
    buffered = dataclasses.replace(drive, supply=supply)
    weak = pwm_operating_point(drive, 0.4, "2 kHz", voltage="4 V")
    for circuit, point in ((buffered, pwm_operating_point(buffered, 0.4, "2 kHz")), (drive, weak)):
        period = pwm_period(circuit, point, 0.4, "2 kHz", points=400)

        assert_quantity_close(point.peak_current, period.current.max(), relative=1e-9)
        assert_quantity_close(point.mean_current, mean(period, period.current), relative=1e-4)


def test_a_current_that_flows_back_is_refused():
    """A weight that drives the motor into the supply: no curve of zeros in its place."""
    drive = dataclasses.replace(desk_wind_tunnel(), load=Load(weight="-4 mN*m"))
    point = pwm_operating_point(drive, 0.4, "2 kHz")

    assert point.mean_current.magnitude < -0.5
    with pytest.raises(PartError, match=r"pwm_period\.point must be of forward current; got -0\.631 A"):
        pwm_period(drive, point, 0.4, "2 kHz")


def test_once_the_current_has_stopped_the_terminals_show_the_generator_emf():
    """Nothing drives or drops then, so the meter sees k·ω."""
    drive = desk_wind_tunnel()
    point = pwm_operating_point(drive, 0.4, "2 kHz")

    assert_quantity_close(point.emf, pwm_period(drive, point, 0.4, "2 kHz").voltage[-1], relative=1e-12)


def test_no_diode_and_no_single_point_are_refused():
    """Without a freewheel path the current takes another way, and an array of points is no one curve."""
    drive = desk_wind_tunnel()
    point = pwm_operating_point(drive, [0.2, 0.4], "2 kHz")
    bare = Drive(
        supply=Supply(voltage="6 V"),
        motor=Motor(resistance="2.8 ohm", emf_constant="5.4 mV*s/rad", inductance="0.9 mH"),
        switch=drive.switch,
        diode=None,
    )

    with pytest.raises(PartError, match=r"Drive\.diode"):
        pwm_period(bare, point, 0.4, "2 kHz")
    with pytest.raises(PartError, match="one operating point"):
        pwm_period(drive, point, 0.4, "2 kHz")
