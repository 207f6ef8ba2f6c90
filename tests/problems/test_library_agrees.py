"""The bank's answers against the kit's own derivations and simulations: two routes to each number."""

from __future__ import annotations

import pytest

from labkit.checks.numbers import from_coherent
from labkit.parts import Load, Mosfet, Motor
from labkit.problems import BANK, draw, plans
from labkit.simulation import chopper, junction_temperature, operating_point
from labkit.symbolic import derivation
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core


def _derived(name, *same, **renamed):
    """Return a route through a derivation: values that have the derivation's own names, and those that have others."""

    def route(value):
        return derivation(name).evaluate(
            **{to: value(of) for to, of in [*zip(same, same, strict=True), *renamed.items()]}
        )

    return route


def _held_junction(value):
    part = Mosfet(on_resistance=value("on_resistance"), junction_to_ambient=value("junction_to_ambient"))
    return junction_temperature(part, value("current"), ambient=value("ambient")).temperature


def _held_flat_junction(value):
    part = Mosfet(
        on_resistance=value("on_resistance"),
        junction_to_ambient=value("junction_to_ambient"),
        resistance_temperature_coefficient=Q_(0.0, "1/kelvin"),
    )
    return junction_temperature(part, value("current"), ambient=value("ambient")).temperature


def _with_fan(value):
    fan = value("fan_torque") / Q_("8000 rpm").to("rad/s") ** 2
    motor = Motor(
        resistance=value("resistance"),
        emf_constant=value("emf_constant"),
        friction_torque=value("emf_constant") * value("free_current"),
    )
    return operating_point(motor, value("voltage"), Load(fan=fan.to("N*m*s**2/rad**2"))).speed


def _switched(value):
    mean = derivation("mean voltage under duty").evaluate(
        duty=value("duty"), supply_voltage=value("voltage"), diode_drop=value("diode_drop")
    )
    return chopper(
        value("voltage"),
        mean - value("current") * value("resistance"),
        value("resistance"),
        value("inductance"),
        Q_("20 kHz"),
        value("duty"),
        value("diode_drop"),
    )


#: Question and the library's route to its answer.
ROUTES = {
    "Generator EMF at this speed": _derived("back-EMF", "emf_constant", "speed"),
    "Generator EMF while driven": _derived("back-EMF", "emf_constant", speed="driven_speed"),
    "Current into a resistor": _derived(
        "generator current into a resistor", "emf_constant", "speed", "resistance", load_resistance="resistor"
    ),
    "Voltage left at the terminals": _derived(
        "generator terminal voltage", "emf_constant", "speed", "resistance", current="load_current"
    ),
    "Drag torque of the loaded generator": lambda value: derivation("torque that a generator costs").evaluate(
        friction_torque=Q_("0 N*m"),
        speed=value("speed"),
        emf_constant=value("emf_constant"),
        resistance=value("resistance"),
        load_resistance=value("resistor"),
    ),
    "Motor constant from running free": _derived(
        "motor constant from a running reading", "voltage", "resistance", current="free_current", speed="free_speed"
    ),
    "Current when held still": _derived("stall current", "voltage", "resistance"),
    "Copper loss while running": _derived("power from current and resistance", "current", "resistance"),
    "Heat of the held motor": _derived("power from voltage and resistance", "voltage", "resistance"),
    "Current at this speed": _derived("winding current", "voltage", "emf_constant", "resistance", speed="run_speed"),
    "Free speed": _derived(
        "no-load speed from the no-load current", "voltage", "emf_constant", "resistance",
        no_load_current="free_current"
    ),
    "Torque of this current": _derived("torque", "emf_constant", "current"),
    "Kv of this motor": _derived("speed constant", "emf_constant"),
    "Shaft power at this current": lambda value: derivation("shaft power").evaluate(
        emf_constant=value("emf_constant"),
        speed=value("emf") / value("emf_constant"),
        current=value("current"),
        no_load_current=value("free_current"),
    ),
    "Efficiency at this current": lambda value: derivation("efficiency").evaluate(
        no_load_current=value("free_current"),
        current=value("current"),
        stall_current=value("voltage") / value("resistance"),
    ),
    "Speed with the fan": _with_fan,
    "On-state loss at this gate voltage": _derived(
        "power from current and resistance", "current", resistance="on_resistance"
    ),
    "Junction temperature in still air": _held_flat_junction,
    "Junction temperature with its own heat counted": _held_junction,
    "Energy stored in the winding": _derived("energy in the winding", "inductance", "current"),
    "Current after one time constant": lambda value: derivation("current rise").evaluate(
        voltage=value("voltage"),
        resistance=value("resistance"),
        inductance=value("inductance"),
        time=value("inductance") / value("resistance"),
    ),
    "Duty of this number": _derived("duty from a count", "count", "top"),
    "Mean voltage at this duty": _derived(
        "mean voltage under duty", "duty", "diode_drop", supply_voltage="voltage"
    ),
    "Speed at this duty": _derived(
        "speed against duty", "emf_constant", "duty", "diode_drop", "resistance",
        supply_voltage="voltage", mean_current="current",
    ),
    "Battery current under PWM": lambda value: _switched(value).supply_current,
    "Diode current under PWM": _derived("diode current under duty", "duty", mean_current="current"),
    "Ripple of the motor's current": lambda value: derivation("ripple").evaluate(
        resistance=value("resistance"),
        inductance=value("inductance"),
        frequency=Q_("20 kHz"),
        duty=value("duty"),
        diode_drop=value("diode_drop"),
        supply_voltage=value("voltage"),
    ),
    "Copper loss of a held rotor, slow PWM": _derived(
        "winding heat under slow switching", "duty", "resistance", supply_voltage="voltage"
    ),
    "Copper loss of a held rotor, fast PWM": _derived(
        "winding heat under fast switching", "duty", "resistance", supply_voltage="voltage"
    ),
    "Least duty that starts the motor": _derived(
        "starting duty", "diode_drop", supply_voltage="voltage", starting_voltage="start_voltage"
    ),
    "Gate voltage with this pull-down": _derived(
        "voltage divider", other_resistance="pull_down", resistance="gate_resistor", voltage="high_level"
    ),
}  # fmt: skip
#: The battery's current is exact only for a smooth one; the rest is arithmetic.
RELATIVE = {"Battery current under PWM": 0.02}
#: Units of what steps give, for the routes that begin with one.
STEPS = {"duty": "", "load_current": "A", "emf": "V"}


@pytest.mark.parametrize("title", ROUTES)
@pytest.mark.parametrize("number", range(3))
def test_the_bank_agrees_with_the_library(title, number):
    """For drawn numbers the bank's answer is what the kit's derivation or simulation gives."""
    sheet = next(sheet for sheet in plans() if any(asked.title == title for asked in sheet.questions))
    numbers = sheet.numbers(draw(sheet, learner=f"amber-{number}", bank=BANK))
    asked = sheet.question(title)

    def value(name):
        return numbers.quantity(name) if name in numbers.texts else from_coherent(getattr(numbers, name), STEPS[name])

    expected = ROUTES[title](value)

    assert_quantity_close(
        expected.to_base_units(),
        from_coherent(asked.right_size(numbers), asked.unit).to_base_units(),
        relative=RELATIVE.get(title, 1e-9),
    )
