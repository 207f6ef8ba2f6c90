"""What the report of a bench file says of traces, other tables and too few readings, and the residuals' picture."""

import re
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from labkit.bench import read_bench, read_bench_text
from labkit.cli import main
from labkit.figures import bench_picture, residual_picture
from labkit.fitting import fit_motor
from labkit.reports.beside import record_report, record_report_html
from labkit.reports.fit import report, report_html

DEMO = Path(str(files("labkit"))) / "data" / "bench"
STEADY = (DEMO / "fan_motor.csv").read_text(encoding="utf-8")
TIME = np.linspace(0, 1.8e-3, 40)
RISE = "table: current rise\ntime [ms], current [mA]\n" + "\n".join(
    f"{1e3 * t:.3f}, {600 * (1 - np.exp(-t * 2.8 / 0.9e-3)):.1f}" for t in TIME
)
SOURCE = "table: source resistance\nvoltage [V], current [mA]\n6.10, 0\n5.94, 250\n5.77, 510\n"


def test_traces_and_other_tables_are_in_the_report():
    """A current rise of L = 0.9 mH and a source of 0.64 Ω stand in the report with ± and unit, in text and HTML."""
    fit = fit_motor(read_bench_text(f"winding temperature: 45 °C\n{STEADY}\n{RISE}\n{SOURCE}"))
    text = report(fit)
    inductance = re.search(r"inductance (\S+) µH ± (\S+) µH, time constant", text)
    source = re.search(r"internal resistance (\S+) mΩ ± (\S+) mΩ", text)

    assert abs(float(inductance[1]) - 900) <= float(inductance[2])
    assert abs(float(source[1]) - 646) <= float(source[2])
    assert "at 25 °C copper makes it" in text
    html = report_html(fit)
    assert inductance[0] in html
    assert source[0] in html


def test_a_file_without_a_motor_gives_what_it_holds():
    """A file of a source alone is reported, with what to read first for a motor; a trace alone says what it lacks."""
    text = record_report(read_bench_text(SOURCE))

    assert "internal resistance" in text
    assert 'labkit procedure "resistance"' in text
    assert "needs steady readings" in record_report(read_bench_text(RISE))
    assert "<li>" in record_report_html(read_bench_text(SOURCE))


def test_too_little_says_what_is_missing_and_which_procedure_gives_it():
    """One free reading gives no constant: no empty table, no ± line, and each missing constant with its procedure."""
    fit = fit_motor(read_bench_text("table: free running\nvoltage [V], current [mA], speed [rpm]\n3.0, 100, 4700\n"))
    text = report(fit)

    assert text.startswith("What was found\n- No constant of the motor follows")
    assert "95 times in 100" not in text
    assert "<table>" not in report_html(fit)
    for procedure in ("resistance", "constant, running free", "friction"):
        assert f'labkit procedure "{procedure}"' in text


def test_command_reads_such_files_too(tmp_path, capsys):
    """``labkit fit`` prints them with exit status 0 and writes the page, pictures of a motor included."""
    path, page = tmp_path / "source.csv", tmp_path / "page.html"
    path.write_text(SOURCE, encoding="utf-8")
    assert main(["fit", str(path), "--page", str(page)]) == 0
    assert "internal resistance" in capsys.readouterr().out
    assert "internal resistance" in page.read_text(encoding="utf-8")

    assert main(["fit", str(DEMO / "fan_motor_slips.csv"), "--page", str(page)]) == 0
    assert page.read_text(encoding="utf-8").count("data:image/svg+xml") == 2


def test_as_many_readings_as_constants_show_no_scatter():
    """Two held readings fix two constants: the residuals' picture says that they tell nothing of scatter."""
    text = "table: locked rotor\nvoltage [V], current [mA]\n0.480, 150\n1.180, 400\n"

    assert "show no scatter" in residual_picture(fit_motor(read_bench_text(text))).finding


@pytest.mark.parametrize("name", ["fan_motor", "fan_motor_slips"])
def test_residual_picture_tells_the_fit_s_own_residuals(name):
    """One panel for each table and balance; the numbers behind it and its words are those of the fit."""
    fit = fit_motor(read_bench(DEMO / f"{name}.csv"))
    picture = residual_picture(fit)
    kept = np.concatenate([one.standardized[~one.set_aside] for one in fit.residuals])

    assert len(picture.tables) == len(fit.residuals)
    for table, one in zip(picture.tables, fit.residuals, strict=True):
        assert table.columns[2][1].magnitude == pytest.approx(one.standardized)
    assert f"Of {len(kept)} residuals {np.sum(np.abs(kept) > 2)} lie" in picture.alt
    assert ("set aside" in picture.alt) == bool(fit.set_aside)
    assert "1.4" not in bench_picture(fit).finding  # the reading that was set aside, 1.40 V off, is not counted
