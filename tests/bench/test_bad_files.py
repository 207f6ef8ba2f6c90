"""Bad files by the hundred: a clear error or a partial result, never a traceback, never a silent wrong constant."""

import importlib.resources
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from labkit.bench import read_bench
from labkit.errors import LabkitError
from labkit.fitting import fit_motor, fit_table
from labkit.reports.beside import record_report
from labkit.reports.fit import report, report_html

pytestmark = pytest.mark.core

DEMO = Path(str(importlib.resources.files("labkit"))) / "data" / "bench" / "fan_motor.csv"
SOUND = DEMO.read_text(encoding="utf-8")
LINES = SOUND.splitlines()
_TIME = [0.05 * step for step in range(12)]
OTHERS = [
    "disc mass: 5.20 g", "disc radius: 12.0 mm", "heat: 0.45 W",
    "table: source resistance", "voltage [V], current [mA]",
    *("6.100, 0", "6.036, 100", "5.972, 200", "5.908, 300", "5.844, 400"),
    "table: diode drop", "voltage [V], current [mA]", *("0.70, 60", "0.74, 120", "0.79, 250", "0.86, 540"),
    "table: starting voltage", "position, voltage [V]", *("1, 0.72", "2, 0.80", "3, 0.91"),
    "table: case temperature", "time [s], temperature [°C]",
    *(f"{30 * step}, {22 + 27 * (1 - 0.7**step):.1f}" for step in range(9)),
    "table: coast down", "time [s], speed [rpm]", *(f"{t:.2f}, {8000 - 4000 * t:.0f}" for t in _TIME),
    "table: coast down with disc", "time [s], speed [rpm]", *(f"{t:.2f}, {8000 - 3000 * t:.0f}" for t in _TIME),
]  # fmt: skip
#: The demo script's truth, in SI.
TRUTH = {"resistance": 2.8, "emf_constant": 5.4e-3}
JUNK = ["", " ", "x", "nan", "inf", "-", "1e999", "0", "-1", "1,5", "0x10", "½", "٣", "#", '"', "=A1+B2", "12:30",
        "1 V 2", "9" * 400, "\0", "[", "1e-400", "−3", "1 000", "1.000.000"]  # fmt: skip
UNITS = [
    "V",
    "mV",
    "A",
    "mA",
    "uA",
    "rpm",
    "rad/s",
    "Hz",
    "ohm",
    "",
    "volt",
    "banana",
    "m" * 200,
    "N*m",
    "%",
    "degC",
    "1/s",
]

few = settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
many = settings(few, max_examples=2000)


class _Refused(str):
    """The sentence of a refusal."""

    __slots__ = ()


def _outcome(path, content):
    """Return the fit of a file with that content, or the refusal; any other exception is a failure."""
    path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8", "surrogatepass"))
    try:
        record = read_bench(path)
        if record_report(record) and not record.tables:
            return _Refused(record_report(record))
        fit = fit_motor(record)
    except LabkitError as error:
        return _Refused(str(error))
    assert report(fit)
    assert report_html(fit)
    return fit


def _never_silently_wrong(fit):
    """Fail where a constant is far from the truth, beyond its own uncertainty, and nothing in the report says so."""
    if isinstance(fit, _Refused):
        assert len(fit.split()) > 3
        return
    if fit.problems or fit.set_aside or fit.not_identifiable:
        return
    for name, true in TRUTH.items():
        off = abs(float(fit.value[name].magnitude) - true)
        room = max(0.1 * true, 3 * float(fit.expanded_uncertainty[name].magnitude))
        assert off <= room, f"{name} {fit.value[name]:~P} ± {fit.expanded_uncertainty[name]:~P} without a word"


@st.composite
def spoiled(draw, sound=LINES):  # noqa: C901 (one short case a slip)
    """Draw a sound file with one to four of the things that happen to files."""
    lines = [line.split(", ") for line in sound]
    for _ in range(draw(st.integers(1, 4))):
        row = draw(st.integers(0, len(lines) - 1))
        column = draw(st.integers(0, len(lines[row]) - 1))
        match draw(st.sampled_from(["cell", "cut", "drop", "double", "swap", "unit", "shift", "tail", "digit"])):
            case "cell":
                lines[row][column] = draw(st.sampled_from(JUNK))
            case "cut":
                lines = lines[: row + 1]
            case "drop":
                del lines[row]
            case "double":
                lines.insert(row, list(lines[draw(st.integers(0, len(lines) - 1))]))
            case "swap":
                lines[row] = lines[row][::-1]
            case "unit":
                headers = [number for number, cells in enumerate(lines) if any("[" in cell for cell in cells)]
                if headers:
                    header = lines[draw(st.sampled_from(headers))]
                    place = draw(st.integers(0, len(header) - 1))
                    header[place] = header[place].split(" [")[0] + f" [{draw(st.sampled_from(UNITS))}]"
            case "shift":
                lines[row].insert(column, draw(st.sampled_from(JUNK)))
            case "tail":
                lines[row] = lines[row][:column] or [""]
            case "digit":
                lines[row][column] = lines[row][column].replace(".", "", 1)
        if not lines:
            return ""
    return "\n".join(", ".join(cells) for cells in lines)


@few
@given(content=spoiled())
def test_spoiled_files(tmp_path, content):
    """Cells, units, rows and columns spoiled at random: refused, listed, or still right."""
    _never_silently_wrong(_outcome(tmp_path / "fan.csv", content))


@few
@given(content=spoiled(OTHERS))
def test_spoiled_tables_of_parts(tmp_path, content):
    """The same with supply, diode, case, starting voltage and two coast-downs: words, never a traceback."""
    _outcome(tmp_path / "parts.csv", content)


@few
@given(content=spoiled(OTHERS))
def test_a_source_is_never_silently_wrong(tmp_path, content):
    """A source of 0.64 Ω comes out right, within its uncertainty, or the file's problems or the refusal say why not."""
    path = tmp_path / "parts.csv"
    path.write_bytes(content.encode("utf-8", "surrogatepass"))
    try:
        record = read_bench(path)
        found = [fit_table(table, record) for table in record.apart if table.kind == "source resistance"]
    except LabkitError:
        return
    for one in found:
        resistance = one["internal_resistance"]
        off = abs(float(resistance.value.magnitude) - 0.64)
        wide = float(resistance.expanded_uncertainty.magnitude)
        told = record.problems or one.sentences
        assert told or off <= max(0.1, 3 * wide) or wide > 0.5 * 0.64


@few
@given(content=st.binary(max_size=400))
def test_random_bytes(tmp_path, content):
    """Any bytes at all are refused in words or read."""
    _outcome(tmp_path / "fan.csv", content)


@few
@given(content=st.text(alphabet=st.sampled_from('tablefrngo: ,;\t\n[]VmA0123456789.-#"e%+'), max_size=300))
def test_random_text_of_the_right_letters(tmp_path, content):
    """Text made of the letters that bench files use is refused in words or read."""
    _outcome(tmp_path / "fan.csv", "table: locked rotor\nvoltage [V], current [A]\n" + content)


@pytest.mark.parametrize("end", range(0, len(SOUND), 97))
def test_truncated_files(tmp_path, end):
    """A file cut off at any place is refused, or gives what the rest still holds."""
    _never_silently_wrong(_outcome(tmp_path / "fan.csv", SOUND[:end]))


@pytest.mark.slow
@many
@given(content=spoiled())
def test_two_thousand_spoiled_files(tmp_path, content):
    """The same with two thousand files."""
    _never_silently_wrong(_outcome(tmp_path / "fan.csv", content))


@pytest.mark.slow
@settings(few, max_examples=500)
@given(content=st.binary(max_size=300))
def test_random_spreadsheets(tmp_path, content):
    """A spreadsheet file of any bytes is refused in words."""
    _outcome(tmp_path / "fan.xlsx", b"PK\x03\x04" + content)


def test_a_free_current_in_microamperes_is_told(tmp_path):
    """A header of µA instead of mA gave 1.9 Ω for 2.8 Ω without a word (found by the random files)."""
    content = SOUND.replace("voltage [V], current [mA], speed", "voltage [V], current [uA], speed")
    fit = _outcome(tmp_path / "fan.csv", content)

    assert content != SOUND
    assert any("free-running current of 10" in str(problem) for problem in fit.problems)


def test_two_exchanged_rows_do_not_break_the_uncertainty(tmp_path):
    """Two rows whose voltage and speed changed places once gave a variance below zero (found by the random files)."""
    content = SOUND.replace("2.01, 104, 2951", "2951, 104, 2.01").replace("3.01, 103, 4682", "4682, 103, 3.01")
    fit = _outcome(tmp_path / "fan.csv", content)

    _never_silently_wrong(fit)
    assert content != SOUND
