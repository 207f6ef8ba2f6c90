"""The stretch of a relaxing current, against 50 digits."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit._kernels.exponentials import mean_decay, mean_rise, square_rise, stretch

pytestmark = pytest.mark.core

sizes = st.floats(-18.0, 15.0).map(lambda power: 10.0**power)


def _exact(x):
    with mpmath.workdps(70):
        x = mpmath.mpf(x)
        decay = -mpmath.expm1(-x) / x
        rise = (1 - decay) / x
        square = (1 - 2 * decay - mpmath.expm1(-2 * x) / (2 * x)) / x**2
        return tuple(float(value) for value in (decay, rise, square))


@given(x=sizes)
def test_means_agree_with_fifty_digits_at_any_length(x):
    """From x = 1e-18 to 1e15 each mean is right to a few units of the last figure."""
    for function, exact in zip((mean_decay, mean_rise, square_rise), _exact(x), strict=True):
        assert float(function(np.asarray(x))) == pytest.approx(exact, rel=4e-15)


def test_no_length_is_the_limit_itself():
    """At x = 0 the means are 1, 1/2 and 1/3."""
    zero = np.asarray(0.0)

    assert (mean_decay(zero), mean_rise(zero)) == (1.0, 0.5)
    assert square_rise(zero) == pytest.approx(1 / 3, rel=1e-15)


@given(start=st.floats(-10, 10), drive=st.floats(-10, 10), x=st.floats(1e-9, 30.0))
def test_means_are_those_of_the_course(start, drive, x):
    """Gauss's quadrature of the course itself gives the same end, mean and mean square."""
    nodes, weights = np.polynomial.legendre.leggauss(80)
    s, w = (nodes + 1.0) / 2.0, weights / 2.0
    course = start * np.exp(-x * s) - drive * np.expm1(-x * s) / x
    got = stretch(np.asarray(start), np.asarray(drive), np.asarray(x))

    assert float(got.mean) == pytest.approx(float(w @ course), rel=1e-11, abs=1e-12)
    assert float(got.mean_square) == pytest.approx(float(w @ course**2), rel=1e-11, abs=1e-12)
    assert float(got.end) == pytest.approx(start * np.exp(-x) - drive * np.expm1(-x) / x, rel=1e-13, abs=1e-13)
