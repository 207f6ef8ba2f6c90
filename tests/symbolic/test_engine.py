"""The engine itself: what counts as a proof, what is refused, and what the numbers are held to."""

from __future__ import annotations

import dataclasses
import pickle

import pytest
from sympy import Derivative, Integral, cos, exp, log

from labkit.errors import DerivationError
from labkit.symbolic import catalogue, circuit, derivation, derivations, side_by_side
from labkit.symbolic.calculus import Approaches, Extreme, SolvesOde
from labkit.symbolic.derivation import Derivation, Law, Step, equal
from labkit.symbolic.dimensions import dimension, same_dimension
from labkit.symbolic.rules import Algebra, Put, Root
from labkit.symbolic.symbols import q

pytestmark = pytest.mark.core

t, i = q.time, q.momentary_current


def build(given, *steps, conditions=()):
    """A derivation from bare equations and steps of (equation, rule)."""
    laws = tuple(Law("law", equation, "Stated.") for equation in given)
    made = tuple(Step(equation, "Done.", "Because.", rule) for equation, rule in steps)
    return Derivation(
        name="try",
        title="What?",
        given=laws,
        steps=made,
        assumptions=("None.",),
        validity="Here.",
        conditions=conditions,
    )


def refused(this, *, because):
    """The derivation is refused, with this reason."""
    with pytest.raises(DerivationError, match=because):
        this.verify()


OHM = equal(q.voltage, q.resistance * q.current)
LOOP = equal(q.voltage, q.resistance * q.current + q.emf)


def test_a_step_out_of_nothing_is_refused():
    """A true sentence of physics that the stated laws do not give is no step."""
    sides = r"the left side is [\d.]{1,8} and the right [\d.]{1,8}\.$"

    refused(
        build([OHM], (equal(q.emf, q.emf_constant * q.speed), Algebra())), because=rf"does not follow: at .* {sides}"
    )


def test_premises_that_contradict_each_other_prove_nothing():
    """From a contradiction anything would follow; here no numbers obey it, so nothing does."""
    false = [OHM, equal(q.voltage, 2 * q.resistance * q.current)]

    refused(build(false, (equal(q.voltage, 3 * q.resistance * q.current), Algebra())), because="no admissible numbers")


def test_a_lost_branch_is_refused():
    """(I - I_2)·(R - R_2) = 0 must not be read as I = I_2."""
    product = equal((q.current - q.other_current) * (q.resistance - q.other_resistance), 0)
    both = q.resistance * q.other_resistance

    refused(build([product], (equal(q.current, q.other_current), Algebra())), because="does not follow")
    refused(
        build([product], (equal(q.current * both, q.other_current * both), Algebra())),
        because="leave a choice: one of I - I_2 and R - R_2 is zero",
    )


def test_a_case_may_not_be_put_into_a_rate():
    """That a current is 3 A at some moment does not make its rate zero, nor its charge that of a steady one."""
    put = Put({i: q.current})
    rate = build([equal(q.momentary_voltage, q.inductance * Derivative(i, t))], (equal(q.momentary_voltage, 0), put))
    area = build([equal(q.charge, Integral(i, (t, 0, q.period)))], (equal(q.charge, q.current * q.period), put))

    refused(rate, because="does not follow")
    refused(area, because="does not follow")


def test_the_other_root_is_refused():
    """Only the admissible root of a square equation passes, and it must be the only one."""
    square = equal(q.current**2 + 3 * q.other_current * q.current, 10 * q.other_current**2)
    right = build([square], (equal(q.current, 2 * q.other_current), Root()))
    wrong = build([square], (equal(q.current, -5 * q.other_current), Root()))
    two = equal(q.current**2 + 2 * q.other_current**2, 3 * q.other_current * q.current)

    assert right.verify().steps[0].evidence.points == 4
    refused(wrong, because="admissible roots")
    refused(build([two], (equal(q.current, q.other_current), Root())), because="admissible roots")


def test_an_extreme_must_be_the_greatest():
    """A place with no slope that is the least is not the greatest."""
    power = equal(q.power, (q.current - q.other_current) ** 2 * q.resistance + q.other_resistance * q.other_current**2)
    place = equal(q.best_current, q.other_current)

    refused(build([power], (power, Algebra()), (place, Extreme(of=q.power, over=q.current))), because="does better")
    least = build([power], (power, Algebra()), (place, Extreme(of=q.power, over=q.current, least=True)))
    assert least.verify().steps[1].number == 2


def test_an_extreme_may_rest_on_what_is_given_besides():
    """The power V·I - R·I² is greatest at E/R where the voltage is twice the EMF, and only there."""
    power = equal(q.power, q.voltage * q.current - q.resistance * q.current**2)
    steps = (power, Algebra()), (equal(q.best_current, q.emf / q.resistance), Extreme(of=q.power, over=q.current))

    assert build([power, equal(q.voltage, 2 * q.emf)], *steps).verify()
    refused(build([power], *steps), because="the slope of P is")


def test_a_rate_equation_needs_its_beginning():
    """Without a beginning there are many solutions, and none is taken."""
    decay = equal(q.inductance * Derivative(i, t), -q.resistance * i)
    solution = equal(i, q.current * exp(-q.resistance * t / q.inductance))

    refused(build([decay], (solution, SolvesOde())), because="one beginning")
    begun = build([decay, equal(i.func(0), q.current)], (solution, SolvesOde()))
    assert begun.verify().steps[0].dimension == "A"


def test_an_approximation_must_come_near():
    """Half of the right value is not what an expression comes to."""
    exact = equal(q.ripple, q.voltage / q.resistance * (1 - exp(-q.resistance * q.duration / q.inductance)))
    near = equal(q.ripple, q.voltage * q.duration / q.inductance)
    far = equal(q.ripple, q.voltage * q.duration / (2 * q.inductance))

    assert build([exact], (exact, Algebra()), (near, Approaches(small=q.resistance))).verify()
    refused(build([exact], (exact, Algebra()), (far, Approaches(small=q.resistance))), because="off by the part")


def test_an_integral_is_proved_by_quadrature_too():
    """The mean of a ramp: a wrong area is refused at random numbers."""
    mean = equal(q.mean_current, Integral(q.current * t / q.period, (t, 0, q.period)) / q.period)

    assert build([mean], (equal(q.mean_current, q.current / 2), Algebra())).verify()
    refused(build([mean], (equal(q.mean_current, q.current / 3), Algebra())), because="does not follow")


@pytest.mark.parametrize(
    ("left", "right", "fault"),
    [
        (q.voltage, q.resistance * q.power, "left side is in V"),
        (q.voltage, q.emf + q.current, "it adds"),
        (q.voltage, q.emf * exp(q.time), "argument of exp"),
        (q.duration, q.extinction_time * log(q.voltage), "argument of log"),
        (q.frequency, q.speed, "left side is in Hz, the right side in rad/s"),
        (q.energy, q.shaft_torque, "left side is in J, the right side in N·m"),
        (q.shaft_power, q.shaft_torque * q.frequency, "left side is in W"),
        (q.flux_linkage, Derivative(q.momentary_emf, t), "left side is in"),
        (q.voltage, q.emf ** (q.current / q.other_current), "the base"),
    ],
)
def test_dimensions_are_held_apart(left, right, fault):
    """Sums, exponents, speed against frequency and torque against energy: each slip is named."""
    with pytest.raises(DerivationError, match=fault):
        same_dimension(left, right)


def test_the_angle_is_kept():
    """One k serves for EMF and torque, and power is torque times speed, with the radian counted all along."""
    assert dimension(q.emf_constant * q.speed) == dimension(q.emf)
    assert dimension(q.emf_constant * q.current) == dimension(q.electromagnetic_torque)
    assert dimension(q.electromagnetic_torque * q.speed) == dimension(q.power)
    assert dimension(q.inertia * q.speed**2) == dimension(q.energy)
    assert dimension(q.fan * q.speed**3) == dimension(q.power)
    assert dimension(q.voltage * cos(q.angle)) == dimension(q.voltage)


def test_a_law_without_sense_is_refused():
    """A stated law is held to dimensions as well."""
    nonsense = equal(q.voltage, q.resistance + q.current)

    refused(build([nonsense], (equal(q.resistance, q.voltage - q.current), Algebra())), because="law 'law'")


def test_names_are_found_loosely_and_nearest_ones_offered():
    """Underscores, hyphens, case and apostrophes do not matter; a slip is answered with the nearest names."""
    assert derivation("Stall_Current") is derivation("stall current")
    assert derivation("ohms law") is derivation("Ohm's law")
    with pytest.raises(DerivationError, match="Did you mean 'stall current'"):
        derivation("stal curent")


def test_the_catalogue_is_grouped():
    """At least 60 results over the nine topics, every one in its topic."""
    names = derivations()
    grouped = names.topics

    assert len(names) == len(set(names)) >= 60
    assert list(grouped) == [
        "circuit",
        "motor",
        "generator",
        "pin and gate",
        "driver",
        "switch-off",
        "duty",
        "supply",
        "heat",
    ]
    assert sum(grouped.values(), ()) == names
    assert "stall current: What does the motor draw" in str(names)


def test_two_results_of_one_name_are_refused(monkeypatch):
    """Whoever adds a derivation under a name that is taken is told which file to mend."""
    monkeypatch.setattr(circuit, "DERIVATIONS", circuit.DERIVATIONS[:1] * 2)

    with pytest.raises(DerivationError, match=r"are called \"Ohm's law\"\. Rename the one in .*circuit\.py"):
        catalogue._all.__wrapped__()


def test_the_two_voltages_stand_side_by_side():
    """Same laws, same diode: the EMF alone blocks it, the falling current opens it, and no text mixes the two names."""
    both = side_by_side("generator EMF at the freewheel diode", "switch-off kick at the freewheel diode")
    emf, kick, html = both.left, both.right, both.to_html()

    assert emf.given == kick.given
    assert emf.evaluate(emf_constant="5.4 mV*s/rad", speed="877.8 rad/s").magnitude == pytest.approx(-4.740, abs=1e-3)
    held = {"emf_constant": "5.4 mV*s/rad", "speed": "0 rad/s", "resistance": "2.8 ohm", "current": "2.143 A"}
    rate = kick.solve_for("current_rate", diode_voltage="0.4 V", inductance="0.9 mH", **held)
    assert rate.to("A/s").magnitude == pytest.approx((0.4 + 6.0004) / 0.9e-3, rel=1e-6)
    assert html.count("<section") == 2
    assert "body diode blocks as well" in str(both)
    everything = " ".join(derivation(name).to_text().lower() for name in derivations().topics["switch-off"])
    assert "spike" not in everything
    assert "back-emf kick" not in everything


def test_a_derivation_is_frozen_and_travels():
    """It cannot be changed, and pickles to another process."""
    this = derivation("current rise")
    with pytest.raises(dataclasses.FrozenInstanceError):
        this.name = "other"

    assert pickle.loads(pickle.dumps(this)).verify().name == "current rise"


def test_the_proof_reads_as_text():
    """The record says of each step how it was proved and at how many sets of numbers."""
    proof = str(derivation("maximum shaft power").verify())

    assert "step 5, in rad/s: the slope there is zero" in proof
    assert "4 sets of random numbers agree" in proof
