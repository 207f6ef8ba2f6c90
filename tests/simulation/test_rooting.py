"""Roots of falling functions, element by element."""

from __future__ import annotations

import numpy as np
import pytest

from labkit.errors import NoSolutionError
from labkit.simulation._rooting import falling_root

pytestmark = pytest.mark.core


def test_a_bracket_grows_until_it_holds_its_root():
    """Roots of x³ = a from a billionth to a billion are found from one bracket, 0 to 1."""
    cubes = 10.0 ** np.arange(-9, 10, 3.0)

    found = falling_root(lambda x, a: a - x**3, np.array(0.0), np.array(1.0), [cubes], sought="cube root")

    assert found == pytest.approx(10.0 ** np.arange(-3, 4), rel=1e-12)


def test_no_root_is_an_error_and_not_a_number():
    """Where nothing balances, it is said what was sought; no NaN comes back."""
    with pytest.raises(NoSolutionError, match="No speed was found"):
        falling_root(lambda x, a: a + 0.0 * x, np.array(0.0), np.array(1.0), [np.array([1.0, -1.0])], sought="speed")
