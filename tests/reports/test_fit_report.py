"""The report of a fit, as text and as HTML, and the command that prints it."""

import re
from html.parser import HTMLParser
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from labkit.bench import BenchTable, bench_record, read_bench
from labkit.cli import main
from labkit.fitting import Band, agreement, fit_motor
from labkit.reports.agreement import agreement_html, agreement_text
from labkit.reports.fit import report, report_html
from labkit.units import Q_

DEMO = Path(str(files("labkit"))) / "data" / "bench"


@pytest.fixture(scope="module")
def demo_fit():
    """Return the fit of the demo bench."""
    return fit_motor(read_bench(DEMO / "fan_motor.csv"))


@pytest.fixture(scope="module")
def slips_fit():
    """Return the fit of the demo bench with slips."""
    return fit_motor(read_bench(DEMO / "fan_motor_slips.csv"))


def _table(text):
    """Return constant to (value, U, unit) as the report prints them."""
    rows = text.split("\n\n")[0].splitlines()[1:]
    cells = [re.split(r"\s{3,}", row.strip()) for row in rows]
    return {row[0]: (float(row[1].replace("−", "-")), float(row[2]), row[5]) for row in cells}


def test_table_holds_the_fit_to_two_figures_of_its_uncertainty(demo_fit):
    """Every constant is printed with unit and expanded uncertainty, to the digit that the uncertainty justifies."""
    table = _table(report(demo_fit))
    value, wide, unit = table["EMF constant k"]

    assert len(table) == 5
    assert unit == "mV·s/rad"
    assert value == pytest.approx(demo_fit.value["emf_constant"].magnitude * 1e3, abs=0.0006)
    assert wide == pytest.approx(demo_fit.expanded_uncertainty["emf_constant"].magnitude * 1e3, rel=0.06)


@pytest.mark.parametrize("name", ["demo_fit", "slips_fit"])
def test_demo_truth_lies_within_the_printed_uncertainty(request, name):
    """The constants that the demo script states lie within ± U of what the report prints."""
    table = _table(report(request.getfixturevalue(name)))
    truth = {"resistance R": (2.8, "Ω"), "brush drop": (60, "mV"), "EMF constant k": (5.4, "mV·s/rad"),
             "friction torque": (520, "µN·m"), "viscous friction": (90, "nN·m·s/rad")}  # fmt: skip

    for constant, (true, unit) in truth.items():
        value, wide, printed = table[constant]
        assert printed == unit
        assert abs(value - true) <= wide


def test_report_names_slips_with_file_line_and_consequence(slips_fit):
    """The film is set aside and named; the bad cell, the missing unit and the standing motor are listed with lines."""
    text = report(slips_fit)

    assert "locked rotor, line 12" in text.split("Readings set aside")[1]
    for line, word in ((15, "'1,1x'"), (31, "a unit of voltage"), (23, "the shaft must turn")):
        assert re.search(rf"line {line},[^\n]*{re.escape(word)}", text)


def test_report_says_what_is_missing_and_what_to_read():
    """From a held rotor alone the report asks for free runs, and gives no number for k."""
    held = BenchTable(kind="locked rotor", voltage=Q_([0.40, 0.68, 0.97], "V"), current=Q_([0.1, 0.2, 0.3], "A"))
    text = report(fit_motor(bench_record(held)))

    assert "do not give the EMF constant" in text
    assert "Read voltage, current and speed of the free motor" in text
    assert "EMF constant k" not in text.split("\n\n")[0]


def test_caution_stands_where_hands_are_about_to_act(demo_fit):
    """The stall current comes with the warning of how long a motor may be held."""
    text = report(demo_fit)
    stall = (6.04 - 0.059) / demo_fit.value["resistance"].magnitude

    assert f"{stall:.2f} A" in text
    assert "never hold it longer than 3 s" in text


class _Reader(HTMLParser):
    """Collects the text of cells and items, and checks that tags close in order."""

    def __init__(self):
        super().__init__()
        self.open, self.words = [], []

    def handle_starttag(self, tag, attrs):  # noqa: ARG002 (the parser's own signature)
        self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)


def test_html_says_the_same_and_escapes_what_files_contain():
    """The page has the report's sentences, closes its tags, and shows what a file contains as text."""
    held = BenchTable(kind="locked rotor", voltage=Q_([0.40, 0.68, 0.97], "V"), current=Q_([0.1, 0.2, 0.3], "A"))
    fit = fit_motor(bench_record(held, source="<script>alert(1)</script>.csv"))
    page, reader = report_html(fit), _Reader()
    reader.feed(page)

    assert reader.open == []
    assert "<script>" not in page
    for sentence in (line[2:] for line in report(fit).splitlines() if line.startswith("- ")):
        assert sentence in reader.words


def test_command_writes_the_page_and_takes_meters(tmp_path, capsys):
    """``labkit fit --ammeter … --page …`` uses the accuracy given and writes the HTML."""
    page = tmp_path / "fit.html"
    status = main(["fit", str(DEMO / "fan_motor.csv"), "--ammeter", "5 %", "--page", str(page)])
    printed = capsys.readouterr().out

    assert status == 0
    assert "resistance R: mostly ammeter scale" in printed
    assert "<table>" in page.read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"\0\1\2", "no text file"),
        (b"table: locked rotor\nvoltage, current\n1,2\n", "no usable reading"),
    ],
)
def test_command_refuses_with_a_reason(tmp_path, capsys, content, words):
    """A file without readings ends with status 1 and one sentence on the error stream, no traceback."""
    path = tmp_path / "bad.csv"
    path.write_bytes(content)
    status = main(["fit", str(path)])
    streams = capsys.readouterr()

    assert status == 1
    assert words in streams.err
    assert streams.out == ""


def test_command_names_a_file_that_is_not_there(tmp_path, capsys):
    """A missing file is named, with status 1."""
    assert main(["fit", str(tmp_path / "none.csv")]) == 1
    assert "none.csv" in capsys.readouterr().err


def test_partial_result_still_prints(tmp_path, capsys):
    """One good table among bad ones gives a result with status 0 and the problems below it."""
    path = tmp_path / "half.csv"
    path.write_text(
        "table: generator\nspeed [rpm], voltage [V]\n1000, 0.565\n2000, 1.131\ntable: lunch\na, b\n1, 2\n",
        encoding="utf-8",
    )
    status = main(["fit", str(path)])
    printed = capsys.readouterr().out

    assert status == 0
    assert "EMF constant k" in printed
    assert "table 'lunch'" in printed


def test_numbers_of_extreme_size_are_still_readable():
    """A very exact fit and a very vague one print plain numbers, no exponent and no nan."""
    speed = np.array([100.0, 200.0, 300.0])
    exact = BenchTable(kind="generator", speed=Q_(speed, "rad/s"), voltage=Q_(speed * 5.4e-3, "V"))
    vague = BenchTable(kind="generator", speed=Q_(speed, "rad/s"), voltage=Q_([0.2, 2.0, 0.9], "V"))

    for table in (exact, vague):
        text = report(fit_motor(bench_record(table)))
        assert "nan" not in text
        assert not re.search(r"\de[+-]?\d", text)


def test_a_reading_that_is_off_comes_with_likely_reasons() -> None:
    """Agreement and disagreement in words, with the reasons as a list; nothing else."""
    band = Band(name="current", value=Q_("109 mA"), standard_uncertainty=Q_("2 mA"), expanded_uncertainty=Q_("4 mA"))
    near, far = agreement(band, "107 mA", "1 mA"), agreement(band, "160 mA", "1 mA")

    assert agreement_text(near) == "✓ The current agrees. It lies 0.9 standard uncertainties off."
    assert agreement_text(far).startswith("✗ The current is 22.8 standard uncertainties above the prediction.")
    assert "something rubs" in agreement_html(far)
    assert "<li>" not in agreement_html(near)
