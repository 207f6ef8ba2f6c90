"""What the commands on a design print and write, tried as a person would type them."""

from __future__ import annotations

import dataclasses
import json
import re
from pathlib import Path

import pytest

from labkit.bench import demo_bench, read_bench
from labkit.cli import main
from labkit.figures.review import trouble_picture
from labkit.fitting import fit_motor
from labkit.parts import Build, desk_wind_tunnel
from labkit.reviews import read_design, review

_DESIGN = """
name = "Desk wind tunnel"
duty = "0.3 to 1"
[supply]
like = "four AA alkaline cells"
[motor]
resistance = "2.8 ohm"
emf_constant = "5.4 mV*s/rad"
friction_torque = "0.59 mN*m"
[transistor]
like = "logic-level MOSFET"
[diode]
like = "Schottky diode"
"""


@pytest.fixture
def design(tmp_path: Path) -> Path:
    """A design file as a beginner would write it."""
    file = tmp_path / "fan.toml"
    file.write_text(_DESIGN, encoding="utf-8")
    return file


@pytest.mark.parametrize(
    ("command", "said", "heading"),
    [
        (["review"], "fuse on a stall", "Review: Desk wind tunnel"),
        (["first-power"], "[ ] board's 0 V to the supply's negative: under 1 Ω", "First power: Desk wind tunnel"),
        (["shopping", "--people", "12"], "15 × logic-level N-channel MOSFET", "Shopping list: Desk wind tunnel"),
        (["diagnose", "--symptom", "never stops"], "transistor failed short", "Fault-finding: Desk wind tunnel"),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_each_command_prints_and_writes_a_page(
    design: Path, capsys: pytest.CaptureFixture[str], command: list[str], said: str, heading: str
) -> None:
    """The page has one title, asks nothing from anywhere, and each of its tables has headings for its rows."""
    page = design.with_suffix(".html")
    status = main([command[0], str(design), *command[1:], "--page", str(page)])
    html = page.read_text(encoding="utf-8")

    assert status == (30 if command == ["review"] else 0)
    assert said in capsys.readouterr().out
    assert re.findall("<h1>(.*)</h1>", html) == [heading]
    assert "://" not in html.replace("http://www.w3.org/2000/svg", "")
    assert html.count("<tbody>") <= html.count('<th scope="row"')


def test_readings_change_the_diagnosis(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No voltage at the supply, and the supply or its fuse comes first, all but certain."""
    main(["diagnose", str(design), "--symptom", "does not turn", "--reading", "supply_on=0 V"])
    first = capsys.readouterr().out.splitlines()[0]

    assert "supply open or fuse blown" in first
    assert int(first.split(" %")[0]) > 90


def test_json_carries_every_finding_with_its_part(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Machine-readable output is complete, and each finding says which part it is about."""
    main(["review", str(design), "--json"])
    data = json.loads(capsys.readouterr().out)

    assert data["verdict"] == "cannot tell"
    assert all(finding["part"] for finding in data["findings"])


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (('[supply]\nlike = "four AA alkaline cells"', '[supply]\nvoltage = "325 V"'), "60 V or less; got 325 V"),
        (("2.8 ohm", "2.8 H"), "Motor.resistance must be a quantity in ohm; got '2.8 H'"),
    ],
)
def test_a_design_that_cannot_be_is_refused(
    design: Path, capsys: pytest.CaptureFixture[str], change: tuple[str, str], words: str
) -> None:
    """What is wrong is named with its value, and there is no traceback."""
    design.write_text(_DESIGN.replace(*change), encoding="utf-8")

    assert main(["review", str(design)]) == 1
    assert words in capsys.readouterr().err


@pytest.mark.parametrize("people", ["0", "-3", "1000000000"])
def test_nobody_or_a_town_is_no_class(design: Path, capsys: pytest.CaptureFixture[str], people: str) -> None:
    """A count that no room has is refused with what to write."""
    assert main(["shopping", str(design), "--people", people]) == 1
    assert f"got {people}" in capsys.readouterr().err


_OWN = ('resistance = "2.8 ohm"\nemf_constant = "5.4 mV*s/rad"\nfriction_torque = "0.59 mN*m"', 'readings = "fan.csv"')


def test_a_design_takes_its_motor_from_readings(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The fit of a bench file stands in for typed constants, and its uncertainty is carried through."""
    design.with_name("fan.csv").write_bytes(demo_bench().read_bytes())
    design.write_text(_DESIGN.replace(*_OWN), encoding="utf-8")
    fitted = fit_motor(read_bench(demo_bench())).motor

    assert read_design(design).drive.motor.resistance == fitted.resistance
    main(["review", str(design)])
    assert "Of 100 motors that your readings allow, none exceeds a limit." in capsys.readouterr().out
    design.write_text(_DESIGN.replace(*_OWN).replace("four AA alkaline cells", "USB port"), encoding="utf-8")
    assert main(["review", str(design), "--json"]) == 20
    assert json.loads(capsys.readouterr().out)["exceeded_share"]


def test_readings_that_are_not_there_are_named(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The file's name and where to put it are said."""
    design.write_text(_DESIGN.replace(*_OWN), encoding="utf-8")

    assert main(["review", str(design)]) == 1
    assert "readings = 'fan.csv' cannot be read" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("build", "place"),
    [
        (Build(common_ground=False), "the ground"),
        (Build(diode_reversed=True), "the diode"),
        (Build(drain_source_swapped=True), "the switch"),
        (Build(motor_on_pin=True), "the pin"),
        (Build(), "the fuse"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_the_circuit_of_a_review_marks_the_trouble(build: Build, place: str) -> None:
    """The alternative text names the place that the ring is round; a missing fuse is marked where it should sit."""
    picture = trouble_picture(review(dataclasses.replace(desk_wind_tunnel(), build=build)))

    assert f"Marked: {place}." in picture.alt
