"""How often the stated 95 % holds the truth, over a thousand simulated benches (the long suite)."""

import pytest

from labkit.fitting import fit_motor

pytestmark = [pytest.mark.core, pytest.mark.slow]

BENCHES = 1000


def _hits(simulate_bench, truth, **options):
    """Return the share of benches whose interval holds the truth, for each constant."""
    hits, counted = dict.fromkeys(truth, 0), dict.fromkeys(truth, 0)
    for seed in range(BENCHES):
        fit = fit_motor(simulate_bench(10_000 + seed, **options))
        for name, value in fit.value.items():
            counted[name] += 1
            hits[name] += abs(value.magnitude - truth[name]) <= fit.expanded_uncertainty[name].magnitude
    assert min(counted.values()) > 0.95 * BENCHES
    return {name: hits[name] / counted[name] for name in truth}


def test_where_scatter_dominates_the_interval_is_true(simulate_bench, truth):
    """With exact meters, 93 to 97 in 100 intervals hold the truth, for every constant."""
    share = _hits(simulate_bench, truth)

    assert all(0.93 <= part <= 0.97 for part in share.values()), share


def test_where_meters_count_the_interval_is_never_too_small(simulate_bench, truth):
    """With meters anywhere within their stated accuracy, at least 93 in 100 intervals hold the truth."""
    share = _hits(simulate_bench, truth, meters=True, positions=6, free=6, driven=5)

    assert all(part >= 0.93 for part in share.values()), share
