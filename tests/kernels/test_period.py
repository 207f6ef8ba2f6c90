"""A sampled switching period against Kirchhoff's law, round the motor and round the rest of the loop."""

from __future__ import annotations

import numpy as np
import pytest

from labkit._kernels.chopper import ChopperSI
from labkit._kernels.waveform import period_samples

pytestmark = pytest.mark.core

LOOP = ChopperSI(
    supply_voltage=6.0, resistance=2.8, inductance=0.9e-3, brush_drop=0.2, switch_resistance=0.3, switch_drop=0.1,
    diode_drop=0.5, diode_resistance=0.7, source_resistance=0.4, body_diode_drop=np.nan, breakdown_voltage=np.nan,
)  # fmt: skip
EMF = 1.5
POINTS = 4001


@pytest.fixture(scope="module")
def period():
    """Return a period of 0.1 ms, half of it on, that begins with 0.1 A and opens at 0.5 A."""
    return period_samples(LOOP, emf=EMF, frequency=1e4, duty=0.5, start=0.1, peak=0.5, extinction=np.inf, points=POINTS)


@pytest.mark.parametrize("stage", [slice(0, POINTS), slice(POINTS, None)], ids=["on", "off"])
def test_the_motors_voltage_is_what_its_parts_take(period, stage):
    """R·i + L·di/dt + EMF + brush drop, its rate from the samples, is the voltage that is told."""
    time, current, voltage = (np.asarray(column)[stage] for column in period)
    rate = np.gradient(current, time, edge_order=2)

    assert voltage == pytest.approx(
        LOOP.resistance * current + LOOP.inductance * rate + EMF + LOOP.brush_drop, abs=1e-5
    )


def test_the_rest_of_the_loop_takes_what_is_left(period):
    """On: supply less its own and the switch's drops. Off: the diode's drop and slope, the other way round."""
    on, off = period.current[:POINTS], period.current[POINTS:]

    assert period.voltage[:POINTS] == pytest.approx(6.0 - 0.1 - (0.3 + 0.4) * on)
    assert period.voltage[POINTS:] == pytest.approx(-0.5 - 0.7 * off)
    assert (on[0], off[0]) == pytest.approx((0.1, 0.5))
