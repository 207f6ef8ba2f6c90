"""Each procedure: an empty sheet that reads, and a filled one that gives the constants behind it."""

import subprocess
import sys

import numpy as np
import pytest

from labkit.bench import procedure, procedures, read_bench
from labkit.cli import main
from labkit.errors import BenchError
from labkit.fitting import fit_motor, fit_tables, fit_trace

pytestmark = pytest.mark.core

#: The invented motor behind every filled sheet, in SI.
R, DROP, K, FRICTION, VISCOUS, L, J = 2.8, 0.06, 5.4e-3, 0.52e-3, 0.9e-7, 0.9e-3, 1.2e-6
RPM = 30 / np.pi
DISC = 0.5 * 5.20e-3 * 12.0e-3**2
NOTES = {
    "winding temperature": "25 °C",
    "series resistance": "1.2 ohm",
    "test frequency": "1 kHz",
    "gate voltage": "3.3 V",
    "heat": "0.45 W",
    "disc mass": "5.20 g",
    "disc radius": "12.0 mm",
    "shunt": "10.0 ohm, 1 %",
    "voltmeter": "0.5 % + 2 counts",
    "ammeter": "1 % + 3 counts",
    "tachometer": "0.05 % + 1 count",
}


def _free(voltage):
    """Return current and speed of the free motor."""
    speed = (voltage - DROP - R * FRICTION / K) / (K + R * VISCOUS / K)
    return (FRICTION + VISCOUS * speed) / K, speed


def _coast(time, inertia):
    return (800 + FRICTION / VISCOUS) * np.exp(-VISCOUS * time / inertia) - FRICTION / VISCOUS


def _readings(kind, place, count, columns):  # noqa: C901 (one short case a table)
    """Return the cells of one row: what the meters would show."""
    part = (place + 0.5) / count
    if kind == "locked rotor":
        current = (0.15, 0.40)[place % 2]
        values = {
            "position": str(place // 2 + 1),
            "voltage [V]": f"{R * current + DROP:.4f}",
            "current [mA]": f"{1e3 * current:.1f}",
            "shunt voltage [V]": f"{10 * current:.4f}",
        }
    elif kind == "free running":
        voltage = 1.5 + 4.5 * part
        current, speed = _free(voltage)
        values = {
            "voltage [V]": f"{voltage:.4f}",
            "current [mA]": f"{1e3 * current:.2f}",
            "shunt voltage [V]": f"{10 * current:.4f}",
            "speed [rpm]": f"{speed * RPM:.1f}",
        }
    elif kind == "generator":
        speed = 50 + 200 * part
        values = {"speed [rpm]": f"{speed * RPM:.2f}", "voltage [V]": f"{K * speed:.5f}"}
    elif kind == "current rise":
        time = 1.5e-3 * part
        values = {"time [ms]": f"{1e3 * time:.5f}", "current [mA]": f"{500 * (1 - np.exp(-time * (R + 1.2) / L)):.3f}"}
    elif kind == "spin up":
        time, tau = 1.5 * part, J / (VISCOUS + K**2 / (R + 1.2))
        values = {"time [s]": f"{time:.5f}", "speed [rpm]": f"{9000 * (1 - np.exp(-time / tau)):.2f}"}
    elif kind.startswith("coast down"):
        time = 1.2 * part
        values = {"time [s]": f"{time:.5f}", "speed [rpm]": f"{_coast(time, J + DISC * ('disc' in kind)) * RPM:.2f}"}
    elif kind == "inductance meter":
        values = {"position": str(place + 1), "inductance [mH]": f"{0.9 + 0.02 * (-1) ** place:.3f}"}
    elif kind == "starting voltage":
        values = {"position": str(place + 1), "voltage [V]": f"{0.75 + 0.05 * (-1) ** place:.3f}"}
    elif kind in ("source resistance", "pin resistance"):
        level, ohms, most = (6.1, 0.64, 0.6) if kind.startswith("source") else (3.3, 25.0, 8e-3)
        current = most * place / (count - 1)
        values = {"voltage [V]": f"{level - ohms * current:.5f}", "current [mA]": f"{1e3 * current:.4f}"}
    elif kind == "transistor on":
        values = {"voltage [mV]": f"{40 * (0.3 + part):.3f}", "current [mA]": f"{1e3 * (0.3 + part):.3f}"}
    elif kind == "diode drop":
        values = {"voltage [V]": f"{0.70 + 0.2 * part:.4f}", "current [mA]": f"{1e3 * part:.3f}"}
    else:
        time = 300 * part
        values = {"time [s]": f"{time:.2f}", "temperature [°C]": f"{22 + 27 * (1 - np.exp(-time / 90)):.3f}"}
    return [values[column] for column in columns]


def _filled(one):
    """Return the sheet of a procedure as someone fills it in: notes and cells."""
    lines, kinds, at = [], {table.kind: table for table in one.tables}, None
    place = 0
    for line in one.sheet().splitlines():
        name = line.removesuffix(":")
        if line.endswith(":") and name in NOTES:
            lines.append(f"{line} {NOTES[name]}")
        elif line.startswith("table: "):
            at, place = kinds[line.removeprefix("table: ")], -1
            lines.append(line)
        elif at is not None and "," in line:
            lines.append(line if place < 0 else ", ".join(_readings(at.kind, place, len(at.rows), at.columns)))
            place += 1
        else:
            lines.append(line)
    return "\n".join(lines)


ALL = pytest.mark.parametrize("one", procedures(), ids=lambda one: one.name)
FITTED = pytest.mark.parametrize("one", [p for p in procedures() if p.finds != ("speed",)], ids=lambda one: one.name)
WRITTEN = pytest.mark.parametrize("one", [p for p in procedures() if p.tables], ids=lambda one: one.name)


@pytest.fixture
def sheet(tmp_path):
    """Return a function that reads a text as a bench file."""

    def read(text):
        path = tmp_path / "sheet.csv"
        path.write_text(text, encoding="utf-8")
        return read_bench(path)

    return read


@WRITTEN
def test_empty_sheet_is_understood(sheet, one):
    """Nothing in an empty sheet is misread: it is refused only because nothing is filled in, table by table."""
    text = one.sheet().replace("shunt:\n", "shunt: 10 ohm\n")
    with pytest.raises(BenchError) as refused:
        sheet(text)
    reasons = str(refused.value).splitlines()[1:]
    assert len(reasons) == len(one.tables) > 0
    assert all("no row that is filled in" in reason for reason in reasons)


@FITTED
def test_filled_sheet_gives_the_constants(sheet, one):
    """Each procedure, filled in from a known motor and known parts, gives every constant that it promises."""
    record = sheet(_filled(one))
    steady = [procedure("resistance"), procedure("constant, running free"), procedure("friction")]
    truth = {
        "resistance": R, "brush_drop": DROP, "emf_constant": K, "friction_torque": FRICTION, "inductance": L,
        "viscous_friction": VISCOUS, "inertia": J, "open_voltage": 6.1, "internal_resistance": 0.64, "high_level": 3.3,
        "output_resistance": 25.0, "starting_voltage": 0.75, "on_resistance": 0.04, "forward_voltage": 0.70,
        "slope_resistance": 0.2, "temperature_rise": 27.0, "thermal_time_constant": 90.0, "thermal_resistance": 60.0,
    }  # fmt: skip
    found = {c.name: c.value.to_base_units().magnitude for fit in fit_tables(record) for c in fit.constants}
    whole = sheet("\n".join([_filled(one), *(_filled(other) for other in steady if other != one)]))
    fit = fit_motor(whole)
    found = {name: quantity.to_base_units().magnitude for name, quantity in fit.value.items()} | found
    for trace in record.traces:
        if trace.kind != "coast down with disc" and not fit_tables(record):
            traced = fit_trace(trace, fit)
            found[traced.name] = traced.value.to_base_units().magnitude

    assert record.problems == ()
    for name in one.finds:
        assert found[name] == pytest.approx(truth[name], rel=0.02), name


@ALL
def test_procedure_is_whole(one):
    """Each has cautions, numbered steps, what is needed, how many readings, units in every header, rows as wide."""
    assert one.needs
    assert len(one.steps) >= 3
    assert one.cautions
    assert any(letter.isdigit() for letter in one.readings)
    for table in one.tables:
        assert all("[" in column for column in table.columns if column != "position")
        assert {len(cells) for cells in table.cells()} == {len(table.columns)}


def test_some_rows_filled_in_are_enough(sheet):
    """Rows that stay empty are no fault; a row with one cell missing is told with its line."""
    text = procedure("resistance").sheet()
    rows = text.splitlines()
    first = next(number for number, row in enumerate(rows) if row.startswith("1,"))
    rows[first], rows[first + 1] = "1, 0.48, 150", "1, 1.18,"
    record = sheet("\n".join(rows))

    assert len(record.locked_rotor) == 1
    assert [problem.line for problem in record.problems] == [first + 2]
    assert "an empty cell" in record.problems[0].read


def test_shunt_tells_the_current_and_how_well(sheet):
    """1.50 V across 10.0 Ω, 1 % with a voltmeter of 0.5 % are 150 mA known to 1.5 %; without the note it is said."""
    table = "table: locked rotor\nvoltage [V], shunt voltage [V]\n0.42, 1.50\n"
    record = sheet(f"voltmeter: 0.5 % + 2 counts\nshunt: 10.0 ohm, 1 %\n{table}")

    assert record.locked_rotor.si("current") == pytest.approx([0.15])
    assert record.locked_rotor.step["current"].to("mA").magnitude == pytest.approx(1.0)
    assert record.meters["current"].percent == pytest.approx(1.5)
    assert sheet(f"voltmeter: 0.5 %\nshunt: 10.0 ohm, 1 %\n{table}").meters["current"].percent == pytest.approx(1.5)
    assert sheet(f"shunt: 10.0 ohm, 1 %\n{table}").meters["current"].percent == pytest.approx(1.0)
    assert sheet(f"shunt: 10.0 ohm\n{table}").meters == {}
    with pytest.raises(BenchError, match="needs the note 'shunt"):
        sheet(table)
    with pytest.raises(BenchError, match="resistance"):
        sheet(f"shunt: 3 V\n{table}")


def test_a_name_is_found_by_its_words_and_a_wrong_one_lists_them():
    """Any words that only one name has will do; several or none list what there is."""
    assert procedure("Diode-drop").name == "diode drop"
    with pytest.raises(BenchError, match=r"name\. Choose one of: 'inertia, coast down'; 'inertia, spin up'"):
        procedure("inertia")
    with pytest.raises(BenchError, match=r"called 'lunch'\. Choose one of: 'resistance'; .*'diode drop'"):
        procedure("lunch")


def test_a_reader_that_stops_early_is_no_fault():
    """When the command's lines go into a program that closes early, as ``head`` does, no traceback follows."""
    command = [sys.executable, "-m", "labkit", "procedure", "resistance"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as kit:
        kit.stdout.close()
        said = kit.stderr.read()

    assert "Traceback" not in said
    assert kit.returncode == 1


def test_a_recording_has_no_sheet():
    """What is recorded and not written down says so instead of an empty sheet."""
    with pytest.raises(BenchError, match="One recording"):
        procedure("speed, sound").sheet()
    assert main(["procedure", "speed sound"]) == 0


def test_command_lists_shows_and_never_writes_over(tmp_path, capsys):
    """``labkit procedure`` lists all; with a name it prints, writes sheet and page, and keeps a file that is there."""
    assert main(["procedure"]) == 0
    listed = capsys.readouterr().out
    assert all(one.name in listed for one in procedures())

    sheet, page = tmp_path / "diode.csv", tmp_path / "diode.html"
    assert main(["procedure", "diode", "--sheet", str(sheet), "--page", str(page)]) == 0
    assert "Caution" in capsys.readouterr().out
    assert sheet.read_text(encoding="utf-8") == procedure("diode").sheet()
    assert "<script" not in page.read_text(encoding="utf-8")

    sheet.write_text("my readings", encoding="utf-8")
    assert main(["procedure", "diode", "--sheet", str(sheet)]) == 1
    assert sheet.read_text(encoding="utf-8") == "my readings"
