"""Pictures: matplotlib in the house style, with alternative text and the numbers behind them."""

from labkit.figures.bench import bench_picture
from labkit.figures.cards import bench_card, bench_cards
from labkit.figures.chart import STYLES, Chart, house_style
from labkit.figures.dissipation import DissipationRun, dissipation_picture
from labkit.figures.duty import DutyRun, duty_picture
from labkit.figures.generator import GeneratorRun, generator_picture
from labkit.figures.picture import Picture, Reading, Table, image_html, numbers_html, picture_html
from labkit.figures.pin import PinRun, pin_picture
from labkit.figures.residuals import residual_picture
from labkit.figures.running import RunningRun, running_picture
from labkit.figures.schematic import schematic
from labkit.figures.schematic_generator import generator_schematic
from labkit.figures.schematic_motor import motor_schematic
from labkit.figures.spectrum import spectrum_picture
from labkit.figures.stall import StallRun, stall_picture
from labkit.figures.supply import supply_picture
from labkit.figures.supply_words import SupplyRun
from labkit.figures.switch import switch_picture
from labkit.figures.switch_off import switch_off_picture
from labkit.figures.switch_off_words import SwitchOffRun
from labkit.figures.switch_words import SwitchRun

__all__ = [
    "STYLES",
    "Chart",
    "DissipationRun",
    "DutyRun",
    "GeneratorRun",
    "Picture",
    "PinRun",
    "Reading",
    "RunningRun",
    "StallRun",
    "SupplyRun",
    "SwitchOffRun",
    "SwitchRun",
    "Table",
    "bench_card",
    "bench_cards",
    "bench_picture",
    "dissipation_picture",
    "duty_picture",
    "generator_picture",
    "generator_schematic",
    "house_style",
    "image_html",
    "motor_schematic",
    "numbers_html",
    "picture_html",
    "pin_picture",
    "residual_picture",
    "running_picture",
    "schematic",
    "spectrum_picture",
    "stall_picture",
    "supply_picture",
    "switch_off_picture",
    "switch_picture",
]
