"""A verdict on a circuit before power is applied, a plan for first power, and a way to the fault when it fails.

Each finding has its sum beside it, in the letters and with the numbers that people at the bench would write.
About one in four has a derivation, and a test holds the two together; taken from there, a sum would bring sympy along,
which makes the command half as slow again, and would still need its words for what stands in for what.
"""

from labkit.reviews._design import Design, demo_design, read_design
from labkit.reviews._diagnose import SYMPTOMS, Cause, Diagnosis, diagnose
from labkit.reviews._finding import BenchTest, Finding, Outcome, Review
from labkit.reviews._first_power import FirstPower, Reading, Stage, first_power
from labkit.reviews._review import Tolerances, review
from labkit.reviews._sections import generic_part, generic_parts
from labkit.reviews._shopping import Item, ShoppingList, shopping_list
from labkit.reviews._spread import review_spread
from labkit.reviews._static import READINGS

__all__ = [
    "READINGS",
    "SYMPTOMS",
    "BenchTest",
    "Cause",
    "Design",
    "Diagnosis",
    "Finding",
    "FirstPower",
    "Item",
    "Outcome",
    "Reading",
    "Review",
    "ShoppingList",
    "Stage",
    "Tolerances",
    "demo_design",
    "diagnose",
    "first_power",
    "generic_part",
    "generic_parts",
    "read_design",
    "review",
    "review_spread",
    "shopping_list",
]
