"""Two independent routes to one number: duty, supply, heat and all that comes later."""

from __future__ import annotations

import numpy as np
import pytest
from pairs import HELD, Route, compare, drive, highest, inverse, made, motor, names_of, turning_point

from labkit._kernels.heat import warm_rise_on_voltage
from labkit._kernels.warming import warming_rise
from labkit.parts import Build, Converter, Mosfet, Regulator, Supply
from labkit.reviews._case import Case
from labkit.reviews._supply import converter_cell, regulator_heat
from labkit.reviews._wiring import shared_return
from labkit.simulation import (
    always_on,
    chopper,
    duty_from_count,
    heat_sink_resistance,
    internal_resistance,
    junction_temperature,
    loaded_supply,
    max_dissipation,
    pwm_operating_point,
    resistance_at,
    simulate,
    starting_duty,
    steady_temperature,
)
from labkit.symbolic import derivations
from labkit.units import Q_

pytestmark = pytest.mark.core

ELSEWHERE = {"circuit", "motor", "generator", "pin and gate", "driver", "switch-off"}
FAST = Q_("10 MHz")


def _switched(n, **fields):
    """A chopper of these numbers, without EMF where they name none."""
    given = {
        "supply_voltage": "12 V", "emf": "0 V", "resistance": "1 ohm", "inductance": "1 H", "frequency": "1 MHz",
        "duty": 0.5, "diode_drop": "0 V",
    } | vars(n) | fields  # fmt: skip
    names = ("supply_voltage", "emf", "resistance", "inductance", "frequency", "duty", "diode_drop")
    return chopper(**{name: given[name] for name in names})


def _continuous(n, field):
    state = _switched(n, emf=getattr(n, "emf", "0 V"))
    return getattr(state, field) if state.continuous else None


def _turning(n):
    """The mean current of a chopper against the EMF of this speed."""
    state = _switched(n, emf=n.emf_constant * n.speed)
    return state.mean_current if state.continuous else None


def _straight(n, *, mean_current=Q_("1 kA"), **fields):
    """A loop with so little resistance that the current runs along straight lines about its mean."""
    now = {"supply_voltage": Q_("12 V"), "duty": 0.5, "diode_drop": Q_("0 V")} | vars(n) | fields
    emf = now["supply_voltage"] * now["duty"] - now["diode_drop"] * (1 - now["duty"]) - Q_("1 uohm") * mean_current
    return _switched(n, resistance="1 uohm", emf=emf, **fields)


def _emf_that_leaves(n):
    """A smooth chopper whose EMF leaves this mean current."""
    return _switched(n, supply_voltage="100 V", emf=Q_("100 V") * n.duty - Q_("1 ohm") * n.mean_current)


def _settled(n, duty):
    """A drive whose friction asks for the mean current, switched so fast that it is smooth."""
    whole = motor(n, inductance="1 H", friction_torque=n.emf_constant * n.mean_current)
    return pwm_operating_point(drive(n, motor=whole), duty, "1 MHz")


def _needed_duty(n):
    whole = _settled(n, 1)
    return inverse(lambda duty: _settled(n, duty).speed, n.speed, Q_("1e-3"), Q_("1")) if whole.turning else None


def _starts(n):
    friction = Q_("5 mV*s/rad") * n.starting_voltage / Q_("2 ohm")
    return starting_duty(drive(n, motor=motor(n, inductance="1 H", friction_torque=friction)), "1 MHz")


def _rippling(n):
    """The current's RMS where it runs from mean - ripple/2 to mean + ripple/2 along straight lines."""
    inductance = Q_("0.25") * Q_("12 V") / (Q_("1 kHz") * n.ripple)
    emf = Q_("6 V") - Q_("1e-6 ohm") * n.mean_current
    return chopper("12 V", emf, "1e-6 ohm", inductance, "1 kHz", 0.5).rms_current


def _slow_and_fast(n, frequency):
    """The held motor's winding heat."""
    return _switched(n, inductance="1 mH", frequency=frequency).winding_loss


def _most_ripple(n):
    return highest(lambda duty: _straight(n, duty=duty).ripple, Q_("0.05"), Q_("0.95"))


def _for_ripple(n, name, low, high):
    """The inductance or frequency at which the kernel's ripple is the one asked for."""
    wanted = n.ripple
    return inverse(lambda size: _straight(n, **{name: size}).ripple, wanted, low, high)


def _never_stops(n):
    def continuous(frequency):
        return bool(_straight(n, mean_current=n.mean_current, frequency=frequency).continuous)

    return turning_point(continuous, Q_("1 uHz"), Q_("1 GHz"))


def _broken(n):
    state = _switched(n)
    return None if state.continuous else state.peak_current


def _stops_after(n):
    """A pulse so short and far from the next that it reaches the peak and ends."""
    share, rate = 0.01, 1e-3 * (n.resistance / n.inductance)
    rise = 1.0 - np.exp(-share * float((n.resistance / (n.inductance * rate)).to("").magnitude))
    volts = n.emf + n.peak_current * n.resistance / rise
    return _switched(n, supply_voltage=volts, frequency=rate.to("Hz"), duty=share).extinction_time


def _start(n):
    """A held motor switched on at full duty."""
    return pwm_operating_point(drive(n, load=HELD), 1, "1 kHz")


def _before_reset(n):
    source = made(Supply, n, voltage=n.supply_voltage)
    most = n.supply_voltage / n.internal_resistance
    return inverse(
        lambda amps: loaded_supply(source, current=amps).voltage, n.brown_out, 1e-9 * most, most * (1 - 1e-12)
    )


def _run_dry(n, capacitance, duration):
    """How far a capacitor falls that alone feeds a winding of so much inductance that its current stays as it is."""
    source = Supply(voltage="100 V", internal_resistance="1e12 ohm", capacitance=capacitance)
    whole = drive(n, supply=source, motor=motor(n, resistance="1e-6 ohm", inductance="1 GH"), load=HELD)
    run = simulate(whole, always_on(), duration, current=n.current, samples=2)
    return Q_("100 V") - run.capacitor_voltage[-1]


def _big_enough(n):
    charge = n.current * n.duration
    ends = charge / Q_("50 V"), charge / Q_("10 mV")
    return inverse(lambda farads: _run_dry(n, farads.to("F"), n.duration), n.dip, *ends)


def _lasts(n):
    whole = (n.capacitance * Q_("50 V") / n.current).to("s")
    return inverse(lambda time: _run_dry(n, n.capacitance, time), n.dip, 1e-4 * whole, whole)


def _capacitor_current(n):
    source = Supply(voltage="100 V", internal_resistance="1 ohm", capacitance="1 F")
    whole = motor(n, inductance="1 H", emf_constant="1 V*s/rad", friction_torque=Q_("1 V*s/rad") * n.mean_current)
    return pwm_operating_point(drive(n, supply=source, motor=whole), n.duty, "1 MHz").capacitor_current


def _found(finding, n, amps, **fields):
    """The number that a finding of the review weighs, in a drive whose motor takes this current."""
    whole = drive(n, motor=motor(n, friction_torque=Q_("5 mV*s/rad") * amps), **fields)
    return finding(Case(whole, duty=(1.0, 1.0), frequency=20e3)).value


def _regulator(n):
    made_by = Regulator(input_voltage=n.input_voltage)
    source = Supply(voltage=n.output_voltage, made_by=made_by)
    return (
        _found(regulator_heat, n, n.output_current, supply=source)
        if n.output_voltage > 3 * n.output_current * Q_("1 ohm")
        else None
    )


def _converter(n):
    made_by = Converter(cell_voltage=n.cell_voltage, efficiency=float(n.efficiency.magnitude), cell_current_limit="1 A")
    source = Supply(voltage=n.output_voltage, made_by=made_by)
    whole = motor(n, resistance=n.output_voltage / n.output_current)
    return converter_cell(Case(drive(n, supply=source, motor=whole), duty=(1.0, 1.0), frequency=20e3)).value


def _run_time(n):
    """How long the charge lasts that a run takes from the source in 10 ms."""
    whole = drive(n, supply=Supply(voltage="6 V"), motor=motor(n, resistance=Q_("6 V") / n.supply_current), load=HELD)
    taken = simulate(whole, always_on(), "10 ms", current=n.supply_current, samples=2).energy.source / Q_("6 V")
    return n.battery_charge / taken * Q_("10 ms")


def _rising(n):
    """A MOSFET printed for 25 °C that has this resistance and coefficient at the reference temperature."""
    room, law = (
        Q_(25, "degC"),
        {"coefficient": n.temperature_coefficient, "coefficient_temperature": n.reference_temperature},
    )
    at_room = resistance_at(n.on_resistance, room, reference=n.reference_temperature, **law)
    growth = n.temperature_coefficient * n.on_resistance / at_room
    return Mosfet(
        on_resistance=at_room, junction_to_ambient=n.junction_to_ambient, resistance_temperature_coefficient=growth
    )


def _runs_away(n):
    n.reference_temperature = Q_(25, "degC")
    return junction_temperature(_rising(n), "1 mA").runaway_current


def _hot(n, temperature):
    at = {"reference": n.reference_temperature, "coefficient_temperature": n.reference_temperature}
    return resistance_at(n.resistance, temperature, coefficient=n.temperature_coefficient, **at)


def _from_resistance(n):
    found = inverse(lambda kelvins: _hot(n, kelvins), n.hot_resistance, Q_("200 kelvin"), Q_("1e4 kelvin"))
    return found.to("degC")


def _held_on_voltage(n):
    sizes = (n.winding_to_ambient, n.voltage**2 / n.resistance, n.temperature_coefficient)
    ohms, watts, growth = (np.asarray(each.to_base_units().magnitude) for each in sizes)
    return Q_(float(warm_rise_on_voltage(np.asarray(0.0), ohms, watts, growth)), "kelvin")


def _warmed(time, *, to_ambient, capacity, power):
    """The rise of one body, with a resistance that does not change."""
    ohms, joules, watts, seconds = (
        float(each.to(unit).magnitude)
        for each, unit in ((to_ambient, "kelvin/W"), (capacity, "J/kelvin"), (power, "W"), (time, "s"))
    )
    body = {"thermal_resistance": ohms, "time_constant": ohms * joules, "heating": 0.0, "growth": 0.0, "other": watts}
    return Q_(float(warming_rise(np.asarray(seconds), ambient=0.0, **body)), "kelvin")


def _body(n):
    return {"to_ambient": n.winding_to_ambient, "capacity": n.heat_capacity, "power": n.power}


def _adiabatic(n):
    body = {
        "to_ambient": Q_("1e12 kelvin/W"),
        "capacity": n.wire_mass * n.specific_heat,
        "power": n.current**2 * n.resistance,
    }
    return inverse(lambda time: _warmed(time, **body), n.temperature_rise, Q_("1e-9 s"), Q_("1e9 s"))


ROUTES = {
    "duty from a count": Route(lambda n: duty_from_count(n.count, n.top)),
    "mean voltage under duty": Route(lambda n: _continuous(n, "mean_voltage")),
    "duty for a mean voltage": Route(
        lambda n: inverse(lambda duty: _switched(n, duty=duty).mean_voltage, n.mean_voltage, Q_("0.3"), Q_("1"))
        if n.mean_voltage > 0.31 * n.supply_voltage
        else None
    ),
    "starting duty": Route(_starts, relative=1e-5),
    "mean current": Route(_turning),
    "speed against duty": Route(lambda n: _settled(n, n.duty).speed, relative=1e-8),
    "duty for a speed": Route(_needed_duty, relative=1e-8),
    "supply current under duty": Route(lambda n: _emf_that_leaves(n).supply_current, relative=1e-6),
    "diode current under duty": Route(lambda n: _emf_that_leaves(n).diode_current, relative=1e-6),
    "RMS current in the switch": Route(lambda n: _emf_that_leaves(n).switch_rms_current, relative=1e-6),
    "RMS current with ripple": Route(_rippling, relative=1e-6),
    "winding heat under slow switching": Route(lambda n: _slow_and_fast(n, "1e-4 Hz"), relative=1e-5),
    "winding heat under fast switching": Route(lambda n: _slow_and_fast(n, "1 GHz"), relative=1e-6),
    "peak current under duty": Route(lambda n: _continuous(n, "peak_current"), relative=1e-8),
    "minimum current under duty": Route(lambda n: _continuous(n, "minimum_current"), relative=1e-6),
    "ripple": Route(lambda n: _continuous(n, "ripple"), relative=1e-7),
    "ripple, straight lines": Route(lambda n: _straight(n).ripple, relative=1e-6),
    "duty of the largest ripple": Route(lambda n: _most_ripple(n)[0], relative=1e-5),
    "largest ripple": Route(lambda n: _most_ripple(n)[1], relative=1e-6),
    "inductance for a ripple": Route(lambda n: _for_ripple(n, "inductance", Q_("1 uH"), Q_("10 H")), relative=1e-6),
    "frequency for a ripple": Route(lambda n: _for_ripple(n, "frequency", Q_("1 Hz"), Q_("1 GHz")), relative=1e-6),
    "frequency for continuous current": Route(_never_stops, relative=1e-5),
    "peak current of a broken current": Route(_broken),
    "extinction time": Route(_stops_after),
    "supply voltage under load": Route(
        lambda n: loaded_supply(made(Supply, n, voltage=n.supply_voltage), current=n.current).voltage
    ),
    "internal resistance from two readings": Route(
        lambda n: internal_resistance(n.supply_voltage - n.terminal_voltage, n.current)
    ),
    "starting current with the source's resistance": Route(lambda n: _start(n).mean_current),
    "supply voltage at a start": Route(lambda n: _start(n).supply_voltage),
    "greatest current before a reset": Route(_before_reset),
    "buffer capacitor": Route(_big_enough, relative=1e-7),
    "hold-up time": Route(_lasts, relative=1e-7),
    "RMS current in the buffer capacitor": Route(_capacitor_current, relative=1e-5),
    "heat in a regulator": Route(_regulator),
    "cell current of a boost converter": Route(_converter),
    "ground offset": Route(
        lambda n: _found(shared_return, n, n.current, build=Build(shared_return=n.ground_resistance))
    ),
    "battery run time": Route(_run_time),
    "junction temperature": Route(lambda n: steady_temperature(n.power, n.junction_to_ambient, ambient=n.ambient)),
    "greatest loss without a heat sink": Route(
        lambda n: max_dissipation(n.max_junction_temperature, n.junction_to_ambient, ambient=n.ambient)
    ),
    "junction temperature with rising resistance": Route(
        lambda n: junction_temperature(_rising(n), n.current, ambient=n.ambient).temperature
    ),
    "runaway current": Route(_runs_away),
    "heat sink": Route(
        lambda n: heat_sink_resistance(
            n.power, n.junction_to_case, n.case_to_sink,
            max_temperature=n.max_junction_temperature, ambient=n.ambient,
        )
    ),
    "resistance of a hot winding": Route(lambda n: _hot(n, n.winding_temperature)),
    "winding temperature from its resistance": Route(
        _from_resistance
    ),
    "rise of a held motor at a steady voltage": Route(_held_on_voltage),
    "warming": Route(lambda n: _warmed(n.time, **_body(n))),
    "time to a temperature rise": Route(
        lambda n: inverse(lambda time: _warmed(time, **_body(n)), n.temperature_rise, Q_("1e-6 s"), Q_("1e5 s")),
        relative=1e-7,
    ),
    "time to a rise without cooling": Route(_adiabatic, relative=1e-7),
}  # fmt: skip


@pytest.mark.parametrize("name", ROUTES)
def test_both_routes_agree(name):
    """The derived result and the kernel's, at random numbers of the size that a bench has."""
    compare(name, ROUTES[name])


def test_every_other_derivation_is_compared():
    """A derivation without a kernel beside it does not go unnoticed, of a new topic either."""
    assert set(ROUTES) == names_of(*(set(derivations().topics) - ELSEWHERE))
