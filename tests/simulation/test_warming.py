"""A junction that warms: against numerical integration, and against the balance it settles at."""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Mosfet
from labkit.simulation import junction_temperature, junction_warming
from labkit.units import Q_

pytestmark = pytest.mark.core

PART = Mosfet(on_resistance="0.2 ohm", junction_to_ambient="62 K/W")


@pytest.mark.parametrize("amps", [0.0, 1.5, 3.9, 4.0160966, 5.0])
def test_the_climb_is_that_of_the_differential_equation(amps):
    """Closed form against scipy's integration, for settling, for the edge of runaway, and beyond it."""
    times = np.linspace(0.0, 120.0, 13)

    def slope(_time, celsius):
        power = amps**2 * 0.2 * (1 + 0.005 * (celsius - 25.0)) + 0.1
        return (40.0 + 62.0 * power - celsius) / 60.0

    expected = solve_ivp(slope, (0, 120), [40.0], t_eval=times, rtol=1e-11, atol=1e-11).y[0]
    given = {"time_constant": "60 s", "ambient": "40 degC", "other_loss": "0.1 W"}
    climbed = junction_warming(PART, Q_(amps, "A"), Q_(times, "s"), **given)

    np.testing.assert_allclose(climbed.m_as("degC"), expected, rtol=0, atol=1e-6)


@pytest.mark.parametrize("amps", [0.5, 1.5, 2.5])
def test_it_ends_where_heat_in_and_heat_out_balance(amps):
    """After many time constants the climb has reached the fixed point, which is found another way."""
    settled = junction_temperature(PART, Q_(amps, "A")).temperature

    late = junction_warming(PART, Q_(amps, "A"), "10 hour", time_constant="60 s")

    assert late.m_as("degC") == pytest.approx(settled.m_as("degC"), abs=1e-6)


def test_a_transistor_that_stays_off_and_a_missing_path_are_refused():
    """Below the threshold there is no on-resistance, and without a thermal resistance no temperature."""
    with pytest.raises(NoSolutionError, match="stays off"):
        junction_warming(
            Mosfet(on_resistance=[("4 V", "1 ohm")], threshold="2 V"),
            "1 A",
            "1 s",
            time_constant="60 s",
            gate_voltage="1 V",
        )
    with pytest.raises(PartError, match="junction_to_ambient"):
        junction_warming(Mosfet(on_resistance="1 ohm"), "1 A", "1 s", time_constant="60 s")
