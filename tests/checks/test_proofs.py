"""Formulas judged by equivalence: proven under the symbols' assumptions, refuted at places, and never at any length.

The oracle is sympy's own reader and mpmath to fifty digits, at places drawn here.
"""

from __future__ import annotations

import contextlib
import random
import sys
import time

import pytest
import sympy

from labkit.checks import Question, Symbol, judge, read_answer
from labkit.checks.formulas import read_formula
from labkit.checks.proofs import Basis, _bounded, _TooLargeError, compared
from labkit.checks.symbols import points
from labkit.problems import plans, question
from labkit.units import Q_

pytestmark = pytest.mark.core

ENERGY = "Energy in the winding as a formula"
DRAG = "Drag torque as a formula"
GATE = "Gate voltage while it charges as a formula"
#: The right formulas, worked out by hand and as sympy reads them.
RIGHT = {ENERGY: "L*I**2/2", DRAG: "k**2*omega/(R + r)", GATE: "V*(1 - exp(-t/(R*C)))"}
LETTERS = {ENERGY: "L I V R", DRAG: "k omega R r", GATE: "V R C t"}

PROVEN = [
    (ENERGY, "0.5*L*I^2"),
    (ENERGY, "I*(L*I)/2"),
    (ENERGY, "L*(I + V/R)^2/2 - L*I*V/R - L*(V/R)^2/2"),
    (ENERGY, "(L/2)*(I - V/R)*(I + V/R) + (L/2)*(V/R)^2"),
    (ENERGY, "L*I^2*(V - R*I)/(2*(V - R*I))"),  # but where V = R·I, one place of them all
    (ENERGY, "sqrt(L^2)*I^2/2"),  # these three are others for a negative L or I
    (ENERGY, "sqrt(L^2*I^4)/2"),
    (ENERGY, "L*I*abs(I)/2"),
    (DRAG, "1/(R/(k^2*omega) + r/(k^2*omega))"),
    (DRAG, "k^2*omega*(R - r)/(R^2 - r^2)"),
    (DRAG, "k^2*omega*(sqrt(R) - sqrt(r))*(sqrt(R) + sqrt(r))/((R - r)*(R + r))"),
    (DRAG, "sqrt(k^4*omega^2/(R^2 + 2*R*r + r^2))"),
    (DRAG, "k^2*omega/abs(-R - r)"),
    (GATE, "V - V/exp(t/(R*C))"),
    (GATE, "V*(exp(t/(R*C)) - 1)/exp(t/(R*C))"),
    (GATE, "V*(1 - exp(-t/(2*R*C)))*(1 + exp(-t/(2*R*C)))"),
    (GATE, "V*(1 - exp(1 - t/(R*C))/exp(1))"),
    (GATE, "V*(1 - exp(-t*(R + R)/((R + R)*R*C)))"),
    (GATE, "V*(1 - sqrt(exp(-2*t/(R*C))))"),
    (GATE, "V*(1 - exp(-t/(R*C)))*ln(exp(t/(R*C)))*R*C/t"),
    (GATE, "V*(1 - exp(-t/(R*C)))*ln(t^2/(R*C)^2)/(ln(t/(R*C)) + ln(t/(R*C)))"),
]
#: The same, which sympy is not asked, or does not see.
AGREE = [
    (ENERGY, "L*I^2*exp(ln(2))/4"),
    (ENERGY, "L*I*exp(ln(R*I/V))*V/(2*R)"),
    (DRAG, "k^2*omega*abs(R - r)/((R + r)*(r - R))"),  # r lies above R by their sizes, not by their assumptions
    (GATE, "V*(1 - exp(-t/(R*C))" + " + t/(R*C)" * 30 + " - 30*t/(R*C))"),
]
ANOTHER = [
    (ENERGY, "0.50000005*L*I^2"),  # 1e-7 apart
    (ENERGY, "L*I^2/2 + L*I^2/10000000"),
    (ENERGY, "L*I*V/(2*R)"),  # the same where V = R·I, one place of them all
    (ENERGY, "L*I^2/2*sqrt(V^2/(R*I)^2)"),
    (ENERGY, "L*I^2/2*abs(V/(R*I) - 1)/(1 - V/(R*I))"),  # the same, or with the other sign
    (DRAG, "k^2*omega/(R + r)*9.55*pi/30"),
    (DRAG, "k^2*omega/R + k^2*omega/r"),
    (DRAG, "k^2*omega/sqrt(R^2 + r^2)"),
    (GATE, "V*(1 - exp(-1.0000001*t/(R*C)))"),
    (GATE, "V*(1 - 2.718281828/exp(1 + t/(R*C)) + 1/10000000)"),
    (GATE, "V*t/(R*C)/(1 + t/(R*C))"),
    (GATE, "V*(t/(R*C) - t^2/(2*R^2*C^2) + t^3/(6*R^3*C^3))"),
]


def _judged(title, typed):
    sheet = next(sheet for sheet in plans() if any(asked.title == title for asked in sheet.questions))
    return judge(question(title), sheet.numbers(sheet.reference), read_answer(typed))


def _apart(title, typed):
    """Return the greatest relative difference from the right formula, to fifty digits, where it has a value."""
    own = {name: sympy.Symbol(name) for name in LETTERS[title].split()}
    reads = own | {"abs": sympy.Abs, "ln": sympy.log}
    one, other = (sympy.sympify(text.replace("^", "**"), reads) for text in (typed, RIGHT[title]))
    chance, sizes = random.Random(typed), {symbol.name: symbol for symbol in question(title).symbols}
    apart = []
    for _ in range(12):
        place = {}
        for name, letter in own.items():
            unit = Q_(f"1 {sizes[name].unit}").to_base_units().magnitude
            place[letter] = sympy.Float(chance.uniform(sizes[name].least, sizes[name].most) * unit, 50)
        here, there = (formula.subs(place).evalf(50) for formula in (one, other))
        apart.append(abs(here / there - 1))
    return max(apart)


@pytest.mark.parametrize(("title", "typed"), PROVEN)
def test_the_same_formula_in_another_form_is_proven(title, typed):
    """It is right by a proof, and the oracle finds no difference in forty digits."""
    verdict = _judged(title, typed)

    assert (verdict.outcome, verdict.basis) == ("right", Basis.PROVEN.value)
    assert "Found right by a proof" in str(verdict)
    assert _apart(title, typed) < 1e-40


@pytest.mark.parametrize(("title", "typed"), AGREE)
def test_what_is_not_proven_counts_by_agreement_and_says_so(title, typed):
    """Where sympy does not settle it, many digits at many places do, and the verdict says on which it rests."""
    verdict = _judged(title, typed)

    assert (verdict.outcome, verdict.basis) == ("right", Basis.AGREES.value)
    assert "no proof was found" in str(verdict)
    assert _apart(title, typed) < 1e-40


@pytest.mark.parametrize(("title", "typed"), ANOTHER)
def test_another_formula_is_not_right(title, typed):
    """It is not right, however near it comes; the oracle sees the difference as well."""
    verdict = _judged(title, typed)

    assert verdict.outcome == "wrong"
    assert verdict.basis == ""
    assert _apart(title, typed) > 1e-9


def test_the_pairs_that_need_the_assumptions_differ_without_them():
    """√(L²) is not L, and |I| not I, for negative ones: that these are proven rests on the letters being positive."""
    size = sympy.Symbol("x", real=True)

    assert sympy.sqrt(size**2).subs(size, -1) != -1
    assert abs(size).subs(size, -1) != -1


def _trees(one, other, symbols):
    return tuple(read_formula(text, symbols).tree for text in (one, other))


@pytest.mark.parametrize(
    ("typed", "outcome"),
    [("L I² π/(2·3.141592654)", "right"), ("L I²·0.49999999995", "right"), ("L I² π/(2·3.1416)", "wrong")],
)
def test_a_constant_rounded_to_nine_digits_counts_and_is_said(typed, outcome):
    """Nine digits of a constant are enough, as they always were, and are not called a proof."""
    verdict = _judged(ENERGY, typed)

    assert verdict.outcome == outcome
    assert verdict.basis == (Basis.ROUNDED.value if outcome == "right" else "")


def test_rounding_of_floats_makes_no_formula_wrong():
    """((1 + x) - 1)/x with a small x is 1, though floats lose nine digits of it."""
    typed = "½ L I² ((1 + R I/(30000000 V)) - 1)·30000000·V/(R I)"
    symbols = question(ENERGY).symbols
    floats = [
        read_formula(text, symbols).at({name: Q_(size) for name, size in place.items()}).m_as("J")
        for place in points(symbols)
        for text in (typed, "½ L I²")
    ]
    assert max(abs(one / other - 1) for one, other in zip(floats[::2], floats[1::2], strict=True)) > 1e-9

    assert _judged(ENERGY, typed).basis == Basis.PROVEN.value


def test_a_formula_made_to_fit_at_the_published_places_is_wrong():
    """Anybody can read where the quick look is; a formula that fits there, and nowhere else, is not right."""
    symbols = question(ENERGY).symbols
    sizes = [{name: Q_(size).to_base_units().magnitude for name, size in place.items()} for place in points(symbols)]
    factors = "".join(f"(R I/V - {place['R'] * place['I'] / place['V']:.15f})" for place in sizes)
    typed = f"½ L I² (1 + {factors})"
    for place in points(symbols):
        here = read_formula(typed, symbols).at({name: Q_(size) for name, size in place.items()})
        there = 0.5 * Q_(place["L"]) * Q_(place["I"]) ** 2
        assert here.m_as("J") == pytest.approx(there.m_as("J"), rel=1e-12)

    assert _judged(ENERGY, typed).outcome == "wrong"


def test_a_question_whose_right_formula_is_not_written_is_judged_by_its_places():
    """A private bank's question can leave its formula unwritten, or write another one: its function decides."""
    for written in ("", "gain and loss", "L I²"):
        asked = Question(
            title="Own", wording="Which energy?", unit="J", symbols=question(ENERGY).symbols, formula=written,
            answer=lambda n: 0.5 * n.L * n.I**2, why="It is so.",
        )  # fmt: skip
        verdict = judge(asked, _numbers(), read_answer("L I²/2"))
        assert (verdict.outcome, verdict.basis) == ("right", "agreement to nine digits at six places")
        assert judge(asked, _numbers(), read_answer("L I²/3")).outcome == "wrong"


def _numbers():
    sheet = next(sheet for sheet in plans() if any(asked.title == ENERGY for asked in sheet.questions))
    return sheet.numbers(sheet.reference)


# --- random pairs ---------------------------------------------------------------------------------

_ABC = tuple(Symbol(name, name, "", 1.0, 3.0) for name in "abc")


def _grown(chance, depth):
    if depth == 0 or chance.random() < 0.15:
        return chance.choice(["a", "b", "c", "2", "0.5", "pi"])
    one, other = _grown(chance, depth - 1), _grown(chance, depth - 1)
    form = chance.choice(["({})+({})", "({})-({})", "({})*({})", "({})/({})", "({})*({})", "sqrt({})", "({})^2",
                          "exp(-({})/({}))", "ln({})"])  # fmt: skip
    return form.format(one, other)


def _disguised(chance, text):
    """Return the same in another form."""
    extra = chance.choice("abc")
    form = chance.choice(["(({0})*({1}+1)-({0}))/{1}", "(({0})^2-{1}^2)/(({0})+{1})+{1}", "({0})*sqrt({1}^2)/{1}",
                          "({0})*exp({1})*exp(-{1})", "({0})+ln({1}^2)-2*ln({1})", "1/(1/({0}))"])  # fmt: skip
    return form.format(text, extra)


def test_random_pairs_are_judged_as_the_oracle_does():
    """What is called proven is the same to forty digits, what is called another is not; most of the same is proven."""
    chance, own = random.Random(11), dict(zip("abc", sympy.symbols("a b c"), strict=True))
    seen = dict.fromkeys(Basis, 0)
    for _ in range(160):
        one = _grown(chance, 2)
        other = _disguised(chance, one) if chance.random() < 0.6 else _grown(chance, 2)
        place = {letter: sympy.Float(chance.uniform(1.0, 3.0), 50) for letter in own.values()}
        reads = own | {"ln": sympy.log}
        values = [sympy.sympify(text.replace("^", "**"), reads).subs(place).evalf(50) for text in (one, other)]
        if not all(value.is_real and value.is_finite for value in values):
            continue
        found = compared(*_trees(other, one, _ABC), _ABC, within=1e-9)
        same = abs(values[0] - values[1]) <= 1e-40 * abs(values[0])
        seen[found] += 1
        assert same or found not in (Basis.PROVEN, Basis.AGREES), (one, other)
        assert not same or found is not Basis.DIFFERS, (one, other)

    assert seen[Basis.DIFFERS] > 20
    assert seen[Basis.PROVEN] > 50
    assert seen[Basis.PROVEN] > 9 * seen[Basis.AGREES]


# --- hostile text ---------------------------------------------------------------------------------

_X = "(R I/V)"
HOSTILE = {
    "brackets": "(" * 1_000_000 + "L" + ")" * 1_000_000,
    "brackets that fit": "(" * 950 + "L" + ")" * 950,
    "roots": "√" * 1900 + "L",
    "squares": "½ L I²" + "²" * 1500,
    "squares of nothing but one": "½ L I² (R/R)" + "²" * 280,
    "powers of one": "½ L I² " + "(" * 18 + "R/R" + "^1)" * 18 + "(R/R)" + "^1" * 18,
    "deep and wide": "½ L I² " + "(1/(1/(" * 9 + "1" + ")))" * 9 + "·√(√(√(1)))" * 20,
    "exponents": "L" + "^1" * 900,
    "exponents in brackets": "L^(" * 400 + "1" + ")" * 400,
    "signs": "-" * 1900 + "L",
    "a sum": "L+" * 900 + "L",
    "a product": "L*" * 900 + "L",
    "letters": "L" * 1999,
    "functions": "exp(" * 400 + "1" + ")" * 400,
    "dividing by nothing": "L^(1/0)",
    "an exponent of any size": "L^exp(9999)",
    "a root of an exponent": "L^ln(0-1)",
    "a tower": "½ L I² (" + "(" * 18 + "9" + "^4)" * 18 + ")^(1-1)",
    "a small tower": "½ L I² (1 + " + "(" * 18 + "0.1" + "^4)" * 18 + ")",
    "a tower in an exponent": "½ L I²^(1 + 0*" + "(" * 17 + "0.1" + "^4)" * 17 + ")",
    "huge integers": "½ L I² " + "999999999 " * 30 + "/(" + "999999999 " * 30 + ")",
    "a high power": f"½ L I² {_X}^4^1^1 (1+{_X})^4 ((1+{_X})^4)^4/((1+{_X})^4 (((1+{_X})^4)^4))/{_X}^4",
    "high degrees": f"½ L I² ((({_X}+1)^4)^4 - (({_X}-1)^4)^4)/((({_X}+1)^4)^4 - (({_X}-1)^4)^4)",
    "hidden powers": f"½ L I² (1 - exp(-99999999·{_X})·exp(-77777777·{_X}))^4",
    "powers in disguise": f"½ L I² exp(9999·ln(1+{_X}/100000))·exp(-9999·ln(1+{_X}/100000))",
    "odd roots": f"½ L I² ({_X}^0.123456789)/({_X}^0.123456789)",
    "many roots": "½ L I² (" + "+".join(f"√({n}+{_X})" for n in range(1, 18)) + ")"
    "/(" + "+".join(f"√({_X}+{n})" for n in range(1, 18)) + ")",
    "nested roots": f"½ L I² √(2+√(3+√(5+√(7+√{_X}))))/√(√(√(√({_X}^0.5+7)+5)+3)+2)",
    "many denominators": "½ L I² (" + "+".join(f"1/({n}+{_X})" for n in range(1, 20)) + ")"
    "/(" + "+".join(f"1/({_X}+{n})" for n in range(1, 20)) + ")",
    "exponentials within each other": f"½ L I² exp(exp(exp({_X}/100)))/exp(exp(exp({_X}/100)))",
    "code": "__import__('os').system('true')",
    "attributes": "L.subs(L, 1)",
    "a call": "Integer(10)**10**10",
}


@pytest.mark.parametrize("typed", HOSTILE.values(), ids=HOSTILE.keys())
def test_hostile_text_has_a_verdict_after_bounded_work(typed):
    """Whatever is typed is judged within a few seconds of the processor, and within a few million steps."""
    steps, began = [0], time.process_time()

    def count(*_):
        steps[0] += 1

    sys.setprofile(count)
    try:
        verdict = _judged(ENERGY, typed)
    finally:
        sys.setprofile(None)

    assert verdict.outcome in ("right", "wrong", "refused")
    assert steps[0] < 3_000_000
    compared.cache_clear()
    assert _deeper(300, typed) == verdict.outcome
    assert time.process_time() - began < 30.0


def _deeper(frames, typed):
    """Return the outcome where so many calls are open already, as within a notebook and its tools."""
    return _deeper(frames - 1, typed) if frames else _judged(ENERGY, typed).outcome


def test_work_within_sympy_is_stopped():
    """After so many steps it ends, even where every exception of the usual kind is caught; a profiler stays."""

    def endless():
        while True:
            with contextlib.suppress(Exception):  # as a library may do
                len("1")

    before = sys.getprofile()
    with pytest.raises(_TooLargeError), _bounded(1000):
        endless()
    assert sys.getprofile() is before
