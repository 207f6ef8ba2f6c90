"""Two independent routes to one number: gate, driver and switch-off, derived in symbols and by the float kernels.

What a kernel does not compute by itself, the review does, with sums of its own.
"""

from __future__ import annotations

import pytest
from pairs import Route, compare, drive, inverse, made, motor, names_of, turning_point

from labkit._kernels.regression_traces import rising
from labkit.parts import Bipolar, Build, Diode, Load, Mosfet, Pin, Supply
from labkit.reviews._case import Case
from labkit.reviews._gate import base_current, gate_peak, held_off
from labkit.reviews._supply import pin_feeds_motor
from labkit.simulation import (
    always_off,
    chopper,
    current_after,
    gate_drive_voltage,
    generator_point,
    kick_voltage,
    pin_resistance,
    pwm_operating_point,
    saturation_current,
    simulate,
    switching_loss,
    switching_times,
    turn_off_transient,
)
from labkit.units import Q_

pytestmark = pytest.mark.core

LITTLE, MUCH = Q_("1e-6 ohm"), Q_("1e9 ohm")
#: A shaft that does not slow down while one looks.
FLYWHEEL = Load(inertia="1e9 kg*m**2")


def _found(finding, whole):
    """The number that a finding of the review weighs."""
    return finding(Case(whole, duty=(1.0, 1.0), frequency=20e3)).value


def _led_on_pin(n):
    """The pin as a generator: its level is the EMF, its resistance the winding's."""
    pin = motor(n, resistance=n.output_resistance, emf_constant="1 V*s/rad")
    led = Diode(forward_voltage=n.led_voltage, slope_resistance=n.led_slope_resistance)
    return generator_point(pin, n.high_level / Q_("1 V*s/rad"), led).current


def _gulp(n, resistor):
    return _found(gate_peak, drive(n, gate_resistor=resistor))


def _at_boot(n, pull_down, **pin):
    """The gate's voltage while nothing drives it."""
    part = Mosfet(on_resistance="1 ohm", threshold="1 V")
    return _found(held_off, drive(n, switch=part, pull_down=pull_down, pin=made(Pin, n, **pin)))


def _charging(n, time):
    constant = (n.gate_resistor + n.output_resistance) * n.gate_capacitance
    return n.high_level * float(rising(time.to("s").magnitude, 1.0, constant.to("s").magnitude))


def _base_resistor(n):
    def allowed(resistor):
        part = made(Bipolar, n, gain=float(n.gain.magnitude), base_resistor=resistor)
        return _found(base_current, drive(n, switch=part))

    return inverse(allowed, n.current, LITTLE, MUCH)


def _smooth(n, **switch):
    """A chopper with so much inductance that its current is smooth, and the EMF that leaves this mean current."""
    drop = getattr(n, "diode_drop", Q_("0 V"))
    ohms, volts = switch.get("switch_resistance", Q_("0 ohm")), switch.get("switch_drop", Q_("0 V"))
    mean = (Q_("100 V") - volts - ohms * n.current) * n.duty - drop * (1 - n.duty)
    return chopper("100 V", mean - Q_("1 ohm") * n.current, "1 ohm", "1 H", "1 MHz", n.duty, drop, **switch)


def _pulsed(n, **fields):
    """A settled drive with so much inductance that its current is smooth, and the friction that asks for it."""
    friction = Q_("5 mV*s/rad") * getattr(n, "current", Q_("0.1 A"))
    whole = motor(n, resistance="1 mohm", inductance="1 MH", friction_torque=friction)
    return pwm_operating_point(drive(n, motor=whole, **fields), getattr(n, "duty", 0.5), n.frequency)


def _all_heat(n):
    """Conduction and switching together: plateau and charge are those that give the two times."""
    n.plateau_voltage = Q_("4 V") * n.turn_on_time / (n.turn_on_time + n.turn_off_time)
    n.gate_drain_charge = n.turn_off_time * n.plateau_voltage / Q_("1 kohm")
    return _pulsed(n, gate_resistor="1 kohm").switch_loss


def _swinging(n, frequency):
    both = n.turn_on_time + n.turn_off_time
    return switching_loss(n.supply_voltage, n.current, duration=both, frequency=frequency)


def _equal_frequency(n):
    conducting = _smooth(n, switch_resistance=n.on_resistance).switch_loss
    return inverse(lambda frequency: _swinging(n, frequency), conducting, Q_("1 uHz"), Q_("1e15 Hz"))


def _enough_gate(n):
    part = made(Mosfet, n, on_resistance="1 ohm")
    return inverse(lambda volts: saturation_current(part, volts), n.current, n.threshold * (1 + 1e-9), Q_("1 kV"))


def _opened(n, **fields):
    """The switch-off at an EMF, which stands for k·ω with k = 5 mV·s/rad."""
    emf = getattr(n, "emf", Q_("0 V"))
    return turn_off_transient(drive(n, **fields), n.current, getattr(n, "speed", emf / Q_("5 mV*s/rad")))


def _kicked(n):
    """The diode's voltage at which the kernel's inductance has the voltage of this rate."""
    kick = n.inductance * n.current_rate
    if kick <= 1.001 * (n.resistance * n.current + n.emf_constant * n.speed):
        return None  # the diode stays blocked

    def across(drop):
        return turn_off_transient(drive(n, diode=Diode(forward_voltage=drop)), n.current, n.speed).kick_voltage

    return inverse(across, kick, Q_("1e-9 V"), Q_("100 kV"))


def _first_fall(n):
    """The fall of the current in the first millionth of L/R."""
    moment = 1e-7 * n.inductance / n.resistance
    later = current_after(
        moment, voltage=-n.emf - n.diode_drop, resistance=n.resistance, inductance=n.inductance, start=n.current
    )
    return (n.current - later) / moment


def _coasting(n, supply_voltage):
    """A heavy flywheel that turns forward with the switch open: the drain and the rail."""
    whole = drive(n, supply=Supply(voltage=supply_voltage), load=FLYWHEEL)
    return simulate(whole, always_off(), "1 ms", speed=n.speed, samples=2)


def _blocked(n):
    trace = _coasting(n, "1 kV")
    return trace.switch_voltage[-1] - trace.supply_voltage[-1]


def _open_switch(n, emf):
    volts, drop = n.supply_voltage, n.body_diode_drop
    return chopper(volts, emf, getattr(n, "resistance", "1 ohm"), "1 mH", "1 kHz", 0, body_diode_drop=drop)


def _feeds_supply(n):
    def backwards(speed):
        return _open_switch(n, n.emf_constant * speed).mean_current < Q_("0 A")

    return turning_point(backwards, Q_("0 rad/s"), Q_("1e6 rad/s"))


def _decaying(n):
    return current_after(
        n.time, voltage=-n.emf - n.diode_drop, resistance=n.resistance, inductance=n.inductance, start=n.current
    )


def _broken_down(n):
    """Without the diode, and with so little resistance that the fall is even."""
    return turn_off_transient(drive(n, motor=motor(n, resistance="1e-9 ohm"), diode=None), n.current)


ROUTES = {
    "output resistance of a pin": Route(lambda n: pin_resistance(n.high_level, n.loaded_level, n.pin_current)),
    "motor on a pin": Route(lambda n: _found(pin_feeds_motor, drive(n, build=Build(motor_on_pin=True)))),
    "LED on a pin": Route(_led_on_pin),
    "peak gate current": Route(lambda n: _gulp(n, n.gate_resistor)),
    "gate resistor": Route(lambda n: inverse(lambda ohms: _gulp(n, ohms), n.pin_current, LITTLE, MUCH)),
    "mean gate current": Route(lambda n: _pulsed(n).gate_loss / Q_("4 V")),
    "gate voltage with a pull-down": Route(lambda n: gate_drive_voltage(drive(n))),
    "pull-down for a leakage": Route(
        lambda n: inverse(lambda ohms: _at_boot(n, ohms, leakage=n.leakage_current), n.threshold, LITTLE, MUCH)
    ),
    "gate voltage against a pull-up": Route(lambda n: _at_boot(n, n.pull_down, boot_pull_up=n.pull_up)),
    "gate charging": Route(lambda n: _charging(n, n.time)),
    "time to the threshold": Route(
        lambda n: inverse(lambda time: _charging(n, time), n.threshold, Q_("1e-12 s"), Q_("1 s"))
    ),
    "turn-on time": Route(lambda n: switching_times(drive(n))[0]),
    "turn-off time": Route(lambda n: switching_times(drive(n))[1]),
    "gate resistor for a turn-on time": Route(
        lambda n: inverse(lambda ohms: switching_times(drive(n, gate_resistor=ohms))[0], n.turn_on_time, LITTLE, MUCH),
        relative=1e-8,
    ),
    "base resistor": Route(_base_resistor),
    "conduction loss": Route(lambda n: _smooth(n, switch_resistance=n.on_resistance).switch_loss, relative=1e-6),
    "conduction loss of a bipolar transistor": Route(
        lambda n: _smooth(n, switch_drop=n.saturation_voltage).switch_loss, relative=1e-6
    ),
    "diode loss": Route(lambda n: _smooth(n).diode_loss, relative=1e-6),
    "switching loss": Route(
        lambda n: _swinging(n, n.frequency)
    ),
    "frequency of equal losses": Route(_equal_frequency, relative=1e-6),
    "gate drive loss": Route(lambda n: _pulsed(n).gate_loss),
    "recovery loss": Route(lambda n: _pulsed(n).recovery_loss),
    "heat in the switch": Route(_all_heat, relative=1e-6),
    "gate voltage for a current": Route(_enough_gate),
    "generator EMF at the freewheel diode": Route(_blocked, relative=1e-8),
    "switch-off kick at the freewheel diode": Route(_kicked, relative=1e-8),
    "switch-off kick": Route(lambda n: _opened(n).kick_voltage),
    "rate at which the current falls": Route(_first_fall, relative=1e-6),
    "kick of a forced switch-off": Route(
        lambda n: kick_voltage(inductance=n.inductance, current_change=n.current, time=n.duration)
    ),
    "peak switch voltage with a diode": Route(
        lambda n: turn_off_transient(drive(n), "1 A", "300 rad/s").peak_switch_voltage
    ),
    "switch voltage while coasting": Route(lambda n: _coasting(n, n.supply_voltage).switch_voltage[-1]),
    "speed at which the body diode conducts": Route(_feeds_supply),
    "current that an overhauling load feeds back": Route(
        lambda n: -_open_switch(n, n.emf_constant * n.speed).mean_current
    ),
    "current of a shaft driven backwards": Route(
        lambda n: chopper("6 V", -n.emf_constant * n.speed, n.resistance, "1 mH", "1 kHz", 0, n.diode_drop).mean_current
    ),
    "braking current in a bridge": Route(
        lambda n: generator_point(motor(n), n.speed, 2 * n.on_resistance).current
    ),
    "freewheel current": Route(_decaying),
    "freewheel decay time": Route(lambda n: _opened(n).decay_time),
    "energy in the freewheel diode": Route(lambda n: _opened(n).diode_energy, relative=1e-8),
    "breakdown decay time": Route(lambda n: _broken_down(n).decay_time, relative=1e-6),
    "energy in a transistor that breaks down": Route(lambda n: _broken_down(n).avalanche_energy, relative=1e-6),
}  # fmt: skip


@pytest.mark.parametrize("name", ROUTES)
def test_both_routes_agree(name):
    """The derived result and the kernel's, at random numbers of the size that a bench has."""
    compare(name, ROUTES[name])


def test_every_derivation_of_these_topics_is_compared():
    """A derivation without a kernel beside it does not go unnoticed."""
    assert set(ROUTES) == names_of("pin and gate", "driver", "switch-off")
