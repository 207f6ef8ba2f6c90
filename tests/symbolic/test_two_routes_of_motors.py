"""Two independent routes to one number: circuit, motor and generator, derived in symbols and by the float kernels."""

from __future__ import annotations

import numpy as np
import pytest
from pairs import HELD, Route, compare, drive, highest, inverse, made, motor, names_of

from labkit._kernels.generator import ShockleySI, into_led
from labkit.parts import Diode, Load, Mosfet, Pin, Supply
from labkit.simulation import (
    always_off,
    always_on,
    catalogue_point,
    chopper,
    coast_down,
    coil_emf,
    current_after,
    generator_point,
    loaded_supply,
    operating_point,
    pwm_operating_point,
    simulate,
    speed_response,
    switching_times,
    time_to_current,
    turn_off_transient,
    wire_resistance,
)
from labkit.simulation._loop import motor_record
from labkit.units import Q_

pytestmark = pytest.mark.core

#: So small that the current follows the speed at once, and the speed is that of a motor without inductance.
QUICK = {"inductance": "1 nH"}


def _held(n, voltage):
    return operating_point(motor(n), voltage, HELD)


def _running(n, voltage, torque="0 N*m"):
    return operating_point(motor(n), voltage, Load(friction=torque))


def _in_parallel(n):
    """Pull-down and gate resistor drain a gate side by side: the time for 1 nC at 1 V tells their resistance."""
    part = Mosfet(on_resistance="1 ohm", gate_drain_charge="1 nC", plateau_voltage="1 V")
    pin = Pin(high_level="1 MV", output_resistance="0 ohm")
    whole = drive(n, switch=part, pin=pin, gate_resistor=n.resistance, pull_down=n.other_resistance)
    return switching_times(whole)[1] * Q_("1 V/nC")


def _divided(n, voltage):
    """Two resistances in a row: one in the source, one its load."""
    return loaded_supply(Supply(voltage=voltage, internal_resistance=n.resistance), load=n.other_resistance)


def _coil(n):
    return {"voltage": n.voltage, "resistance": n.resistance, "inductance": n.inductance}


def _two_speeds(n):
    """The speed that a small torque costs."""
    torque = Q_("1 uN*m")
    free, loaded = (_running(n, "6 V", each).speed for each in ("0 N*m", torque))
    return (free - loaded) / torque


def _with_resistor(n):
    """A drive at full duty whose wiring is the series resistor, and whose friction asks for the current."""
    friction = n.emf_constant * n.current
    whole = drive(
        n, supply=Supply(voltage=n.voltage), motor=motor(n, friction_torque=friction), wiring=n.series_resistance
    )
    return pwm_operating_point(whole, 1, "1 kHz").speed


def _constant_from_speed(n):
    def speed(k):
        return operating_point(motor(n, emf_constant=k, friction_torque=k * n.current), n.voltage).speed

    return inverse(speed, n.speed, Q_("1e-6 V*s/rad"), Q_("1 V*s/rad"))


def _at_current(n):
    """A motor whose load asks for the current at the speed."""
    friction = n.emf_constant * n.no_load_current
    load = Load(friction=n.emf_constant * n.current - friction)
    whole = motor(n, resistance="2 ohm", friction_torque=friction)
    return operating_point(whole, Q_("2 ohm") * n.current + n.emf_constant * n.speed, load)


def _line(n, **ends):
    """The catalogue line of a motor on 6 V that has these currents."""
    ohms, free, stall = Q_("6 V") / n.stall_current, n.no_load_current, n.stall_current
    k = Q_("5 mV*s/rad")
    return {
        "voltage": "6 V", "no_load_current": free, "stall_current": stall,
        "no_load_speed": (Q_("6 V") - ohms * free) / k, "stall_torque": k * (stall - free),
    } | ends  # fmt: skip


def _on_the_line(n):
    torque = Q_("5 mV*s/rad") * (n.current - n.no_load_current)
    return Q_(float(catalogue_point(torque, **_line(n)).efficiency), "")


def _most_power(no_load_speed, stall_torque):
    ends = {"voltage": "6 V", "no_load_current": "0.1 A", "stall_current": "2 A"}

    def power(torque):
        point = catalogue_point(torque, no_load_speed=no_load_speed, stall_torque=stall_torque, **ends)
        return point.shaft_power

    place, power = highest(power, 0.01 * stall_torque, 0.99 * stall_torque)
    return catalogue_point(place, no_load_speed=no_load_speed, stall_torque=stall_torque, **ends).speed, power


def _in_time(n, gate, **start):
    """The speed after the time, from a run of the whole drive without inductance."""
    volts = getattr(n, "voltage", "1 kV")
    whole = drive(n, supply=Supply(voltage=volts), motor=motor(n, **QUICK), **start.pop("parts", {}))
    return simulate(whole, gate, n.time, samples=2, **start).speed[-1]


def _braked(n):
    """Turned backwards, the freewheel diode joins the ends; its slope is the load, and the mirror image the braking."""
    through = Diode(forward_voltage="0 V", slope_resistance=n.load_resistance)
    speed = -_in_time(n, always_off(), speed=-n.start_speed, parts={"diode": through})
    return speed if speed > Q_("1 rad/s") else None  # the shaft stands


def _turned(n, load):
    return generator_point(motor(n), n.speed, load)


def _best_load(n):
    n.speed, n.emf_constant = getattr(n, "speed", Q_("500 rad/s")), getattr(n, "emf_constant", Q_("5 mV*s/rad"))
    return highest(lambda ohms: _turned(n, ohms).load_power, 0.01 * n.resistance, 5 * n.resistance)


def _led_line(n):
    return Diode(forward_voltage=n.led_voltage, slope_resistance=n.led_slope_resistance)


def _lights(n):
    def current(speed):
        return generator_point(motor(n), speed, _led_line(n)).current

    dark = n.led_voltage / n.emf_constant
    return inverse(current, n.current, dark * (1 + 1e-9), 1e3 * dark)


def _through_led(n):
    led = ShockleySI(
        *(np.asarray(each.to_base_units().magnitude) for each in (n.saturation_current, n.thermal_voltage)),
        series_resistance=np.asarray(0.0),
    )
    emf = (n.emf_constant * n.speed).to("V").magnitude
    return Q_(float(into_led(np.asarray(emf), motor_record(motor(n)), led)), "A")


ROUTES = {
    "Ohm's law": Route(lambda n: _held(n, n.voltage).current),
    "power from voltage and current": Route(
        lambda n: operating_point(motor(n, resistance=n.voltage / n.current), n.voltage, HELD).input_power
    ),
    "power from current and resistance": Route(lambda n: _held(n, n.current * n.resistance).copper_loss),
    "power from voltage and resistance": Route(
        lambda n: loaded_supply(Supply(voltage=n.voltage), load=n.resistance).load_power
    ),
    "resistances in series": Route(
        lambda n: Q_("1 V") / _divided(n, Q_("1 V")).current
    ),
    "resistances in parallel": Route(_in_parallel),
    "voltage divider": Route(lambda n: _divided(n, n.voltage).voltage),
    "wiring drop": Route(
        lambda n: n.current * wire_resistance(2 * n.length, area=n.area, resistivity=n.resistivity)
    ),
    "current rise": Route(lambda n: current_after(n.time, **_coil(n))),
    "time to reach a current": Route(lambda n: time_to_current(n.current, **_coil(n))),
    "energy in the winding": Route(lambda n: turn_off_transient(drive(n, diode=Diode()), n.current).stored_energy),
    "back-EMF": Route(lambda n: _turned(n, None).emf),
    "torque": Route(lambda n: _held(n, n.current * Q_("2 ohm")).electromagnetic_torque),
    "winding current": Route(
        lambda n: chopper(n.voltage, n.emf_constant * n.speed, n.resistance, "1 mH", "1 kHz", 1).mean_current
    ),
    "stall current": Route(lambda n: _held(n, n.voltage).current),
    "stall torque": Route(lambda n: _held(n, n.voltage).shaft_torque),
    "no-load current": Route(lambda n: _running(n, "100 V").current),
    "no-load speed": Route(lambda n: _running(n, n.voltage).speed),
    "no-load speed from the no-load current": Route(
        lambda n: operating_point(motor(n, friction_torque=n.emf_constant * n.no_load_current), n.voltage).speed
    ),
    "speed-torque line": Route(lambda n: _running(n, n.voltage, n.shaft_torque).speed),
    "speed from the two ends": Route(
        lambda n: catalogue_point(
            n.shaft_torque, voltage="6 V", no_load_speed=n.no_load_speed, no_load_current="0.1 A",
            stall_torque=n.stall_torque, stall_current="2 A",
        ).speed
    ),
    "speed gradient": Route(_two_speeds, relative=1e-6),
    "current under load": Route(
        lambda n: operating_point(
            motor(n, friction_torque=n.emf_constant * n.no_load_current), "1 kV", Load(friction=n.shaft_torque)
        ).current
    ),
    "speed with a fan": Route(lambda n: operating_point(motor(n), n.voltage, made(Load, n)).speed),
    "speed with a series resistor": Route(_with_resistor),
    "motor constant from a running reading": Route(_constant_from_speed),
    "speed constant": Route(lambda n: speed_response(motor(n)).gain),
    "shaft power": Route(lambda n: _at_current(n).shaft_power),
    "speed of most shaft power": Route(lambda n: _most_power(n.no_load_speed, Q_("5 mN*m"))[0], relative=1e-5),
    "maximum shaft power": Route(lambda n: _most_power(n.no_load_speed, n.stall_torque)[1]),
    "efficiency": Route(_on_the_line),
    "current of best efficiency": Route(lambda n: catalogue_point(**_line(n)).current),
    "maximum efficiency": Route(lambda n: Q_(float(catalogue_point(**_line(n)).efficiency), "")),
    "mechanical time constant": Route(lambda n: speed_response(motor(n)).mechanical_time_constant),
    "run-up": Route(lambda n: _in_time(n, always_on()), relative=1e-6),
    "coasting with nothing connected": Route(
        lambda n: _in_time(n, always_off(), speed=n.start_speed), relative=1e-8
    ),
    "coasting time": Route(lambda n: coast_down(motor(n), n.start_speed).time),
    "braking by a load": Route(_braked, relative=1e-5),
    "braking time": Route(lambda n: coast_down(motor(n), n.start_speed, connected=n.load_resistance).time),
    "generator terminal voltage": Route(
        lambda n: _turned(n, (n.emf_constant * n.speed) / n.current - n.resistance).terminal_voltage
    ),
    "generator current into a resistor": Route(lambda n: _turned(n, n.load_resistance).current),
    "generator power into a resistor": Route(lambda n: _turned(n, n.load_resistance).load_power),
    "best load of a generator": Route(lambda n: _best_load(n)[0], relative=1e-6),
    "maximum generator power": Route(lambda n: _best_load(n)[1]),
    "generator current into an LED": Route(lambda n: _turned(n, _led_line(n)).current),
    "generator current into an LED, exactly": Route(_through_led, relative=1e-8),
    "speed at which an LED lights": Route(_lights),
    "torque that a generator costs": Route(lambda n: _turned(n, n.load_resistance).shaft_torque),
    "EMF of a turning coil": Route(
        lambda n: coil_emf(turns=n.turns, field=n.flux_density, area=n.coil_area, speed=n.speed).peak
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", ROUTES)
def test_both_routes_agree(name):
    """The derived result and the kernel's, at random numbers of the size that a bench has."""
    compare(name, ROUTES[name])


def test_every_derivation_of_these_topics_is_compared():
    """A derivation without a kernel beside it does not go unnoticed."""
    assert set(ROUTES) == names_of("circuit", "motor", "generator")
