"""A switched R-L-EMF loop in its periodic state."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from labkit._kernels.chopper import Chopped, ChopperSI
from labkit._kernels.chopper import chopper as periodic
from labkit._kernels.harmonics import current_harmonics, voltage_harmonics
from labkit.errors import PartError
from labkit.simulation._crossing import Amperes, Flags, Given, Seconds, Volts, Watts, argument, plain, wrap
from labkit.units import Quantity, from_si

__all__ = ["ChopperState", "chopper", "chopper_floats", "ripple_harmonics"]


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class ChopperState:
    """The periodic state of a chopper; every field has the shape of the arguments together.

    Powers balance: supply voltage·supply current = emf·mean current + winding + switch + diode loss.
    """

    #: Whether the current flows all the time.
    continuous: Flags
    mean_current: Amperes
    #: Sets the winding's heat.
    rms_current: Amperes
    #: The value farthest from zero.
    peak_current: Amperes
    #: The value nearest to zero: zero itself in discontinuous conduction.
    minimum_current: Amperes
    #: Peak to peak.
    ripple: Amperes
    #: From the switch's opening to zero current; infinite in continuous conduction.
    extinction_time: Seconds
    #: Mean voltage across resistance, inductance and EMF together: the motor's terminals.
    mean_voltage: Volts
    #: Mean; negative where the EMF feeds the supply. The switch's mean too.
    supply_current: Amperes
    switch_rms_current: Amperes
    #: Peak to peak; the supply's too.
    switch_ripple: Amperes
    #: Mean.
    diode_current: Amperes
    diode_rms_current: Amperes
    #: Peak to peak.
    diode_ripple: Amperes
    winding_loss: Watts
    switch_loss: Watts
    diode_loss: Watts


def chopper_floats(state: Chopped) -> dict[str, NDArray[np.float64]]:
    """Return the kernel's state with root mean squares in the place of mean squares."""
    return state._asdict() | {
        "rms_current": np.sqrt(state.mean_square),
        "switch_rms_current": np.sqrt(state.switch_square),
        "diode_rms_current": np.sqrt(state.diode_square),
    }


def chopper(  # noqa: PLR0917 (one part of the circuit after the other, as the public face has them)
    supply_voltage: Given,
    emf: Given,
    resistance: Given,
    inductance: Given,
    frequency: Given,
    duty: Given,
    diode_drop: Given = "0 V",
    switch_resistance: Given = "0 ohm",
    *,
    diode_resistance: Given = "0 ohm",
    switch_drop: Given = "0 V",
    body_diode_drop: Given | None = None,
) -> ChopperState:
    """Periodic state of an R-L-EMF loop that a switch connects to a supply and a diode short-circuits between.

    Parameters
    ----------
    supply_voltage, emf : Quantity [V]
        The EMF is positive where it opposes the supply.
    resistance, inductance : Quantity [ohm], [H]
        Of the loop that the current has both ways round: the winding and its leads.
    frequency : Quantity [Hz]
    duty : float [1]
        Share of the period with the switch closed, 0 to 1.
    diode_drop, diode_resistance : Quantity [V], [ohm]
        Of the freewheel diode.
    switch_resistance, switch_drop : Quantity [ohm], [V]
        Of the closed switch.
    body_diode_drop : Quantity [V], optional
        Of a MOSFET, which lets an EMF above the supply drive current backwards: through its channel while closed,
        through its body diode while open. Without it no backward current flows.

    All broadcast: one call gives a whole array of states.

    Returns
    -------
    ChopperState

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    Exact exponentials, in continuous and discontinuous conduction; the EMF is constant over a period, which holds while
    the period is short beside the mechanical time constant. One switch and one diode pass current one way only: when it
    has fallen to zero it stays there until the switch closes. An EMF below -diode drop (shaft driven backwards) keeps
    current flowing through the freewheel diode with the switch open.
    Backwards the closed channel counts as carrying all of the current, which holds while its drop is below the body
    diode's.

    Examples
    --------
    >>> state = chopper("6 V", "1.5 V", "2.8 ohm", "0.9 mH", "20 kHz", 0.4, "0.4 V")
    >>> print(state.continuous, state.mean_current.to("mA").round(1), state.ripple.to("mA").round(1))
    True 235.7 milliampere 85.3 milliampere
    >>> chopper("6 V", "1.5 V", "2.8 ohm", "0.9 mH", "20 kHz", 40)
    Traceback (most recent call last):
    labkit.errors.PartError: duty must be from 0 to 1; got 40. A percentage? Divide by 100.
    """
    loop = ChopperSI(
        supply_voltage=argument(supply_voltage, "V", "supply_voltage", least=0.0, least_allowed=False),
        resistance=argument(resistance, "ohm", "resistance", least=0.0, least_allowed=False),
        inductance=argument(inductance, "H", "inductance", least=0.0, least_allowed=False),
        brush_drop=np.asarray(0.0),
        switch_resistance=argument(switch_resistance, "ohm", "switch_resistance", least=0.0),
        switch_drop=argument(switch_drop, "V", "switch_drop", least=0.0),
        diode_drop=argument(diode_drop, "V", "diode_drop", least=0.0),
        diode_resistance=argument(diode_resistance, "ohm", "diode_resistance", least=0.0),
        source_resistance=np.asarray(0.0),
        body_diode_drop=_optional(body_diode_drop),
        breakdown_voltage=np.asarray(np.nan),
    )
    state = periodic(
        loop,
        emf=argument(emf, "V", "emf"),
        frequency=argument(frequency, "Hz", "frequency", least=0.0, least_allowed=False),
        duty=argument(duty, "", "duty", least=0.0, most=1.0),
    )
    return wrap(ChopperState, chopper_floats(state))


def ripple_harmonics(
    orders: Given,
    *,
    swing: Given,
    duty: Given,
    frequency: Given,
    resistance: Given,
    inductance: Given,
) -> Quantity:
    """Harmonics of a continuous chopped current: what is heard, and what a filter must take out.

    Parameters
    ----------
    orders : whole numbers [1], any shape
        1 for the switching frequency itself.
    swing : Quantity [V]
        How far the voltage jumps: the supply's and the diode's drop.
    duty, frequency : float [1], Quantity [Hz]
    resistance, inductance : Quantity [ohm], [H]
        The same while the switch is closed and open.

    Returns
    -------
    Quantity [A]
        Root mean square of each order.

    Raises
    ------
    PartError
        Names the argument, its value and what to do.

    Notes
    -----
    √2·V/(nπ)·abs(sin nπD) over abs(R + j·2π·n·f·L); a steady EMF plays no part.

    Examples
    --------
    >>> winding = {"resistance": "1 ohm", "inductance": "5 mH"}
    >>> print(ripple_harmonics([1, 2, 3], swing="220 V", duty=0.3, frequency="500 Hz", **winding).round(3))
    [5.09 1.498 0.216] ampere
    """
    numbers = argument(orders, "", "orders", least=1.0)
    if np.any(numbers != np.round(numbers)):
        raise PartError("orders", "whole numbers", orders, "1 is the switching frequency, 2 its double.")
    volts = voltage_harmonics(
        argument(swing, "V", "swing", least=0.0), argument(duty, "", "duty", least=0.0, most=1.0), numbers
    )
    amps = current_harmonics(
        volts,
        numbers,
        argument(resistance, "ohm", "resistance", least=0.0),
        argument(inductance, "H", "inductance", least=0.0, least_allowed=False),
        argument(frequency, "Hz", "frequency", least=0.0, least_allowed=False),
    )
    return from_si(plain(amps), "A")


def _optional(body_diode_drop: Given | None) -> NDArray[np.float64]:
    if body_diode_drop is None:
        return np.asarray(np.nan)
    return argument(body_diode_drop, "V", "body_diode_drop", least=0.0)
