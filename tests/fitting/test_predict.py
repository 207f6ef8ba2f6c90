"""Prediction with a band, against the steady-state formulas, sampling, and the truth of simulated benches."""

import numpy as np
import pytest

from labkit.errors import BenchError, PartError
from labkit.fitting import agreement, draw_motors, fit_motor, predict
from labkit.parts import Load
from labkit.simulation import operating_point
from labkit.units import Q_

pytestmark = pytest.mark.core


@pytest.fixture(scope="module")
def fit(simulate_bench):
    """Return the fit of one simulated bench with meters that err."""
    return fit_motor(simulate_bench(12, meters=True))


@pytest.mark.parametrize("load", [None, Load(friction=Q_("1 mN*m")), Load(fan=Q_(1.6e-9, "N*m*s**2/rad**2"))])
def test_centre_of_the_band_is_the_operating_point(fit, load):
    """The predicted speed and current are those of ``operating_point`` for the fitted motor."""
    bands = predict(fit, voltage=Q_("5 V"), load=load)
    point = operating_point(fit.motor, Q_("5 V"), Load() if load is None else load)

    assert bands["speed"].value.magnitude == pytest.approx(point.speed.to("rad/s").magnitude, rel=1e-9)
    assert bands["current"].value.magnitude == pytest.approx(point.current.to("A").magnitude, rel=1e-9)


def test_stalled_is_ohms_law(fit):
    """Stall current is (V − brush drop)/R; its relative uncertainty holds that of R, and all of V·I is heat."""
    bands = predict(fit, voltage=Q_("6 V"))
    stall = (6 - fit.value["brush_drop"].magnitude) / fit.value["resistance"].magnitude

    assert bands["stall_current"].value.magnitude == pytest.approx(stall)
    assert bands["stall_heat"].value.magnitude == pytest.approx(6 * stall)
    relative = (bands["stall_current"].standard_uncertainty / bands["stall_current"].value).magnitude
    own = (fit.standard_uncertainty["resistance"] / fit.value["resistance"]).magnitude
    assert relative == pytest.approx(own, rel=0.05)


def test_band_is_the_spread_of_drawn_motors(fit):
    """Two routes: the propagated uncertainty of speed and current is the standard deviation over 2000 drawn motors."""
    load = Load(friction=Q_("1 mN*m"))
    bands = predict(fit, voltage=Q_("6 V"), load=load)
    motors = draw_motors(fit, count=2000, seed=4)
    R, B, k, F, c = (
        np.array([getattr(motor, name).magnitude for motor in motors])
        for name in ("resistance", "brush_drop", "emf_constant", "friction_torque", "viscous_friction")
    )
    speed = (k * (6 - B) / R - F - 1e-3) / (c + k**2 / R)
    current = (6 - B - k * speed) / R

    assert bands["speed"].standard_uncertainty.magnitude == pytest.approx(speed.std(), rel=0.08)
    assert bands["current"].standard_uncertainty.magnitude == pytest.approx(current.std(), rel=0.08)


def test_truth_lies_in_the_band(simulate_bench, truth):
    """Over 40 benches the true free speed and current on 5 V lie in the 95 % band at least 34 times each."""
    R, B, k, F, c = truth.values()
    speed = (k * (5 - B) / R - F) / (c + k**2 / R)
    real = {"speed": speed, "current": (F + c * speed) / k}
    hits = dict.fromkeys(real, 0)
    for seed in range(40):
        bands = predict(fit_motor(simulate_bench(seed + 300)), voltage=Q_("5 V"))
        for name, value in real.items():
            hits[name] += abs(bands[name].value.magnitude - value) <= bands[name].expanded_uncertainty.magnitude

    assert min(hits.values()) >= 34  # fewer happen once in 30 000 times for a fair 95 %


def test_agreement_says_so_or_names_reasons(fit):
    """A reading inside agrees; one five uncertainties low is told as such, with likely reasons."""
    band = predict(fit, voltage=Q_("5 V"))["speed"]
    own = band.standard_uncertainty
    near, far = agreement(band, band.value + own, own), agreement(band, band.value - 5 * np.sqrt(2) * own, own)

    assert near.agrees
    assert near.deviations == pytest.approx(1 / np.sqrt(2))
    assert not far.agrees
    assert far.deviations == pytest.approx(-5)
    assert "5.0 standard uncertainties below" in far.sentence
    assert any("warm winding" in reason for reason in far.reasons)


def test_agreement_refuses_what_it_cannot_judge(fit):
    """A negative uncertainty would agree with nearly anything; a bare number is no prediction."""
    band = predict(fit, voltage="4 V")["current"]
    with pytest.raises(PartError, match="standard_uncertainty must be zero or more; got -1 mA"):
        agreement(band, "107 mA", "-1 mA")
    with pytest.raises(PartError, match="band must be one value of a prediction; got 1"):
        agreement(1, "107 mA", "1 mA")


def test_draws_are_the_same_for_the_same_seed(fit):
    """Equal seeds give equal motors, other seeds others."""
    assert draw_motors(fit, count=3, seed=1) == draw_motors(fit, count=3, seed=1)
    assert draw_motors(fit, count=3, seed=1) != draw_motors(fit, count=3, seed=2)


def test_prediction_without_a_motor_is_refused(simulate_bench, fit):
    """A bench that lacks the free run, or a voltage of zero, predicts nothing."""
    with pytest.raises(BenchError, match="EMF constant"):
        predict(fit_motor(simulate_bench(1, free=0, driven=0)), voltage=Q_("5 V"))
    with pytest.raises(BenchError, match="more than zero"):
        predict(fit, voltage=Q_("0 V"))
