"""A design file is read as a person types it, and every slip in it is named."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from labkit.errors import DesignError, PartError
from labkit.parts import Bipolar, DiodePlace, Side
from labkit.reviews import demo_design, generic_part, generic_parts, read_design, review
from labkit.units import magnitude

pytestmark = pytest.mark.core

GOOD = """
name = "Desk wind tunnel"
ambient = "30 °C"
duty = "0.3 to 1"
frequency = "20 kHz"
[supply]
like = "four AA alkaline cells"
voltage = "6,1 V"
brown_out = "2.7 V"
[motor]
resistance = "2R8"
emf_constant = "5.4 mV*s/rad"
friction_torque = "0.594 mN*m"
starting_torque = "0.9 mN*m"
inductance = "0.9 mH"
[transistor]
like = "logic-level MOSFET"
on_resistance = ["50 mOhm @ 3.3 V", "22 mOhm @ 10 V"]
[diode]
like = "Schottky diode"
[pin]
current_limit = "20 mA"
[build]
side = "low side"
diode_place = "across the motor"
[build.fuse]
rating = "0.5 A"
"""


@pytest.fixture
def write(tmp_path):
    """Return a function that writes a design file."""

    def to_file(text, name="design.toml"):
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        return path

    return to_file


def test_a_design_reads_as_written(write):
    """Values keep what was typed; a generic part lends what was not."""
    design = read_design(write(GOOD))

    assert design.name == "Desk wind tunnel"
    assert design.duty == (0.3, 1.0)
    assert magnitude(design.drive.supply.voltage, "V") == pytest.approx(6.1)
    assert magnitude(design.drive.supply.internal_resistance, "ohm") == pytest.approx(0.6)
    assert magnitude(design.drive.motor.resistance, "ohm") == pytest.approx(2.8)
    assert magnitude(design.drive.switch.on_resistance[0][1], "ohm") == pytest.approx(0.05)
    assert magnitude(design.drive.build.fuse.rating, "A") == pytest.approx(0.5)
    assert design.drive.build.side is Side.LOW


def test_excel_and_notepad_may_leave_a_byte_order_mark(write):
    """A byte order mark at the head is no fault."""
    assert read_design(write(b"\xef\xbb\xbf" + GOOD.encode())).name == "Desk wind tunnel"


def test_faults_can_be_written(write):
    """No diode, a bipolar transistor, a diode in the wrong place: as built."""
    text = GOOD.replace('[diode]\nlike = "Schottky diode"\n', "").replace("name", 'diode = "none"\nname', 1)
    text = text.replace("[transistor]", "[bipolar]").replace('"logic-level MOSFET"', '"small bipolar"')
    text = text.replace('on_resistance = ["50 mOhm @ 3.3 V", "22 mOhm @ 10 V"]', 'base_resistor = "1 kohm"')
    design = read_design(write(text.replace("across the motor", "across the transistor")))

    assert design.drive.diode is None
    assert isinstance(design.drive.switch, Bipolar)
    assert design.drive.build.diode_place is DiodePlace.TRANSISTOR


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ('resistance = "2R8"', 'resistence = "2R8"', r"\[motor\] has no field 'resistence'. Did you mean 'resistance'"),
        ('resistance = "2R8"', "", "resistance"),
        ('resistance = "2R8"', 'resistance = "2.8"', "Motor.resistance must be a quantity in ohm"),
        ('frequency = "20 kHz"', 'frequency = "20 krpm"', "shaft speed"),
        ('duty = "0.3 to 1"', "duty = 45", "A percentage"),
        ('duty = "0.3 to 1"', "duty = true", "number from 0 to 1"),
        ('duty = "0.3 to 1"', "duty = []", "number from 0 to 1"),
        ('duty = "0.3 to 1"', 'duty = ["0.3", {a = 1}]', "number from 0 to 1"),
        ('frequency = "20 kHz"', "frequency = 20", "with its unit"),
        ('frequency = "20 kHz"', "frequency = [1, 2]", "with its unit"),
        ('frequency = "20 kHz"', 'duty_count = "many"', "duty_count must be the bare number"),
        ('side = "low side"', 'diode_reversed = "no"', r"\[build\] diode_reversed must be true or false; got 'no'"),
        ('like = "Schottky diode"', 'like = "Shotky"', "Nearest"),
        ('like = "Schottky diode"', 'like = "USB port"', "is not a diode"),
        ('side = "low side"', 'side = "left"', "one of low side, high side"),
        ("[supply]", "[suply]", "Did you mean 'supply'"),
        ("[motor]", "[motor", "cannot be read as TOML"),
        ('brown_out = "2.7 V"', "brown_out = true", "Supply.brown_out"),
        ('"22 mOhm @ 10 V"', '"22 mOhm at 10 V"', "pairs of gate voltage and resistance"),
    ],
)
def test_slips_are_named(write, old, new, word):
    """The error names the file, the section or field, and what to write."""
    with pytest.raises(DesignError, match=word) as caught:
        read_design(write(GOOD.replace(old, new)))
    assert str(caught.value).startswith("design.toml")


@pytest.mark.parametrize("content", [b"", b"\x00\xff\xfe", b"[motor]\n", b"supply = 6\n"])
def test_what_is_no_design_is_refused(write, content):
    """Empty, binary, half: a DesignError each."""
    with pytest.raises(DesignError):
        read_design(write(content))


@pytest.mark.parametrize(("encoding", "read"), [("utf-8-sig", True), ("cp1252", False), ("utf-16", False)])
def test_editors_of_windows_save_in_several_codes(write, encoding, read):
    """With the mark of UTF-8 and lines that end as there it is read; in another code the error says how to save it."""
    content = f"# 5 µA at 25 °C\n{GOOD}".replace("\n", "\r\n").encode(encoding)
    if read:
        assert read_design(write(content)) == read_design(write(GOOD))
    else:
        with pytest.raises(DesignError, match=r"design\.toml is no UTF-8 text\. .* save it as UTF-8\."):
            read_design(write(content))


def test_a_missing_file_is_named(tmp_path):
    """No file, no traceback."""
    with pytest.raises(DesignError, match="no file"):
        read_design(tmp_path / "nothing.toml")
    with pytest.raises(DesignError, match="is a folder"):
        read_design(tmp_path)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=30, deadline=None)
@given(st.integers(0, len(GOOD) - 1), st.text(min_size=1, max_size=6))
def test_spoilt_files_are_read_or_refused(write, place, junk):
    """Whatever is pasted into a design, it is read or refused with a DesignError."""
    path = write(GOOD[:place] + junk + GOOD[place:])
    try:
        outcome = read_design(path)
    except DesignError as refusal:
        outcome = refusal
    assert outcome


@pytest.mark.parametrize("name", generic_parts())
def test_every_generic_part_can_be_had(name):
    """Each is a part that its own checks accept."""
    assert generic_part(name) is not None


@pytest.mark.parametrize(
    ("change", "status", "verdict"),
    [
        ({}, 10, "tight"),
        ({'resistance = "2R8"': 'resistance = "2R8"\nrated_voltage = "3 V"'}, 20, "exceeded"),
        ({'current_limit = "20 mA"': ""}, 30, "cannot tell"),
    ],
)
def test_the_command_says_it_in_its_exit_status(write, change, status, verdict):
    """0 fine, 10 tight, 20 exceeded, 30 cannot tell; the JSON says the same in words."""
    text = GOOD
    for old, new in change.items():
        text = text.replace(old, new)
    run = subprocess.run(
        [sys.executable, "-m", "labkit", "review", write(text), "--json"], capture_output=True, text=True, check=False
    )

    assert run.returncode == status, run.stderr
    assert json.loads(run.stdout)["verdict"] == verdict


def test_a_fine_design_exits_zero(write):
    """With a ramp there is nothing left to say against this design."""
    text = GOOD.replace('side = "low side"', 'side = "low side"\nstart_ramp = "1 s"').replace('"0.5 A"', '"0.45 A"')
    design = read_design(write(text))
    tight = [found.name for found in review(design.drive, design.duty, design.frequency).findings if found.remedy]
    run = subprocess.run([sys.executable, "-m", "labkit", "review", write(text)], capture_output=True, check=False)

    assert (run.returncode == 0) == (tight == [])
    assert "frequency above hearing" in run.stdout.decode()


def test_a_design_in_the_place_of_its_drive():
    """The message names the part of the design that is wanted."""
    with pytest.raises(PartError, match=r"review\.drive must be a Drive; got a Design\. Give its \.drive\."):
        review(read_design(demo_design()))
