"""How a drive is put together, faults included, so that a review can see them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from labkit.parts._fields import Part, number_field, quantity_field
from labkit.units import Quantity

__all__ = ["Build", "DiodePlace", "Fuse", "PullDownPlace", "Side"]


class Side(Enum):
    """Which side of the motor the transistor sits on."""

    LOW = "low side"
    HIGH = "high side"


class DiodePlace(Enum):
    """What the freewheel diode stands across."""

    MOTOR = "across the motor"
    TRANSISTOR = "across the transistor"


class PullDownPlace(Enum):
    """Which end of the gate resistor the pull-down meets."""

    GATE = "at the gate"
    PIN = "at the pin"


@dataclass(frozen=True, kw_only=True, slots=True)
class Fuse(Part):
    """A fuse in the supply's lead.

    Parameters
    ----------
    rating : Quantity [A]
        Of a cartridge fuse; of a resettable one the current that it holds.
    trip : Quantity [A], optional
        Given for a resettable fuse only: the current at which it trips.
    """

    rating: Quantity = quantity_field("A")
    trip: Quantity | None = quantity_field("A", default=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class Build(Part):
    """The wiring as it stands on the bench. The defaults are the sound circuit that ``Drive`` draws.

    Parameters
    ----------
    motor_on_pin : bool
        The motor hangs on the pin itself and the transistor is left out.
    side : Side
        Above the motor an N-channel or NPN transistor follows its gate or base; a P-channel one has no part here.
    drain_source_swapped : bool
    diode_place : DiodePlace
    diode_reversed : bool
        Band away from the supply's +.
    common_ground : bool
        Whether the board's 0 V and the motor supply's negative are joined.
    pull_down_place : PullDownPlace
    series_resistor : Quantity [ohm], optional
        In the motor's lead, to slow it.
    motor_capacitor : Quantity [F], optional
        Across the motor.
    shared_return : Quantity [ohm]
        Ground lead that the motor's current and the board's sensors share.
    fuse : Fuse, optional
    duty_top : float
        The count that stands for full duty: a duty is n of this.
    pin_has_pwm : bool
    start_ramp : Quantity [s]
        How long the program takes from standstill to the duty it wants.
    start_boost : bool
        Whether the program starts at full duty before it drops to a low one.
    """

    motor_on_pin: bool = False
    side: Side = Side.LOW
    drain_source_swapped: bool = False
    diode_place: DiodePlace = DiodePlace.MOTOR
    diode_reversed: bool = False
    common_ground: bool = True
    pull_down_place: PullDownPlace = PullDownPlace.GATE
    series_resistor: Quantity | None = quantity_field("ohm", default=None)
    motor_capacitor: Quantity | None = quantity_field("F", default=None)
    shared_return: Quantity = quantity_field("ohm", default="0 ohm", least_allowed=True)
    fuse: Fuse | None = None
    duty_top: float = number_field(default=255.0, least=1.0, least_allowed=True)
    pin_has_pwm: bool = True
    start_ramp: Quantity = quantity_field("s", default="0 s", least_allowed=True)
    start_boost: bool = False
