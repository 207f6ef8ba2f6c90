"""Data sheets as bench files: what they print besides must come out."""

from pathlib import Path

import numpy as np
import pytest

from labkit.bench import read_bench
from labkit.cli import main
from labkit.fitting import fit_motor
from labkit.units import Q_

FILES = Path(__file__).parent / "files"
RPM = np.pi / 30


def _constants(name):
    """Return R [ohm], k [V·s/rad] and friction [N·m] of the fit to a file, and the fit."""
    fit = fit_motor(read_bench(FILES / name))
    units = {"resistance": "ohm", "emf_constant": "V*s/rad", "friction_torque": "N*m"}
    return *(float(fit.value[name].to(unit).magnitude) for name, unit in units.items()), fit


def test_1331_006_agrees_with_what_its_sheet_prints_besides():
    """Free point and stall torque of the 1331 T 006 SR (FAU-1331, trust A) give its other printed values."""
    R, k, friction, _ = _constants("sheet_1331_t_006.csv")
    stall, free = 6.0 / R, 0.0220

    assert pytest.approx(2.83, rel=0.01) == R
    assert k * 1e3 == pytest.approx(5.35, rel=0.005)  # mN·m/A
    assert 1 / k / RPM == pytest.approx(1790, rel=0.005)  # rpm/V
    assert k * RPM * 1e3 == pytest.approx(0.56, abs=0.005)  # mV/rpm
    assert R / k**2 / RPM / 1e3 == pytest.approx(946, rel=0.01)  # rpm/(mN·m)
    assert R / 4 * (stall - free) ** 2 == pytest.approx(3.11, rel=0.01)  # W
    assert 100 * (1 - np.sqrt(free / stall)) ** 2 == pytest.approx(81, abs=1.7)  # percent
    assert friction * 1e3 == pytest.approx(0.12, abs=0.005)  # mN·m, printed to two digits


def test_110121_agrees_with_what_its_sheet_prints_besides():
    """Free point and stall current of the A-max 22 (MAX-A, trust B) give its other printed values."""
    R, k, _, _ = _constants("sheet_110121.csv")

    assert pytest.approx(5.39, rel=0.01) == R
    assert k * 1e3 == pytest.approx(10.9, rel=0.005)  # mN·m/A
    assert 1 / k / RPM == pytest.approx(875, rel=0.005)  # rpm/V
    assert k * 12 / R * 1e3 == pytest.approx(24.3, rel=0.01)  # mN·m; this maker's stall torque has friction in it
    assert R / k**2 / RPM / 1e3 == pytest.approx(432, rel=0.01)  # rpm/(mN·m)
    assert 100 * (1 - np.sqrt(0.0168 * R / 12)) ** 2 == pytest.approx(84, abs=1.7)  # percent


@pytest.mark.parametrize(
    ("name", "resistance", "constant"),
    [("sheet_1331_t_006.csv", "2.83 ohm", "5.35 mN*m/A"), ("sheet_110121.csv", "5.39 ohm", "10.9 mN*m/A")],
)
def test_printed_values_lie_within_the_stated_uncertainty(name, resistance, constant):
    """As many readings as constants: the uncertainty comes from the printing, and still holds the sheet's values."""
    _, _, _, fit = _constants(name)
    k = Q_(constant)

    for found, printed, step in (("resistance", Q_(resistance), Q_("0.01 ohm")), ("emf_constant", k, 0.01 * k)):
        unit = fit.value[found].units
        room = fit.expanded_uncertainty[found] + step.to(unit)
        assert abs((fit.value[found] - printed.to(unit)).magnitude) <= room.magnitude
    assert set(fit.budget["resistance"]) == {"rounding of the readings"}
    assert any("no more readings than constants" in str(problem) for problem in fit.problems)
    assert {entry.name for entry in fit.not_identifiable} == {"brush_drop", "viscous_friction"}


def test_command_prints_the_constants(capsys):
    """``labkit fit`` on the typed sheet prints resistance and EMF constant and returns 0."""
    status = main(["fit", str(FILES / "sheet_1331_t_006.csv")])
    printed = capsys.readouterr().out

    assert status == 0
    assert "2.836" in printed
    assert "mV·s/rad" in printed
    assert "1790 rpm" in printed
