"""Time and steady states: what a drive does, from closed forms and from the switched-circuit engine.

Sign convention: positive current flows into the motor's + terminal, positive torque and speed are forward,
and the generator EMF is positive forward. It is drawn in ``Motor``.

Arguments are quantities or their text, arrays included; results are frozen, with quantities of the same shape.
"""

from labkit.simulation.chopping import ChopperState, chopper
from labkit.simulation.duty_control import PwmOperatingPoint, pwm_operating_point
from labkit.simulation.engine import simulate
from labkit.simulation.gates import (
    DriveState,
    Gate,
    always_off,
    always_on,
    duty_ramp,
    gate_edges,
    pwm,
    sampled_gate,
)
from labkit.simulation.generator import Coil, GeneratorPoint, coil_emf, generator_point, lighting_speed
from labkit.simulation.picking import pick
from labkit.simulation.steady import OperatingPoint, operating_point
from labkit.simulation.switch import gate_drive_voltage, on_resistance, saturation_current
from labkit.simulation.switch_off import TurnOff, turn_off_transient
from labkit.simulation.switching_loss import switching_times
from labkit.simulation.trace import Energy, Event, Trace
from labkit.simulation.waveform import PwmPeriod, pwm_period

__all__ = [
    "ChopperState",
    "Coil",
    "DriveState",
    "Energy",
    "Event",
    "Gate",
    "GeneratorPoint",
    "OperatingPoint",
    "PwmOperatingPoint",
    "PwmPeriod",
    "Trace",
    "always_off",
    "always_on",
    "TurnOff",
    "chopper",
    "coil_emf",
    "duty_ramp",
    "gate_drive_voltage",
    "gate_edges",
    "generator_point",
    "lighting_speed",
    "on_resistance",
    "operating_point",
    "pick",
    "pwm",
    "pwm_operating_point",
    "pwm_period",
    "sampled_gate",
    "saturation_current",
    "simulate",
    "switching_times",
    "turn_off_transient",
]
