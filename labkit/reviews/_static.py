"""What a meter reads on a drive, sound or faulty, with the pin held low and held high: no PWM, everything settled.

Signs: all voltages against the circuit's own ground except the motor's, which is + terminal against − terminal.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

from labkit.errors import LabkitError
from labkit.parts import Drive, Mosfet
from labkit.reviews._case import Case, size
from labkit.simulation import on_resistance, operating_point, saturation_current
from labkit.units import Q_

__all__ = ["READINGS", "Circuit", "circuit_of", "readings"]

#: Name of a reading: its unit, and what to put the probes on.
READINGS: dict[str, tuple[str, str]] = {
    "supply_on": ("V", "the supply at the drive, pin high"),
    "gate_off": ("V", "gate (or base) to ground, pin low"),
    "gate_on": ("V", "gate (or base) to ground, pin high"),
    "drain_off": ("V", "across the transistor, drain (or collector) to source (or emitter), pin low"),
    "drain_on": ("V", "across the transistor, drain (or collector) to source (or emitter), pin high"),
    "motor_off": ("V", "across the motor, pin low"),
    "motor_on": ("V", "across the motor, pin high"),
    "current_off": ("A", "the supply's current, pin low"),
    "current_on": ("A", "the supply's current, pin high"),
    "temperature_on": ("kelvin", "the transistor's case above the room, after a minute with the pin high"),
}

OPEN = 1e9  # ohm: a contact that is none
SHORT = 0.02  # ohm: a transistor that failed short


@dataclass(frozen=True, kw_only=True, slots=True)
class Circuit:
    """A drive as a meter sees it; a fault is a change of some of these."""

    drive: Drive
    supply_voltage: float
    supply_resistance: float
    #: Leads between supply, motor and transistor.
    path_resistance: float
    gate_on: float
    gate_off: float = 0.0
    #: In the place of what the gate decides: SHORT, OPEN, or None.
    switch_resistance: float | None = None
    #: The transistor is the wrong way round.
    swapped: bool = False
    #: The transistor's lower end is at the motor: it follows the gate.
    high_side: bool = False
    #: The freewheel diode conducts forward.
    diode_shorts: bool = False
    jammed: bool = False
    motor_open: bool = False


def circuit_of(drive: Drive) -> Circuit:
    """Return a drive with the values that it has, before any fault of its build."""
    case = Case(drive, duty=(1.0, 1.0), frequency=20e3)
    return Circuit(
        drive=drive,
        supply_voltage=case.voltage,
        supply_resistance=case.source,
        path_resistance=case.series,
        gate_on=case.gate_voltage
        if isinstance(drive.switch, Mosfet)
        else min(size(drive.switch.base_emitter_voltage, "V"), case.pin_voltage),
    )


def readings(circuit: Circuit) -> dict[str, float]:
    """Return what each of ``READINGS`` would show, as floats in coherent SI."""
    if circuit.high_side and circuit.gate_on and not isinstance(circuit.drive.switch, Mosfet):
        # its base rises with the emitter until it takes next to no current from the pin
        circuit = dataclasses.replace(circuit, gate_on=size(circuit.drive.pin.high_level, "V"))
    on, off = _state(circuit, circuit.gate_on), _state(circuit, circuit.gate_off)
    to_air = circuit.drive.switch.junction_to_ambient
    return {
        "supply_on": on.supply,
        "gate_off": circuit.gate_off,
        "gate_on": circuit.gate_on,
        "drain_off": off.drain,
        "drain_on": on.drain,
        "motor_off": off.motor,
        "motor_on": on.motor,
        "current_off": off.current,
        "current_on": on.current,
        "temperature_on": on.heat * (62.0 if to_air is None else size(to_air, "kelvin/W")),
    }


@dataclass(frozen=True, kw_only=True, slots=True)
class _State:
    supply: float
    drain: float
    motor: float
    current: float
    heat: float


def _channel(circuit: Circuit, gate: float) -> tuple[float, float, float]:
    """Return the transistor's resistance [ohm], its own drop [V] and the most current [A] that it lets through."""
    switch = circuit.drive.switch
    if circuit.switch_resistance is not None:
        return circuit.switch_resistance, 0.0, math.inf
    if not isinstance(switch, Mosfet):
        base = size(switch.base_emitter_voltage, "V")
        if gate < 0.9 * base:
            return OPEN, 0.0, math.inf
        case = Case(circuit.drive, duty=(1.0, 1.0), frequency=20e3)
        resistor = case.known(switch, "base_resistor", "ohm")
        drive = math.inf if resistor is None else (case.pin_voltage - base) / (resistor + case.pin_resistance)
        return 0.0, size(switch.saturation_voltage, "V"), switch.gain * drive
    try:
        ohms = size(on_resistance(switch, Q_(gate, "V")), "ohm")
    except LabkitError:
        ohms = OPEN
    try:
        most = size(saturation_current(switch, Q_(gate, "V")), "A")
    except LabkitError:
        most = math.inf
    if circuit.swapped and not ohms < 1.0:
        return 0.0, size(switch.body_diode_drop, "V"), math.inf
    return min(ohms, OPEN), 0.0, math.inf if circuit.swapped else most


def _state(circuit: Circuit, gate: float) -> _State:
    volts, inner = circuit.supply_voltage, circuit.supply_resistance
    ohms, drop, most = _channel(circuit, gate)
    if circuit.motor_open:
        return _State(
            supply=volts,
            drain=0.0 if ohms < OPEN else volts,
            motor=volts if ohms < OPEN else 0.0,
            current=0.0,
            heat=0.0,
        )
    if circuit.diode_shorts and ohms < OPEN:
        diode = circuit.drive.diode
        forward = 0.7 if diode is None else size(diode.forward_voltage, "V")
        amps = max(volts - forward - drop, 0.0) / max(inner + ohms, SHORT)
        return _State(
            supply=volts - amps * inner,
            drain=drop + amps * ohms,
            motor=forward,
            current=amps,
            heat=amps**2 * ohms + amps * drop,
        )
    if circuit.high_side:
        switch = circuit.drive.switch
        below = switch.threshold if isinstance(switch, Mosfet) else switch.base_emitter_voltage
        drop = max(volts - max(gate - (2.0 if below is None else size(below, "V")), 0.0), 0.0)
        ohms, most = 0.0, math.inf
    amps, motor = _motor(circuit, volts - drop, inner + circuit.path_resistance + ohms)
    if amps > most:  # the transistor, not the motor, sets the current
        amps, motor = most, _motor_voltage(circuit, most)
    supply = volts - amps * inner
    drain = supply - motor - amps * circuit.path_resistance
    return _State(supply=supply, drain=drain, motor=motor, current=amps, heat=max(drain * amps, 0.0))


def _motor(circuit: Circuit, volts: float, outside: float) -> tuple[float, float]:
    """Return the motor's settled current and terminal voltage behind a source of *volts* and a resistance *outside*."""
    motor = circuit.drive.motor
    winding = size(motor.resistance, "ohm")
    if volts <= 0.0 or outside >= OPEN:
        return 0.0, 0.0
    if circuit.jammed:
        amps = volts / (winding + outside)
        return amps, amps * winding
    whole = dataclasses.replace(motor, resistance=Q_(winding + outside, "ohm"))
    amps = size(operating_point(whole, Q_(volts, "V"), circuit.drive.load).current, "A")
    return amps, volts - amps * outside


def _motor_voltage(circuit: Circuit, amps: float) -> float:
    """Return the terminal voltage of a motor that is fed a given current, the supply's at the most."""
    motor, load = circuit.drive.motor, circuit.drive.load
    ohmic = amps * size(motor.resistance, "ohm") + size(motor.brush_drop, "V")
    held_by = size(load.friction, "N*m") + size(load.weight, "N*m")
    friction = size(motor.friction_torque, "N*m")
    holding = friction if motor.starting_torque is None else max(size(motor.starting_torque, "N*m"), friction)
    k = size(motor.emf_constant, "V*s/rad")
    if circuit.jammed or k * amps <= holding + held_by:
        return ohmic
    spare = k * amps - friction - held_by  # = viscous·ω + fan·ω²
    viscous = size(motor.viscous_friction, "N*m*s/rad") + size(load.viscous, "N*m*s/rad")
    fan = size(load.fan, "N*m*s**2/rad**2")
    root = math.sqrt(viscous**2 + 4.0 * fan * spare)
    speed = 2.0 * spare / (viscous + root) if viscous + root > 0.0 else math.inf
    return min(ohmic + k * speed, circuit.supply_voltage)
