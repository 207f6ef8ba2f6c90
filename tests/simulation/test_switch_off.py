"""The switch-off kick: integrated step by step, balanced, and refused where it has no end."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from labkit.errors import NoSolutionError, PartError
from labkit.parts import Bipolar, Diode, Mosfet, Supply, desk_wind_tunnel
from labkit.simulation import always_off, simulate, turn_off_transient
from labkit.units import Q_

pytestmark = pytest.mark.core

TUNNEL = dataclasses.replace(desk_wind_tunnel(), diode=Diode(forward_voltage="0.4 V", slope_resistance="0.15 ohm"))
BARE = dataclasses.replace(TUNNEL, diode=None, wiring="0.1 ohm")
PARTS = ("diode_energy", "avalanche_energy", "source_loss", "winding_loss", "wiring_loss", "brush_loss", "shaft_work")


def _si(quantity):
    return float(quantity.to_base_units().magnitude)


@pytest.mark.parametrize(
    ("drive", "drop", "fed", "ohms"), [(TUNNEL, 0.4, 0.0, 2.95), (BARE, 30.0, 6.0, 3.5)], ids=["diode", "breakdown"]
)
@pytest.mark.parametrize(("amps", "speed"), [(2.0, 0.0), (0.5, 600.0), (1.5, -50.0)])
def test_the_decay_agrees_with_stepwise_integration(*, drive, drop, fed, ohms, amps, speed):
    """Time to zero, and each energy, from an integration of current, charge and its square."""

    def slope(_, y):
        i = y[0]
        return [(fed - drop - 5.4e-3 * speed - ohms * i) / 0.9e-3, i, i * i]

    def stopped(_, y):
        return y[0]

    stopped.terminal = True
    end = solve_ivp(slope, (0, 1), [amps, 0, 0], events=stopped, method="DOP853", rtol=1e-12, atol=1e-15)
    _, charge, square = end.y[:, -1]
    result = turn_off_transient(drive, Q_(amps, "A"), Q_(speed, "rad/s"))

    assert _si(result.decay_time) == pytest.approx(end.t[-1], rel=1e-9)
    assert _si(result.shaft_work) == pytest.approx(5.4e-3 * speed * charge, rel=1e-9, abs=1e-18)
    assert _si(result.winding_loss) == pytest.approx(2.8 * square, rel=1e-9)
    assert _si(result.supplied_energy) == pytest.approx(fed * charge, rel=1e-9)
    if drive.diode is None:
        assert _si(result.avalanche_energy) == pytest.approx(30.0 * charge, rel=1e-9)
        assert _si(result.peak_switch_voltage) == 30.0
    else:
        assert _si(result.diode_energy) == pytest.approx(0.4 * charge + 0.15 * square, rel=1e-9)
        assert _si(result.peak_switch_voltage) == pytest.approx(6.4 + 0.15 * amps)


@given(amps=st.floats(1e-6, 50), speed=st.floats(-70, 5000), diode=st.booleans())
def test_what_was_stored_and_fed_is_what_was_lost(amps, speed, diode):
    """Stored + supplied = all the losses + the work at the shaft, each integrated by itself."""
    result = turn_off_transient(TUNNEL if diode else BARE, Q_(amps, "A"), Q_(speed, "rad/s"))
    spent = [_si(getattr(result, name)) for name in PARTS]

    given_in = _si(result.stored_energy) + _si(result.supplied_energy)
    assert sum(spent) == pytest.approx(given_in, rel=1e-11, abs=1e-11 * sum(map(abs, spent)))


def test_the_avalanche_takes_more_than_was_stored():
    """With little resistance the transistor absorbs V_BR/(V_BR - V) times ½LI²: the supply goes on feeding."""
    motor = dataclasses.replace(BARE.motor, resistance="1 µohm")
    supply = dataclasses.replace(BARE.supply, internal_resistance="0 ohm")
    result = turn_off_transient(dataclasses.replace(BARE, motor=motor, supply=supply, wiring="0 ohm"), "2 A")

    assert _si(result.avalanche_energy) / _si(result.stored_energy) == pytest.approx(30 / (30 - 6), rel=1e-6)


def test_a_buffer_feeds_a_transistor_that_breaks_down():
    """A large capacitor without resistance keeps the rail at 6 V: no source resistance counts, as in a full run."""
    supply = Supply(voltage="6 V", internal_resistance="2 ohm", capacitance="1 F")
    drive = dataclasses.replace(BARE, supply=supply)
    held = dataclasses.replace(drive, motor=dataclasses.replace(drive.motor, starting_torque="1 N*m"))

    short = turn_off_transient(drive, "2 A")
    run = simulate(held, always_off(), "1 ms", current="2 A", samples=2)

    assert _si(run.event("breakdown ends").first) == pytest.approx(_si(short.decay_time), rel=1e-4)
    assert _si(run.energy.breakdown) == pytest.approx(_si(short.avalanche_energy), rel=1e-4)
    assert _si(short.source_loss) == 0.0


def test_a_turning_shaft_shortens_the_decay():
    """The generator EMF opposes the current in forward running, so that it stops sooner than at a stall."""
    stalled, running = turn_off_transient(TUNNEL, "0.5 A", Q_([0.0, 600.0], "rad/s")).decay_time.magnitude

    assert running < stalled / 3


def test_no_current_needs_no_time():
    """Zero current: no time, no energy and no kick, with a diode or without; the drain rests at supply less EMF."""
    for drive in (TUNNEL, BARE):
        result = turn_off_transient(drive, "0 A", "500 rad/s")

        assert _si(result.decay_time) == _si(result.diode_energy) == _si(result.stored_energy) == 0.0
        assert _si(result.kick_voltage) == 0.0
        assert _si(result.peak_switch_voltage) == pytest.approx(6.0 - 5.4e-3 * 500)


def test_what_cannot_be_is_refused():
    """No end, an unknown breakdown voltage, a negative current and a frequency for a speed are named, with a remedy."""
    with pytest.raises(NoSolutionError, match=r"driven backwards.*keeps 1\.69 A"):
        turn_off_transient(TUNNEL, "1 A", "-1000 rad/s")
    with pytest.raises(NoSolutionError, match="breaks down below"):
        turn_off_transient(dataclasses.replace(BARE, switch=Bipolar(breakdown_voltage="5 V")), "1 A")
    for switch in (Mosfet(on_resistance="50 mOhm"), Bipolar()):
        with pytest.raises(PartError, match=r"\.breakdown_voltage must be known where there is no freewheel diode"):
            turn_off_transient(dataclasses.replace(BARE, switch=switch), "1 A")
    with pytest.raises(PartError, match="current must be zero or more, in A; got -1 A"):
        turn_off_transient(TUNNEL, "-1 A")
    with pytest.raises(PartError, match="speed must be a quantity in rad/s; got '50 Hz'"):
        turn_off_transient(TUNNEL, "1 A", "50 Hz")


def test_a_diode_too_steep_for_the_transistor_is_refused():
    """At 2 A a slope of 20 ohm would put 6 + 0.4 + 40 V on a transistor that breaks down at 30 V."""
    diode = dataclasses.replace(TUNNEL.diode, slope_resistance="20 ohm")
    with pytest.raises(NoSolutionError, match=r"reach 46\.4 V, not below its breakdown at 30\.0 V.*Take a diode"):
        turn_off_transient(dataclasses.replace(TUNNEL, diode=diode), "2 A")
