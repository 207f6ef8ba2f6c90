"""Time and steady states: what a drive does, from closed forms and from the switched-circuit engine.

Sign convention: positive current flows into the motor's + terminal, positive torque and speed are forward,
and the generator EMF is positive forward. It is drawn in ``Motor``.

Arguments are quantities or their text, arrays included; results are frozen, with quantities of the same shape.
"""

from labkit.simulation.chopping import ChopperState, chopper
from labkit.simulation.duty_control import PwmOperatingPoint, pwm_operating_point
from labkit.simulation.picking import pick
from labkit.simulation.steady import OperatingPoint, operating_point
from labkit.simulation.switch import gate_drive_voltage, on_resistance, saturation_current
from labkit.simulation.switching_loss import switching_times
from labkit.simulation.waveform import PwmPeriod, pwm_period

__all__ = [
    "ChopperState",
    "OperatingPoint",
    "PwmOperatingPoint",
    "PwmPeriod",
    "chopper",
    "gate_drive_voltage",
    "on_resistance",
    "operating_point",
    "pick",
    "pwm_operating_point",
    "pwm_period",
    "saturation_current",
    "switching_times",
]
