"""A review as pictures: the circuit with its trouble spot, and how much is left of each limit."""

from __future__ import annotations

from typing import Any

from labkit.errors import PartError
from labkit.figures.chart import STYLES, Chart, house_style, write
from labkit.figures.picture import Picture, Reading
from labkit.figures.schematic import schematic
from labkit.parts._fields import expect
from labkit.reviews import Finding, Outcome, Review
from labkit.units import Q_
from labkit.writing import show

__all__ = ["ReviewChart", "review_picture", "trouble_picture"]

_WHENCE = "Give what review returns."
_ROWS = 20
_MOST = 1.0  # a bar ends there: twice the limit on the left, all of it left on the right
_TIGHT = 0.2


def trouble_picture(review: Review) -> Picture:
    """Return the circuit diagram with a ring round what the worst finding is about, or where it should sit."""
    expect(review, Review, "trouble_picture.review", _WHENCE)
    try:
        return schematic(review.drive, mark=review.trouble)
    except PartError:  # a motor on a pin has no transistor's side to mark
        return schematic(review.drive)


def review_picture(review: Review) -> Picture:
    """Return the picture of one review."""
    expect(review, Review, "review_picture.review", _WHENCE)
    return ReviewChart().draw(review)


class ReviewChart(Chart):
    """A bar for each finding, worst at the top: to the right what is left of its limit, to the left what is too much.

    Built once and then moved; findings beyond the last row are the soundest ones.
    """

    def __init__(self) -> None:
        super().__init__(6.4, 4.8)
        with house_style():
            self.axes = axes = self.figure.add_subplot()
            axes.set(xlim=(-3.9, 1.75), ylim=(_ROWS - 0.4, -0.6), yticks=[], xticks=[-1, 0, 1])
            axes.set(title="What is left of each limit", xlabel="margin (share of the limit)")
            axes.set_xticklabels(["twice", "limit", "all left"])
            axes.grid(visible=False)
            axes.axvspan(0, _TIGHT, color="#d9d9d9", linewidth=0)
            axes.axvline(0, color="black", linewidth=1)
            axes.text(_TIGHT / 2, -0.7, "tight", ha="center", va="bottom", fontsize=8)
            self.bars = [self.moving(bar) for bar in axes.barh(range(_ROWS), [0.0] * _ROWS, height=0.6)]
            look: dict[str, Any] = {"fontsize": 8, "va": "center", "bbox": None}
            self.names = [self.words(axes, ha="right", **look) for _ in self.bars]
            self.verdicts = [self.words(axes, **look) for _ in self.bars]

    def draw(self, review: Review) -> Picture:
        """Return the picture of one review."""
        rows = [*review.findings[:_ROWS], *[None] * (_ROWS - len(review.findings))]
        for place, found in enumerate(rows):
            self._move_row(place, found)
        return self.picture(
            subject=_subject(review),
            finding=finding(review),
            readings=tuple(_reading(found) for found in review.findings if found.margin is not None),
        )

    def _move_row(self, place: int, found: Finding | None) -> None:
        margin = _drawn_margin(found)
        bar = self.bars[place]
        bar.set_width(margin)
        beyond = margin < 0
        bar.set_facecolor("white" if beyond else STYLES[0]["color"])
        bar.set_edgecolor(STYLES[1]["color"] if beyond else "none")
        bar.set_hatch("////" if beyond else "")
        write(self.names[place], -_MOST - 0.1, place, found.name if found else "")
        write(self.verdicts[place], _MOST + 0.1, place, f"{found.outcome.symbol} {found.verdict}" if found else "")


def _subject(review: Review) -> str:
    drive = review.drive
    sizes = map(show, (drive.supply.voltage, drive.motor.resistance, drive.gate_resistor))
    values = "{}, winding {}, gate resistor {}".format(*sizes)
    return f"One bar for each finding of the review, worst first: how much is left of its limit. The drive: {values}."


def _drawn_margin(found: Finding | None) -> float:
    margin = 0.0 if found is None or found.margin is None else found.margin
    return max(-_MOST, min(_MOST, margin))


def _reading(found: Finding) -> Reading:
    margin = max(-10.0, min(10.0, found.margin or 0.0))
    return Reading(f"{found.name}, {found.verdict}: margin", Q_(100.0 * margin, "percent"), "percent")


def finding(review: Review) -> str:
    """Return what the picture shows, in words."""
    said = []
    for outcome, words in (
        (Outcome.EXCEEDED, "Exceeded"),
        (Outcome.UNKNOWN, "Cannot be told"),
        (Outcome.TIGHT, "Tight"),
    ):
        names = [_named(found) for found in review.findings if found.outcome is outcome]
        if names:
            said.append(f"{words}: {'; '.join(names)}.")
    fine = sum(found.outcome is Outcome.FINE for found in review.findings)
    return " ".join([*said, f"{fine} of {len(review.findings)} findings are fine."])


def _named(found: Finding) -> str:
    if found.value is None or found.limit is None or found.margin is None:
        return found.name
    wanted = "at least" if (found.value < found.limit) == (found.margin < 0) else "at most"
    return f"{found.name} ({show(found.value)}, {wanted} {show(found.limit)} wanted)"
