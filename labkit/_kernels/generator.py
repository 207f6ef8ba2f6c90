"""A turned motor feeding a resistor or an LED, and what brakes a coasting shaft; arrays of any shape that broadcast."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from scipy.integrate import quad
from scipy.special import wrightomega

from labkit._kernels.exponentials import Floats
from labkit._kernels.steady import MotorSI

__all__ = ["CoastSI", "ShockleySI", "coast", "into_diode", "into_led", "into_resistor", "led_voltage"]


class ShockleySI(NamedTuple):
    """i = saturation_current·(e^(v/slope_voltage) - 1) behind a series resistance [A, V, ohm]."""

    saturation_current: Floats
    slope_voltage: Floats
    series_resistance: Floats


def _past_brushes(emf: Floats, motor: MotorSI) -> Floats:
    """EMF [V] that the brushes' drop leaves, either sign."""
    return np.sign(emf) * np.maximum(np.abs(emf) - motor.brush_drop, 0.0)


def into_resistor(emf: Floats, motor: MotorSI, resistance: Floats) -> Floats:
    """Current [A] out of the + terminal into a resistance [ohm]; none into an infinite one."""
    return _past_brushes(emf, motor) / (motor.resistance + resistance)


def into_diode(emf: Floats, motor: MotorSI, forward_voltage: Floats, slope_resistance: Floats) -> Floats:
    """Current [A] into a diode that conducts along a straight line above its forward voltage [V], slope [ohm]."""
    spare = _past_brushes(emf, motor) - forward_voltage
    return np.maximum(spare, 0.0) / (motor.resistance + slope_resistance)


def into_led(emf: Floats, motor: MotorSI, led: ShockleySI) -> Floats:
    """Current [A] where the load line E = R·i + v meets Shockley's law, by Lambert's W in its logarithmic form."""
    ohms = motor.resistance + led.series_resistance
    lift, leak = ohms / led.slope_voltage, led.saturation_current
    spare = _past_brushes(emf, motor)
    exponent = np.log(leak * lift) + spare / led.slope_voltage + leak * lift
    return np.where(spare == 0.0, 0.0, np.asarray(wrightomega(exponent), dtype=np.float64) / lift - leak)


def led_voltage(current: Floats, led: ShockleySI) -> Floats:
    """Voltage [V] across an LED and its series resistance at a current [A]."""
    return led.slope_voltage * np.log1p(current / led.saturation_current) + led.series_resistance * current


class CoastSI(NamedTuple):
    """A run-down to rest [s, rad, J]: each energy integrated by itself."""

    time: float
    angle: float
    mechanical_loss: float
    electrical_loss: float


def coast(
    speed: float, inertia: float, drag: Callable[[float], float], brake: Callable[[float], float], *, knee: float = 0.0
) -> CoastSI:
    """Run-down from a speed [rad/s] of an inertia [kg·m²] under a drag and an electrical brake [N·m], both of speed.

    dt = J·dω/(drag + brake), integrated over the speed; the drag must not vanish towards rest. At a *knee* [rad/s] the
    brake begins to be felt.
    """
    knee = min(knee, speed)
    span = speed - knee

    def total(weight: Callable[[float], float]) -> float:
        def slowness(w: float) -> float:
            return inertia * weight(w) / (drag(w) + brake(w))

        def stretched(s: float) -> float:
            """Above the knee ω = knee + span·s⁶: near to it a strong brake's slowness bends within little."""
            return 6.0 * span * s**5 * slowness(knee + span * s**6)

        below, _ = quad(slowness, 0.0, knee, epsabs=0.0, epsrel=1e-10, limit=400)
        above, _ = quad(stretched, 0.0, 1.0, epsabs=0.0, epsrel=1e-10, limit=400)
        return float(below + above)

    return CoastSI(
        time=total(lambda _: 1.0),
        angle=total(lambda w: w),
        mechanical_loss=total(lambda w: drag(w) * w),
        electrical_loss=total(lambda w: brake(w) * w),
    )
