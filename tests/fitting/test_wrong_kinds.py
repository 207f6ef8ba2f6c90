"""What is no record, no table and no fit is refused in words, with what to write instead."""

from __future__ import annotations

import numpy as np
import pytest

from labkit import bench, fitting
from labkit.errors import BenchError, LabkitError, PartError
from labkit.parts import Load, desk_wind_tunnel
from labkit.units import Q_

pytestmark = pytest.mark.core

RECORD = bench.read_bench(bench.demo_bench())
FIT = fitting.fit_motor(RECORD)
LOADS = bench.BenchTable(kind="source resistance", voltage=Q_([6.1, 5.9, 5.6], "V"), current=Q_([0, 270, 690], "mA"))
WRONG = [None, "my-motor.csv", 5, [1.0, 2.0], desk_wind_tunnel().motor, object(), Q_([1.0], "V")]
TAKES = {
    "the record of a fit": fitting.fit_motor,
    "the records of a room": fitting.fit_room,
    "one record of a room": lambda wrong: fitting.fit_room([RECORD, wrong]),
    "a table": lambda wrong: fitting.fit_table(wrong, RECORD),
    "a table's record": lambda wrong: fitting.fit_table(LOADS, wrong),
    "the record of tables": fitting.fit_tables,
    "a disc's record": fitting.inertia_from_disc,
    "a winding's record": fitting.warmth_of,
    "a log's record": lambda wrong: fitting.speed_from_log(wrong, bars=3),
    "a trace": lambda wrong: fitting.fit_trace(wrong, FIT),
    "a trace's fit": lambda wrong: fitting.fit_trace(LOADS, wrong),
    "what is predicted from": lambda wrong: fitting.predict(wrong, voltage="5 V"),
    "what is drawn from": lambda wrong: fitting.draw_motors(wrong, count=2, seed=1),
    "a band": lambda wrong: fitting.agreement(wrong, "1 A", "1 mA"),
    "a table of a record": bench.bench_record,
}


@pytest.mark.parametrize("takes", TAKES.values(), ids=TAKES.keys())
def test_what_is_no_reading_and_no_fit_is_refused(takes):
    """The name of a file, a motor, a number: never an AttributeError."""
    for wrong in WRONG:
        with pytest.raises((BenchError, PartError), match=r"takes|got|gives"):
            takes(wrong)


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (
            lambda: fitting.fit_motor("my-motor.csv"),
            r"fit_motor\.record .* got 'my-motor.csv'\. Read the file first: read_bench",
        ),
        (lambda: fitting.predict(FIT, voltage=[5.0]), r"predict\.voltage must be a quantity in V; got \[5\.0\]"),
        (lambda: fitting.predict(FIT, voltage="5 V", load=FIT), r"predict\.load must be a Load"),
        (lambda: fitting.draw_motors(FIT, count=2.5, seed=1), r"draw_motors\.count must be a whole number, 0 or more"),
        (lambda: fitting.draw_motors(FIT, count=2, seed=-1), r"draw_motors\.seed must be a whole number, 0 or more"),
        (lambda: fitting.speed_from_ripple([0, 1], Q_([0, 1], "A"), bars=3), r"speed_from_ripple\.time must be in s"),
        (lambda: fitting.speed_from_sound(None), "path must be the name of a file; got None"),
        (lambda: fitting.fit_motor(RECORD, ammeter=2), r"such as '0\.5 % \+ 2 counts'; got 2"),
        (lambda: bench.Meter(percent="1"), r"Meter\.percent must be from 0 to 50; got '1'"),
        (lambda: bench.Meter(counts=True), r"Meter\.counts must be from 0 to 1000; got True"),
        (lambda: bench.Meter(resolution=2), r"Meter\.resolution must be one quantity, such as '1 mV'; got 2"),
        (lambda: bench.bench_record(meters=["1 %"]), r"bench_record\.meters must map names to text"),
        (lambda: bench.read_bench(5), r"read_bench\.path must be the name of a file; got 5"),
        (lambda: bench.read_bench_text(None), r"read_bench_text\.text must be text; got None"),
        (lambda: bench.procedure(3), r"procedure\.name must be text; got 3"),
    ],
)
def test_a_wrong_argument_is_named_with_its_value(ask, words):
    """Each says which argument, what it got, and what to write."""
    with pytest.raises(LabkitError, match=words):
        ask()


def test_what_is_right_is_taken():
    """The calls above fail for their one wrong argument alone."""
    assert len(fitting.draw_motors(FIT, count=0, seed=0)) == 0
    assert fitting.predict(FIT, voltage="5 V", load=Load())["speed"].value.magnitude > 0
    assert bench.Meter(resolution="1 mV").resolution == Q_("1 mV")
    assert fitting.fit_table(LOADS, RECORD)["internal_resistance"].value.magnitude > 0
    assert np.isfinite(fitting.fit_room(iter([RECORD, RECORD])).constants["resistance"].value.magnitude)
