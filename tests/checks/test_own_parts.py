"""Designs with parts of the learner's own: judged by the review, told what is missing, refused where no part is so.

The circuit is the desk wind tunnel: 6.0 V behind 0.6 Ω, a winding of 2.8 Ω, a pin of 3.3 V; sums are worked by hand.
"""

from __future__ import annotations

import dataclasses
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labkit.checks import answer_to_json, judge, read_answer
from labkit.parts import Diode, Mosfet, desk_wind_tunnel
from labkit.problems import plans, question
from labkit.reviews import read_design, review

pytestmark = pytest.mark.core

DESIGN = "Parts that switch this motor"
SUPPLY = "A supply and a transistor that start this motor"
MOSFET = """transistor = MOSFET
    on resistance = 80 mohm at 2.5 V, 50 mohm at 4.5 V
    threshold = 1.2 V
    plateau voltage = 2 V
    gate-drain charge = 2 nC
    breakdown voltage = 20 V
    max drain current = 3 A
    junction to ambient = 100 K/W
"""
REST = "gate resistor = 150 ohm\npull-down = 10 kohm\n"
DIODE = "diode = diode, forward voltage 0,4 V, max current 1 A, recovery charge 0 C"


def _judged(title, answer):
    sheet = next(sheet for sheet in plans() if any(asked.title == title for asked in sheet.questions))
    return judge(question(title), sheet.numbers(sheet.reference), read_answer(answer))


def _with(*instead):
    """Return the sound answer with one text in the place of another."""
    whole = MOSFET + REST + DIODE
    assert not instead or instead[0] in whole
    return whole.replace(*instead) if instead else whole


@pytest.mark.parametrize(
    "typed",
    [
        _with(),
        _with("\n    ", "; "),
        _with("transistor = MOSFET\n    on resistance = ", "Transistor: mosfet, on_resistance "),
        _with(" at ", " @ "),
        _with("80 mohm at 2.5 V, 50 mohm at 4.5 V", '["80 mOhm @ 2.5 V", "50 mOhm @ 4.5 V"]'),
        _with("transistor = MOSFET", "[transistor]"),
        _with(DIODE, "diode = Schottky diode"),
        _with(DIODE, "diode = silicon diode, recovery charge 20 nC"),
        _with(DIODE, '[diode]\nlike = "Schottky diode"\nmax_current = "2 A"'),
        "transistor = logic-level MOSFET, max drain current 2 A\n" + REST + DIODE,
    ],
    ids=range(10),
)
def test_parts_of_ones_own_that_satisfy_the_review_are_right(typed):
    """By lines, in one line, as in a design file, or a generic part with other figures."""
    verdict = _judged(DESIGN, typed)

    assert verdict.outcome == "right", verdict
    assert verdict.earned == 1.0


@pytest.mark.parametrize(
    ("instead", "named", "told"),
    [
        (("20 V", "11 V"), "breakdown voltage", "11.0 V against 2·V = 12.0 V"),
        (("3 A", "1.5 A"), "current rating of the transistor", "1.76 A"),  # 6.0 V over 2.8 Ω + 0.6 Ω
        (("80 mohm at 2.5 V, 50 mohm at 4.5 V", "900 mohm at 2.5 V, 500 mohm at 4.5 V"),
         "voltage lost in the transistor", "of 6.00 V"),  # some 0.7 Ω of 4.1 Ω: far more than a tenth
        (("80 mohm at 2.5 V, 50 mohm at 4.5 V\n    threshold = 1.2 V\n    plateau voltage = 2 V",
          "20 mohm at 10 V\n    threshold = 3.5 V\n    plateau voltage = 5 V"), "M26", "below the threshold"),
        (("max current 1 A", "max current 50 mA"), "mean current through the diode", "50.0 mA"),
        (("0 C", "2 uC"), "recovery loss of the diode", "2.00 µC·6.00 V·20.0 kHz = 240 mW"),
        (("charge = 2 nC", "charge = 900 nC"), "M29", "(t_on + t_off)"),
    ],
    ids=str,
)  # fmt: skip
def test_a_part_that_fails_the_review_is_told_the_finding(instead, named, told):
    """Each figure that is too little or too much is named with its sum."""
    verdict = _judged(DESIGN, _with(*instead))

    assert (verdict.outcome, verdict.misconception or verdict.slip) == ("wrong", named), verdict
    assert told in verdict.comment


@pytest.mark.parametrize(
    ("left_out", "told"),
    [
        ("    threshold = 1.2 V\n", "threshold of the transistor"),
        ("    plateau voltage = 2 V\n", "gate-drain charge and plateau voltage"),
        ("    gate-drain charge = 2 nC\n", "gate-drain charge and plateau voltage"),
        ("    breakdown voltage = 20 V\n", "breakdown voltage of the transistor"),
        ("    max drain current = 3 A\n", "largest current in the transistor's data sheet"),
        ("    junction to ambient = 100 K/W\n", "thermal resistance"),
        (", max current 1 A", "current rating of the diode"),
        (", recovery charge 0 C", "recovery charge of the diode"),
        (" at 2.5 V, 50 mohm at 4.5 V", "at which gate voltage"),
        ("    on resistance = 80 mohm at 2.5 V, 50 mohm at 4.5 V\n", "on resistance is missing"),
        (" forward voltage 0,4 V,", "forward voltage is missing"),
    ],
)
def test_a_missing_figure_makes_it_cannot_tell_and_is_asked_for(left_out, told):
    """Without a figure that the review needs nothing is earned, and the comment names the figure."""
    verdict = _judged(DESIGN, _with(left_out, ""))

    assert (verdict.outcome, verdict.earned) == ("refused", 0.0)
    assert told in verdict.comment


@pytest.mark.parametrize(
    ("instead", "said"),
    [
        (("1.2 V", "-1.2 V"), "more than zero; got '-1.2 V'"),
        (("80 mohm", "0 ohm"), "more than zero"),
        (("80 mohm at 2.5 V, 50 mohm", "2 uohm at 2.5 V, 1 uohm"), "on resistance 2.00 µΩ stands on no data sheet"),
        (("20 V", "1 MV"), "breakdown voltage 1.00 MV stands on no data sheet"),
        (("20 V", "20 A"), "must be a quantity in V; got '20 A'"),
        (("20 V", "20"), "must be a quantity in V"),
        (("3 A", "1e999 A"), "max_drain_current"),
        (("100 K/W", "0.001 K/W"), "stands on no data sheet"),
        (("threshold = 1.2 V", "threshold = 2.5 V"), "does not lie below plateau voltage"),
        (
            ("threshold = 1.2 V\n    plateau voltage = 2 V", "threshold = 3 V\n    plateau voltage = 4 V"),
            "it is not on",
        ),
        (("breakdown", "brakdown"), "Did you mean 'breakdown voltage'?"),
        (("3 A", "3 A\n    max drain current = 4 A"), "given twice"),
        (("threshold = 1.2 V", "nothing to see"), "is no figure of a data sheet"),
        (("threshold = 1.2 V", "made_by = 3 V"), "no field 'made by'"),
        (("transistor = MOSFET", "transistor = triode"), "Or write transistor = MOSFET or bipolar"),
        (("diode = diode", "diode = MOSFET"), "Or write diode = diode"),
        (("50 mohm at 4.5 V", "90 mohm at 4.5 V"), "no larger at a higher gate voltage"),
    ],
    ids=str,
)
def test_an_absurd_part_gets_a_sentence(instead, said):
    """Signs, prefixes, units, contradictions and unknown figures: refused, each with what is wrong."""
    verdict = _judged(DESIGN, _with(*instead))

    assert verdict.outcome == "refused"
    assert said in verdict.comment


@pytest.mark.parametrize(
    ("supply", "outcome", "told"),
    [
        ("supply = supply, voltage 6 V, internal resistance 0.3 ohm", "right", ""),
        ("supply = supply, voltage 6 V, internal resistance 5 ohm", "wrong", "2.80 Ω/7.80 Ω = 0.36"),
        ("supply = supply, voltage 6 V", "refused", "internal resistance is missing"),
        ("supply = supply, voltage 6 V, internal resistance 0 ohm", "refused", "stands on no data sheet"),
        ("supply = supply, internal resistance 0.3 ohm", "refused", "voltage is missing"),
        ("supply = four AA alkaline cells, flat, internal resistance 4 ohm", "wrong", "2.80 Ω/6.80 Ω"),
        ("supply = supply, voltage 230 V, internal resistance 1 ohm", "refused", "stands on no data sheet"),
    ],
)
def test_a_supply_of_ones_own(supply, outcome, told):
    """Its own resistance decides, and it cannot be left out: none is what no supply has."""
    verdict = _judged(SUPPLY, f"{supply}\ntransistor = logic-level MOSFET")

    assert verdict.outcome == outcome
    assert told in verdict.comment


def test_a_bipolar_of_ones_own_needs_its_base_resistor():
    """Ten times the base current is far from the start current; without the resistor nobody can tell."""
    typed = """transistor = bipolar, gain 10, saturation voltage 0.2 V, base emitter voltage 0.7 V
    max collector current 5 A, breakdown voltage 40 V, junction to ambient 50 K/W
    """
    assert "Find out the base resistor" in _judged(DESIGN, typed + REST + DIODE).comment
    told = _judged(DESIGN, typed + "base resistor 150 ohm\n" + REST + DIODE)

    assert (told.outcome, told.slip) == ("wrong", "collector current that the base allows")
    assert "10·13.7 mA" in told.comment  # (3.3 V - 0.7 V) over 150 Ω + 40 Ω


def test_a_part_is_written_as_in_a_design_file(tmp_path):
    """The same figures in a design file make the same findings as in an answer."""
    file = tmp_path / "own.toml"
    figures = [line.strip().split(" = ") for line in MOSFET.splitlines()[1:]]
    rows = {name.replace(" ", "_").replace("-", "_"): value for name, value in figures}
    table = ", ".join(f'"{row.replace(" at ", " @ ")}"' for row in rows.pop("on_resistance").split(", "))
    lines = [f'{name} = "{value}"' for name, value in rows.items()]
    file.write_text(
        "\n".join(['[supply]\nvoltage = "6 V"\n[motor]\nresistance = "2.8 ohm"\nemf_constant = "5.4 mV*s/rad"',
                   "[transistor]", f"on_resistance = [{table}]", *lines]), encoding="utf-8")  # fmt: skip
    switch = read_design(file).drive.switch
    drive = dataclasses.replace(desk_wind_tunnel(), switch=switch, diode=None)

    comment = _judged(DESIGN, drive).comment
    assert review(drive, (0.3, 1.0))["energy into the transistor at each switch-off"].formula in comment
    assert _judged(DESIGN, _with(DIODE, "diode = none")).comment == comment


def test_parts_built_in_python_are_an_answer():
    """A drive with parts of its own goes to the marker by its figures, and so do parts by name."""
    sent = answer_to_json(desk_wind_tunnel())
    chosen = {
        "transistor": Mosfet(
            on_resistance=[("2.5 V", "80 mohm"), ("4.5 V", "50 mohm")], threshold="1.2 V", plateau_voltage="2 V",
            gate_drain_charge="2 nC", breakdown_voltage="20 V", max_drain_current="3 A", junction_to_ambient="100 K/W",
        ),
        "gate resistor": "150 ohm", "pull-down": "10 kohm",
        "diode": Diode(max_current="1 A", recovery_charge="0 C"),
    }  # fmt: skip

    assert isinstance(sent, str)
    assert len(sent) < 2000
    assert _judged(DESIGN, sent).right
    assert _judged(DESIGN, chosen).right
    assert not _judged(DESIGN, chosen | {"diode": Diode(recovery_charge="0 C")}).right


def test_the_help_shows_a_part_of_ones_own_that_does_not_pass():
    """What the question shows as an example can be typed as it stands, and is not right."""
    asked = _judged(DESIGN, "").comment.splitlines()
    start = next(place for place, line in enumerate(asked) if line.startswith("Or a part of your own"))
    shown = [line for line in asked[start + 1 :] if line.startswith("    ")]
    verdict = _judged(DESIGN, "\n".join(shown) + "\n" + REST + "diode = Schottky diode")

    assert len(shown) == 3
    assert verdict.outcome == "wrong"


_WORDS = [
    "transistor = MOSFET", "[bipolar]", "diode = diode", "threshold = 1 V", "on resistance = 1 ohm at 3 V", "none",
    "gate resistor = 1 kohm", "like = Darlington", "voltage = 9e99 V", "gain = nan", "at 5 V", ", , ,", "[[", "= 3",
]  # fmt: skip


def test_long_lines_of_nothing_take_no_time():
    """Two thousand blanks, commas or signs are read at once, where a careless pattern would try for hours."""
    began = time.process_time()
    for filling in (" ", ", ", "a ", "- ", "at ", "=", "[", "1 and "):
        for start in ("threshold", "on resistance = 1 ohm ", "like", "["):
            typed = f"transistor = MOSFET\n{start}{filling * (1900 // len(filling))}x"
            assert _judged(DESIGN, typed).outcome == "refused"

    assert time.process_time() - began < 10.0


@given(st.lists(st.sampled_from(_WORDS) | st.text(max_size=30), max_size=12).map("\n".join))
@settings(deadline=None, max_examples=200)
def test_any_lines_have_a_verdict(typed):
    """Whatever stands in the lines, a verdict comes out and no exception."""
    assert _judged(DESIGN, typed).outcome in ("right", "wrong", "refused", "unanswered")
    assert _judged(SUPPLY, "supply = supply\n" + typed).outcome in ("right", "wrong", "refused")
