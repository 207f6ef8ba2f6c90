"""Simulated benches: a known motor, read by meters that err and at rotor positions that differ."""

import numpy as np
import pytest

from labkit.bench import BenchTable, bench_record
from labkit.units import Q_

#: In SI: what every simulated bench measures.
TRUTH = {
    "resistance": 2.8,
    "brush_drop": 0.15,
    "emf_constant": 5.4e-3,
    "friction_torque": 0.45e-3,
    "viscous_friction": 1.5e-7,
}


def _free_point(voltage):
    """Return current and speed of the true motor, unloaded, on these voltages."""
    R, B, k, F, c = TRUTH.values()
    speed = (voltage - B - R * F / k) / (k + R * c / k)
    return (F + c * speed) / k, speed


def simulate_bench(
    seed, *, positions=8, free=8, driven=6, meters=False, scatter=1.0, digits=(3, 0, 2, 0), film=0, label=True
):
    """Return a record of invented readings.

    Parameters
    ----------
    seed : int
    positions, free, driven : int
        Rotor positions (two currents each), free runs and generator readings; 0 leaves the table out.
    meters : bool
        Whether the meters have scale errors within their stated accuracy.
    scatter : float
        Times the usual scatter; 0 for none.
    digits : tuple of int
        Decimals of locked voltage [V], current [mA], free and generator voltage [V], speed [rpm].
    film : int
        Rotor positions at which a contact film trebles the voltage of the first reading.
    label : bool
        Whether positions are told.
    """
    rng = np.random.default_rng(seed)
    R, B, k, _, _ = TRUTH.values()
    volts, amps, turns = 1 + (rng.uniform(-1, 1, 3) * [0.005, 0.01, 0.0005] if meters else np.zeros(3))
    tables = []
    if positions:
        own = np.repeat(R * (1 + 0.05 * scatter * rng.standard_normal(positions)), 2)
        current = np.tile([0.15, 0.40], positions) * (1 + 0.05 * rng.standard_normal(2 * positions))
        voltage = own * current + B + 0.003 * scatter * rng.standard_normal(2 * positions)
        voltage[: 2 * film : 2] *= 3
        tables.append(
            BenchTable(
                kind="locked rotor",
                voltage=Q_(np.round(voltage * volts, digits[0]), "V"),
                current=Q_(np.round(current * amps * 1e3, digits[1]), "mA"),
                position=np.repeat(np.arange(positions), 2).astype(float) if label else None,
            )
        )
    if free:
        current, speed = _free_point(np.linspace(2, 6, free))
        current = current + 0.002 * scatter * rng.standard_normal(free)
        voltage = R * current + B + k * speed + 0.02 * scatter * rng.standard_normal(free)
        tables.append(
            BenchTable(
                kind="free running",
                voltage=Q_(np.round(voltage * volts, digits[2]), "V"),
                current=Q_(np.round(current * amps * 1e3, digits[1]), "mA"),
                speed=Q_(np.round(speed * turns * 30 / np.pi, digits[3]), "rpm"),
            )
        )
    if driven:
        speed = np.linspace(150, 900, driven)
        voltage = k * speed + 0.015 * scatter * rng.standard_normal(driven)
        tables.append(
            BenchTable(
                kind="generator",
                speed=Q_(np.round(speed * turns * 30 / np.pi, digits[3]), "rpm"),
                voltage=Q_(np.round(voltage * volts, digits[2]), "V"),
            )
        )
    stated = {"voltmeter": "0.5 %", "ammeter": "1 %", "tachometer": "0.05 %"}
    return bench_record(*tables, source="simulated", meters=stated if meters else None)


@pytest.fixture(name="simulate_bench", scope="session")
def _simulate_bench():
    """Return the function that makes a bench."""
    return simulate_bench


@pytest.fixture(scope="session")
def truth():
    """Return the constants behind every simulated bench, in SI."""
    return dict(TRUTH)
