"""Panels: sliders with typed entries, a picture, the working and the numbers, around one frozen state."""

from labkit.panels.controls import Buttons, Choice, QuantitySlider
from labkit.panels.dissipation import DissipationState, dissipation_panel
from labkit.panels.duty import DutyState, duty_panel
from labkit.panels.gate import Gate
from labkit.panels.generator import GeneratorState, generator_panel
from labkit.panels.measured import MeasuredState, measure_panel
from labkit.panels.panel import Panel
from labkit.panels.pin import PinState, pin_panel
from labkit.panels.prediction import Comparison, Later, Prediction, prediction
from labkit.panels.review import ReviewState, review_panel
from labkit.panels.running import RunningState, running_panel
from labkit.panels.stall import StallState, stall_panel
from labkit.panels.supply import SupplyState, supply_panel
from labkit.panels.switch import SwitchState, switch_panel
from labkit.panels.switch_off import SwitchOffState, switch_off_panel
from labkit.panels.views import Fold, Image

__all__ = [
    "Buttons",
    "Choice",
    "Comparison",
    "DissipationState",
    "DutyState",
    "Fold",
    "Gate",
    "GeneratorState",
    "Image",
    "Later",
    "MeasuredState",
    "Panel",
    "PinState",
    "Prediction",
    "QuantitySlider",
    "ReviewState",
    "RunningState",
    "StallState",
    "SupplyState",
    "SwitchOffState",
    "SwitchState",
    "dissipation_panel",
    "duty_panel",
    "generator_panel",
    "measure_panel",
    "pin_panel",
    "prediction",
    "review_panel",
    "running_panel",
    "stall_panel",
    "supply_panel",
    "switch_off_panel",
    "switch_panel",
]
