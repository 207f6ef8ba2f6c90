"""Every derivation of the catalogue: proved, each of its steps corrupted, evaluated, turned round, shown."""

from __future__ import annotations

import dataclasses
import math
import xml.dom.minidom
from pathlib import Path

import pytest
import sympy
from pairs import admissible, chance_for
from scipy.special import lambertw

from labkit.errors import DerivationError, NoSolutionError
from labkit.symbolic import derivation, derivations
from labkit.symbolic.derivation import equal, prove_step
from labkit.symbolic.sampling import points
from labkit.symbolic.symbols import q, table, term_of
from labkit.testing import assert_quantity_close
from labkit.units import Q_
from labkit.writing import show

pytestmark = pytest.mark.core

EVERY = pytest.mark.parametrize("name", derivations())


@EVERY
def test_every_step_is_proved(name):
    """Each step follows from what stands before it, in symbols and at random numbers, with one dimension."""
    this = derivation(name)
    proof = this.verify()

    assert [step.number for step in proof.steps] == list(range(1, len(this.steps) + 1))
    assert all(step.evidence.points >= 4 for step in proof.steps)
    assert all(step.evidence.mismatch < 1e-12 for step in proof.steps)


def corruptions(equation):
    """Wrong forms of an equation: a sign, a factor 2, a wrong dimension, each term dropped, doubled or turned."""
    left, right = equation.lhs, equation.rhs
    whole = left if right == 0 else right

    def wrong(side):
        return equal(side, right) if right == 0 else equal(left, side)

    found = {"wrong dimension": wrong(whole * q.inductance)}
    if whole != 0 and right != 0:
        found |= {"sign": wrong(-whole), "factor 2": wrong(2 * whole)}
    for part in _sums(whole):
        for term in part.args:
            lacking = {"dropped": part - term, "doubled": part + term, "turned": part - 2 * term}
            found |= {f"{term} {what}": wrong(whole.xreplace({part: bad})) for what, bad in lacking.items()}
    return found


def _sums(expression):
    return [node for node in sympy.preorder_traversal(expression) if node.is_Add]


def _with_step(this, place, equation):
    step = dataclasses.replace(this.steps[place - 1], equation=equation)
    return dataclasses.replace(this, steps=(*this.steps[: place - 1], step, *this.steps[place:]))


def _missed(this, most=None):
    """The corruptions of single steps that are not refused with the step's number."""
    missed = []
    for place, step in enumerate(this.steps, start=1):
        wrong = corruptions(step.equation)
        assert len(wrong) >= 3 or step.equation.rhs == 0
        for what, equation in list(wrong.items())[:most]:
            if f", step {place} (" not in _refusal(_with_step(this, place, equation), place):
                missed.append((place, what))
    return missed


def _refusal(this, place):
    try:
        prove_step(this, place)
    except DerivationError as error:
        return str(error)
    return "not refused"


@EVERY
def test_a_corrupted_step_is_caught(name):
    """A wrong dimension, a wrong sign or a factor 2 in any one step is refused, naming the step."""
    assert _missed(derivation(name), most=3) == []


@pytest.mark.slow
@EVERY
def test_every_corrupted_step_is_caught(name):
    """So is each term dropped, doubled or turned, in every sum of every step."""
    assert _missed(derivation(name)) == []


@EVERY
def test_verify_names_the_wrong_step(name):
    """A derivation with twice its result is refused as a whole, and the last step is named."""
    this = derivation(name)
    place = len(this.steps)
    wrong = _with_step(this, place, equal(this.result.lhs, 2 * this.result.rhs))

    with pytest.raises(DerivationError, match=rf"^{name}, step {place} "):
        wrong.verify()


@EVERY
def test_quantities_put_into_the_formula_give_the_result(name):
    """Two routes: pint carries the units through the formula, and comes to the size and dimension of ``evaluate``."""
    this = derivation(name)
    here, value = admissible(this, chance_for(name))
    functions = [{"LambertW": lambda product: lambertw(product.m_as("")).real}, "numpy"]
    formula = sympy.lambdify([row.symbol for row in this.arguments], this.result.rhs, functions)

    found = Q_(formula(*(here[row.name].to_base_units() for row in this.arguments))).to_base_units()
    assert found.dimensionality == value.dimensionality
    assert found.magnitude == pytest.approx(value.to_base_units().magnitude, rel=1e-9)


def _unmoved(this, here, row, value):
    """Whether the result has no digit left that tells of this argument, such as a curve that has settled."""
    other = this.evaluate(**(here | {row.name: here[row.name] * 1.1}))
    return abs(other.to_base_units().magnitude / value.to_base_units().magnitude - 1) < 1e-7


def _round_trip(this, chance):
    """Turn the result round for each argument: the value that went in, or the reason why it cannot be told."""
    here, value = admissible(this, chance)
    result = term_of(this.result.lhs).name
    for row in this.arguments:
        others = {key: quantity for key, quantity in here.items() if key != row.name}
        try:
            found = this.solve_for(row.name, **others, **{result: value})
        except NoSolutionError as error:
            told = str(error)
            among = " values of " in told and show(here[row.name]) in told
            assert among or _unmoved(this, here, row, value), told
            continue
        assert_quantity_close(here[row.name].to_base_units(), found.to_base_units(), relative=1e-6)
        again = this.evaluate(**others, **{row.name: found})
        assert_quantity_close(value.to_base_units(), again.to_base_units(), relative=1e-9)


@EVERY
def test_turning_round_gives_back_every_argument(name):
    """For every symbol solve_for finds the value that went in, names it among several, or says what hides it."""
    chance = chance_for(name + "round")
    for _ in range(2):
        _round_trip(derivation(name), chance)


@pytest.mark.slow
@EVERY
def test_turning_round_gives_back_every_argument_of_many_draws(name):
    """The same at twenty sets of numbers."""
    chance = chance_for(name + "many")
    for _ in range(20):
        _round_trip(derivation(name), chance)


#: Other ways to write a size in this unit: what people type, and how many of it make one.
SPELLINGS = {
    "V": (("mV", 1e3), ("volt", 1)), "A": (("mA", 1e3), ("ampere", 1)), "ohm": (("Ω", 1), ("kohm", 1e-3), ("mΩ", 1e3)),
    "W": (("mW", 1e3), ("V*A", 1)), "s": (("ms", 1e3), ("µs", 1e6)), "Hz": (("kHz", 1e-3), ("1/s", 1)),
    "H": (("mH", 1e3), ("uH", 1e6)), "F": (("µF", 1e6), ("nF", 1e9)), "C": (("nC", 1e9), ("mA*h", 1 / 3.6)),
    "m": (("mm", 1e3), ("cm", 1e2)), "m**2": (("mm²", 1e6), ("mm**2", 1e6)), "rad/s": (("rpm", 30 / math.pi),),
    "V*s/rad": (("mV*s/rad", 1e3), ("N*m/A", 1), ("V/krpm", 1000 * math.pi / 30)),
    "N*m": (("mN*m", 1e3), ("mN m", 1e3)),
    "kg*m**2": (("g*cm**2", 1e7),), "kelvin": (("K", 1),), "kelvin/W": (("K/W", 1), ("°C/W", 1)),
    "ohm*m": (("ohm*mm**2/m", 1e6),), "A/s": (("A/ms", 1e-3),), "kg": (("g", 1e3),), "T": (("mT", 1e3),),
}  # fmt: skip


@EVERY
def test_the_spelling_of_a_unit_never_changes_the_answer(name):
    """Every argument once more as text in another unit, or with another name for it: the same result."""
    this, chance = derivation(name), chance_for(name + "spelling")
    here, value = admissible(this, chance)
    typed = {}
    for row in this.arguments:
        size = float(here[row.name].to_base_units().magnitude)
        unit, times = chance.choice(SPELLINGS.get(row.unit, ((row.unit, 1),)))
        typed[row.name] = f"{size * times!r} {unit}".strip() if row.unit != "degC" else f"{size - 273.15!r} °C"

    again = this.evaluate(**typed)
    assert again.units == value.units
    assert_quantity_close(value.to_base_units(), again.to_base_units(), relative=1e-9)


@EVERY
def test_it_reads_as_text_and_shows_as_html(name):
    """Text numbers the steps and says every equation in words; HTML is well formed, has MathML and folds its steps."""
    this = derivation(name)
    here, _ = admissible(this, chance_for(name))
    text, html = this.to_text(), this.to_html(here)

    assert text.count("In words:") == len(this.given) + len(this.steps)
    assert all(f"\n{place}. " in text for place in range(1, len(this.steps) + 1))
    assert "**" not in text
    assert repr(this) == text
    assert html.count("<summary>Step") == len(this.steps)
    body = html.partition("</style>")[2].replace("<br>", "<br/>").replace("<details open>", "<details open='open'>")
    assert len(xml.dom.minidom.parseString(body).getElementsByTagName("math")) > len(this.steps)
    assert "nan" not in html


@EVERY
def test_it_says_what_it_assumes_and_where_it_holds(name):
    """No result is stated without its assumptions, its validity and a reason for each step."""
    this = derivation(name)
    sentences = [*this.assumptions, this.validity, *(s.why for s in this.steps), *(s.done for s in this.steps)]

    assert this.assumptions
    assert this.title.endswith("?")
    assert all(sentence[0].isupper() and sentence.endswith(".") for sentence in sentences)


def test_the_readme_counts_them():
    """The number of results that people are told is the number that there are."""
    readme = Path(__file__).parents[2] / "README.md"

    assert f"| {len(derivations())} derivations |" in readme.read_text(encoding="utf-8")


def test_points_lie_on_the_solution_set():
    """The random numbers obey the laws that they are drawn for, to 28 digits."""
    facts = [(q.voltage, q.resistance * q.current + q.emf), (q.emf, q.emf_constant * q.speed)]
    drawn = list(points(facts, (), (), count=5))

    assert len(drawn) == 5
    for numbers, _ in drawn:
        assert all(abs((left - right).xreplace(numbers)) < 1e-26 for left, right in facts)


def test_the_table_has_one_row_for_each_letter():
    """No two names share a letter, no two letters a name: the display can never confuse them. Each is used."""
    rows = list(table().values())

    assert len({row.letter for row in rows}) == len(rows)
    assert {row.name for row in rows} == {row.name for name in derivations() for row in derivation(name).symbols}
    assert all(row.meaning and row.name.islower() for row in rows)
