"""The fit of a motor: against closed forms, other routes to the same number, and known truth."""

import numpy as np
import pytest
from scipy import optimize, stats

from labkit._kernels.regression import least_squares
from labkit._kernels.regression_motor import GROUPS, Scatter, derivatives, rough_start, whiten
from labkit.bench import BenchTable, bench_record, read_bench
from labkit.errors import BenchError
from labkit.fitting import fit_motor
from labkit.fitting._design import design_of
from labkit.units import Q_

pytestmark = pytest.mark.core

RPM = np.pi / 30


def _si(fit, what="value"):
    """Return the constants (or their uncertainties) of a fit as floats in SI."""
    return {name: float(quantity.magnitude) for name, quantity in getattr(fit, what).items()}


def _held(voltage, current, **more):
    """Return a table read so finely that only scatter counts."""
    fine = {"voltage": Q_(1e-6, "V"), "current": Q_(1e-6, "A")}
    return BenchTable(
        kind="locked rotor", voltage=Q_(list(voltage), "V"), current=Q_(list(current), "A"), step=fine, **more
    )


def _free(voltage, current, speed):
    return BenchTable(
        kind="free running",
        voltage=Q_(list(voltage), "V"),
        current=Q_(list(current), "A"),
        speed=Q_(list(speed), "rad/s"),
    )


def _driven(speed, voltage):
    fine = {"voltage": Q_(1e-6, "V"), "speed": Q_(1e-3, "rad/s")}
    return BenchTable(kind="generator", speed=Q_(list(speed), "rad/s"), voltage=Q_(list(voltage), "V"), step=fine)


# --- closed forms ---------------------------------------------------------------------------------


def test_one_current_at_several_positions_is_a_mean():
    """At one current the resistance is the mean of V/I, its uncertainty s/√n, with n − 1 degrees of freedom."""
    ohms = np.array([2.61, 2.93, 2.78, 2.70, 3.05, 2.88])
    fit = fit_motor(bench_record(_held(ohms * 0.4, np.full(6, 0.4))))

    assert _si(fit)["resistance"] == pytest.approx(ohms.mean(), rel=1e-6)
    assert _si(fit, "standard_uncertainty")["resistance"] == pytest.approx(ohms.std(ddof=1) / np.sqrt(6), rel=1e-4)
    assert fit.degrees_of_freedom["resistance"] == pytest.approx(5, rel=1e-3)
    assert fit.coverage_factor["resistance"] == pytest.approx(stats.t.ppf(0.975, 5), rel=1e-3)


def test_two_currents_are_a_weighted_line():
    """Resistance and brush drop are slope and intercept, with a scatter that grows with current (V/I against 1/I)."""
    rng = np.random.default_rng(3)
    current = np.array([0.1, 0.1, 0.2, 0.2, 0.3, 0.3, 0.4, 0.4])
    voltage = np.round((2.8 + 0.05 * rng.standard_normal(8)) * current + 0.12, 6)
    fit = fit_motor(bench_record(_held(voltage, current)))
    (drop, resistance), covariance = np.polyfit(1 / current, voltage / current, 1, cov=True)

    assert _si(fit)["resistance"] == pytest.approx(resistance, rel=1e-5)
    assert _si(fit)["brush_drop"] == pytest.approx(drop, rel=1e-4)
    u = _si(fit, "standard_uncertainty")
    assert u["resistance"] == pytest.approx(np.sqrt(covariance[1, 1]), rel=1e-3)
    assert u["brush_drop"] == pytest.approx(np.sqrt(covariance[0, 0]), rel=1e-3)
    assert fit.correlation[0, 1] == pytest.approx(covariance[0, 1] / np.sqrt(np.prod(np.diag(covariance))), abs=1e-3)


def test_repeated_positions_count_as_positions_not_as_readings():
    """Five readings at each of four positions: the uncertainty is that of four means (analysis of variance)."""
    rng = np.random.default_rng(5)
    own = np.array([2.60, 2.95, 2.75, 3.00])
    ohms = own[:, None] + 0.004 * rng.standard_normal((4, 5))
    position = np.repeat(np.arange(4.0), 5)
    fit = fit_motor(bench_record(_held(np.round(ohms.ravel() * 0.4, 6), np.full(20, 0.4), position=position)))
    means = ohms.mean(axis=1)

    assert _si(fit)["resistance"] == pytest.approx(means.mean(), rel=1e-4)
    assert _si(fit, "standard_uncertainty")["resistance"] == pytest.approx(means.std(ddof=1) / 2, rel=0.01)
    assert fit.degrees_of_freedom["resistance"] == pytest.approx(3, rel=0.05)
    assert next(iter(fit.budget["resistance"])) == "scatter between rotor positions"


def test_generator_alone_is_a_line_through_zero():
    """Driven, only k is known: Σ V·ω/Σ ω² with its textbook uncertainty; everything else is said to be unknown."""
    speed = np.array([100.0, 200.0, 300.0, 400.0, 500.0])
    voltage = np.array([0.55, 1.06, 1.63, 2.18, 2.68])
    fit = fit_motor(bench_record(_driven(speed, voltage)))
    k = (voltage @ speed) / (speed @ speed)
    s = np.sqrt(np.sum((voltage - k * speed) ** 2) / 4)

    assert _si(fit) == pytest.approx({"emf_constant": k}, rel=1e-6)
    assert _si(fit, "standard_uncertainty")["emf_constant"] == pytest.approx(s / np.sqrt(speed @ speed), rel=1e-3)
    assert {entry.name for entry in fit.not_identifiable} == {
        "resistance", "brush_drop", "friction_torque", "viscous_friction",
    }  # fmt: skip
    with pytest.raises(BenchError, match="Lock the rotor"):
        _ = fit.motor


def test_the_next_reading_is_the_fastest_and_gains_what_it_adds():
    """Of a line through zero each reading adds ω²: another at the highest speed leaves √(Σω²/(Σω² + ω²)) of u(k)."""
    speed = np.array([100.0, 200.0, 300.0, 400.0, 500.0])
    found = fit_motor(bench_record(_driven(speed, np.array([0.55, 1.06, 1.63, 2.18, 2.68])))).next_reading

    assert (found.table, found.constant, found.source) == ("generator", "emf_constant", "scatter of voltage, generator")
    assert found.at.m_as("rad/s") == pytest.approx(500)
    assert found.gain == pytest.approx(np.sqrt(speed @ speed / (speed @ speed + 500**2)), rel=1e-6)


# --- exact data, and scatter ----------------------------------------------------------------------


def test_exact_readings_give_the_motor_back(simulate_bench, truth):
    """Without scatter and rounding all five constants come out to nine digits."""
    fit = fit_motor(simulate_bench(0, scatter=0.0, digits=(13, 10, 13, 9)))

    assert _si(fit) == pytest.approx(truth, rel=1e-7)
    assert fit.motor.resistance.to("ohm").magnitude == pytest.approx(2.8, rel=1e-7)


def test_residuals_are_what_the_balances_miss(simulate_bench):
    """V − R·I − brush drop − k·ω and I − (friction torque + viscous friction·ω)/k, reading by reading, worked out here.

    Of the held motor they stand against the current, of the turning one against the speed.
    """
    record = simulate_bench(7)
    fit = fit_motor(record)
    R, B, k, F, c = _si(fit).values()
    zero = np.zeros(1)
    told = {(one.table, one.balance): one for one in fit.residuals}
    assert set(told) == {
        ("locked rotor", "voltage"), ("free running", "voltage"), ("free running", "current"), ("generator", "voltage"),
    }  # fmt: skip

    for (kind, balance), one in told.items():
        table = getattr(record, kind.replace(" ", "_"))
        v, i, w = (zero if (read := table.si(name)) is None else read for name in ("voltage", "current", "speed"))
        missed = v - R * i - B * (kind != "generator") - k * w if balance == "voltage" else i - (F + c * w) / k
        assert one.residual.magnitude == pytest.approx(missed, abs=1e-12)
        assert one.against.magnitude == pytest.approx(i if kind == "locked rotor" else w)
        assert list(one.line) == list(table.line)


def test_order_of_readings_and_units_do_not_matter(simulate_bench):
    """Reversed tables in other units give the same constants and uncertainties."""
    record = simulate_bench(7)
    turned = []
    for table in record.tables:
        back = {name: getattr(table, name)[::-1] for name in table.columns}
        for name, unit in (("voltage", "mV"), ("current", "A"), ("speed", "rad/s")):
            if name in back:
                back[name] = back[name].to(unit)
        step = {name: table.step[name] for name in table.columns}
        position = None if table.position is None else table.position[::-1]
        turned.append(BenchTable(kind=table.kind, **back, position=position, step=step))
    first, second = fit_motor(record), fit_motor(bench_record(*turned))

    assert _si(second) == pytest.approx(_si(first), rel=1e-4)
    assert _si(second, "standard_uncertainty") == pytest.approx(_si(first, "standard_uncertainty"), rel=1e-3)


def test_reversed_leads_give_the_same_motor(simulate_bench):
    """Negative voltages, currents and speeds are the same motor turning backwards."""
    record = simulate_bench(7)
    turned = []
    for table in record.tables:
        columns = {name: -getattr(table, name) for name in table.columns}
        turned.append(BenchTable(kind=table.kind, **columns, position=table.position, step=table.step))

    assert _si(fit_motor(bench_record(*turned))) == pytest.approx(_si(fit_motor(record)), rel=1e-9)


def test_more_readings_leave_less_uncertainty(simulate_bench):
    """Four times the readings leave about half the uncertainty."""
    few = _si(fit_motor(simulate_bench(11, positions=10, free=10, driven=10)), "standard_uncertainty")
    many = _si(fit_motor(simulate_bench(11, positions=40, free=40, driven=40)), "standard_uncertainty")

    for name in few:
        assert 0.25 < many[name] / few[name] < 0.85


# --- meters (GUM) ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("source", "quantity", "size"),
    [("voltmeter scale", "voltage", 0.005), ("ammeter scale", "current", 0.01), ("tachometer scale", "speed", 0.0005)],
)
def test_scale_error_of_a_meter_is_what_a_meter_off_by_it_would_do(simulate_bench, source, quantity, size):
    """The budget's line of a meter equals the shift of the constants when all its readings are off by one u."""
    record = simulate_bench(4, meters=True)
    fit, u = fit_motor(record), size / np.sqrt(3)
    shifted = []
    for table in record.tables:
        columns = {name: getattr(table, name) * (1 + u * (name == quantity)) for name in table.columns}
        shifted.append(BenchTable(kind=table.kind, **columns, position=table.position, step=table.step))
    moved = fit_motor(bench_record(*shifted))

    for name, value in _si(fit).items():
        line = fit.budget[name].get(source)
        shift = abs(_si(moved)[name] - value)
        floor = 0.02 * _si(fit, "standard_uncertainty")[name]
        assert (0.0 if line is None else line.magnitude) == pytest.approx(shift, rel=0.05, abs=floor)


def test_a_meter_that_reads_high_cannot_be_averaged_away(simulate_bench):
    """With the ammeter known to 4 %, hundreds of readings leave u(R)/R near 4 %/√3, not near zero."""
    fit = fit_motor(simulate_bench(4, positions=24, free=100, driven=100), ammeter="4 %")

    relative = _si(fit, "standard_uncertainty")["resistance"] / _si(fit)["resistance"]
    assert 0.04 / np.sqrt(3) <= relative < 1.2 * 0.04 / np.sqrt(3)
    assert next(iter(fit.budget["resistance"])) == "ammeter scale"
    assert fit.next_reading.table == ""


def test_counts_are_one_error_of_a_whole_table():
    """± 2 counts of 1 mV on the voltage of a generator at one speed: u = 2 mV/√3 whatever the number of readings."""
    speed = np.full(50, 200.0)
    fit = fit_motor(bench_record(_driven(speed, np.full(50, 1.081))), voltmeter="2 counts, resolution 1 mV")

    assert fit.budget["emf_constant"]["voltmeter counts, generator"].magnitude == pytest.approx(
        0.002 / np.sqrt(3) / 200.0, rel=1e-6
    )


def test_counts_move_their_own_table_alone(simulate_bench):
    """A voltmeter that is off while the rotor is held looks like a brush drop of so much, and hardly so elsewhere."""
    fit = fit_motor(simulate_bench(4), voltmeter="2 counts, resolution 10 mV")
    held, free, driven = (
        fit.budget["brush_drop"][f"voltmeter counts, {kind}"].m_as("V")
        for kind in ("locked rotor", "free running", "generator")
    )

    assert held == pytest.approx(0.02 / np.sqrt(3), rel=0.05)
    assert max(free, driven) < 0.1 * held


def test_without_meter_accuracy_the_report_says_so(simulate_bench):
    """No stated accuracy is a problem that is listed, not an accuracy of zero taken in silence."""
    assert any("no accuracy" in str(problem) for problem in fit_motor(simulate_bench(1)).problems)
    assert not any("no accuracy" in str(problem) for problem in fit_motor(simulate_bench(1), voltmeter="1 %").problems)


@pytest.mark.parametrize(
    ("position", "told"),
    [([1] * 6, "1 rotor position;"), ([1, 1, 1, 2, 2, 2], "2 rotor positions;"), ([1, 1, 2, 2, 3, 3], ""), (None, "")],
)
def test_few_rotor_positions_are_told(position, told):
    """What one position and the next differ by is in no uncertainty; positions that nobody tells count as many."""
    current = np.array([0.1, 0.15, 0.2, 0.25, 0.3, 0.35])
    voltage = 2.8 * current + [0.002, -0.001, 0.001, -0.002, 0.002, -0.002]
    at = None if position is None else np.array(position, dtype=float)
    problems = [str(problem) for problem in fit_motor(bench_record(_held(voltage, current, position=at))).problems]

    assert any(told in problem for problem in problems)
    assert any("rotor position" in problem for problem in problems) == bool(told)


# --- what cannot be known -------------------------------------------------------------------------


def test_locked_rotor_alone_says_nothing_of_the_turning_motor():
    """From a held rotor come resistance and brush drop; k and friction are said to be unknown, without a value."""
    fit = fit_motor(bench_record(_held([0.40, 0.68, 0.97, 1.23], [0.1, 0.2, 0.3, 0.4])))

    assert set(fit.value) == {"resistance", "brush_drop"}
    assert {entry.name for entry in fit.not_identifiable if not entry.held_at_zero} == {
        "emf_constant", "friction_torque", "viscous_friction",
    }  # fmt: skip


def test_brush_drop_at_one_current_is_said_to_be_in_the_resistance():
    """One current cannot part brush drop and resistance: the sum is right, and the report names what contains what."""
    fit = fit_motor(bench_record(_held([1.22, 1.25, 1.19, 1.23], [0.4, 0.4, 0.4, 0.4])))
    (entry,) = [entry for entry in fit.not_identifiable if entry.name == "brush_drop"]

    assert entry.held_at_zero
    assert "resistance contains it" in entry.reason
    assert "two currents" in entry.remedy


def test_single_free_run_gives_neither_resistance_nor_k():
    """One free reading is one equation for two unknowns: nothing is invented."""
    with pytest.raises(BenchError, match="resistance"):
        _ = fit_motor(bench_record(_free([6.0], [0.11], [1054.0]))).motor


def test_friction_at_one_speed_is_said_to_hold_the_viscous_part(simulate_bench):
    """Free runs at one voltage cannot part constant friction from friction that grows with speed."""
    locked = simulate_bench(3, free=0).tables
    fit = fit_motor(bench_record(*locked, _free([6.0, 6.01, 5.99], [0.111, 0.112, 0.110], [1002.0, 1004.0, 1001.0])))

    assert "viscous_friction" in {entry.name for entry in fit.not_identifiable if entry.held_at_zero}
    assert _si(fit)["friction_torque"] == pytest.approx(0.111 * _si(fit)["emf_constant"], rel=0.01)


# --- wild readings --------------------------------------------------------------------------------


def test_contact_film_is_set_aside_and_named(simulate_bench, truth):
    """A reading through a contact film, three times too high, leaves the fit and is listed with its line."""
    fit = fit_motor(simulate_bench(2, film=1, label=False))

    assert [(reading.table, reading.line) for reading in fit.set_aside] == [("locked rotor", 1)]
    assert fit.set_aside[0].deviations > 5
    error = abs(_si(fit)["resistance"] - truth["resistance"])
    assert error < 3 * _si(fit, "standard_uncertainty")["resistance"]


def test_sound_benches_rarely_lose_a_reading(simulate_bench):
    """On 20 sound benches of five scatter groups, no more than three lose a reading (5 in 100 by the rule)."""
    lost = sum(bool(fit_motor(simulate_bench(500 + seed)).set_aside) for seed in range(20))

    assert lost <= 3


def test_worst_reading_is_the_one_that_was_moved(simulate_bench):
    """A reading moved by a few scatters, too little for the rule, is named as the worst of those used."""
    record = simulate_bench(21)
    speed = record.generator.speed.magnitude.copy()
    voltage = record.generator.voltage.magnitude.copy()
    voltage[3] += 0.05
    driven = BenchTable(kind="generator", speed=Q_(speed, "rpm"), voltage=Q_(voltage, "V"))
    fit = fit_motor(bench_record(record.locked_rotor, record.free_running, driven))

    assert (fit.worst_reading.table, fit.worst_reading.line) == ("generator", 4)


# --- contradictions: never a silently wrong constant ----------------------------------------------


def _swap(table, first, second):
    """Return *table* with the numbers of two columns exchanged under their headings."""
    one, other = getattr(table, first), getattr(table, second)
    return BenchTable(
        kind=table.kind,
        **{name: getattr(table, name) for name in table.columns if name not in (first, second)},
        **{first: Q_(other.magnitude, str(one.units)), second: Q_(one.magnitude, str(other.units))},
    )


@pytest.mark.parametrize(
    ("table", "first", "second"),
    [
        ("locked_rotor", "voltage", "current"),
        ("free_running", "voltage", "current"),
        ("free_running", "current", "speed"),
        ("generator", "voltage", "speed"),
    ],
)
def test_swapped_columns_are_refused(simulate_bench, table, first, second):
    """Two columns under each other's heading contradict the other tables and are refused with both numbers."""
    record = simulate_bench(1)
    tables = [_swap(t, first, second) if t is getattr(record, table) else t for t in record.tables]

    with pytest.raises(BenchError, match="columns or their units swapped"):
        fit_motor(bench_record(*tables))


@pytest.mark.parametrize(
    ("table", "column", "unit"),
    [("free_running", "speed", "rad/s"), ("generator", "speed", "rad/s"), ("free_running", "voltage", "mV"),
     ("generator", "voltage", "mV"), ("free_running", "current", "A"), ("locked_rotor", "voltage", "mV"),
     ("locked_rotor", "current", "A"), ("locked_rotor", "current", "uA")],
)  # fmt: skip
def test_wrong_unit_in_one_table_is_refused_or_doubted(simulate_bench, table, column, unit):
    """One column under a wrong unit is refused, or listed as unusual; it never passes in silence."""
    record = simulate_bench(1, meters=True)
    tables = []
    for one in record.tables:
        columns = {name: getattr(one, name) for name in one.columns}
        if one is getattr(record, table):
            columns[column] = Q_(columns[column].magnitude, unit)
        tables.append(BenchTable(kind=one.kind, **columns, position=one.position))
    said = ""
    try:
        fit = fit_motor(bench_record(*tables, meters={"voltmeter": "0.5 %"}))
        said = " ".join(str(problem) for problem in fit.problems)
    except BenchError as error:
        said = str(error)

    assert "columns or their units swapped?" in said


def test_errors_in_both_readings_are_weighed_together(simulate_bench):
    """The balances' weighted distance equals that of a fit with an unknown for every true reading (another route)."""
    design = design_of(simulate_bench(9, positions=4, label=False, digits=(2, -1, 1, -2), scatter=0.2), {})
    data = design.readings
    data = data._replace(width=np.ones_like(data.width))
    start, none, scatter = rough_start(data), np.zeros(0), Scatter(np.zeros(GROUPS))
    near = least_squares(
        lambda c: (whiten(c, none, data, scatter).residuals, derivatives(c, none, data, scatter)), start
    ).parameters

    measured = np.concatenate((data.voltage, data.current, data.speed))
    spread = np.concatenate((data.u_voltage, data.u_current, data.u_speed))
    real, tight = spread > 0, 1e-7

    def distance(unknown):
        R, B, k, F, c = unknown[:5] * start_scale
        truth = measured.copy()
        truth[real] += unknown[5:] * spread[real]
        V, amps, w = np.split(truth, 3)
        e1 = (V - R * amps - B * data.brush - k * w) / (tight * 1.0)
        e2 = ((amps - (F + c * w) / k) / (tight * 0.1))[data.mechanical]
        return np.concatenate((unknown[5:], e1, e2))

    start_scale = np.array([1.0, 0.1, 1e-3, 1e-4, 1e-7])
    first = np.concatenate((near * (1 + 0.02) / start_scale, np.zeros(real.sum())))
    found = optimize.least_squares(distance, first, xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=300)

    assert found.x[:5] * start_scale == pytest.approx(near, rel=2e-4)


def test_nothing_to_fit_is_refused():
    """A record without steady readings is refused with what to add."""
    with pytest.raises(BenchError, match="locked rotor"):
        fit_motor(bench_record())


# --- many rows ------------------------------------------------------------------------------------


def test_compressed_rows_give_the_same_fit(simulate_bench, monkeypatch):
    """Large tables are compressed without loss: the same constants and uncertainties as row by row."""
    import labkit.fitting._solve as solving

    record = simulate_bench(6, free=300, driven=200)
    plain = fit_motor(record)
    monkeypatch.setattr(solving, "_MANY", 100)
    packed = fit_motor(record)

    assert _si(packed) == pytest.approx(_si(plain), rel=1e-5)
    assert _si(packed, "standard_uncertainty") == pytest.approx(_si(plain, "standard_uncertainty"), rel=1e-3)
    assert packed.coverage_factor == pytest.approx(plain.coverage_factor, rel=5e-3)  # replayed with random numbers


_FOUR_READINGS = (
    "voltmeter: 0.5 % + 2 counts\ntable: free running\nvoltage [V], current [A], speed [rpm]\n"
    "6.00, 0.110, 10066\n3.00, {current}, {speed}\n"
    "table: locked rotor\nvoltage [V], current [mA]\n1.00, 357\n2.00, 714\n"
)


def _of_four_readings(folder, *, current="0.109", speed=4766):
    path = folder / "four.csv"
    path.write_text(_FOUR_READINGS.format(current=current, speed=speed))
    return fit_motor(read_bench(path))


def test_one_bad_speed_takes_no_reading_of_the_held_motor_with_it(tmp_path):
    """Two held and two free readings of a motor of 2.8 Ω and 5.4 mV·s/rad, one speed 5 % off.

    By hand: 3.00 V less 0.109 A · 2.8 Ω leaves 2.69 V, at 5.4 mV·s/rad a speed of 4766 rpm.
    The resistance stays what the held readings say, and what rests on the speeds becomes as uncertain as they are.
    """
    good, bad = _of_four_readings(tmp_path), _of_four_readings(tmp_path, speed=4990)

    assert bad.motor.resistance.m_as("ohm") == pytest.approx(2.8, rel=0.01)
    assert bad.expanded_uncertainty["emf_constant"] > 5 * good.expanded_uncertainty["emf_constant"]
    for fit in (good, bad):
        off = fit.motor.emf_constant - Q_(5.4, "mV*s/rad")
        assert abs(off) < fit.expanded_uncertainty["emf_constant"]


def test_a_reading_that_cannot_be_is_said_to_spoil_them_all(tmp_path):
    """A free motor that draws twice the current at half the speed has less than no friction: trust nothing."""
    told = "\n".join(map(str, _of_four_readings(tmp_path, current="0.220").problems))

    assert "trust none of the constants" in told
    assert "trust none" not in "\n".join(map(str, _of_four_readings(tmp_path).problems))
