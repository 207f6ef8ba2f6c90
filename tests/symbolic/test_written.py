"""How equations are written: as a line, in words, and as MathML; each worked out by hand from the formula."""

from __future__ import annotations

import pytest
import sympy
from sympy import Derivative, Integral, LambertW, Rational, cos, exp, log, sqrt

from labkit.symbolic import derivation
from labkit.symbolic.html import formula
from labkit.symbolic.notation import aloud, line
from labkit.symbolic.symbols import q

pytestmark = pytest.mark.core

V, R, I, L, t = q.voltage, q.resistance, q.current, q.inductance, q.time  # noqa: E741 (the trade's letter)


@pytest.mark.parametrize(
    ("expression", "written", "said"),
    [
        (V - R * I, "V - I·R", "voltage minus current times resistance"),
        (-R * I + V, "V - I·R", "voltage minus current times resistance"),
        (-V * R, "-R·V", "minus resistance times voltage"),
        (V**2 / R, "V²/R", "voltage squared divided by resistance"),
        (V**12, "V¹²", "voltage to the power of 12"),
        (R ** Rational(3, 2), "R^(3/2)", "resistance to the power of 3 over 2"),
        (1 / R, "1/R", "1 divided by resistance"),
        (V / (R * L), "V/(L·R)", "voltage divided by bracket inductance times resistance close bracket"),
        ((V - R * I) / L, "(V - I·R)/L",
         "bracket voltage minus current times resistance close bracket divided by inductance"),
        (q.ripple / 2, "ΔI/2", "half times ripple"),
        (sqrt(V), "sqrt(V)", "the square root of voltage"),
        (sqrt(q.no_load_current * q.stall_current), "sqrt(I_0·I_st)",
         "the square root of bracket no load current times stall current close bracket"),
        (1 / sqrt(R * L), "1/sqrt(L·R)",
         "1 divided by the square root of bracket inductance times resistance close bracket"),
        (1 - exp(-t / q.mechanical_time_constant), "1 - exp(-t/τ_m)",
         "1 minus e to the power of bracket minus time divided by mechanical time constant close bracket"),
        (log(V / R), "ln(V/R)", "the natural logarithm of bracket voltage divided by resistance close bracket"),
        (LambertW(V / R), "W(V/R)", "the Lambert W of bracket voltage divided by resistance close bracket"),
        (cos(q.angle), "cos(θ(t))", "the cosine of bracket angle close bracket"),
        (q.momentary_current.func(0), "i(0)", "momentary current at time 0"),
        (Derivative(q.momentary_current, t), "di(t)/dt", "the rate of change of momentary current"),
        (Integral(q.momentary_current, (t, 0, q.period)), "∫[0 to T_p] (i(t)) dt",
         "the integral over time from 0 to period of momentary current"),
    ],
    ids=str,
)  # fmt: skip
def test_a_line_and_the_same_aloud(expression, written, said):
    """What is added comes first, roots that are multiplied are one, and no bracket of the formula goes unsaid."""
    assert line(expression) == written
    assert aloud(expression) == said


@pytest.mark.parametrize(
    ("expression", "numbers", "inside"),
    [
        (q.no_load_current, {}, "<msub><mi>I</mi><mtext>0</mtext></msub>"),
        (q.speed, {}, "<mi>ω</mi>"),
        (V - R, {}, "<mrow><mi>V</mi><mo>−</mo><mi>R</mi></mrow>"),
        (V * R, {}, "<mrow><mi>R</mi><mo>&#xB7;</mo><mi>V</mi></mrow>"),
        (sqrt(V * R), {}, "<msqrt><mrow><mi>R</mi><mo>&#xB7;</mo><mi>V</mi></mrow></msqrt>"),
        (log(V), {}, "<mrow><mi>ln</mi><mrow><mo>(</mo><mi>V</mi><mo>)</mo></mrow></mrow>"),
        (V * R, {V: "6.00 V", R: "2.80 Ω"},
         "<mrow><mtext>2.80 Ω</mtext><mo>&#xD7;</mo><mtext>6.00 V</mtext></mrow>"),
        (V**2, {V: "6.00 V"}, "<msup><mrow><mo>(</mo><mtext>6.00 V</mtext><mo>)</mo></mrow><mn>2</mn></msup>"),
    ],
    ids=str,
)  # fmt: skip
def test_mathml(expression, numbers, inside):
    """Indices below, Greek letters, one root, a cross between numbers, and a number that is squared in brackets."""
    assert formula(expression, numbers).partition(">")[2] == f"{inside}</math>"


def test_mathml_of_an_equation_says_it_aloud():
    """A screen reader gets the full names; an inequality is escaped, as XML asks."""
    words = 'aria-label="voltage is more than current times resistance"'
    shown = formula(V > R * I)

    assert words in shown
    assert "<mi>V</mi><mo>&lt;</mo>" not in shown
    assert "<mi>V</mi><mo>&gt;</mo><mrow><mi>I</mi>" in shown
    assert "<mi>V</mi><mo>=</mo>" in formula(sympy.Eq(V, R * I, evaluate=False))


STALL = """Stall current
What does the motor draw while its shaft is held?

Given:
- voltage round the winding: V = E + I·R
  In words: voltage equals EMF plus current times resistance.
  Kirchhoff: at a steady current the terminals see the drop in the winding and the back-EMF.
- back-EMF: E = k·ω
  In words: EMF equals EMF constant times speed.
  The EMF goes with the speed of the shaft.

Taken for granted:
- The shaft is held, so the speed is zero.
- The brushes drop no voltage of their own.

Steps:
1. Put the back-EMF into the voltage law.
   V = I·R + k·ω
   In words: voltage equals current times resistance plus EMF constant times speed.
   Why: Both hold at every steady speed.
2. Put the speed 0, and call the current there the stall current.
   I_st = V/R
   In words: stall current equals voltage divided by resistance.
   Why: A shaft that is held makes no EMF.

Result: I_st = V/R
Where it holds: It holds from a few L/R after switching on, and while the winding is cold.

Symbols:
- I_st: stall current, in A: current while the shaft is held
- V: voltage, in V: voltage across the part, or at the motor's terminals
- R: resistance, in Ω: resistance; of a motor: winding and brushes, terminal to terminal
- E: EMF, in V: generator EMF (back-EMF while the motor is driven)
- I: current, in A: steady current, into the + terminal
- ω: speed, in rad/s: speed of the shaft
- k: EMF constant, in V·s/rad: motor constant: EMF over speed, and torque over current
"""


def test_a_whole_derivation_as_text():
    """Laws, assumptions, numbered steps with their reasons, result, validity, and every symbol with its unit."""
    assert derivation("stall current").to_text() == STALL


def test_the_steps_are_numbered_from_one_in_html():
    """Each step folds under its number and what is done there."""
    shown = derivation("stall current").to_html()

    assert "<summary>Step 1. Put the back-EMF into the voltage law.</summary>" in shown
    assert "<summary>Step 2. Put the speed 0, and call the current there the stall current.</summary>" in shown


def test_units_and_conditions_in_the_text():
    """A square is raised, a bare number has no unit, and a condition is said in words."""
    assert "- J: inertia, in kg·m²: moment of inertia" in derivation("mechanical time constant").to_text()
    assert "- D: duty, in no unit: part of the period" in derivation("mean voltage under duty").to_text()
    assert "\nIt needs: voltage is more than EMF constant times speed.\n" in derivation("winding current").to_text()
