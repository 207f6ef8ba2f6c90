"""Transients: inductance and inertia, against an integrated motor and against hand sums."""

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import solve_ivp

from labkit.bench import BenchTable, bench_record, read_bench_text
from labkit.errors import BenchError
from labkit.fitting import fit_motor, fit_trace
from labkit.units import Q_

pytestmark = pytest.mark.core

L, J = 0.9e-3, 1.2e-6


@pytest.fixture(scope="module")
def fit(simulate_bench):
    """Return a steady fit that knows the motor exactly."""
    return fit_motor(simulate_bench(0, scatter=0.0, digits=(13, 10, 13, 9)))


def _integrated(truth, *, voltage, duration, held=False, start=0.0, opened=False, samples=400):
    """Return times, currents and speeds of the true motor, integrated numerically from its two balances."""
    R, B, k, F, c = truth.values()

    def slope(_, state):
        i, w = state
        di = 0.0 if opened else (voltage - R * i - B - k * w) / L
        net = k * i - F - c * w
        return di, 0.0 if held or (w <= 0 and net < 0) else net / J

    t = np.linspace(0, duration, samples)
    found = solve_ivp(slope, (0, duration), (0.0, start), t_eval=t, rtol=1e-9, atol=1e-12, method="DOP853")
    return t, found.y[0], found.y[1]


def _trace(kind, t, **columns):
    units = {"current": "A", "speed": "rad/s"}
    return BenchTable(kind=kind, time=Q_(t, "s"), **{name: Q_(values, units[name]) for name, values in columns.items()})


def test_inductance_from_a_current_rise(fit, truth):
    """The inductance of an integrated current rise comes back, and does not depend on the brush drop."""
    t, i, _ = _integrated(truth, voltage=3.0, duration=3e-3, held=True)
    found = fit_trace(_trace("current rise", t, current=i), fit)

    assert found.value.to("H").magnitude == pytest.approx(L, rel=1e-5)
    assert found.time_constant.to("s").magnitude == pytest.approx(L / 2.8, rel=1e-5)


def test_inertia_from_a_coast_down(fit, truth):
    """The inertia of an integrated coast-down comes back, constant and viscous friction both counted."""
    t, _, w = _integrated(truth, voltage=0.0, duration=1.2, start=900.0, opened=True)
    found = fit_trace(_trace("coast down", t, speed=w), fit)

    assert found.value.to("kg*m**2").magnitude == pytest.approx(J, rel=1e-5)


def test_inertia_from_a_spin_up(fit, truth):
    """A spin-up gives the inertia to within what neglecting the inductance costs (L/R against τ, here 0.7 %)."""
    t, _, w = _integrated(truth, voltage=6.0, duration=0.5)
    found = fit_trace(_trace("spin up", t, speed=w), fit)

    assert found.value.to("kg*m**2").magnitude == pytest.approx(J, rel=0.02)


def test_constant_friction_makes_a_straight_line(simulate_bench):
    """Without viscous friction J = F/(−dω/dt): a hand sum on a straight coast-down."""
    record = simulate_bench(3)
    free = BenchTable(kind="free running", voltage=Q_([6.0], "V"), current=Q_([0.11], "A"), speed=Q_([1000.0], "rad/s"))
    fit = fit_motor(bench_record(record.locked_rotor, free))
    t = np.linspace(0, 1.0, 50)
    found = fit_trace(_trace("coast down", t, speed=900.0 - 400.0 * t), fit)

    assert "viscous_friction" not in fit.value
    assert found.value.magnitude == pytest.approx(fit.value["friction_torque"].magnitude / 400.0, rel=1e-6)
    relative = (found.standard_uncertainty / found.value).magnitude
    friction = (fit.standard_uncertainty["friction_torque"] / fit.value["friction_torque"]).magnitude
    assert relative == pytest.approx(friction, rel=0.02)
    factor = (found.expanded_uncertainty / found.standard_uncertainty).magnitude
    assert factor == pytest.approx(fit.coverage_factor["friction_torque"], rel=0.01)  # all doubt is the friction's


def test_series_resistance_counts(fit, truth):
    """A shunt in the loop shortens the rise; told in the notes, the inductance is the same."""
    with_shunt = {**truth, "resistance": truth["resistance"] + 1.2}
    t, i, _ = _integrated(with_shunt, voltage=3.0, duration=3e-3, held=True)
    noted = fit_motor(bench_record(*fit.record.tables, notes={"series resistance": "1.2 ohm"}))

    assert fit_trace(_trace("current rise", t, current=i), noted).value.to("H").magnitude == pytest.approx(L, rel=1e-4)
    assert fit_trace(_trace("current rise", t, current=i), fit).value.to("H").magnitude < 0.8 * L


def test_a_shunt_that_tells_the_current_is_in_the_loop(truth):
    """A rise read as volts across a noted shunt of 1.2 Ω gives the inductance without a second note."""
    with_shunt = {**truth, "resistance": truth["resistance"] + 1.2}
    t, i, _ = _integrated(with_shunt, voltage=3.0, duration=3e-3, held=True, samples=60)
    held = "\n".join(
        f"{truth['resistance'] * a + truth['brush_drop']:.6f}, {1.2 * a:.6f}" for a in (0.1, 0.2, 0.3, 0.4)
    )
    rows = "\n".join(f"{1e3 * time:.6f}, {1.2 * current:.7f}" for time, current in zip(t, i, strict=True))
    record = read_bench_text(
        f"shunt: 1.2 ohm\ntable: locked rotor\nvoltage [V], shunt voltage [V]\n{held}\n"
        f"table: current rise\ntime [ms], shunt voltage [V]\n{rows}\n"
    )

    found = fit_trace(record.traces[0], fit_motor(record))
    assert found.value.to("H").magnitude == pytest.approx(L, rel=1e-3)


def test_scatter_of_the_trace_is_in_the_uncertainty(fit, truth):
    """Over 60 noisy rises the scatter of the inductance is that of its stated uncertainty, within a quarter."""
    t, i, _ = _integrated(truth, voltage=3.0, duration=3e-3, held=True, samples=100)
    rng = np.random.default_rng(2)
    found = [fit_trace(_trace("current rise", t, current=i + 0.01 * rng.standard_normal(100)), fit) for _ in range(60)]
    values = np.array([one.value.magnitude for one in found])
    stated = np.mean([one.standard_uncertainty.magnitude for one in found])

    assert values.std(ddof=1) == pytest.approx(stated, rel=0.25)


def test_a_short_trace_has_students_t(fit, truth):
    """With the steady constants known, ± U of a rise is Student's t at two less than its samples, times u."""
    t, i, _ = _integrated(truth, voltage=3.0, duration=3e-3, held=True, samples=10)
    found = fit_trace(_trace("current rise", t, current=i + 0.01 * np.random.default_rng(3).standard_normal(10)), fit)

    factor = (found.expanded_uncertainty / found.standard_uncertainty).magnitude
    assert factor == pytest.approx(stats.t.ppf(0.975, 8), rel=1e-3)


@pytest.mark.parametrize(
    ("kind", "columns"),
    [("current rise", {"current": np.zeros(20)}), ("coast down", {"speed": np.arange(20.0) + 1}),
     ("spin up", {"speed": np.ones(3)})],
)  # fmt: skip
def test_traces_that_follow_no_law_are_refused(fit, kind, columns):
    """No current, a shaft that speeds up while it should run out, and three points give no number."""
    size = len(next(iter(columns.values())))
    with pytest.raises(BenchError, match="trace of"):
        fit_trace(_trace(kind, np.linspace(0, 1, size), **columns), fit)


def test_trace_without_the_steady_constants_is_refused(simulate_bench):
    """A coast-down needs the friction: without free runs it is refused with the constant's name."""
    locked = fit_motor(simulate_bench(1, free=0, driven=0))
    with pytest.raises(BenchError, match="friction torque"):
        fit_trace(_trace("coast down", np.linspace(0, 1, 20), speed=np.linspace(900, 500, 20)), locked)
