"""A review writes its own sums: each that has a derivation agrees with it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from pairs import admissible, chance_for, drive, made, motor

from labkit.parts import Build, Diode, Mosfet, Supply
from labkit.reviews._case import Case
from labkit.reviews._diode import diode_current, kick_has_a_way, recovery
from labkit.reviews._duty import count_is_not_per_cent, smooth_current, starts_at_least_duty
from labkit.reviews._gate import gate_divider
from labkit.reviews._heat import junction
from labkit.reviews._supply import sag_at_start
from labkit.symbolic import derivation
from labkit.testing import assert_quantity_close
from labkit.units import Q_

pytestmark = pytest.mark.core


def _weighed(finding, whole, **looked_at):
    """The number that a finding weighs, at full duty where nothing else is said."""
    case = Case(whole, **({"duty": (1.0, 1.0), "frequency": 20e3} | looked_at))
    return finding(case).value


def _share(n):
    return float(n.duty.magnitude)


def _turning(n, amps, **fields):
    """A drive whose motor takes this current at any duty, smooth by its inductance."""
    whole = motor(
        n, resistance="1 mohm", inductance="1 kH", emf_constant="1 V*s/rad", friction_torque=Q_("1 V*s/rad") * amps
    )
    return drive(n, motor=whole, **fields)


def _counted(n):
    """The review weighs how far the number's duty is from the one that is meant, here 1."""
    whole = drive(n, build=Build(duty_top=float(n.top.magnitude)))
    return 1 - _weighed(count_is_not_per_cent, whole, duty_count=float(n.count.magnitude))


def _starting(n):
    """What the shaft needs to start is the friction of the starting voltage's current."""
    held = Q_("5 mV*s/rad") * n.starting_voltage / Q_("2 ohm")
    case = Case(drive(n, motor=motor(n, starting_torque=held)), duty=(0.5, 1.0), frequency=20e3)
    return starts_at_least_duty(case).limit


def _stalling(n, **fields):
    """A drive whose held motor takes the current."""
    inner = getattr(n, "internal_resistance", Q_("0 ohm"))
    return drive(n, motor=motor(n, resistance=n.supply_voltage / n.current - inner), **fields)


def _sagging(n):
    source = made(Supply, n, voltage=n.supply_voltage, brown_out="1 mV")
    return _weighed(sag_at_start, _stalling(n, supply=source))


def _rippling(n):
    """The review weighs half of the ripple, of a diode that drops nothing."""
    whole = drive(n, diode=Diode(forward_voltage="0 V"), motor=motor(n, friction_torque=Q_("50 uN*m")))
    looked_at = {"duty": (_share(n), 1.0), "frequency": float(n.frequency.to("Hz").magnitude)}
    return 2 * _weighed(smooth_current, whole, **looked_at)


def _heated(n):
    """The rise of a part whose resistance makes the power from 1 A, whatever its temperature."""
    ohms = n.power / Q_("1 A**2")
    part = Mosfet(on_resistance=ohms.to("ohm"), junction_to_ambient=n.junction_to_ambient,
                  resistance_temperature_coefficient="0 1/K")  # fmt: skip
    whole = drive(
        n, supply=Supply(voltage="100 V"), switch=part, motor=motor(n, resistance="1 uohm", friction_torque="5 mN*m")
    )
    return _weighed(junction, whole) + n.ambient.to("kelvin")


#: Name of the derivation, and the number that the review weighs for the same circuit.
REVIEWED = {
    "starting duty": _starting,
    "duty from a count": _counted,
    "diode current under duty": lambda n: _weighed(
        diode_current, _turning(n, n.mean_current, diode=Diode(max_current="1 A")), duty=(_share(n), 1.0)
    ),
    "recovery loss": lambda n: _weighed(
        recovery, drive(n), duty=(0.5, 1.0), frequency=float(n.frequency.to("Hz").magnitude)
    ),
    "energy in a transistor that breaks down": lambda n: _weighed(kick_has_a_way, _stalling(n, diode=None)),
    "supply voltage under load": _sagging,
    "ripple, straight lines": _rippling,
    "gate voltage with a pull-down": lambda n: _weighed(gate_divider, drive(n)),
    "junction temperature": _heated,
}  # fmt: skip


@pytest.mark.parametrize("name", REVIEWED)
def test_the_review_agrees_with_the_derivation(name):
    """At random numbers, in the circuit that a reader would have the review look at."""
    this, chance = derivation(name), chance_for(name)
    for _ in range(5):
        quantities, _ = admissible(this, chance)
        if name == "ripple, straight lines":
            quantities["diode_drop"] = Q_("0 V")
        found = REVIEWED[name](SimpleNamespace(**quantities))
        assert_quantity_close(this.evaluate(**quantities).to_base_units(), found.to_base_units(), relative=1e-6)
