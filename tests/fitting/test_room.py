"""A room of benches taken together: mean, spread between motors, and who is far off."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import optimize, stats

from labkit._kernels.pooling import far_off, pool
from labkit.bench import bench_record, demo_bench, read_bench, read_bench_text
from labkit.errors import BenchError
from labkit.fitting import fit_motor, fit_room


def test_alike_things_have_the_weighted_mean():
    """Values that agree within their uncertainties have the textbook's weighted mean, and no spread."""
    values, u = np.array([10.0, 10.2, 9.9]), np.array([0.1, 0.2, 0.3])
    pooled = pool(values, u)
    assert pooled.spread == 0
    assert pooled.value == pytest.approx(np.average(values, weights=u**-2.0))
    assert pooled.uncertainty == pytest.approx(np.sum(u**-2.0) ** -0.5)


def test_equal_uncertainties_have_a_closed_form():
    """With one u for all, the mean is the plain mean and the spread what the sample variance leaves: s² − u²."""
    values = np.array([4.0, 7.0, 5.5, 9.0, 6.0])
    pooled = pool(values, np.full(5, 0.5))
    assert pooled.value == pytest.approx(np.mean(values))
    assert pooled.spread == pytest.approx(np.sqrt(np.var(values, ddof=1) - 0.25))
    assert pooled.uncertainty == pytest.approx(np.std(values, ddof=1) / np.sqrt(5))


def test_the_spread_is_the_root_of_its_equation():
    """SciPy's root finder, on the defining equation written out, finds the same spread."""
    chance = np.random.default_rng(4)
    for _ in range(20):
        u = chance.uniform(0.1, 1.0, 8)
        values = chance.normal(3.0, np.hypot(u, 1.5))

        def excess(variance, u=u, values=values):
            weight = 1 / (u**2 + variance)
            return weight @ (values - np.average(values, weights=weight)) ** 2 - 7

        assert pool(values, u).spread == pytest.approx(optimize.brentq(excess, 0, 100) ** 0.5, rel=1e-6)


def test_the_mean_is_as_sure_as_it_says():
    """Of 2000 rooms of eight motors that differ, the range of the mean holds the truth about 95 times in 100."""
    chance = np.random.default_rng(7)
    held = 0
    for _ in range(2000):
        u = chance.uniform(0.2, 1.0, 8)
        pooled = pool(chance.normal(0.0, np.hypot(u, 0.7)), u)
        held += abs(pooled.value) <= stats.t.ppf(0.975, 7) * pooled.uncertainty
    assert 0.93 <= held / 2000 <= 0.98


def test_who_is_far_off():
    """One of six that lies far off is named; of four nobody is, and one whose own doubt is as wide is not."""
    values = np.array([5.40, 5.38, 5.43, 5.36, 5.41, 4.20])
    assert far_off(values, np.full(6, 0.03)).tolist() == [False] * 5 + [True]
    assert not far_off(values[2:], np.full(4, 0.03)).any()
    assert not far_off(values, np.array([0.03] * 5 + [0.6])).any()


# --- from readings --------------------------------------------------------------------------------


def _bench(chance, *, resistance=2.8, emf_constant=5.4e-3, torque=5.3e-4):
    """Return the text of one bench's file, worked out from v = R·i + k·ω and k·i = T with scatter."""
    held = "".join(
        f"{place}, {resistance * amps * (1 + 0.02 * chance.normal()):.4f}, {amps}\n"
        for place in range(1, 7)
        for amps in (0.15, 0.4)
    )
    amps = torque / emf_constant
    free = ""
    for volts in (2.0, 3.0, 4.0, 5.0, 6.0):
        rpm = (volts - resistance * amps) / emf_constant * 60 / (2 * np.pi)
        free += (
            f"{volts}, {1000 * amps * (1 + 0.01 * chance.normal()):.1f}, {rpm * (1 + 0.002 * chance.normal()):.0f}\n"
        )
    return (
        f"table: locked rotor\nposition, voltage [V], current [A]\n{held}\n"
        f"table: free running\nvoltage [V], current [mA], speed [rpm]\n{free}"
    )


@pytest.fixture(scope="module")
def room():
    """Eight benches whose motors differ by 3 % in R; the sixth counts its fan's blades wrongly, so that k is off."""
    chance = np.random.default_rng(2)
    ohms = 2.8 * (1 + 0.03 * np.array([-1.2, 0.4, 0.9, -0.3, 1.1, -0.8, 0.2, -0.3]))
    texts = [_bench(chance, resistance=r, emf_constant=4.1e-3 if n == 5 else 5.4e-3) for n, r in enumerate(ohms)]
    return fit_room(read_bench_text(text) for text in texts)


def test_a_room_finds_the_mean_motor_and_names_who_is_off(room):
    """The mean k holds the true one, without the bench that is far off; R spreads about as much as was put in."""
    k, ohms = room.constants["emf_constant"], room.constants["resistance"]
    assert len(room.fits) == 8
    assert len(k.set_aside) == 1
    assert list(room.fits).index(k.set_aside[0]) == 5
    assert abs(k.value.m_as("V*s/rad") - 5.4e-3) <= k.expanded_uncertainty.m_as("V*s/rad")
    assert ohms.set_aside == ()
    assert ohms.spread.m_as("ohm") == pytest.approx(0.03 * 2.8 * 0.8, rel=0.5)


def test_one_motor_read_at_four_benches_is_fitted_as_if_in_one():
    """Two routes: the pooled constants of one motor's four files agree with one fit of all their readings together."""
    chance = np.random.default_rng(9)
    records = [read_bench_text(_bench(chance)) for _ in range(4)]
    together = fit_motor(bench_record(*(table for record in records for table in record.tables)))
    room = fit_room(records)
    for name in ("resistance", "emf_constant"):
        pooled = room.constants[name]
        gap = abs((pooled.value - together.value[name]).to_base_units().magnitude)
        assert gap < 2 * together.standard_uncertainty[name].to_base_units().magnitude


def test_benches_that_give_nothing_are_named():
    """A file without steady readings is listed with the reason, and a room of such files is refused."""
    empty = bench_record(source="empty.csv")
    room = fit_room([read_bench(demo_bench()), empty])
    assert list(room.fits) == ["fan_motor.csv"]
    assert "no steady readings" in room.unfit["empty.csv"]
    assert room.constants == {}
    with pytest.raises(BenchError, match=r"No bench gives a constant\. empty\.csv: "):
        fit_room([empty])
