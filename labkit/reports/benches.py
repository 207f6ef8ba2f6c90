"""A room's benches on one page: what each found of its motor, what they have in common, and who is far off."""

from __future__ import annotations

import math
from collections.abc import Iterator
from html import escape
from typing import NamedTuple

from labkit.fitting import RoomConstant, RoomFit
from labkit.reports.charts import CHART_STYLE, Interval, intervals
from labkit.reports.fit import CONSTANT_NAMES, PREFIX, fixed, prefix_power
from labkit.reports.page import page, table
from labkit.units import Quantity, magnitude
from labkit.writing import sentence_case

__all__ = ["room_page", "room_report"]

_LONGEST = 40  #: letters of a bench's name on the page
_STYLE = ".pictures { display: flex; flex-wrap: wrap; gap: 0 2rem; }"
_HOW = (
    "Each bench's readings are fitted by themselves. The line through a point is the range in which the truth lies "
    "with 95 % confidence; the dashed line and the band behind all points are the mean motor and the range of that "
    "mean. Motors of one type differ a little, and where they differ by more than the readings leave open, the "
    "standard deviation between them is given. A hollow point was left out of the mean."
)


class _Scale(NamedTuple):
    """How one constant is written over the whole room."""

    unit: str
    factor: float
    symbol: str

    @classmethod
    def of(cls, name: str, value: Quantity) -> _Scale:
        _, unit, symbol = CONSTANT_NAMES[name]
        power = prefix_power(abs(float(magnitude(value, unit))))
        return cls(unit, 10.0**power, PREFIX[power] + symbol)

    def number(self, quantity: Quantity) -> float:
        return float(magnitude(quantity, self.unit)) / self.factor

    def within(self, value: Quantity, wide: Quantity) -> str:
        """Return a value with its range: two figures of that, and the value to the same digit."""
        half = self.number(wide)
        decimals = 1 - math.floor(math.log10(half)) if half > 0 else 2
        return f"{fixed(self.number(value), decimals)} ± {fixed(half, decimals)} {self.symbol}"


def room_report(room: RoomFit) -> str:
    """Return what a room found as plain text.

    Parameters
    ----------
    room : RoomFit
    """
    lines = [*_sentences(room)]
    for name, one in room.constants.items():
        lines += ["", _title(name, one)]
        lines += [f"  {bench}: {words}" for bench, words, _ in _benches(room, name, one)]
    return "\n".join(lines)


def room_page(room: RoomFit) -> str:
    """Return what a room found as one HTML page: a picture for each constant, and one table.

    Parameters
    ----------
    room : RoomFit
    """
    parts = [f"<ul>{''.join(f'<li>{escape(sentence)}</li>' for sentence in _sentences(room))}</ul>"]
    parts.append(f"<p>{_HOW}</p>")
    parts.append(f'<div class="pictures">{"".join(_picture(room, name) for name in room.constants)}</div>')
    if room.constants:
        parts.append(_numbers(room))
    return page("The room's motors", "\n".join(parts), style=f"{CHART_STYLE}\n{_STYLE}")


def _sentences(room: RoomFit) -> Iterator[str]:
    number = len(room.fits)
    yield f"{number} benches gave constants." if number > 1 else "One bench gave constants; a mean needs two."
    for name, one in room.constants.items():
        yield f"{_title(name, one)}.{_spread(name, one)}"
    for name, one in room.constants.items():
        for bench in one.set_aside:
            found = _Scale.of(name, one.value).within(*_of_bench(room, bench, name))
            yield (
                f"{bench} is far off the others in its {CONSTANT_NAMES[name][0]}: {found}. It is left out of that "
                "mean. Look at its readings, its meter and its motor."
            )
    for bench, reason in room.unfit.items():
        yield f"{bench} could not be used. {reason}"


def _title(name: str, one: RoomConstant) -> str:
    scale = _Scale.of(name, one.value)
    return f"{_words(name)}: {scale.within(one.value, one.expanded_uncertainty)}"


def _spread(name: str, one: RoomConstant) -> str:
    scale = _Scale.of(name, one.value)
    spread, value = scale.number(one.spread), scale.number(one.value)
    if spread == 0:
        return " The motors differ by no more than their readings leave open."
    return f" From motor to motor it differs with a standard deviation of {spread:.2g} {scale.symbol}" + (
        f" ({100 * spread / abs(value):.2g} %)." if value else "."
    )


def _of_bench(room: RoomFit, bench: str, name: str) -> tuple[Quantity, Quantity]:
    fit = room.fits[bench]
    return fit.value[name], fit.expanded_uncertainty[name]


def _benches(room: RoomFit, name: str, one: RoomConstant) -> Iterator[tuple[str, str, bool]]:
    """Give each bench that has the constant, in the order of the room, and whether it is left out of the mean."""
    scale = _Scale.of(name, one.value)
    for bench in room.fits:
        if bench in one.used or bench in one.set_aside:
            aside = bench in one.set_aside
            yield bench, scale.within(*_of_bench(room, bench, name)) + (", left out" if aside else ""), aside


def _picture(room: RoomFit, name: str) -> str:
    one = room.constants[name]
    scale = _Scale.of(name, one.value)
    rows = [
        Interval(_shortened(bench), scale.number(value), scale.number(wide), words, aside)
        for bench, words, aside in _benches(room, name, one)
        for value, wide in [_of_bench(room, bench, name)]
    ]
    heading = escape(_words(name))
    aside = f"; left out: {', '.join(one.set_aside)}" if one.set_aside else ""
    says = f"{heading} of {len(rows)} benches, their mean {scale.within(one.value, one.expanded_uncertainty)}{aside}"
    drawn = intervals(says, rows, middle=scale.number(one.value), half=scale.number(one.expanded_uncertainty))
    return f"<section><h2>{heading}</h2>{drawn}</section>"


def _numbers(room: RoomFit) -> str:
    found = {
        name: {bench: words for bench, words, _ in _benches(room, name, one)} for name, one in room.constants.items()
    }
    rows = [(_shortened(bench), *(column.get(bench, "not found") for column in found.values())) for bench in room.fits]
    means = (
        _Scale.of(name, one.value).within(one.value, one.expanded_uncertainty) for name, one in room.constants.items()
    )
    return table("What each bench found", ("bench", *map(_words, found)), [*rows, ("mean motor", *means)])


def _words(name: str) -> str:
    return sentence_case(CONSTANT_NAMES[name][0])


def _shortened(name: str) -> str:
    return name if len(name) <= _LONGEST else f"{name[: _LONGEST - 1]}…"
