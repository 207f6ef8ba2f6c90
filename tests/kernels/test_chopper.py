"""The switched loop: against step-by-step integration, against 50 digits, and against its own balances."""

from __future__ import annotations

import mpmath
import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from labkit._kernels.chopper import ChopperSI, chopper, two_level

pytestmark = pytest.mark.core

_NAN = float("nan")


def _loop(**changes):
    usual = {
        "supply_voltage": 6.0, "resistance": 2.8, "inductance": 0.9e-3, "brush_drop": 0.0, "switch_resistance": 0.05,
        "switch_drop": 0.0, "diode_drop": 0.4, "diode_resistance": 0.1, "source_resistance": 0.3,
        "body_diode_drop": _NAN, "breakdown_voltage": _NAN,
    }  # fmt: skip
    return ChopperSI(**{name: np.asarray(value) for name, value in (usual | changes).items()})


def _integrated(loop, emf, frequency, duty, *, current):
    """Return moments of one period that starts at *current* [A], integrated step by step with the diode as an event."""
    backward = emf > loop.supply_voltage and not np.isnan(loop.body_diode_drop)
    clamped = not np.isnan(loop.breakdown_voltage) and not backward

    def closed(_, y):
        i = y[0]
        drop = 0.0 if backward else loop.switch_drop
        slope = (
            loop.supply_voltage
            - emf
            - np.sign(drive_sign) * (loop.brush_drop + drop)
            - (loop.resistance + loop.switch_resistance + loop.source_resistance) * i
        ) / loop.inductance
        return [slope, i, i * i, i, i * i]  # fmt: skip

    def opened(_, y):
        i = y[0]
        if backward:
            volts, ohms = loop.supply_voltage + loop.body_diode_drop + loop.brush_drop, loop.source_resistance
        elif clamped:
            volts, ohms = loop.supply_voltage - loop.breakdown_voltage - loop.brush_drop, loop.source_resistance
        else:
            volts, ohms = -loop.diode_drop - loop.brush_drop, loop.diode_resistance
        return [(volts - emf - (loop.resistance + ohms) * i) / loop.inductance, i, i * i, 0.0, 0.0]

    drive_sign = -1.0 if backward else 1.0
    stopped = lambda _, y: y[0]  # noqa: E731
    stopped.terminal, stopped.direction = True, -drive_sign
    options = {"method": "DOP853", "rtol": 1e-12, "atol": 1e-15}
    on = solve_ivp(closed, (0.0, duty / frequency), [current, 0, 0, 0, 0], **options)
    off = solve_ivp(opened, (0.0, (1 - duty) / frequency), on.y[:, -1], events=stopped, **options)
    i, total, square, closed_total, closed_square = off.y[:, -1]
    ended = off.t_events[0][0] if off.t_events[0].size else np.inf
    return {
        "end": i, "peak": on.y[0, -1], "mean": total * frequency, "square": square * frequency, "ended": ended,
        "closed": closed_total * frequency, "closed_square": closed_square * frequency,
    }  # fmt: skip


CASES = {
    "continuous": (_loop(), 1.5, 20e3, 0.4),
    "discontinuous": (_loop(), 3.0, 2e3, 0.4),
    "barely continuous": (_loop(), 1.2, 2e3, 0.4),
    "slow": (_loop(), 2.0, 50.0, 0.5),
    "with brush and transistor drops": (_loop(brush_drop=0.3, switch_drop=0.8, switch_resistance=0.0), 2.0, 5e3, 0.7),
    "shaft driven backwards": (_loop(), -2.0, 1e3, 0.3),
    "backwards into the supply": (_loop(body_diode_drop=0.7), 6.5, 1e3, 0.5),
    "backwards through the body diode": (_loop(body_diode_drop=0.7), 9.0, 1e3, 0.5),
    "no freewheel diode": (_loop(breakdown_voltage=30.0), 2.0, 2e3, 0.5),
}


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
def test_periodic_state_agrees_with_stepwise_integration(case):
    """One period integrated from the stated least current returns to it, with the stated moments."""
    loop, emf, frequency, duty = case
    state = chopper(loop, np.asarray(emf), np.asarray(frequency), np.asarray(duty))
    period = _integrated(loop, emf, frequency, duty, current=float(state.minimum_current))
    scale = abs(float(state.peak_current))

    assert scale > 0.0
    assert period["end"] == pytest.approx(float(state.minimum_current), abs=1e-9 * scale)
    assert period["peak"] == pytest.approx(float(state.peak_current), rel=1e-9)
    assert period["mean"] == pytest.approx(float(state.mean_current), rel=1e-9)
    assert period["square"] == pytest.approx(float(state.mean_square), rel=1e-9)
    if float(state.diode_current) > 0.0:
        assert period["mean"] - period["closed"] == pytest.approx(float(state.diode_current), rel=1e-8)
        assert period["square"] - period["closed_square"] == pytest.approx(float(state.diode_square), rel=1e-8)
    assert period["ended"] == pytest.approx(float(state.extinction_time), rel=1e-9)


def _fifty_digits(*, u1, u2, r1, r2, l, f, d):  # noqa: E741 (short names beside the equations)
    """Mean and root mean square of the current, textbook exponentials at 50 digits."""
    with mpmath.workdps(60):
        u1, u2, r1, r2, l, f, d = map(mpmath.mpf, (u1, u2, r1, r2, l, f, d))  # noqa: E741
        t1, t2 = d / f, (1 - d) / f
        e1, e2 = mpmath.exp(-r1 * t1 / l), mpmath.exp(-r2 * t2 / l)
        a1, a2 = u1 / r1, u2 / r2
        least = (a2 * (1 - e2) + a1 * (1 - e1) * e2) / (1 - e1 * e2)
        if least <= 0:
            least = mpmath.mpf(0)
        peak = a1 + (least - a1) * e1
        if least == 0:
            t2 = min(t2, l / r2 * mpmath.log(1 + peak * r2 / -u2))

        def moments(a, start, r, t):
            tau = l / r
            c, e = start - a, mpmath.exp(-t / tau)
            return a * t + c * tau * (1 - e), a**2 * t + 2 * a * c * tau * (1 - e) + c**2 * tau / 2 * (1 - e**2)

        (q1, s1), (q2, s2) = moments(a1, least, r1, t1), moments(a2, peak, r2, t2)
        return float((q1 + q2) * f), float(mpmath.sqrt((s1 + s2) * f)), float(peak - least)


decades = lambda low, high: st.floats(low, high).map(lambda power: 10.0**power)  # noqa: E731


@given(
    closed_drive=decades(-3, 2), open_drive=decades(-3, 2).map(lambda u: -u), closed_resistance=decades(-3, 3),
    open_resistance=decades(-3, 3), inductance=decades(-9, 1), frequency=decades(0, 7),
    duty=st.one_of(st.floats(1e-6, 1 - 1e-6), decades(-9, -3)),
)  # fmt: skip
def test_stiff_corners_agree_with_fifty_digits(**inputs):
    """Mean, root mean square and ripple hold to 1e-10 over many decades of R, L, f and duty.

    A mean far below the two driving currents is a small difference of large ones; there the inputs' own rounding
    decides, so that the tolerance grows with that ratio.
    """
    flow = two_level(**{name: np.asarray(value) for name, value in inputs.items()})
    u1, u2, r1, r2 = (inputs[n] for n in ("closed_drive", "open_drive", "closed_resistance", "open_resistance"))
    own = {"l": inputs["inductance"], "f": inputs["frequency"], "d": inputs["duty"]}
    mean, rms, ripple = _fifty_digits(u1=u1, u2=u2, r1=r1, r2=r2, **own)
    cancelled = 1.0
    if bool(flow.continuous):
        weight = inputs["duty"] * u1 + (1 - inputs["duty"]) * -u2
        cancelled = max(weight / (mean * min(r1, r2)), 1.0)
    tolerance = max(1e-10, 1e-14 * cancelled)
    assume(tolerance < 1e-3)

    assert float(flow.closed_mean + flow.open_mean) == pytest.approx(mean, rel=tolerance)
    assert float(np.sqrt(flow.closed_square + flow.open_square)) == pytest.approx(rms, rel=tolerance)
    assert float(flow.ripple) == pytest.approx(ripple, rel=tolerance)


@given(
    emf=st.floats(-12, 12), frequency=decades(0, 6), duty=st.floats(0, 1), brush_drop=st.floats(0, 0.5),
    source_resistance=st.floats(0, 2), inductance=decades(-6, 0),
    ways=st.sampled_from([{}, {"body_diode_drop": 0.7}, {"breakdown_voltage": 30.0}, {"switch_drop": 0.3}]),
)  # fmt: skip
def test_what_the_supply_gives_becomes_heat_or_work(emf, frequency, duty, ways, **changes):
    """V·I = E·I + the losses in winding, brushes, source, switch and diode, each taken by itself."""
    loop = _loop(**(changes | ways))
    state = chopper(loop, np.asarray(emf), np.asarray(frequency), np.asarray(duty))
    losses = [state.winding_loss, state.brush_loss, state.source_loss, state.switch_loss, state.diode_loss]
    taken = float(emf * state.mean_current + sum(losses))
    size = float(abs(emf * state.mean_current) + sum(losses))

    assert all(float(loss) >= 0.0 for loss in losses)
    assert taken == pytest.approx(float(loop.supply_voltage * state.supply_current), abs=1e-11 * size + 1e-300)


@given(emf=st.floats(-1, 5.9), duty=st.floats(0.01, 0.99))
def test_fast_switching_is_the_mean_voltage(emf, duty):
    """Very fast: no ripple; the mean current is the mean driving voltage over the mean resistance, or none."""
    loop = _loop()
    state = chopper(loop, np.asarray(emf), np.asarray(1e12), np.asarray(duty))
    drive = duty * 6.0 - (1 - duty) * 0.4 - emf
    resistance = 2.8 + duty * 0.35 + (1 - duty) * 0.1
    assume(abs(drive) > 1e-3)

    assert float(state.ripple) < 1e-6
    assert float(state.mean_current) == pytest.approx(max(drive / resistance, 0.0), rel=1e-6, abs=1e-6)


@given(emf=st.floats(0, 5.9), duty=st.floats(0.0, 1.0))
def test_no_inductance_leaves_pulses(emf, duty):
    """Without inductance the current is (V - E)/R while the switch is closed and nothing while it is open."""
    loop = _loop(inductance=1e-15)
    state = chopper(loop, np.asarray(emf), np.asarray(1e3), np.asarray(duty))
    level = (6.0 - emf) / 3.15

    assert float(state.mean_current) == pytest.approx(duty * level, abs=1e-9)
    assert float(state.mean_square) == pytest.approx(duty * level**2, abs=1e-9)
    assert float(state.diode_current) == pytest.approx(0.0, abs=1e-9)


def test_duty_at_its_ends():
    """D = 0 gives nothing, D = 1 gives direct current without ripple."""
    state = chopper(_loop(), np.asarray(2.0), np.asarray(2e3), np.asarray([0.0, 1.0]))

    assert state.mean_current == pytest.approx([0.0, 4.0 / 3.15])
    assert state.ripple.tolist() == [0.0, 0.0]
    assert state.continuous.tolist() == [False, True]


@given(emf=st.floats(-8, 12), frequency=decades(1, 5), duties=st.tuples(st.floats(0, 1), st.floats(0, 1)))
def test_more_duty_never_means_less_current(emf, frequency, duties):
    """The mean current rises with the duty while the supply drives, and falls with the EMF."""
    low, high = sorted(duties)
    loop = _loop()
    means = chopper(loop, np.asarray(emf), np.asarray(frequency), np.asarray([low, high])).mean_current
    less = chopper(loop, np.asarray(emf + 0.5), np.asarray(frequency), np.asarray(high)).mean_current

    assert means[1] >= means[0] - 1e-12
    assert less <= means[1] + 1e-12


def test_a_simple_switch_passes_nothing_backwards():
    """With an EMF above the supply and no body diode there is no current at all."""
    state = chopper(_loop(), np.asarray(7.0), np.asarray(1e3), np.asarray(0.5))

    assert float(state.mean_current) == 0.0
    assert float(state.mean_voltage) == 7.0
