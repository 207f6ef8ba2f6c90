"""A million rows from an oscilloscope and from a logger: read, and fitted, against plain routes to the same numbers.

Reading is compared with ``numpy.loadtxt`` on the same rows, a transient's fit with ``scipy.optimize.least_squares`` on
the same points and the same law, the steady fit with that solver on the two balances. Process time, the best of three.
"""

from __future__ import annotations

import pathlib
import tempfile
import time

import numpy as np
from scipy import optimize

from labkit import fit_motor, fit_trace, read_bench

ROWS, TURNS = 1_000_000, 3
R, L, K, FRICTION, VISCOUS = 2.8, 0.9e-3, 5.4e-3, 0.5e-3, 1e-7
HELD = "table: locked rotor\nvoltage [V], current [mA]\n0.419,150\n1.121,400\n0.561,200\n0.842,300\n\n"


def best(action):
    """Return the least process time of several turns, and what came out."""
    least, result = np.inf, None
    for _ in range(TURNS):
        begin = time.process_time()
        result = action()
        least = min(least, time.process_time() - begin)
    return least, result


def written(folder, name, header, columns):
    """Write a bench file of these columns, and return its path and its rows as lines."""
    lines = [",".join(cells) for cells in zip(*columns, strict=True)]
    path = pathlib.Path(folder) / f"{name}.csv"
    path.write_text(f"{HELD}{header}\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return path, lines


def rise(folder):
    """Return reading and fitting of a current rise against the plain routes."""
    rng = np.random.default_rng(3)
    t = np.arange(ROWS) * 2e-9
    i = 0.5 * (1 - np.exp(-t * R / L)) + 2e-3 * rng.standard_normal(ROWS)
    header = "table: current rise\ntime [us], current [mA]"
    path, lines = written(folder, "rise", header, (map("{:.3f}".format, 1e6 * t), map("{:.2f}".format, 1e3 * i)))
    reading, record = best(lambda: read_bench(path))
    plain_reading, _ = best(lambda: np.loadtxt(lines, delimiter=","))
    trace, steady = record.traces[0], fit_motor(record)
    fitting, found = best(lambda: fit_trace(trace, steady))
    time_read, current_read = trace.si("time"), trace.si("current")

    def missed(x):
        return x[0] * (1 - np.exp(-time_read / x[1])) - current_read

    plain, other = best(lambda: optimize.least_squares(missed, [0.4, 5e-4], x_scale=[1.0, 1e-3]))
    apart = abs(found.time_constant.to("s").magnitude / other.x[1] - 1)
    return [
        ("read_bench, a million rows of two columns", plain_reading / reading, "numpy.loadtxt on the same rows"),
        (
            f"fit_trace, a current rise of a million samples; time constants apart by {apart:.0e}",
            plain / fitting,
            "scipy.optimize.least_squares on the same points",
        ),
    ]


def free(folder):
    """Return the steady fit of a logged free run against the plain solver."""
    rng = np.random.default_rng(8)
    voltage = 4.0 + 2.0 * np.sin(np.linspace(0, 2 * np.pi, ROWS))
    speed = (voltage - R * FRICTION / K) / (K + R * VISCOUS / K)
    current = (FRICTION + VISCOUS * speed) / K + 0.003 * rng.standard_normal(ROWS)
    voltage = R * current + K * speed + 0.01 * rng.standard_normal(ROWS)
    columns = (map(form.format, one) for form, one in (("{:.3f}", voltage), ("{:.4f}", current), ("{:.2f}", speed)))
    path, _ = written(folder, "free", "table: free running\nvoltage [V], current [A], speed [rad/s]", columns)
    record = read_bench(path)
    fitting, fit = best(lambda: fit_motor(record))
    table = record.free_running
    v, i, w = table.si("voltage"), table.si("current"), table.si("speed")

    def missed(x):
        return np.concatenate(((v - x[0] * i - x[1] * w) / 0.01, (i - x[2] - x[3] * w) / 0.003))

    plain, other = best(lambda: optimize.least_squares(missed, [2.0, 5e-3, 0.1, 0.0], x_scale=[1.0, 1e-3, 0.1, 1e-5]))
    apart = abs(fit.value["emf_constant"].magnitude / other.x[1] - 1)
    name = f"fit_motor, a free run of a million rows, uncertainties included; k apart by {apart:.0e}"
    return [(name, plain / fitting, "scipy.optimize.least_squares on the same points, no uncertainties")]


def run():
    """Return the ratios, above 1 where the kit takes less time."""
    with tempfile.TemporaryDirectory() as folder:
        return [*rise(folder), *free(folder)]
