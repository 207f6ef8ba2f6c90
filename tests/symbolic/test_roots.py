"""The search for roots: all of them, none beside them, against roots that are known beforehand."""

from __future__ import annotations

import math

import numpy as np
import pytest
import sympy
from scipy.special import lambertw

from labkit.symbolic.roots import real_roots

pytestmark = pytest.mark.core

x = sympy.Symbol("x", positive=True)  # as the table has its symbols: roots below zero are found all the same


def _product(*roots):
    return sympy.prod(x - sympy.Float(root, 30) for root in roots)


@pytest.mark.parametrize(
    ("expression", "roots"),
    [
        (_product(-3, 2, 50), [-3, 2, 50]),
        (_product(1e-9, 1e9), [1e-9, 1e9]),
        (_product(1e-3, 1.1e-3), [1e-3, 1.1e-3]),
        (_product(1e3, 1.1e3), [1e3, 1.1e3]),
        (_product(7, 7), [7]),
        (_product(1000, 1000.0001), [1000]),  # a ten-millionth apart: one
        ((x**2 + 1) * _product(4), [4]),
        ((x**2 - 2e-9 * x + 2e-18) * _product(4), [4]),  # a small pair that is not real
        (_product(5) / _product(2), [5]),
        (1 / x, []),
        (sympy.Integer(3), []),
        (sympy.sqrt(x - 2) - 1, [3]),
        (sympy.log(x / 3) ** 2, [3]),
        (sympy.log(x / 3) ** 2 + 1e-9, []),  # near zero, and not there
        (sympy.exp(x) + sympy.exp(-x) - 2 * math.cosh(1e-2), [-1e-2, 1e-2]),
        (sympy.log(3 - x) + 10, [3 - math.exp(-10)]),
        (sympy.log(x - 3) + 25, [3 + math.exp(-25)]),
        (sympy.LambertW(x) + 0.5, [-0.5 * math.exp(-0.5)]),  # below -1/e it is complex, and passes -0.5 once more
        (x + 5 + 1 / sympy.log(x / 3), [2.631561803438016]),  # x = 3·exp(-1/(x + 5)), iterated; at 3 is a pole
    ],
    ids=str,
)
def test_roots_that_are_known_are_found(expression, roots):
    """Near each other and far apart, double, below zero, just beside an edge; no pole is taken for a root."""
    assert real_roots(expression, x) == pytest.approx(roots, rel=1e-6)


@pytest.mark.parametrize("height", [1e-6, 0.1, 0.3, 0.36])
def test_both_branches_of_lambert_w(height):
    """x·exp(-x) passes each height below 1/e twice: scipy's W has the two places, on its two branches."""
    places = [float(np.real(-lambertw(-height, branch))) for branch in (0, -1)]

    assert real_roots(x * sympy.exp(-x) - height, x) == pytest.approx(places, rel=1e-9)
