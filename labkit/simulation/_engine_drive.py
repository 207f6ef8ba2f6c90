"""A drive as the floats that the switched-circuit engine takes."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from labkit._kernels.engine.circuit import DriveSI, LoopSI, SwitchSI
from labkit._kernels.engine.readings import Bench, bench
from labkit.parts import Bipolar, Drive, Mosfet
from labkit.simulation._loop import ambient_kelvins, brakes, needed, refuse_early_breakdown
from labkit.simulation._warmth import copper_factor
from labkit.simulation.switch import base_current, gate_volts, saturation_current, switch_path
from labkit.units import from_si, magnitude

__all__ = ["drive_record"]


class _Same(NamedTuple):
    """A drive as a key: drives are frozen, so that the same object always gives the same floats."""

    drive: Drive

    def __hash__(self) -> int:
        return id(self.drive)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.drive is self.drive


def drive_record(
    drive: Drive, junction: float | None, winding: float | None, *, tolerance: float, duration: float
) -> tuple[DriveSI, Bench, tuple[SwitchSI, SwitchSI]]:
    """Return the drive as floats: for stepping, for readings, and its open and closed switch.

    Junction and winding [K] are at the ambient's temperature where they are None.
    """
    circuit, test, switches = _floats(_Same(drive), junction, winding)
    if circuit.fan > 0.0:
        circuit = circuit._replace(fan_step=10.0 * tolerance / duration * circuit.inertia / circuit.fan)
    return circuit._replace(duration=duration), test, switches


@lru_cache(maxsize=16)
def _floats(
    same: _Same, junction: float | None, winding: float | None
) -> tuple[DriveSI, Bench, tuple[SwitchSI, SwitchSI]]:
    """Return `drive_record` but for tolerance and duration: a slider of the duty asks for one drive again and again."""
    drive = same.drive
    around = float(ambient_kelvins(drive))
    junction, winding = (around if given is None else given for given in (junction, winding))
    motor, supply, load = drive.motor, drive.supply, drive.load
    all_brakes = brakes(motor, load)
    inertia = needed(motor, "inertia", "kg*m**2", "where time matters") + float(magnitude(load.inertia, "kg*m**2"))
    voltage, source = float(magnitude(supply.voltage, "V")), float(magnitude(supply.internal_resistance, "ohm"))
    share = leak = uptake = capacitor = capacitance = 0.0
    if supply.capacitance is not None and source > 0.0:
        capacitor = float(magnitude(supply.capacitor_resistance, "ohm"))
        capacitance = float(magnitude(supply.capacitance, "F"))
        share = source / (source + capacitor)
        leak, uptake = 1.0 / (capacitance * (source + capacitor)), share / capacitance
    loop = LoopSI(
        winding_resistance=float(magnitude(motor.resistance, "ohm") * copper_factor(np.asarray(winding)))
        + float(magnitude(drive.wiring, "ohm")),
        brush_drop=float(magnitude(motor.brush_drop, "V")),
        diode_drop=math.inf if drive.diode is None else float(magnitude(drive.diode.forward_voltage, "V")),
        diode_resistance=0.0 if drive.diode is None else float(magnitude(drive.diode.slope_resistance, "ohm")),
        source_voltage=voltage,
        rail_resistance=source * (1.0 - share),
        share=share,
    )
    k, fan = float(magnitude(motor.emf_constant, "V*s/rad")), float(all_brakes.fan)
    circuit = DriveSI(
        inductance=needed(motor, "inductance", "H", "where time matters"),
        emf_constant=k,
        inertia=inertia,
        friction=float(all_brakes.friction),
        holding=float(all_brakes.holding),
        viscous=float(all_brakes.viscous),
        fan=fan,
        weight=float(all_brakes.weight),
        source_voltage=voltage,
        source_resistance=source,
        capacitance=capacitance,
        leak=leak,
        uptake=uptake,
        fan_step=math.inf,
        slow=0.05 * voltage / k,
        duration=0.0,
    )
    switches = _switches(drive, voltage, junction)
    test = bench(
        circuit,
        loop,
        switches,
        capacitor_resistance=capacitor,
        motor_friction=float(all_brakes.motor_friction),
        motor_viscous=float(all_brakes.motor_viscous),
    )
    return circuit, test, switches


def _switches(drive: Drive, voltage: float, junction: float) -> tuple[SwitchSI, SwitchSI]:
    """Return the open and the closed switch; a gate below the threshold leaves the closed one open."""
    switch = drive.switch
    refuse_early_breakdown(drive, voltage)
    breakdown = math.inf if switch.breakdown_voltage is None else float(magnitude(switch.breakdown_voltage, "V"))
    gate = gate_volts(drive)
    resistance, own_drop, body = switch_path(switch, gate, np.asarray(junction))
    body = math.inf if math.isnan(body) else body
    opened = SwitchSI(0.0, math.inf, 0.0, body, breakdown)
    if math.isinf(resistance):
        return opened, opened
    return opened, SwitchSI(_limit(drive, switch, gate), float(resistance), own_drop, body, breakdown)


def _limit(drive: Drive, switch: Mosfet | Bipolar, gate: float) -> float:
    """Return the largest current [A] that a closed switch carries; infinite where the sheet does not tell."""
    if isinstance(switch, Bipolar):
        if switch.base_resistor is None:
            return math.inf
        base = float(base_current(switch, drive.pin, np.asarray(magnitude(drive.pin.high_level, "V"))))
        if drive.pull_down is not None:
            base -= float(magnitude(switch.base_emitter_voltage, "V") / magnitude(drive.pull_down, "ohm"))
        return max(switch.gain * base, 0.0)
    tells = switch.transconductance is not None or isinstance(switch.on_resistance, tuple)
    if switch.threshold is None or not tells:
        return math.inf
    return float(magnitude(saturation_current(switch, from_si(gate, "V")), "A"))
