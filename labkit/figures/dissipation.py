"""A transistor that is on: its resistance at the gate voltage, the heat, and where the junction settles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from labkit.figures.bars import Bars
from labkit.figures.chart import GREY, Chart, beside, house_style, nice_limit, write
from labkit.figures.picture import Picture, Reading, Table
from labkit.parts import Mosfet
from labkit.simulation import JunctionState
from labkit.units import Quantity
from labkit.writing import show

__all__ = ["PLACES", "DissipationChart", "DissipationRun", "dissipation_picture"]

_HOTTEST = 200.0
#: Where heat is made.
PLACES = ("transistor", "winding", "battery")


@dataclass(frozen=True, kw_only=True, slots=True, eq=False)
class DissipationRun:
    """What the picture is drawn from."""

    mosfet: Mosfet
    gate_voltage: Quantity
    current: Quantity
    ambient: Quantity
    #: At the gate voltage, at 25 °C.
    resistance: Quantity
    #: Where heat in and heat out balance; ``None`` in thermal runaway.
    settled: JunctionState | None
    #: From which current on it runs away at this gate voltage.
    runaway_current: Quantity
    #: What the transistor can let through at this gate voltage.
    most_current: Quantity
    #: On-resistance at 25 °C at each of ``gate_sweep``, both of shape (n,).
    resistance_sweep: Quantity
    gate_sweep: Quantity
    #: Junction temperature at each of ``times`` after switching on, both of shape (m,).
    climb: Quantity
    times: Quantity
    #: Two points each of two straight lines: junction temperature, and heat made or carried away there.
    made: tuple[Quantity, Quantity]
    carried: tuple[Quantity, Quantity]
    #: Heat at this current in each of ``PLACES``.
    heat: dict[str, Quantity]


def dissipation_picture(run: DissipationRun) -> Picture:
    """Return the picture of one setting."""
    return DissipationChart().draw(run)


class DissipationChart(Chart):
    """The picture, built once and then moved."""

    def __init__(self) -> None:
        super().__init__(6.4, 4.4)
        with house_style():
            (ohms, balance), (climb, heat) = self.figure.subplots(2, 2)
            self._build_ohms(ohms)
            self._build_balance(balance)
            self._build_climb(climb)
            self._build_heat(heat)

    def _build_ohms(self, ohms: Axes) -> None:
        ohms.set(
            title="On-resistance", xlabel="gate voltage (V)", ylabel="resistance (mΩ)", xlim=(1, 10.5), yscale="log"
        )
        ohms.set(ylim=(10, 10_000), yticks=[10, 100, 1000, 10_000], yticklabels=["10", "100", "1000", "10 000"])
        ohms.minorticks_off()
        self.ohms = ohms
        self.ohms_line, self.ohms_dot, self.ohms_words = self.line(ohms, 0), self.dot(ohms, 0), self.words(ohms, 0)

    def _build_balance(self, balance: Axes) -> None:
        balance.set(title="Heat in, heat out", xlabel="junction (°C)", ylabel="power (W)", xlim=(0, _HOTTEST))
        self.balance = balance
        self.made_line, self.carried_line = self.line(balance, 1), self.line(balance, 2)
        self.balance_dot = self.dot(balance, 1)
        self.made_words, self.carried_words = self.words(balance, 1, va="bottom"), self.words(balance, 2, ha="right")
        self.balance_words = self.words(balance, 1)

    def _build_climb(self, climb: Axes) -> None:
        climb.set(title="After switching on", xlabel="time (s)", ylabel="junction (°C)", ylim=(0, _HOTTEST))
        self.climb = climb
        self.limit_line, self.climb_line = self.line(climb, 3, color=GREY, linewidth=1.0), self.line(climb, 1)
        self.limit_words = self.words(climb, color=GREY, va="bottom", ha="right")
        self.climb_words = self.words(climb, 1, va="bottom", ha="right")

    def _build_heat(self, heat: Axes) -> None:
        heat.set(title="Where the heat goes", xlabel="power (W)")
        self.heat, self.heat_bars = heat, Bars(self, heat, PLACES, bbox=None)

    def draw(self, run: DissipationRun) -> Picture:
        """Return the picture of one setting."""
        self._move_ohms(run)
        self._move_balance(run)
        self._move_climb(run)
        self._move_heat(run)
        return self.picture(
            subject="On-resistance against gate voltage; heat made and heat carried away against junction temperature; "
            "junction temperature after switching on; heat in transistor, winding and battery.",
            finding=finding(run),
            readings=readings(run),
            tables=tables(run),
        )

    def _move_ohms(self, run: DissipationRun) -> None:
        volts, ohms = run.gate_sweep.m_as("V"), run.resistance_sweep.m_as("mohm")
        on = np.isfinite(ohms)
        self.ohms_line.set_data(volts[on], ohms[on])
        x, y = float(run.gate_voltage.m_as("V")), float(run.resistance.m_as("mohm"))
        self.ohms_dot.set_data([x], [y])
        left = x > 6
        self.ohms_words.set_horizontalalignment("right" if left else "left")
        write(self.ohms_words, x - 0.25 if left else x + 0.25, 1.25 * y, show(run.resistance))

    def _move_balance(self, run: DissipationRun) -> None:
        (made_at, made), (carried_at, carried) = run.made, run.carried
        top = nice_limit(1.05 * max(float(np.max(carried.m_as("W"))), 1.3 * float(made.m_as("W")[0])))
        self.limits(self.balance, y=(0, top))
        self.made_line.set_data(made_at.m_as("degC"), made.m_as("W"))
        self.carried_line.set_data(carried_at.m_as("degC"), carried.m_as("W"))
        cold = float(made.m_as("W")[0])
        # close to the axis the words of the dot stand beside these, so these make room
        write(self.made_words, 4, min(cold + (0.1 if cold < 0.09 * top else 0.02) * top, 0.9 * top), "made")
        write(self.carried_words, 0.93 * _HOTTEST, 0.8 * float(carried.m_as("W")[-1]), "carried away  ")
        seen = run.settled is not None and float(run.settled.temperature.m_as("degC")) <= _HOTTEST
        for artist in (self.balance_dot, self.balance_words):
            artist.set_visible(seen)
        if seen and run.settled is not None:
            x, y = float(run.settled.temperature.m_as("degC")), float(run.settled.power.m_as("W"))
            self.balance_dot.set_data([x], [y])
            beside(self.balance_words, x, max(y - 0.09 * top, 0.0), show(run.settled.temperature))

    def _move_climb(self, run: DissipationRun) -> None:
        seconds, degrees = run.times.m_as("s"), np.minimum(run.climb.m_as("degC"), 2 * _HOTTEST)
        limit = float(run.mosfet.max_junction_temperature.m_as("degC"))
        right = float(seconds[-1])
        self.limits(self.climb, x=(0, right))
        self.climb_line.set_data(seconds, degrees)
        self.limit_line.set_data([0, right], [limit, limit])
        write(self.limit_words, right, limit + 2, f"limit {show(run.mosfet.max_junction_temperature)}")
        if run.settled is None:
            text = "runs away"
        else:  # beyond its limit it fails on the way there
            verb = "settles" if run.settled.margin.magnitude >= 0 else "would settle"
            text = f"{verb} at {show(run.settled.temperature)}"
        write(self.climb_words, right, float(degrees[-1]) + 4 if degrees[-1] < limit - 25 else 0.55 * _HOTTEST, text)

    def _move_heat(self, run: DissipationRun) -> None:
        losses = [run.heat[place] for place in PLACES]
        top = nice_limit(1.3 * max(0.05, *(float(loss.m_as("W")) for loss in losses)))
        self.limits(self.heat, x=(0, top))
        self.heat_bars.move(losses, "W", gap=0.02 * top)


def finding(run: DissipationRun) -> str:
    """Return what the picture shows, in words."""
    words = f"With {show(run.gate_voltage)} on its gate the transistor has {show(run.resistance)} when cold. "
    limit = run.mosfet.max_junction_temperature
    if run.current > run.most_current:
        words += (
            f"It lets only about {show(run.most_current, digits=2)} through: for {show(run.current)} it is no closed "
            "switch, its voltage rises, and it gets far hotter than drawn here. "
        )
    if run.settled is None:
        return words + (
            f"At {show(run.current)} it runs away: every degree makes more heat than it carries off. "
            f"That begins at {show(run.runaway_current)}."
        )
    hot = run.settled
    if hot.margin.magnitude < 0:
        return words + f"At {show(run.current)} its junction passes the {show(limit)} that it stands: it fails."
    return words + (
        f"{show(run.current)} makes {show(hot.power)} of heat in it, and the junction settles at "
        f"{show(hot.temperature)}, {show(hot.margin, 'delta_degC')} below its limit."
    )


def readings(run: DissipationRun) -> tuple[Reading, ...]:
    """Return the numbers at this setting."""
    shown = [
        Reading("Gate voltage", run.gate_voltage),
        Reading("Current", run.current),
        Reading("On-resistance at 25 °C", run.resistance),
        Reading("Current from which it runs away", run.runaway_current),
        Reading("Largest current that it lets through, about", run.most_current),
        *(Reading(f"Heat: {name}", loss) for name, loss in run.heat.items()),
    ]
    if run.settled is not None:
        shown[3:3] = [
            Reading("On-resistance when warm", run.settled.on_resistance or run.resistance),
            Reading("Junction temperature", run.settled.temperature, "degC"),
            Reading("Left to the limit", run.settled.margin, "delta_degC"),
        ]
    return tuple(shown)


def tables(run: DissipationRun) -> tuple[Table, ...]:
    """Return the curves of the picture."""
    on = np.isfinite(run.resistance_sweep.magnitude)
    return (
        Table(
            "On-resistance", (("gate voltage", run.gate_sweep[on], "V"), ("at 25 °C", run.resistance_sweep[on], "mohm"))
        ),
        Table("After switching on", (("time", run.times, "s"), ("junction", run.climb, "degC"))),
    )
