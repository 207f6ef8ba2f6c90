"""What a simulated run does not show although its parts would: said on the trace, in sentences."""

from __future__ import annotations

import math
from collections.abc import Iterator

from labkit._kernels.engine.circuit import SwitchSI
from labkit.parts import Bipolar, Drive
from labkit.simulation.switch import gate_volts
from labkit.units import magnitude

__all__ = ["notes"]

#: From this share of the saturation current on, the channel's bend is worth a sentence.
_BENT = 0.25


def notes(drive: Drive, closed: SwitchSI, largest_current: float, largest_supply: float) -> tuple[str, ...]:
    """Return the sentences for a run with these largest currents [A], through the winding and out of the source."""
    return (*_of_the_switch(drive, closed, largest_current), *_of_the_source(drive, largest_supply))


def _of_the_switch(drive: Drive, closed: SwitchSI, largest: float) -> Iterator[str]:
    switch = drive.switch
    if closed.limit == 0.0:
        yield "The transistor never turns on: what the pin gives does not reach it."
        return
    if math.isinf(closed.limit):
        missing = (
            "Bipolar.base_resistor"
            if isinstance(switch, Bipolar)
            else "Mosfet.threshold and Mosfet.transconductance"
            if switch.threshold is None
            else "Mosfet.transconductance, or the on-resistance as a table by gate voltage"
        )
        yield (
            "How much current the transistor lets through is not known; the run takes it as unlimited. "
            f"Give {missing}, to see whether the transistor or the motor sets the current."
        )
        return
    if isinstance(switch, Bipolar) or switch.threshold is None or largest < _BENT * closed.limit:
        return
    share = min(largest / closed.limit, 1.0)
    overdrive = gate_volts(drive) - float(magnitude(switch.threshold, "V"))
    missed = overdrive * (1.0 - math.sqrt(1.0 - share)) - closed.resistance * share * closed.limit
    if missed > 0.0:
        yield (
            f"The current comes to {share:.0%} of the {closed.limit:.3g} A that the transistor lets through. There its "
            f"channel is no straight resistance any more: the real drain is up to {missed:.2g} V higher than shown."
        )


def _of_the_source(drive: Drive, largest: float) -> Iterator[str]:
    limit = drive.supply.current_limit
    if limit is not None and largest > float(magnitude(limit, "A")):
        yield (
            f"The source gives up to {largest:.3g} A here, more than the {limit:~P} that it is made for. The run does "
            "not hold that limit: a source that limits its current lets the voltage fall instead."
        )
