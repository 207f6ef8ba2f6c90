"""Steady running of a brushed motor on a steady voltage: closed form, for arrays of any shape that broadcast."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.exponentials import Floats

__all__ = [
    "BrakesSI",
    "MotorSI",
    "Running",
    "efficiency",
    "friction_at_rest",
    "run",
    "settled_speed",
    "terminal_current",
]

_ROUNDING = 1e-14


class MotorSI(NamedTuple):
    """What steady running needs of a motor [ohm, V·s/rad, V]."""

    resistance: Floats
    emf_constant: Floats
    brush_drop: Floats


class BrakesSI(NamedTuple):
    """All torque that is not the field's [N·m, N·m·s/rad, N·m·s²/rad²]: of motor and load together, except ``motor_*``.

    ``holding`` is what keeps a resting shaft at rest; ``weight`` is positive where it opposes forward turning.
    """

    friction: Floats
    viscous: Floats
    fan: Floats
    weight: Floats
    holding: Floats
    motor_friction: Floats
    motor_viscous: Floats
    motor_holding: Floats


class Running(NamedTuple):
    """A steady state [rad/s, A, N·m, V, W], any shape."""

    turning: NDArray[np.bool_]
    speed: Floats
    current: Floats
    electromagnetic_torque: Floats
    shaft_torque: Floats
    emf: Floats
    input_power: Floats
    copper_loss: Floats
    brush_loss: Floats
    friction_loss: Floats
    shaft_power: Floats
    efficiency: Floats


def terminal_current(voltage: Floats, emf: Floats, motor: MotorSI) -> Floats:
    """Current [A] that a terminal voltage drives against an EMF [V]; none while the brushes' drop blocks it."""
    across = voltage - emf
    return np.sign(across) * np.maximum(np.abs(across) - motor.brush_drop, 0.0) / motor.resistance


def settled_speed(constant: Floats, linear: Floats, square: Floats) -> Floats:
    """Speed [rad/s] at which linear·ω + square·ω² takes a constant torque [N·m]; infinite where nothing brakes."""
    root = linear + np.sqrt(linear**2 + 4.0 * square * np.maximum(constant, 0.0))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        return np.where(constant > 0.0, 2.0 * constant / root, 0.0)


def _forward_speed(voltage: Floats, weight: Floats, motor: MotorSI, brakes: BrakesSI) -> Floats:
    """Speed [rad/s], zero or more, of a shaft that turns forward under a voltage [V] and a weight [N·m]."""
    k, gain = motor.emf_constant, motor.emf_constant / motor.resistance
    net = -brakes.friction - weight
    low, high = (voltage - motor.brush_drop) / k, (voltage + motor.brush_drop) / k
    line = brakes.viscous + k * gain
    driven = settled_speed(net + gain * k * low, line, brakes.fan)
    braked = settled_speed(net + gain * k * high, line, brakes.fan)
    idle = np.clip(settled_speed(net, brakes.viscous, brakes.fan), np.maximum(low, 0.0), np.maximum(high, 0.0))

    def urged_on_at(speed: Floats) -> Floats:
        """Torque without any current."""
        return net - brakes.viscous * speed - brakes.fan * speed**2

    drives = (low > 0.0) & (urged_on_at(low) <= 0.0)
    brakes_it = (high < 0.0) | (urged_on_at(high) > 0.0)
    return np.where(drives, driven, np.where(brakes_it, braked, idle))


def friction_at_rest(torque: Floats, brakes: BrakesSI) -> Floats:
    """Torque [N·m] that the motor's own friction takes of what turns a resting shaft; the load's takes what is left."""
    return np.clip(torque, -brakes.motor_holding, brakes.motor_holding)


def run(voltage: Floats, motor: MotorSI, brakes: BrakesSI) -> Running:
    """Steady state, starting from rest, on a terminal voltage [V]."""
    at_rest = motor.emf_constant * terminal_current(voltage, np.zeros_like(voltage), motor) - brakes.weight
    way = np.where(np.abs(at_rest) > brakes.holding, np.sign(at_rest), 0.0)
    pace = _forward_speed(way * voltage, way * brakes.weight, motor, brakes)
    turning = (way != 0.0) & (pace > 0.0)
    speed = np.where(turning, way * pace, 0.0)
    emf = motor.emf_constant * speed
    current = terminal_current(voltage, emf, motor)
    torque = motor.emf_constant * current
    own = np.where(
        turning,
        way * brakes.motor_friction + brakes.motor_viscous * speed,
        friction_at_rest(torque - brakes.weight, brakes),
    )
    spare = torque - own
    spare = np.where(np.abs(spare) > _ROUNDING * np.abs(torque), spare, 0.0)  # a free shaft gives nothing, not 1e-18
    input_power, shaft_power = voltage * current, spare * speed
    return Running(
        turning=turning,
        speed=speed,
        current=current,
        electromagnetic_torque=torque,
        shaft_torque=spare,
        emf=emf,
        input_power=input_power,
        copper_loss=motor.resistance * current**2,
        brush_loss=motor.brush_drop * np.abs(current),
        friction_loss=own * speed,
        shaft_power=shaft_power,
        efficiency=efficiency(input_power, shaft_power),
    )


def efficiency(electrical: Floats, mechanical: Floats) -> Floats:
    """Output over input power [1]: of a motor (both positive), of a generator (both negative), else 0."""
    same = electrical * mechanical > 0.0
    driving = electrical > 0.0
    out, into = np.where(driving, mechanical, electrical), np.where(driving, electrical, mechanical)
    return np.where(same, out / np.where(same, into, 1.0), 0.0)
