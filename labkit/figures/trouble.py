"""The circuit of a review, with the place of its worst finding marked."""

from __future__ import annotations

from labkit.errors import PartError
from labkit.figures.picture import Picture
from labkit.figures.schematic import schematic
from labkit.reviews import Review

__all__ = ["trouble_picture"]


def trouble_picture(review: Review) -> Picture:
    """Return the circuit diagram with a ring round what the worst finding is about, or where it should sit."""
    try:
        return schematic(review.drive, mark=review.trouble)
    except PartError:  # a motor on a pin has no transistor's side to mark
        return schematic(review.drive)
