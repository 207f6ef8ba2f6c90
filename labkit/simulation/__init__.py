"""Time and steady states: what a drive does, from closed forms and from the switched-circuit engine.

Sign convention: positive current flows into the motor's + terminal, positive torque and speed are forward,
and the generator EMF is positive forward. It is drawn in ``Motor``.

Arguments are quantities or their text, arrays included; results are frozen, with quantities of the same shape.
"""

from labkit.simulation.chopping import ChopperState, chopper
from labkit.simulation.cooling import (
    CycleHeat,
    duty_cycle_temperature,
    heat_sink_resistance,
    max_dissipation,
    steady_temperature,
)
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
from labkit.simulation.junction import JunctionState, junction_temperature
from labkit.simulation.picking import pick
from labkit.simulation.steady import OperatingPoint, operating_point
from labkit.simulation.switch import gate_drive_voltage, on_resistance, saturation_current
from labkit.simulation.switch_off import TurnOff, turn_off_transient
from labkit.simulation.switching_loss import switching_times
from labkit.simulation.trace import Energy, Event, Trace
from labkit.simulation.waveform import PwmPeriod, pwm_period
from labkit.simulation.winding import (
    THERMAL_CLASSES,
    IntermittentWinding,
    WindingState,
    intermittent_winding_temperature,
    time_to_winding_limit,
    winding_temperature,
)

__all__ = [
    "THERMAL_CLASSES",
    "ChopperState",
    "Coil",
    "CycleHeat",
    "DriveState",
    "Energy",
    "Event",
    "Gate",
    "GeneratorPoint",
    "IntermittentWinding",
    "JunctionState",
    "OperatingPoint",
    "PwmOperatingPoint",
    "PwmPeriod",
    "Trace",
    "TurnOff",
    "WindingState",
    "always_off",
    "always_on",
    "chopper",
    "coil_emf",
    "duty_cycle_temperature",
    "duty_ramp",
    "gate_drive_voltage",
    "gate_edges",
    "generator_point",
    "heat_sink_resistance",
    "intermittent_winding_temperature",
    "junction_temperature",
    "lighting_speed",
    "max_dissipation",
    "on_resistance",
    "operating_point",
    "pick",
    "pwm",
    "pwm_operating_point",
    "pwm_period",
    "sampled_gate",
    "saturation_current",
    "simulate",
    "steady_temperature",
    "switching_times",
    "time_to_winding_limit",
    "turn_off_transient",
    "winding_temperature",
]
