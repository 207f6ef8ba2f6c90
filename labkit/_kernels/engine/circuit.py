"""The drive as floats, and the rungs of conduction that its switch and diode make.

The winding's current i flows into the drain node and leaves it through the switch and the freewheel diode. Both have
currents that only rise with the drain's voltage, in straight pieces, so that the current alone tells which piece
carries it. From below to above, one ladder for the open and one for the closed switch::

    body diode   i < 0             the MOSFET's body diode holds the drain at -drop
    reverse      i < 0, closed     the channel carries the current backwards
    forward      0 < i < limit     the channel, or a saturated bipolar transistor
    diode        i > limit         the switch carries its limit, the freewheel diode the rest
    breakdown    i > limit         no freewheel diode: the switch holds the drain at its breakdown voltage

An open switch has the limit 0. On each rung L·i' = drive + share·v - R·i - k·ω. At the bounds between rungs the drain's
voltage may jump: there the current is *held* while the rung above would let it fall and the one below would let it
rise. Held at 0, nothing conducts; held at the limit, the transistor and not the motor sets the current.

The source feeds the + rail through its resistance, and the buffer capacitor, at V + v behind its own resistance, hangs
on the rail. With β = R_source/(R_source + R_capacitor), and i_s the current that the switch takes::

    rail = V + β·v - R_parallel·i_s        C·v' = -(v + R_source·i_s)/(R_source + R_capacitor)

Without a capacitor β = 0 and R_parallel is the source's own resistance.
"""

from __future__ import annotations

import math
from typing import NamedTuple

__all__ = ["Conduction", "DriveSI", "Ladder", "LoopSI", "Rung", "SwitchSI", "conductions", "ladder"]

RUNGS = 4


class DriveSI(NamedTuple):
    """What stepping needs, in coherent SI."""

    inductance: float
    emf_constant: float
    inertia: float
    #: Constant friction while turning, and what holds a resting shaft (at least as much): motor and load together.
    friction: float
    holding: float
    viscous: float
    fan: float
    weight: float
    source_voltage: float
    source_resistance: float
    #: Of the buffer capacitor; 0 without one.
    capacitance: float
    #: g = 1/(C·(R_source + R_capacitor)) and u = β/C; both 0 without a buffer capacitor.
    leak: float
    uptake: float
    #: The fan's law is straightened over a stretch; (change of speed)² over speed may be this [rad/s] at most.
    fan_step: float
    #: The speed [rad/s] that takes the place of a smaller one there.
    slow: float
    #: Of the whole run [s].
    duration: float


class SwitchSI(NamedTuple):
    """A switch, open or closed [A, ohm, V]; infinite where it has no such thing."""

    #: Largest current that it carries; 0 while open.
    limit: float
    resistance: float
    drop: float
    body_diode_drop: float
    breakdown_voltage: float


class LoopSI(NamedTuple):
    """What all rungs share [ohm, V, 1]; the diode's drop is infinite where there is no diode."""

    winding_resistance: float
    brush_drop: float
    diode_drop: float
    diode_resistance: float
    source_voltage: float
    #: Of source and capacitor in parallel; the source's own without a capacitor.
    rail_resistance: float
    #: β; 0 without a capacitor.
    share: float


class Rung(NamedTuple):
    """L·i' = drive + share·v - resistance·i - k·ω; the switch's current is fixed + follows·i."""

    drive: float
    share: float
    resistance: float
    fixed: float
    follows: float


class Conduction(NamedTuple):
    """A rung, its name, and the drain's voltage on it: fixed + slope·i + rail·(voltage of the + rail)."""

    name: str
    rung: Rung
    drain_fixed: float
    drain_slope: float
    drain_rail: float


#: Bounds, rising, filled up with infinity, and rungs, of which rung n lies below bound n.
Ladder = tuple[tuple[float, float, float, float], tuple[Rung, Rung, Rung, Rung]]


def conductions(loop: LoopSI, switch: SwitchSI) -> tuple[list[float], list[Conduction]]:
    """Bounds [A] and conductions of one state of the switch, from the lowest current to the highest."""
    rail = loop.source_voltage
    through = loop.winding_resistance + loop.rail_resistance

    def passing(name: str, drain: float, resistance: float, brushes: float) -> Conduction:
        """All of the current goes through the switch: drain = drain + resistance·i."""
        rung = Rung(rail - drain - brushes, loop.share, through + resistance, 0.0, 1.0)
        return Conduction(name, rung, drain, resistance, 0.0)

    drop, limit, has_body_diode = loop.brush_drop, switch.limit, math.isfinite(switch.body_diode_drop)
    bounds, found = [], [passing("body diode", -switch.body_diode_drop, 0.0, -drop)]
    if limit > 0.0:
        if has_body_diode:
            bounds.append(-switch.body_diode_drop / switch.resistance)
            found.append(passing("reverse", 0.0, switch.resistance, -drop))
        bounds.append(0.0)
        found.append(passing("forward", switch.drop, switch.resistance, drop))
    if limit < math.inf:
        bounds.append(limit)
        if loop.diode_drop < math.inf:
            resistance, diode = loop.diode_resistance, loop.diode_drop - loop.diode_resistance * limit
            rung = Rung(-diode - drop, 0.0, loop.winding_resistance + resistance, limit, 0.0)
            found.append(Conduction("diode", rung, diode, resistance, 1.0))
        else:
            found.append(passing("breakdown", switch.breakdown_voltage, 0.0, drop))
    return bounds, found


def ladder(loop: LoopSI, switch: SwitchSI) -> Ladder:
    """The ladder of one state of the switch, filled up to four bounds and four rungs."""
    bounds, found = conductions(loop, switch)
    bounds += [math.inf] * (RUNGS - len(bounds))
    rungs = [entry.rung for entry in found] + [found[-1].rung] * (RUNGS - len(found))
    return (bounds[0], bounds[1], bounds[2], bounds[3]), (rungs[0], rungs[1], rungs[2], rungs[3])
