"""Temperatures that feed back on the heat: against iteration, bracketing and step-by-step integration."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from labkit._kernels.heat import (
    TwoBodySI,
    duty_cycle_rises,
    periodic_rises,
    runaway_current,
    time_to_rise,
    warm_rise,
    warm_rise_on_voltage,
)

pytestmark = pytest.mark.core

BODY = TwoBodySI(
    inner_resistance=8.0,
    outer_resistance=25.0,
    winding_capacity=1.0,
    housing_capacity=12.0,
    growth=0.00385,
    ambient=-5.0,
)
positive = st.floats(1e-3, 1e2)


def _arrays(*values):
    return [np.asarray(value) for value in values]


@given(ambient=st.floats(-60, 60), path=positive, heating=positive, growth=st.floats(0, 0.02), other=st.floats(0, 10))
def test_the_fixed_point_is_what_iteration_ends_at(ambient, path, heating, growth, other):
    """Computing the heat again from the last temperature converges to the closed form, or runs away with it."""
    loop_gain = path * heating * growth
    assume(abs(loop_gain - 1.0) > 0.05)
    rise = float(warm_rise(*_arrays(ambient, path, heating, growth, other)))
    guess = ambient
    for _ in range(2000):
        guess = ambient + path * (heating * (1 + growth * guess) + other)
        if guess > 1e12:
            break

    if loop_gain < 1.0:
        assert rise == pytest.approx(guess, rel=1e-9, abs=1e-9)
    else:
        assert rise == np.inf
        assert abs(guess) > 1e4 or heating * (1 + growth * ambient) + other < 0


@given(path=positive, ohms=positive, growth=st.floats(1e-4, 0.02))
def test_runaway_begins_where_the_closed_form_ends(path, ohms, growth):
    """A hair below the runaway current there is a temperature, a hair above there is none."""
    begins = float(runaway_current(*_arrays(path, ohms, growth)))
    below, above = (warm_rise(*_arrays(0.0, path, (begins * f) ** 2 * ohms, growth, 0.0)) for f in (0.999, 1.001))

    assert np.isfinite(below)
    assert np.isinf(above)


@given(ambient=st.floats(-60, 60), path=positive, heating=positive, growth=st.floats(1e-5, 0.01))
def test_on_a_voltage_there_is_always_a_temperature(ambient, path, heating, growth):
    """A bracketing search for rise = ambient + R_th·P/(1 + α·rise) finds the closed form."""
    found = brentq(
        lambda rise: ambient + path * heating / (1 + growth * rise) - rise, ambient, ambient + 2.5 * path * heating + 1,
        xtol=1e-11,
    )  # fmt: skip

    assert float(warm_rise_on_voltage(*_arrays(ambient, path, heating, growth))) == pytest.approx(found, abs=1e-8)


def _integrate(heating, times, *, on_voltage=False, start=(-5.0, -5.0)):
    def slope(_, y):
        factor = 1 + BODY.growth * y[0]
        power = heating / factor if on_voltage else heating * factor
        into, out = (y[0] - y[1]) / 8.0, (y[1] + 5.0) / 25.0
        return [(power - into) / 1.0, (into - out) / 12.0]

    return solve_ivp(slope, (0, times[-1]), start, t_eval=times, method="DOP853", rtol=1e-11, atol=1e-11).y


@pytest.mark.parametrize("on_voltage", [False, True])
@pytest.mark.parametrize("limit", [5.0, 60.0, 105.0])
def test_the_limit_is_reached_when_integration_says(on_voltage, limit):
    """Integrated to the stated time, the winding stands at the limit."""
    time = time_to_rise(BODY, 12.0, limit, on_voltage=on_voltage)
    winding = _integrate(12.0, [0.0, time], on_voltage=on_voltage)[0, -1]

    assert winding == pytest.approx(limit, abs=1e-6)


def test_a_limit_that_is_never_reached_takes_for_ever():
    """Little heat never gets there; heat that runs away does, without a steady state; hot air is there at once."""
    assert time_to_rise(BODY, 0.5, 60.0, on_voltage=False) == np.inf
    assert time_to_rise(BODY, 0.5, 60.0, on_voltage=True) == np.inf
    assert float(warm_rise(*_arrays(-5.0, 33.0, 12.0, 0.00385, 0.0))) == np.inf
    assert 0 < time_to_rise(BODY, 12.0, 200.0, on_voltage=False) < np.inf
    assert time_to_rise(BODY, 12.0, -10.0, on_voltage=False) == 0.0


def test_running_and_resting_in_turn_becomes_periodic():
    """A whole cycle integrated from the stated end of the heated time comes back to it."""
    hot, cool = periodic_rises(BODY, 6.0, 20.0, 60.0)
    rested = _integrate(0.0, [0.0, 60.0], start=hot)[:, -1]
    again = _integrate(6.0, [0.0, 20.0], start=rested)[:, -1]

    assert rested == pytest.approx(cool, abs=1e-8)
    assert again == pytest.approx(hot, abs=1e-8)
    assert periodic_rises(BODY, 60.0, 100.0, 1.0) is None


@given(
    chain=st.lists(st.tuples(st.floats(0.1, 50), st.floats(0.1, 100)), min_size=1, max_size=4),
    powers=st.tuples(st.floats(0, 20), st.floats(0, 20)), times=st.tuples(st.floats(0.1, 300), st.floats(0.1, 300)),
)  # fmt: skip
def test_a_chain_of_stages_comes_back_to_itself(chain, powers, times):
    """From the stated end of the second part, exponentials lead to that of the first, and on to itself."""
    ohms, taus = np.array(chain).T
    first, second = duty_cycle_rises(ohms, taus, tuple(_arrays(*powers)), tuple(_arrays(*times)))
    state = np.zeros(len(chain))
    for _ in range(6):  # then half a cycle more: what is left of the start is e^-(time/τ)
        for power, time in zip(powers, times, strict=True):
            state = ohms * power + (state - ohms * power) * np.exp(-time / taus)
            last = state.sum()
    left = float((ohms * max(powers) * np.exp(-6 * sum(times) / taus)).sum())

    assert last == pytest.approx(float(second), abs=left + 1e-9)
    state = ohms * powers[0] + (state - ohms * powers[0]) * np.exp(-times[0] / taus)
    assert state.sum() == pytest.approx(float(first), abs=left + 1e-9)


def test_fast_turns_feel_the_mean_power():
    """A cycle far shorter than the time constant leaves the mean power's temperature."""
    first, second = duty_cycle_rises(
        np.array([10.0]), np.array([100.0]), tuple(_arrays(3.0, 0.0)), tuple(_arrays(1e-4, 3e-4))
    )

    assert float(first) == pytest.approx(7.5, rel=1e-5)
    assert float(second) == pytest.approx(7.5, rel=1e-5)
