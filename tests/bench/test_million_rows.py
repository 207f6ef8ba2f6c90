"""A logger's million rows: read, fitted, and timed against the plain routes to the same numbers."""

import time

import numpy as np
import pytest
from scipy import optimize

from labkit.bench import read_bench
from labkit.fitting import fit_motor

pytestmark = pytest.mark.core

R, K, FRICTION, VISCOUS = 2.8, 5.4e-3, 0.5e-3, 1e-7


def _logged(rows):
    """Return the text of a logged free run whose voltage is turned up and down: time, voltage, current, speed."""
    rng = np.random.default_rng(8)
    t = np.arange(rows) * 1e-3
    voltage = 4.0 + 2.0 * np.sin(2 * np.pi * t / t[-1])
    speed = (voltage - R * FRICTION / K) / (K + R * VISCOUS / K)
    current = (FRICTION + VISCOUS * speed) / K + 0.003 * rng.standard_normal(rows)
    voltage = R * current + K * speed + 0.01 * rng.standard_normal(rows)
    rpm = speed * 30 / np.pi
    body = "\n".join(map("{:.3f},{:.3f},{:.4f},{:.1f}".format, t, voltage, current, rpm))
    return (
        "table: locked rotor\nvoltage [V], current [mA]\n0.419,150\n1.121,400\n0.561,200\n0.842,300\n\n"
        f"table: free running\ntime [s], voltage [V], current [A], speed [rpm]\n{body}\n"
    )


def _best(action, times):
    """Return the least time that *action* took, and what it gave."""
    least, result = np.inf, None
    for _ in range(times):
        start = time.process_time()
        result = action()
        least = min(least, time.process_time() - start)
    return least, result


def _check(path, rows):
    """Read and fit *rows* rows; return the times of reading, fitting and of the plain routes."""
    lines = path.read_text(encoding="utf-8").split("\n")[9:-1]
    reading, record = _best(lambda: read_bench(path), 4)
    plain_reading, _ = _best(lambda: np.loadtxt(lines, delimiter=","), 4)
    fitting, fit = _best(lambda: fit_motor(record), 2)
    table = record.free_running
    v, i, w = table.si("voltage"), table.si("current"), table.si("speed")

    def plain(x):
        return np.concatenate(((v - x[0] * i - x[1] * w) / 0.01, (i - x[2] - x[3] * w) / 0.003))

    plain_fitting, found = _best(
        lambda: optimize.least_squares(plain, [2.0, 5e-3, 0.1, 0.0], x_scale=[1.0, 1e-3, 0.1, 1e-5]), 1
    )

    assert len(table) == rows
    assert len(table.line) == rows
    assert fit.value["emf_constant"].magnitude == pytest.approx(K, rel=2e-3)
    assert fit.value["viscous_friction"].magnitude == pytest.approx(VISCOUS, rel=0.05)
    assert fit.value["viscous_friction"].magnitude == pytest.approx(
        found.x[3] * fit.value["emf_constant"].magnitude, rel=0.01
    )
    return reading, plain_reading, fitting, plain_fitting


def test_hundred_thousand_rows(tmp_path):
    """A logger file of 100 000 rows is read in at most three times what numpy takes for its numbers alone."""
    path = tmp_path / "log.csv"
    path.write_text(_logged(100_000), encoding="utf-8")
    reading, plain_reading, _, _ = _check(path, 100_000)

    assert reading < 3 * plain_reading + 0.2


def test_one_bad_row_among_many_is_found_at_speed(tmp_path):
    """One bad row in 100 000 is listed with its line, and does not slow the others down tenfold."""
    path = tmp_path / "log.csv"
    text = _logged(100_000)
    path.write_text(text, encoding="utf-8")
    sound, _ = _best(lambda: read_bench(path), 2)
    lines = text.split("\n")
    lines[70_000] = "70.0,oops,0.1,9000"
    path.write_text("\n".join(lines), encoding="utf-8")
    spoiled, record = _best(lambda: read_bench(path), 2)

    assert [problem.line for problem in record.problems if problem.line] == [9, 70_001]
    assert len(record.free_running) == 99_999
    assert spoiled < 4 * sound + 0.3


@pytest.mark.slow
def test_million_rows(tmp_path):
    """A million rows are read in three times what numpy takes for the numbers, and fitted in four times scipy's fit."""
    path = tmp_path / "log.csv"
    path.write_text(_logged(1_000_000), encoding="utf-8")
    reading, plain_reading, fitting, plain_fitting = _check(path, 1_000_000)

    assert reading < 3 * plain_reading
    assert fitting < 4 * plain_fitting
