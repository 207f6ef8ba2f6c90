"""What the README tells is so: its commands run, its files are there, and its counts are those of the kit."""

import json
import re
import shlex
import struct
from pathlib import Path

import pytest

from labkit.cli import _parser
from labkit.workspace.shipped import shipped_files

TOP = Path(__file__).parents[1]
README = (TOP / "README.md").read_text(encoding="utf-8")
COMMANDS = sorted(set(re.findall(r"`(?:\.venv/bin/)?labkit ([^`]+)`", README)))


def test_there_are_commands_to_look_at():
    """The README names at least one command of each of its three ways in."""
    assert {"start", "fit", "room", "handout", "sheets", "mark"} <= {command.split()[0] for command in COMMANDS}


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_one_that_the_kit_takes(command):
    """Each is parsed without complaint: no name, no option and no argument is of yesterday."""
    assert callable(_parser().parse_args(shlex.split(command)).run)


def test_both_set_up_commands_stand_whole_with_their_windows_form():
    """Each is one line from nothing, and the Windows form does the same with the same words."""
    here = re.findall(r"^python3 -m venv .*$", README, re.MULTILINE)
    there = re.findall(r"`(py -m venv [^`]*)`", README)

    as_there = [
        command.replace("python3 -m", "py -m", 1).replace(" &&", ";").replace(".venv/bin/", ".venv\\Scripts\\")
        for command in here
    ]
    assert len(here) == 2
    assert as_there == there


def test_what_it_points_at_is_there():
    """Links, pictures and the files of a learner's folder that it names."""
    links = re.findall(r"\]\(([^)#:]+)\)", README)
    learners = re.findall(r"labkit-lessons/(\S+?)`", README)

    assert links
    assert [link for link in links if not (TOP / link).is_file()] == []
    assert learners
    assert [name for name in learners if name not in shipped_files()] == []


def test_it_counts_the_published_cases():
    """Cases and figures that people are told of are those that the tests compare."""
    cases = json.loads((TOP / "tests/published/cases.json").read_text(encoding="utf-8"))
    told = re.search(r"(\d+) published cases, over (\d+) figures", README)

    assert told
    assert int(told[1]) == len(cases)
    assert int(told[2]) < sum(len(case["figures"]) for case in cases)


def test_the_picture_has_words_and_a_sensible_size():
    """What the panel shows is told in words too, and a page shows it without shrinking it."""
    words, name = re.search(r"!\[(.{80,})\]\((\.readme/\S+)\)", README).groups()
    width, height = struct.unpack(">II", (TOP / name).read_bytes()[16:24])

    assert "4640 rpm" in words
    assert 600 <= width <= 1100
    assert height <= 800
