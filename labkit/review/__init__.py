"""A verdict on a circuit before power is applied."""

from labkit.review._design import Design, read_design
from labkit.review._finding import BenchTest, Finding, Outcome, Review
from labkit.review._review import Tolerances, review
from labkit.review._sections import generic_part, generic_parts

__all__ = [
    "BenchTest",
    "Design",
    "Finding",
    "Outcome",
    "Review",
    "Tolerances",
    "generic_part",
    "generic_parts",
    "read_design",
    "review",
]
