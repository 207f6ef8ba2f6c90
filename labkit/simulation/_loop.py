"""A drive as the float records that the kernels of steady and periodic states take."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.chopper import ChopperSI
from labkit._kernels.steady import BrakesSI, MotorSI
from labkit.errors import NoSolutionError, PartError
from labkit.parts import Drive, Load, Motor, Supply
from labkit.simulation._warmth import copper_factor
from labkit.simulation.switch import gate_volts, switch_path
from labkit.units import magnitude

__all__ = [
    "Loads",
    "ambient_kelvins",
    "brakes",
    "capacitor_share",
    "chopper_loop",
    "loads_array",
    "motor_record",
    "needed",
    "refuse_early_breakdown",
]

Floats: TypeAlias = NDArray[np.float64]
#: One load, or an array of loads as a (nested) sequence.
Loads: TypeAlias = Load | Sequence[Any]


def ambient_kelvins(drive: Drive) -> Floats:
    """Return the temperature [K] that a drive's parts have before they warm."""
    return _float(drive.ambient, "degC")


def needed(part: Any, name: str, unit: str, why: str) -> float:
    """Return a part's optional field as a float, refusing its absence with the reason *why* it is needed."""
    value = getattr(part, name)
    if value is None:
        raise PartError(f"{type(part).__name__}.{name}", f"known {why}", None, f"Give it in {unit}.")
    return float(magnitude(value, unit))


def motor_record(motor: Motor) -> MotorSI:
    """Return what steady running needs of a motor."""
    return MotorSI(
        resistance=_float(motor.resistance, "ohm"),
        emf_constant=_float(motor.emf_constant, "V*s/rad"),
        brush_drop=_float(motor.brush_drop, "V"),
    )


def loads_array(load: Loads) -> NDArray[np.object_]:
    """Return one load, or a nested sequence of them, as an array of loads."""
    many = isinstance(load, (list, tuple, np.ndarray))
    array = np.asarray(load, dtype=object) if many else np.full((), None, dtype=object)
    if not many:
        array[()] = load
    for item in array.flat:
        if not isinstance(item, Load):
            raise PartError("load", "a Load, or a sequence of them", repr(item)[:80], "Write load=Load(fan=…).")
    return array


def brakes(motor: Motor, load: Loads) -> BrakesSI:
    """Return all torque but the field's, of a motor with one load or an array of loads."""
    loads = loads_array(load)

    def each(name: str, unit: str) -> Floats:
        sizes = [float(magnitude(getattr(item, name), unit)) for item in loads.flat]
        return np.array(sizes, dtype=np.float64).reshape(loads.shape)

    friction = _float(motor.friction_torque, "N*m")
    starting = friction if motor.starting_torque is None else float(magnitude(motor.starting_torque, "N*m"))
    viscous = _float(motor.viscous_friction, "N*m*s/rad")
    on_load = each("friction", "N*m")
    return BrakesSI(
        friction=friction + on_load,
        viscous=viscous + each("viscous", "N*m*s/rad"),
        fan=each("fan", "N*m*s**2/rad**2"),
        weight=each("weight", "N*m"),
        holding=max(starting, friction) + on_load,
        motor_friction=friction,
        motor_viscous=viscous,
        motor_holding=np.asarray(max(starting, friction)),
    )


def chopper_loop(drive: Drive, voltage: Floats, junction: Floats, winding: Floats) -> ChopperSI:
    """Return a drive's switched loop at a supply voltage [V] and at junction and winding temperatures [K].

    A buffer capacitor is taken as large: to the alternating current it is its own resistance beside the source's, and
    *voltage* is what stands behind the two together.

    Raises
    ------
    NoSolutionError
        When the transistor stays off.
    PartError
        When its breakdown voltage is not known where nothing else takes the current.
    """
    gate = gate_volts(drive)
    resistance, drop, body_diode = switch_path(drive.switch, gate, junction)
    if np.any(np.isinf(resistance)):
        msg = (
            f"The transistor stays off: its gate gets {gate:.3g} V, not more than its threshold. "
            "Take a transistor with a lower threshold, or drive the gate higher."
        )
        raise NoSolutionError(msg)
    diode, breakdown = drive.diode, np.nan
    if diode is None:
        breakdown = needed(drive.switch, "breakdown_voltage", "V", "where there is no freewheel diode")
    return ChopperSI(
        supply_voltage=voltage,
        resistance=_float(drive.motor.resistance, "ohm") * copper_factor(winding) + _float(drive.wiring, "ohm"),
        inductance=np.asarray(needed(drive.motor, "inductance", "H", "where time matters")),
        brush_drop=_float(drive.motor.brush_drop, "V"),
        switch_resistance=resistance,
        switch_drop=np.asarray(drop),
        diode_drop=np.asarray(0.0) if diode is None else _float(diode.forward_voltage, "V"),
        diode_resistance=np.asarray(0.0) if diode is None else _float(diode.slope_resistance, "ohm"),
        source_resistance=_source_resistance(drive.supply),
        body_diode_drop=np.asarray(body_diode),
        breakdown_voltage=np.asarray(breakdown),
    )


def refuse_early_breakdown(drive: Drive, voltage: float) -> None:
    """Refuse a transistor that breaks down at what it sees while open: the supply [V] and the diode's drop."""
    given = drive.switch.breakdown_voltage
    if given is None:
        return
    seen = voltage + (0.0 if drive.diode is None else float(magnitude(drive.diode.forward_voltage, "V")))
    if float(magnitude(given, "V")) <= seen:
        raise PartError(
            f"{type(drive.switch).__name__}.breakdown_voltage",
            f"above the supply and the diode's drop, {seen:g} V",
            f"{given:~P}", "Take a transistor for a higher voltage.",
        )  # fmt: skip


def capacitor_share(supply: Supply) -> float:
    """Return the share of the alternating current that a large buffer capacitor takes; 0 without one."""
    if supply.capacitance is None:
        return 0.0
    source, own = (float(magnitude(part, "ohm")) for part in (supply.internal_resistance, supply.capacitor_resistance))
    return source / (source + own) if source > 0.0 else 0.0


def _source_resistance(supply: Supply) -> Floats:
    return (1.0 - capacitor_share(supply)) * _float(supply.internal_resistance, "ohm")


def _float(quantity: Any, unit: str) -> Floats:
    return np.asarray(magnitude(quantity, unit), dtype=np.float64)
