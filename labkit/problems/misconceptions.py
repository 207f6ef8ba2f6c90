"""Thirty-six beliefs about motors and switches that lead to wrong numbers, and what to think of instead.

Many of them are described in the literature on how people learn about circuits; others are met at every bench.
Two voltages never share a name here: the generator EMF (k·ω) and the switch-off kick (L·di/dt).
"""

from __future__ import annotations

from labkit.checks import Misconception
from labkit.problems.lessons import LESSONS

__all__ = ["MISCONCEPTIONS"]


def _named(id_: str, lesson: int, belief: str, rethink: str) -> Misconception:
    return Misconception(id=id_, belief=belief, rethink=rethink, lesson=LESSONS[lesson])


M1 = _named(
    "M1",
    4,
    "A running motor obeys I = V/R.",
    "V/R is the current of a motor held still. Once it turns, its generator EMF takes most of the "
    "voltage, and only the rest drives current through R.",
)
M2 = _named(
    "M2",
    2,
    "A motor draws one fixed current, its rating.",
    "The current follows the load: little when free, more under load, most when held still.",
)
M3 = _named(
    "M3",
    9,
    "The source decides the current.",
    "A source gives a voltage; what is connected, such as a motor and its load, decides how much current flows. "
    "A source's amperes are what it can give, not what it pushes.",
)
M4 = _named(
    "M4",
    2,
    "Current is used up on the way round.",
    "In one loop the same current flows everywhere, before and after each part. What gets less is the "
    "voltage that is left, and the energy.",
)
M5 = _named(
    "M5",
    2,
    "Only what comes before a part matters to it.",
    "A loop acts as a whole: a resistor anywhere in it changes the current everywhere at once.",
)
M6 = _named(
    "M6",
    1,
    "Voltage, current and power are one stuff.",
    "A voltage is across two points, a current goes through one place, a power is the two multiplied.",
)
M7 = _named(
    "M7",
    5,
    "No current, so no voltage across an open switch.",
    "Without current nothing drops across the motor. Go round the loop: where is the supply's voltage then?",
)
M8 = _named(
    "M8",
    7,
    "The generator EMF is the switch-off kick.",
    "The generator EMF comes from turning; the kick at switch-off comes from the current in the "
    "winding, which wants to go on. They have different causes, sizes and polarity.",
)
M9 = _named(
    "M9",
    7,
    "No spin, no kick.",
    "The kick comes from the current in the winding, and a jammed rotor carries the most of all.",
)
M10 = _named(
    "M10",
    3,
    "Driving and generating exclude each other.",
    "A turning motor always generates, also while it is driven: k·ω is there whenever the shaft turns, "
    "and a torque is there whenever current flows.",
)
M11 = _named(
    "M11",
    7,
    "Induced voltage goes with the current, not with its rate of change.",
    "An inductance answers to how fast the current changes, and not to how large it is.",
)
M12 = _named(
    "M12",
    4,
    "Running free means k·ω = V and no current.",
    "The generator EMF stays below the voltage: even a free motor has friction to overcome, so some current flows, "
    "and that costs a little voltage across R.",
)
M13 = _named(
    "M13",
    4,
    "The speed under load does not depend on I·R.",
    "Only what is left after the drop across R is generator EMF, and that alone sets the speed.",
)
M14 = _named(
    "M14",
    3,
    "A speed in rpm goes where rad/s belongs.",
    "One turn has 2π radians, one minute 60 seconds. k in V·s/rad wants a speed in rad/s.",
)
M15 = _named(
    "M15",
    3,
    "A constant per rpm is the constant in V·s/rad.",
    "V·s/rad means volts per radian each second: turn the speed into rad/s before you divide by it.",
)
M16 = _named(
    "M16",
    4,
    "Kv and k are the same, or each other's inverse whatever their units.",
    "k = 1/Kv holds only with Kv in rad/s per volt. The usual Kv is in rpm per volt: 60/2π lies between them.",
)
M17 = _named(
    "M17",
    4,
    "All of V·I becomes motion.",
    "From V·I the winding takes I²R as heat and friction takes its part before the shaft gives anything.",
)
M18 = _named(
    "M18",
    4,
    "The winding's heat is V²/R while it runs.",
    "Heat in the winding is I²R, with the current that flows. V²/R holds only while the rotor is held still.",
)
M19 = _named(
    "M19",
    2,
    "A stalled motor heats a bit more.",
    "Heat goes with the square of the current, so a stall heats far more than the currents suggest.",
)
M20 = _named(
    "M20",
    7,
    "The diode makes the kick vanish.",
    "The diode bounds the kick and does not end it: it conducts only while its end at the motor is at the higher "
    "voltage.",
)
M21 = _named(
    "M21",
    7,
    "The kick's current flows backwards.",
    "The current in a winding cannot jump, stop or turn round at once: it goes on the same way.",
)
M22 = _named(
    "M22",
    7,
    "Current jumps.",
    "In a winding the current can neither start nor stop at once: most of its way takes a few time constants.",
)
M23 = _named(
    "M23",
    7,
    "The time constant is R/L or R·L.",
    "More inductance makes it slower, more resistance faster. Only L/R is a time.",
)
M24 = _named(
    "M24",
    7,
    "The energy is L·I², ½·L·I or ½·L·V².",
    "The energy stored in a winding is a half, times the inductance, times the square of its current.",
)
M25 = _named(
    "M25",
    7,
    "The transistor's body diode protects a low-side switch.",
    "The body diode of a low-side switch points the blocking way for the kick; it is not in the motor's own loop.",
)
M26 = _named(
    "M26",
    5,
    "Above its threshold voltage a transistor is fully on.",
    "At its threshold voltage a transistor passes about a milliampere at most. Read the on-resistance at the gate "
    "voltage that you have.",
)
M27 = _named(
    "M27",
    6,
    "A transistor's loss is the supply's (or the load's) voltage times the current.",
    "The heat in a part is the voltage across that part times the current through it.",
)
M28 = _named(
    "M28",
    5,
    "A gate never takes current.",
    "A gate takes no steady current, but it has to be filled and emptied each time it is switched, as a capacitor is.",
)
M29 = _named(
    "M29",
    6,
    "Switching costs nothing.",
    "While it switches, a transistor has voltage and current together: about half of V·I for the length of each edge.",
)
M30 = _named(
    "M30",
    5,
    "In a low-side N-channel switch current runs from source to drain.",
    "Conventional current runs from + to −: into the drain, out of the source. Electrons run the other way.",
)
M31 = _named(
    "M31",
    6,
    "The square of the average current gives the loss.",
    "Heat follows the square of the current at each moment, and only while it flows: average the "
    "square, do not square the average.",
)
M32 = _named("M32", 8, "The RMS voltage sets the speed.", "A motor's speed follows the mean voltage. RMS is for heat.")
M33 = _named(
    "M33",
    8,
    "Slow and fast PWM heat the winding alike.",
    "Slow PWM gives full current in bursts, fast PWM a smooth mean. The same mean current in bursts heats more.",
)
M34 = _named(
    "M34",
    8,
    "Under PWM the battery gives the motor's current.",
    "The battery feeds the motor only while the switch is on; in between the current goes round through the diode.",
)
M35 = _named(
    "M35",
    9,
    "A battery gives what its label says.",
    "A source, be it a battery or a generator, has a resistance inside, which is part of the loop: "
    "the more current, the less voltage at its terminals.",
)
M36 = _named(
    "M36",
    8,
    "The duty number of a program is a per cent.",
    "The number counts steps, and the top is all of them: it is a share of the top, not of a hundred.",
)

#: All of them, by their ids.
MISCONCEPTIONS = {value.id: value for value in list(globals().values()) if isinstance(value, Misconception)}
