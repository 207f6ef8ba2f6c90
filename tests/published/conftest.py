"""Published figures, and the one way in which they are compared.

How each source was read stands in ``cases.json`` as its *trust*: A, in a stored copy of the named document;
B, in somebody else's transcription; C, of low authority; D, from memory. Never make a B an A.
"""

from __future__ import annotations

import json
from decimal import Decimal
from pathlib import Path

import pytest

from labkit.units import Q_, ureg

HERE = Path(__file__).parent
CASES = {case["id"]: case for case in json.loads((HERE / "cases.json").read_text(encoding="utf-8"))}
SOURCES = json.loads((HERE / "sources.json").read_text(encoding="utf-8"))


def half_a_unit(printed):
    """Return half a unit of the last digit that is printed."""
    return 0.5 * 10.0 ** Decimal(printed).as_tuple().exponent


@pytest.fixture
def published():
    """Return a function that compares computed quantities with the published figures of a case, label by label.

    Each must agree within half a unit of the last printed digit.
    Where one cannot, ``looser`` gives its label a relative tolerance and the reason.
    """

    def compare(case_id, computed, looser=None):
        case, looser = CASES[case_id], looser or {}
        source = f"{case_id}, {SOURCES[case['source']]['what']} (trust {case['trust']})"
        assert set(computed) == set(case["figures"]), source
        for label, (printed, unit) in case["figures"].items():
            value = computed[label]
            quantity = value if isinstance(value, ureg.Quantity) else Q_(value, "")
            got, want = float(quantity.to(unit).magnitude), float(printed)
            relative, reason = looser.get(label, (0.0, "printed"))
            allowed = max(half_a_unit(printed) * (1 + 1e-9), relative * abs(want))
            assert abs(got - want) <= allowed, f"{source}: {label} {printed} {unit}, got {got:.8g}; {reason}"
            assert not relative or abs(got - want) > half_a_unit(printed), f"{label}: no need to be looser"

    return compare


@pytest.fixture
def figure():
    """Return a function that gives one published figure of a case as a quantity."""

    def read(case_id, label):
        printed, unit = CASES[case_id]["figures"][label]
        return Q_(float(printed), "degC") if unit == "degC" else ureg.Quantity(float(printed), unit)

    return read


@pytest.fixture
def tolerances():
    """Return a function that keeps, of the tolerances that a sheet may need, those that it does need."""

    def choose(case_id, computed, allowed):
        needed = {}
        for label, (printed, unit) in CASES[case_id]["figures"].items():
            value = computed[label]
            quantity = value if isinstance(value, ureg.Quantity) else Q_(value, "")
            if abs(float(quantity.to(unit).magnitude) - float(printed)) > half_a_unit(printed) * (1 + 1e-9):
                assert label in allowed, f"{case_id}: {label} {printed} {unit}, got {quantity.to(unit):~P}"
                needed[label] = allowed[label]
        return needed

    return choose
