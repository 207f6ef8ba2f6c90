"""Reading an answer, and carrying it between processes."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labkit.checks import answer_from_json, answer_to_json, read_answer
from labkit.units import Q_

pytestmark = pytest.mark.core

_ANY_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=300),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.sampled_from(["value", "unit", "x"]), inner),
    max_leaves=12,
)


@pytest.mark.parametrize(
    ("typed", "amperes"),
    [
        ("470 mA", 0.47),
        ("0,47 A", 0.47),
        (" .47 A ", 0.47),
        ("4.7e-1 A", 0.47),
        ("−470 mA", -0.47),
        ("I = 0.47 A", 0.47),
        ("I=V/R = 6 V / 12.8 Ω ≈ 470 mA.", 0.47),
        (Q_("470 mA"), 0.47),
        (Q_(np.float64(0.47), "A"), 0.47),
        (Q_(np.array(0.47), "A"), 0.47),
    ],
)
def test_a_current_is_read_in_every_form(typed, amperes):
    """A current typed with a prefix, a comma, a true minus or given as a quantity is the same current."""
    assert read_answer(typed).quantity.to("A").magnitude == pytest.approx(amperes, rel=1e-12)


@pytest.mark.parametrize(
    ("typed", "volts", "spread"),
    [
        ("4.74 ± 0.05 V", 4.74, 0.05),
        ("(4,74±0,05) V", 4.74, 0.05),
        ("4740 +/- 50 mV", 4.74, 0.05),
        ("-4.74 ± 0.05 V", -4.74, 0.05),
        ("4.74 V ± 0.05 V", 4.74, 0.05),
        ("4,74 V ± 50 mV", 4.74, 0.05),
        ("5 V ± 1 %", 5.0, 0.05),
        ("-5 V±1%", -5.0, 0.05),
    ],
)
def test_a_value_with_its_uncertainty(typed, volts, spread):
    """A value may come with what stands behind a ±, in the same unit."""
    answer = read_answer(typed)

    assert answer.quantity.to("V").magnitude == pytest.approx(volts, rel=1e-12)
    assert answer.uncertainty.to("V").magnitude == pytest.approx(spread, rel=1e-12)


@pytest.mark.parametrize(
    "typed", ["4.74 ± V", "± 0.05 V", "4.74 ± 0.05 ± 0.1 V", "4.74 V ± x", "4 V ± 3 A", "4 V ± % %"]
)
def test_a_broken_uncertainty_is_a_fault(typed):
    """A ± without a number on both sides is no answer."""
    assert read_answer(typed).fault


@given(st.text(alphabet="0123456789.,±+-/% VAmµΩ°CK()", max_size=40))
@settings(deadline=None, max_examples=300)
def test_any_text_with_a_sign_of_uncertainty_is_an_answer_or_says_why_not(text):
    """Whatever stands around a ±, there is a quantity with its like behind it, or a fault."""
    answer = read_answer(text)

    if answer.uncertainty is not None:
        assert answer.uncertainty.dimensionality == answer.quantity.dimensionality


@pytest.mark.parametrize("typed", ["", "   ", "\n", None])
def test_nothing_typed_is_no_answer(typed):
    """An empty text, blanks and None are no answer, and no fault either."""
    assert read_answer(typed).empty


@pytest.mark.parametrize(
    "given",
    [
        [1, 2],
        {"a": 1, "b": 2},
        object(),
        True,
        1j,
        Q_([1.0, 2.0], "A"),
        math.nan,
        math.inf,
        Q_(math.nan, "A"),
        10**5000,
        "1" * 1_000_000,
        "470 mA; import os",
        "__import__('os')",
        "1e999 V",
    ],
    ids=lambda given: f"{type(given).__name__}-{str(type(given) is int or given)[:12]}",
)
def test_what_is_no_answer_says_so(given):
    """Lists, complex numbers, infinities, huge integers and code are answers with a fault, never an exception."""
    answer = read_answer(given)

    assert answer.fault
    assert len(answer.text) < 300
    assert answer.quantity is None


@given(_ANY_JSON)
@settings(deadline=None, max_examples=300)
def test_hostile_json_never_raises(value):
    """Whatever JSON arrives, an answer comes out of it, and its quantity is a finite number or none."""
    answer = answer_from_json(value)

    assert answer.quantity is None or math.isfinite(answer.quantity.magnitude)


@given(
    st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(["mA", "V", "rpm", "mV*s/rad", "degC", "", "%"])
)
@settings(deadline=None)
def test_a_quantity_survives_the_way_to_the_marker(size, unit):
    """A quantity written as JSON text and read again is the same quantity, to the last bit."""
    quantity = Q_(size, unit)
    line = json.dumps(answer_to_json(quantity), allow_nan=False)
    again = answer_from_json(json.loads(line))

    assert again.quantity.magnitude == size
    assert again.quantity.units == quantity.units


def test_a_lying_subclass_is_taken_for_its_number():
    """A float that claims to equal everything is carried as the plain number that it holds."""

    class Liar(float):
        def __eq__(self, other):
            return True

        __hash__ = float.__hash__

    sent = answer_to_json(Liar(3.0))

    assert type(sent["value"]) is float
    assert sent["value"] == 3.0
