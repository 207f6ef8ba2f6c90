"""A motor's start beside a board, held against derivations, a stepwise integration, and the engine's own account."""

from __future__ import annotations

import dataclasses
import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from labkit._kernels.holding import held_up
from labkit.errors import PartError
from labkit.parts import Load, Mosfet, desk_wind_tunnel
from labkit.simulation import (
    always_on,
    board_supply,
    floating_load,
    motor_start,
    simulate,
    switch_off_course,
    switched_load,
)
from labkit.symbolic import derivation
from labkit.units import Q_

TUNNEL = desk_wind_tunnel()
#: With one on-resistance, so that it can be put into a derivation.
HELD = dataclasses.replace(
    TUNNEL,
    load=Load(friction="1 N*m"),
    switch=Mosfet(on_resistance="50 mohm", breakdown_voltage="30 V"),
)
TIMES = Q_(np.geomspace(1e-5, 3.0, 160), "s")


def test_a_held_motor_sags_the_supply_as_derived():
    """Once the current has settled, current, sag and lift are those of three derivations; the lead is in the loop."""
    start = motor_start(HELD, TIMES, ground_lead="0.2 ohm")
    loop = {
        "supply_voltage": "6 V",
        "internal_resistance": "0.6 ohm",
        "resistance": "3.0 ohm",
        "on_resistance": "50 mohm",
    }
    current = derivation("starting current with the source's resistance").evaluate(**loop)
    sag = derivation("supply voltage at a start").evaluate(**loop)
    lift = derivation("ground offset").evaluate(current=current, ground_resistance="0.2 ohm")

    assert start.current[-1].m_as("A") == pytest.approx(current.m_as("A"), rel=1e-9)
    assert start.supply_voltage[-1].m_as("V") == pytest.approx(sag.m_as("V"), rel=1e-9)
    assert start.lead_drop[-1].m_as("V") == pytest.approx(lift.m_as("V"), rel=1e-9)


def test_the_boards_current_lowers_the_supply_by_its_own_drop():
    """0.5 A through 0.6 Ω is 0.3 V, by hand, before the motor's current has begun."""
    alone, beside = (motor_start(TUNNEL, TIMES, board_current=amps) for amps in ("0 A", "0.5 A"))

    assert (alone.supply_voltage[0] - beside.supply_voltage[0]).m_as("V") == pytest.approx(0.3, abs=0.005)


def test_without_board_and_lead_it_is_the_engines_run():
    """Nothing is added to what the engine gives, the speed included, within the looser tolerance of 1e-4."""
    start = motor_start(TUNNEL, TIMES)
    trace = simulate(TUNNEL, always_on(), "3 s", samples=TIMES)

    np.testing.assert_allclose(start.supply_voltage.m_as("V"), trace.supply_voltage.m_as("V"), rtol=1e-4)
    np.testing.assert_allclose(start.speed.m_as("rpm"), trace.speed.m_as("rpm"), rtol=0, atol=0.2)


def test_a_reset_is_when_the_engine_says_so():
    """The engine finds the brown-out as an event of its own; a straight line between samples meets it within 2 %."""
    supply = dataclasses.replace(TUNNEL.supply, voltage=Q_(4.6, "V"), internal_resistance=Q_(2.5, "ohm"))
    flat = dataclasses.replace(TUNNEL, supply=supply)
    event = simulate(flat, always_on(), "3 s", samples=TIMES).event("brown-out")
    board = board_supply(motor_start(flat, TIMES), brown_out=supply.brown_out)

    assert event
    assert board.reset_time.m_as("s") == pytest.approx(event.first.m_as("s"), rel=0.02)


def test_a_board_on_fresh_cells_does_not_reset():
    """The lowest voltage is 4.97 V or so: above 2.7 V there is no reset time."""
    board = board_supply(motor_start(TUNNEL, TIMES), brown_out=TUNNEL.supply.brown_out)

    assert board.lowest_voltage > Q_(4.9, "V")
    assert board.reset_time is None
    assert board_supply(motor_start(TUNNEL, TIMES)).reset_time is None


def test_only_a_shared_lead_lifts_the_boards_ground():
    """With a lead of its own the board's 0 V stays; shared, it moves by the motor's current times the lead."""
    start = motor_start(TUNNEL, TIMES, ground_lead="0.1 ohm")
    star, shared = board_supply(start), board_supply(start, shares_lead=True)

    assert star.largest_shift.magnitude == 0.0
    np.testing.assert_allclose(shared.ground_shift.m_as("V"), 0.1 * start.current.m_as("A"), rtol=1e-12)
    np.testing.assert_allclose((star.voltage - shared.voltage).m_as("V"), shared.ground_shift.m_as("V"), rtol=1e-9)


def test_a_buffer_holds_for_as_long_as_derived():
    """The supply is gone for good: the derivation's hold-up time is when the buffer has fallen to the limit."""
    gone = motor_start(HELD, TIMES)
    volts = np.where(gone.time.m_as("s") <= 1.1e-5, 6.0, 0.0)
    gone = dataclasses.replace(gone, supply_voltage=Q_(volts, "V"))
    board = board_supply(gone, brown_out=Q_(2.7, "V"), capacitance="1 mF", board_current="50 mA")
    hold = derivation("hold-up time").evaluate(capacitance="1 mF", current="50 mA", dip=Q_(5.6 - 2.7, "V"))

    assert board.reset_time.m_as("s") == pytest.approx(hold.m_as("s"), rel=1e-3)


@given(
    volts=st.lists(st.floats(0, 10), min_size=2, max_size=12),
    fall=st.floats(0.01, 100),
)
def test_a_held_voltage_agrees_with_stepwise_integration(volts, fall):
    """Step by step: down by the fall, but never below what comes in; at the instants both agree."""
    time = np.linspace(0.0, 1.0, len(volts))
    fine = np.linspace(0.0, 1.0, 200 * (len(volts) - 1) + 1)
    incoming, held = np.interp(fine, time, volts), [volts[0]]
    for place in range(1, fine.size):
        held.append(max(incoming[place], held[-1] - fall * (fine[place] - fine[place - 1])))

    np.testing.assert_allclose(held_up(time, np.asarray(volts), np.asarray(fall)), held[::200], atol=1e-9)


def test_a_larger_buffer_never_leaves_the_board_less():
    """The lowest voltage rises with the capacitance, or stays, but for rounding."""
    start = motor_start(TUNNEL, TIMES)
    lows = [
        board_supply(start, capacitance=size, board_current="50 mA").lowest_voltage.m_as("V")
        for size in ("10 uF", "100 uF", "1 mF", "10 mF")
    ]

    assert all(larger >= smaller - 1e-12 for smaller, larger in itertools.pairwise(lows))


def test_times_that_are_no_row_are_refused():
    """One instant alone, at the start, is no course; nor are instants that go back."""
    for times in ([0.0], [0.0, 0.2, 0.1]):
        with pytest.raises(PartError, match=r"motor_start\.times must be a row of rising instants"):
            motor_start(TUNNEL, Q_(times, "s"))


def test_a_motor_is_no_drive():
    """Each of the new functions names what it was given in a drive's place."""
    for call in (
        lambda: motor_start(TUNNEL.motor, TIMES),
        lambda: switched_load(TUNNEL.motor, "2.8 ohm"),
        lambda: floating_load(TUNNEL.motor, "2.8 ohm"),
        lambda: switch_off_course(TUNNEL.motor, "1 us", "1 A"),
    ):
        with pytest.raises(PartError, match="must be a Drive"):
            call()
