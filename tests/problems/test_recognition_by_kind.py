"""How well wrong formulas, designs, readings, results and reasons are recognised; typed as people type them.

Wrong answers are worked out here, from the numbers on the sheet or by hand, not by the bank's own formulas.
"""

from __future__ import annotations

import math
import random
from collections import Counter

import pytest

from labkit.checks import judge, read_answer
from labkit.problems import BANK, MISCONCEPTIONS, draw, plans, question

pytestmark = pytest.mark.core

_SOUND = {
    "transistor": "logic-level MOSFET", "gate resistor": "150 ohm", "pull-down": "10 kohm", "diode": "Schottky diode",
}  # fmt: skip


def _figures(size, count):
    return f"{float(f'{size:.{count - 1}e}'):.10f}".rstrip("0").rstrip(".")


def _size(size, unit, chance):
    return f"{_figures(size, chance.choice((2, 3)))} {unit}"


def _result(size, unit, chance):
    """Return a result with an uncertainty of 1 to 4 %."""
    figures = chance.choice((2, 3))
    return f"{_figures(size, figures)} ± {_figures(size * chance.uniform(0.01, 0.04), 1)} {unit}"


def _formula(*spellings):
    return lambda _, chance: chance.choice(spellings)


def _design(**instead):
    chosen = _SOUND | {name.replace("_", " ").replace("pull down", "pull-down"): part for name, part in instead.items()}

    def typed(_, chance):
        sign, end = chance.choice(((" = ", "\n"), (": ", "\n"), ("=", "; ")))
        return end.join(f"{name}{sign}{part}" for name, part in chosen.items())

    return typed


def _rise(curve):
    return 0.52 + 0.01 * curve  # ms


def _set(number):
    return 4.2 + 0.04 * number  # mV·s/rad


def _line(curve, rpm):
    return (1.5 + 0.04 * curve) * (1 - rpm / (9000 + 100 * (curve % 10)))  # A


def _number(values, name):
    return int(values[name])


#: Kind, the idea, the question, and what somebody with that idea types, from the sheet's values and a chance.
WRONG = [
    ("formula", "M24", "Energy in the winding as a formula", _formula("L I²", "L*I^2", "E = L·I**2", "I² L", "L I I")),
    ("formula", "M24", "Energy in the winding as a formula", _formula("½LI", "0.5*L*I", "L*I/2", "1/2 L I")),
    ("formula", "M24", "Energy in the winding as a formula", _formula("½ L V²", "L*V^2/2", "0,5·L·V²")),
    ("formula", "M16", "Drag torque as a formula", _formula("ω/(R+r)", "omega/(r + R)", "k²ω/(R+r)/k^2")),
    ("formula", "winding forgotten", "Drag torque as a formula", _formula("k²ω/r", "k^2*omega/r", "(k·ω/r)·k")),
    ("formula", "power for torque", "Drag torque as a formula", _formula("(kω)²/(R+r)", "k²ω²/(R+r)")),
    ("design", "M26", "Parts that switch this motor", _design(transistor="standard-level MOSFET")),
    ("design", "M26", "Parts that switch this motor", _design(transistor="high-voltage MOSFET")),
    ("design", "M28", "Parts that switch this motor", _design(gate_resistor="0 ohm")),
    ("design", "M25", "Parts that switch this motor", _design(diode="none")),
    ("design", "M29", "Parts that switch this motor", _design(gate_resistor="1.5 kohm", pull_down="1 Mohm")),
    ("design", "gate left floating", "Parts that switch this motor", _design(pull_down="none")),
    ("design", "gate divided down", "Parts that switch this motor", _design(pull_down="330 ohm")),
    ("design", "M35", "A supply and a transistor that start this motor",
     lambda *_: "supply = nine-volt block, aged\ntransistor = logic-level MOSFET"),
    ("design", "M26", "A supply and a transistor that start this motor",
     lambda *_: "supply = four AA NiMH cells\ntransistor = standard-level MOSFET"),
    ("plot", "M2", "Held current off a line", lambda v, c: _size(_line(_number(v, "curve"), 6400), "A", c)),
    ("plot", "end of the readings for the axis", "Held current off a line",
     lambda v, c: _size(_line(_number(v, "curve"), 2000), "A", c)),
    ("plot", "M22", "Time constant off a curve",
     lambda v, c: _size(_rise(_number(v, "curve")) * math.log(1 / 0.632), "ms", c)),
    ("plot", "half for 63 %", "Time constant off a curve",
     lambda v, c: _size(_rise(_number(v, "curve")) * math.log(2) * 1000, "us", c)),
    ("measured", "M15", "Motor constant and how sure it is",
     lambda v, c: _result(_set(_number(v, "set")) * math.pi / 30, "mV*s/rad", c)),
    ("measured", "M15", "Motor constant and how sure it is",
     lambda v, c: _result(_set(_number(v, "set")) * 2 * math.pi, "mV·s/rad", c)),
    ("measured", "prefix", "Motor constant and how sure it is",
     lambda v, c: _result(_set(_number(v, "set")), "V*s/rad", c)),
    ("reason", "M3", "A bigger supply, and why", lambda _, c: c.choice(("b1", "b 1", "a 1", "a2", "(a) 1"))),
    ("reason", "M2", "A bigger supply, and why", lambda _, c: c.choice(("b3", "b 3", "b, 3"))),
    ("reason", "M35", "The pin's voltage under load, and why", lambda _, c: c.choice(("b1", "b 1", "b 2", "a1"))),
    ("reason", "M4", "The pin's voltage under load, and why", lambda _, c: c.choice(("a3", "a 3", "a because 3"))),
]  # fmt: skip
#: Right answers, typed in the same ways.
RIGHT = [
    ("Energy in the winding as a formula", _formula("½LI²", "I*I*L*0.5", "L/2 · I²")),
    ("Drag torque as a formula", _formula("k²ω/(R+r)", "k*(k*omega/(r+R))")),
    ("Parts that switch this motor", _design()),
    ("Parts that switch this motor", _design(gate_resistor="220 ohm", pull_down="100 kohm")),
    ("Held current off a line", lambda v, c: f"{_line(_number(v, 'curve'), 0) + c.uniform(-0.095, 0.095):.4f} A"),
    ("Time constant off a curve", lambda v, c: f"{_rise(_number(v, 'curve')) + c.uniform(-0.048, 0.048):.4f} ms"),
    ("Motor constant and how sure it is", lambda v, c: _result(_set(_number(v, "set")), "mV*s/rad", c)),
    ("A bigger supply, and why", lambda *_: "b 2"),
]


def _sheet_of(title):
    return next(sheet for sheet in plans() if any(asked.title == title for asked in sheet.questions))


def _verdict(title, typed, number, chance):
    sheet = _sheet_of(title)
    values = draw(sheet, learner=f"teal-{number}", bank=BANK)
    return judge(question(title), sheet.numbers(values), read_answer(typed(values, chance)))


def _assert_recognised(draws):
    chance, given, named, missed = random.Random(11), Counter(), Counter(), Counter()
    for kind, idea, title, typed in WRONG:
        for number in range(draws):
            verdict = _verdict(title, typed, number, chance)
            given[kind] += 1
            named[kind] += idea in (verdict.misconception, verdict.slip)
            if idea not in (verdict.misconception, verdict.slip):
                missed[title, idea, verdict.outcome, verdict.misconception or verdict.slip] += 1
    rows = [f"{kind:>9} {given[kind]:6} {named[kind] / given[kind]:7.1%}" for kind in given]
    print("\n".join(["", "     kind  given   named", *rows, *map(str, missed.most_common(8))]))  # noqa: T201 (the table)

    assert sum(named.values()) / sum(given.values()) >= 0.95
    assert min(named[kind] / given[kind] for kind in given) >= 0.90
    assert {idea for _, idea, _, _ in WRONG if idea[0] == "M"} <= set(MISCONCEPTIONS)


def test_wrong_answers_of_each_kind_are_named():
    """Over 10 learners at least 95 % of them, and 90 % of each kind."""
    _assert_recognised(10)


@pytest.mark.slow
def test_wrong_answers_of_each_kind_are_named_in_many_draws():
    """The same over 300 learners: a design takes a whole review each."""
    _assert_recognised(300)


@pytest.mark.parametrize(
    ("title", "typed"), RIGHT, ids=[f"{index}-{title[:24]}" for index, (title, _) in enumerate(RIGHT)]
)
def test_no_right_answer_of_any_kind_is_refused(title, typed):
    """What is right is right for 25 learners, within the tolerance and in any spelling."""
    chance = random.Random(5)
    for number in range(25):
        verdict = _verdict(title, typed, number, chance)
        assert verdict.outcome == "right", (number, verdict)
