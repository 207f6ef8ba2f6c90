"""Time and steady states: what a drive does, from closed forms and from the switched-circuit engine.

Sign convention: positive current flows into the motor's + terminal, positive torque and speed are forward,
and the generator EMF is positive forward. It is drawn in ``Motor``.

Arguments are quantities or their text, arrays included; results are frozen, with quantities of the same shape.
"""

from labkit.simulation.catalogue_line import CataloguePoint, catalogue_point
from labkit.simulation.chopping import ChopperState, chopper, ripple_harmonics
from labkit.simulation.coasting import CoastDown, coast_down
from labkit.simulation.cooling import (
    CycleHeat,
    duty_cycle_temperature,
    heat_sink_resistance,
    max_dissipation,
    steady_temperature,
)
from labkit.simulation.duty_control import PwmOperatingPoint, pwm_operating_point
from labkit.simulation.duty_limits import (
    FrequencyChoice,
    continuous_frequency,
    duty_from_count,
    frequency_choice,
    starting_duty,
)
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
from labkit.simulation.gearing import ReflectedLoad, reflected_load, reflected_mass
from labkit.simulation.generator import Coil, GeneratorPoint, coil_emf, generator_point, lighting_speed
from labkit.simulation.junction import JunctionState, junction_temperature
from labkit.simulation.logic_levels import LOGIC_FAMILIES, LogicLevels, cmos_levels, pin_resistance
from labkit.simulation.on_supply import OnSupply, motor_on_supply
from labkit.simulation.picking import pick
from labkit.simulation.pin import PinLoad, PinPoint, load_current, pin_point
from labkit.simulation.preferred import preferred_value, preferred_values
from labkit.simulation.response import SpeedResponse, speed_response
from labkit.simulation.sources import LoadedSupply, battery, internal_resistance, loaded_supply
from labkit.simulation.start import BoardSupply, MotorStart, board_supply, motor_start
from labkit.simulation.steady import OperatingPoint, operating_point
from labkit.simulation.switch import gate_drive_voltage, on_resistance, saturation_current
from labkit.simulation.switch_off import TurnOff, turn_off_transient
from labkit.simulation.switch_off_course import SwitchOffCourse, switch_off_course
from labkit.simulation.switched_load import SwitchedLoad, floating_load, switched_load
from labkit.simulation.switching_loss import switching_loss, switching_times
from labkit.simulation.trace import Energy, Event, Trace
from labkit.simulation.transient import current_after, kick_voltage, time_to_current
from labkit.simulation.warming import junction_warming
from labkit.simulation.waveform import PwmPeriod, pwm_period
from labkit.simulation.winding import (
    THERMAL_CLASSES,
    IntermittentWinding,
    WindingState,
    intermittent_winding_temperature,
    time_to_winding_limit,
    winding_temperature,
)
from labkit.simulation.winding_course import WindingCourse, winding_warming
from labkit.simulation.wire import (
    COPPER_COEFFICIENT,
    COPPER_RESISTIVITY,
    awg_diameter,
    resistance_at,
    wire_area,
    wire_resistance,
    zero_resistance_temperature,
)

__all__ = [
    "COPPER_COEFFICIENT",
    "COPPER_RESISTIVITY",
    "LOGIC_FAMILIES",
    "THERMAL_CLASSES",
    "BoardSupply",
    "CataloguePoint",
    "ChopperState",
    "CoastDown",
    "Coil",
    "CycleHeat",
    "DriveState",
    "Energy",
    "Event",
    "FrequencyChoice",
    "Gate",
    "GeneratorPoint",
    "IntermittentWinding",
    "JunctionState",
    "LoadedSupply",
    "LogicLevels",
    "MotorStart",
    "OnSupply",
    "OperatingPoint",
    "PinLoad",
    "PinPoint",
    "PwmOperatingPoint",
    "PwmPeriod",
    "ReflectedLoad",
    "SpeedResponse",
    "SwitchOffCourse",
    "SwitchedLoad",
    "Trace",
    "TurnOff",
    "WindingCourse",
    "WindingState",
    "always_off",
    "always_on",
    "awg_diameter",
    "battery",
    "board_supply",
    "catalogue_point",
    "chopper",
    "cmos_levels",
    "coast_down",
    "coil_emf",
    "continuous_frequency",
    "current_after",
    "duty_cycle_temperature",
    "duty_from_count",
    "duty_ramp",
    "floating_load",
    "frequency_choice",
    "gate_drive_voltage",
    "gate_edges",
    "generator_point",
    "heat_sink_resistance",
    "intermittent_winding_temperature",
    "internal_resistance",
    "junction_temperature",
    "junction_warming",
    "kick_voltage",
    "lighting_speed",
    "load_current",
    "loaded_supply",
    "max_dissipation",
    "motor_on_supply",
    "motor_start",
    "on_resistance",
    "operating_point",
    "pick",
    "pin_point",
    "pin_resistance",
    "preferred_value",
    "preferred_values",
    "pwm",
    "pwm_operating_point",
    "pwm_period",
    "reflected_load",
    "reflected_mass",
    "resistance_at",
    "ripple_harmonics",
    "sampled_gate",
    "saturation_current",
    "simulate",
    "speed_response",
    "starting_duty",
    "steady_temperature",
    "switch_off_course",
    "switched_load",
    "switching_loss",
    "switching_times",
    "time_to_current",
    "time_to_winding_limit",
    "turn_off_transient",
    "winding_temperature",
    "winding_warming",
    "wire_area",
    "wire_resistance",
    "zero_resistance_temperature",
]
