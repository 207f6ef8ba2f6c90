"""Tables that are computed by themselves: against closed forms, drawn benches, and readings that cannot be."""

import runpy
from pathlib import Path

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import solve_ivp

from labkit.bench import BenchTable, bench_record, demo_bench, read_bench
from labkit.errors import BenchError
from labkit.fitting import draw_motors, fit_motor, fit_table, fit_tables, inertia_from_disc, predict, warmth_of
from labkit.units import Q_

pytestmark = pytest.mark.core

FINE = {"voltage": Q_(1e-7, "V"), "current": Q_(1e-9, "A")}


def _line(kind, current, voltage, **record):
    table = BenchTable(kind=kind, voltage=Q_(list(voltage), "V"), current=Q_(list(current), "A"), step=FINE)
    return fit_table(table, bench_record(table, **record))


def _si(constant, what="value"):
    return float(getattr(constant, what).to_base_units().magnitude)


def test_source_is_a_regression_line():
    """Open voltage and inner resistance, with their uncertainties, are those of a textbook regression line."""
    current = np.array([0.0, 0.1, 0.2, 0.3, 0.4, 0.5])
    voltage = np.array([6.102, 6.041, 5.968, 5.915, 5.841, 5.790])
    found, line = _line("source resistance", current, voltage), stats.linregress(current, voltage)

    assert _si(found["internal_resistance"]) == pytest.approx(-line.slope)
    assert _si(found["open_voltage"]) == pytest.approx(line.intercept)
    assert _si(found["internal_resistance"], "standard_uncertainty") == pytest.approx(line.stderr)
    assert _si(found["open_voltage"], "standard_uncertainty") == pytest.approx(line.intercept_stderr)
    assert found["open_voltage"].coverage_factor == pytest.approx(stats.t.ppf(0.975, 4))


def test_meters_add_their_own_errors():
    """0.5 % of a voltmeter and 1 % of an ammeter, as limits of rectangles, add √(0.5² + 1²)/√3 % to the resistance."""
    current = np.linspace(0, 0.5, 6)
    found = _line("source resistance", current, 6.1 - 0.64 * current, meters={"voltmeter": "0.5 %", "ammeter": "1 %"})[
        "internal_resistance"
    ]

    assert _si(found, "standard_uncertainty") / _si(found) == pytest.approx(
        np.hypot(0.005, 0.01) / np.sqrt(3), rel=0.02
    )
    assert found.coverage_factor == pytest.approx(1.96, abs=0.01)


@pytest.mark.parametrize("kind", ["source resistance", "diode drop", "transistor on"])
def test_intervals_hold_the_truth(kind):
    """Over 400 drawn tables of 5 readings, 92 to 98 in 100 of the 95 % intervals hold the true resistance."""
    rng, hits = np.random.default_rng(6), 0
    current = np.linspace(0.1, 0.6, 5)
    sign, level = {"source resistance": (-1, 6.1), "diode drop": (1, 0.7), "transistor on": (1, 0.0)}[kind]
    name = {
        "source resistance": "internal_resistance",
        "diode drop": "slope_resistance",
        "transistor on": "on_resistance",
    }
    for _ in range(400):
        voltage = level + sign * 0.4 * current + 0.01 * rng.standard_normal(5)
        found = _line(kind, current, voltage)[name[kind]]
        hits += abs(_si(found) - 0.4) <= _si(found, "expanded_uncertainty")

    assert 0.92 <= hits / 400 <= 0.98


def test_starting_voltage_is_a_mean_and_says_what_starts_nearly_all():
    """Mean and s/√n over positions; the voltage for 95 of 100 is the one-sided prediction bound (Student's t)."""
    volts = np.array([0.72, 0.80, 0.91, 0.69, 0.77])
    table = BenchTable(kind="starting voltage", voltage=Q_(volts, "V"), step={"voltage": Q_(1e-6, "V")})
    found = fit_table(table, bench_record(table))
    bound = volts.mean() + stats.t.ppf(0.95, 4) * volts.std(ddof=1) * np.sqrt(1 + 1 / 5)

    assert _si(found["starting_voltage"]) == pytest.approx(volts.mean())
    assert _si(found["starting_voltage"], "standard_uncertainty") == pytest.approx(stats.sem(volts))
    assert f"{bound:.3g} V" in found.sentences[0]


def test_warming_case_with_a_minute_left_out():
    """Two thirds of a climb give its end and its time constant; with the heat, the thermal resistance."""
    time = np.linspace(0, 150, 12)
    rng = np.random.default_rng(1)
    celsius = 22 + 27 * (1 - np.exp(-time / 90)) + 0.05 * rng.standard_normal(12)
    table = BenchTable(kind="case temperature", time=Q_(time, "s"), temperature=Q_(np.round(celsius, 1), "degC"))
    found = fit_table(table, bench_record(table, notes={"heat": "0.45 W"}))

    for name, true in (("temperature_rise", 27.0), ("thermal_time_constant", 90.0), ("thermal_resistance", 60.0)):
        assert abs(_si(found[name]) - true) <= _si(found[name], "expanded_uncertainty")
        assert _si(found[name], "expanded_uncertainty") < 0.15 * true
    assert found["start_temperature"].value.to("degC").magnitude == pytest.approx(22, abs=0.3)
    rise, each = (_si(found[name], "standard_uncertainty") for name in ("temperature_rise", "thermal_resistance"))
    assert each == pytest.approx(rise / 0.45)


@pytest.mark.parametrize("resolution", ["0.1 °C", "0.1 K"])
def test_a_step_of_a_thermometer_is_a_difference(resolution):
    """A resolution of 0.1 °C is a tenth of a kelvin, not 273.25 K: two counts are 0.2/√3 K of the start."""
    time = np.arange(9) * 30.0
    table = BenchTable(
        kind="case temperature", time=Q_(time, "s"), temperature=Q_(22 + 27 * (1 - 0.7 ** (time / 30)), "degC")
    )
    found = fit_table(table, bench_record(table, meters={"thermometer": f"2 counts, resolution {resolution}"}))

    assert _si(found["start_temperature"], "standard_uncertainty") == pytest.approx(0.2 / np.sqrt(3), rel=0.1)
    assert _si(found["temperature_rise"]) == pytest.approx(27, rel=0.01)


def test_disc_gives_inertia_and_friction():
    """Two integrated coast-downs, one with a disc of ½·m·r², give inertia and friction without any other constant."""
    J, F, c, disc = 1.2e-6, 5e-4, 1.5e-7, 0.5 * 5.20e-3 * 12.0e-3**2
    time = np.linspace(0, 0.9, 30)

    def trace(kind, inertia):
        run = solve_ivp(lambda _, w: -(F + c * w) / inertia, (0, 0.9), [850.0], t_eval=time, rtol=1e-10, atol=1e-9)
        return BenchTable(kind=kind, time=Q_(time, "s"), speed=Q_(run.y[0], "rad/s"))

    traces = trace("coast down", J), trace("coast down with disc", J + disc)
    notes = {"disc mass": "5.20 g", "disc radius": "12.0 mm"}
    found = inertia_from_disc(bench_record(*traces, notes=notes))

    for name, true in (("inertia", J), ("friction_torque", F), ("viscous_friction", c)):
        assert _si(found[name]) == pytest.approx(true, rel=1e-4)
    # 0.01 g in 5.20 g and twice 0.1 mm in 12.0 mm, as limits of rectangles
    relative = np.hypot(0.01 / 5.20, 2 * 0.1 / 12.0) / np.sqrt(3)
    assert _si(found["inertia"], "standard_uncertainty") / J == pytest.approx(relative, rel=0.01)
    with pytest.raises(BenchError, match="disc mass"):
        inertia_from_disc(bench_record(*traces))
    with pytest.raises(BenchError, match="swapped"):
        inertia_from_disc(bench_record(trace("coast down", J + disc), trace("coast down with disc", J), notes=notes))


@pytest.mark.parametrize(
    ("kind", "current", "voltage", "words"),
    [
        ("source resistance", [0.1, 0.4], [5.0, 6.0], "cannot be"),
        ("source resistance", [0.4, 0.41], [5.0, 5.1], "loads that differ"),
        ("pin resistance", [1e-3], [3.2], "nothing yet"),
        ("diode drop", [0.1, 0.3, 0.5], [0.9, 0.81, 0.7], "cannot be"),
    ],
)
def test_tables_that_cannot_be_are_refused(kind, current, voltage, words):
    """A source that rises under load, loads all alike, one reading, and a diode that falls are refused in words."""
    with pytest.raises(BenchError, match=words):
        _line(kind, current, voltage)


def test_a_part_that_does_not_climb_is_refused():
    """A temperature that falls, or still climbs straight, has no end to be told."""
    time = np.linspace(0, 60, 8)
    for celsius in (40 - 0.1 * time, 22 + 0.1 * time, np.full(8, 22.0)):
        table = BenchTable(kind="case temperature", time=Q_(time, "s"), temperature=Q_(celsius, "degC"))
        with pytest.raises(BenchError, match="climb towards an end"):
            fit_table(table, bench_record(table))


def test_times_that_do_not_differ_are_refused():
    """Readings that all stand at time 0 make no climb."""
    table = BenchTable(kind="case temperature", time=Q_(np.zeros(6), "s"), temperature=Q_(np.arange(6.0), "degC"))
    with pytest.raises(BenchError, match="times that differ"):
        fit_table(table, bench_record(table))


@pytest.mark.parametrize("voltage", [[0.701, 0.699, 0.699, 0.701], [0.702, 0.699, 0.700, 0.699]], ids=["flat", "falls"])
def test_a_slope_too_small_to_be_told_is_said(voltage):
    """A diode whose drop does not change with current, or falls by chance, has a slope of zero ± something."""
    found = _line("diode drop", [0.1, 0.2, 0.3, 0.4], voltage)

    assert _si(found["slope_resistance"]) < _si(found["slope_resistance"], "expanded_uncertainty")
    assert "not told from zero" in found.sentences[-1]


def test_a_reading_that_decides_alone_is_named():
    """Four loads near each other and one far off: the far one sets the slope, and no scatter would show its slip."""
    current = [0.0, 0.1, 0.2, 0.3, 8.0]
    found = _line("source resistance", current, [6.1, 6.036, 5.972, 5.908, 0.98])

    assert any("line 5 decides" in sentence for sentence in found.sentences)
    assert not _line("source resistance", current[:4], [6.1, 6.036, 5.972, 5.908]).sentences


def test_one_current_gives_the_drop_there():
    """A diode read at one current has a mean drop and no line."""
    found = _line("diode drop", [0.400, 0.401, 0.399], [0.71, 0.72, 0.70])

    assert [constant.name for constant in found.constants] == ["drop"]
    assert _si(found["drop"]) == pytest.approx(0.71)


def test_supplied_readings_hold_the_truth_behind_them():
    """Each constant of the supplied file of parts lies within ± U of what its script states."""
    script = runpy.run_path(str(Path(__file__).parents[1] / "bench" / "make_demo_bench.py"))
    record = read_bench(demo_bench("drive_parts"))
    found = {one.name: one for fit in fit_tables(record) for one in fit.constants}

    assert record.problems == ()
    assert set(script["PARTS"]) <= set(found)
    for name, true in script["PARTS"].items():
        assert abs(_si(found[name]) - true) <= _si(found[name], "expanded_uncertainty"), name


# --- the winding's temperature --------------------------------------------------------------------


def _noted(simulate_bench, text):
    return fit_motor(bench_record(*simulate_bench(3).tables, notes={"winding temperature": text}))


def test_resistance_is_referred_to_25_degrees(simulate_bench):
    """A winding read at 65 °C has 1.177 times its resistance at 20 °C, 1.020 times at 25 °C (IEC 60028: 0.00393/K)."""
    cold, warm = _noted(simulate_bench, "25 °C"), _noted(simulate_bench, "65 °C")
    ratio = (1 + 0.00393 * 45) / (1 + 0.00393 * 5)

    assert warm.value["resistance"] == cold.value["resistance"]
    assert (cold.motor.resistance / warm.motor.resistance).magnitude == pytest.approx(ratio)
    assert cold.motor.resistance == cold.value["resistance"]
    drawn = np.mean([one.resistance.magnitude for one in draw_motors(warm, count=400, seed=1)])
    assert drawn == pytest.approx(warm.motor.resistance.magnitude, rel=0.01)
    speeds = [predict(fit, voltage=Q_("5 V"))["speed"].value for fit in (cold, warm)]
    assert speeds[0] == speeds[1]  # a prediction holds for the winding as warm as it was read


@pytest.mark.parametrize("text", ["warm", "22 V", "900 °C", "nan degC"])
def test_a_temperature_that_cannot_be_is_listed(simulate_bench, text):
    """A note that is no temperature of a winding changes nothing and is told."""
    fit = _noted(simulate_bench, text)

    assert warmth_of(fit.record).factor == 1.0
    assert any("winding temperature" in str(problem) for problem in fit.problems)


def test_all_tables_of_a_record_at_once(simulate_bench):
    """Tables of parts stand beside those of the motor in one record, and disturb neither."""
    source = BenchTable(kind="source resistance", voltage=Q_([6.1, 5.9, 5.6], "V"), current=Q_([0, 0.27, 0.69], "A"))
    alone, both = simulate_bench(4), bench_record(*simulate_bench(4).tables, source)

    assert fit_motor(both).value == fit_motor(alone).value
    assert [found.kind for found in fit_tables(both)] == ["source resistance"]
    assert fit_tables(alone) == ()
