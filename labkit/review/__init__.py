"""A verdict on a circuit before power is applied, a plan for first power, and a way to the fault when it fails."""

from labkit.review._design import Design, read_design
from labkit.review._diagnose import SYMPTOMS, Cause, Diagnosis, diagnose
from labkit.review._finding import BenchTest, Finding, Outcome, Review
from labkit.review._first_power import Reading, Stage, first_power
from labkit.review._review import Tolerances, review
from labkit.review._sections import generic_part, generic_parts
from labkit.review._shopping import Item, shopping_list
from labkit.review._static import READINGS

__all__ = [
    "READINGS",
    "SYMPTOMS",
    "BenchTest",
    "Cause",
    "Design",
    "Diagnosis",
    "Finding",
    "Item",
    "Outcome",
    "Reading",
    "Review",
    "Stage",
    "Tolerances",
    "diagnose",
    "first_power",
    "generic_part",
    "generic_parts",
    "read_design",
    "review",
    "shopping_list",
]
