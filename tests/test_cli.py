"""The command line, whatever it writes to and whenever it is stopped: a sentence, no traceback, and no work lost."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from labkit.bench import demo_bench
from labkit.cli import main

LABKIT = [sys.executable, "-m", "labkit"]


@pytest.mark.parametrize(("encoding", "words"), [("ascii", "+/-"), ("cp1252", "±")])
def test_a_terminal_without_our_signs_gets_plain_ones(encoding, words):
    """A file on Windows knows no Ω: it is written as a word, and nothing stops."""
    told = subprocess.run(
        [*LABKIT, "fit", str(demo_bench())], capture_output=True, check=False, timeout=120,
        env=os.environ | {"PYTHONIOENCODING": encoding},
    )  # fmt: skip
    text = told.stdout.decode(encoding)

    assert (told.returncode, told.stderr) == (0, b"")
    assert "resistance R" in text
    assert "ohm" in text
    assert words in text
    assert "?" not in text


def test_a_sign_that_nobody_thought_of_is_a_question_mark():
    """The name of a file may hold any sign."""
    told = subprocess.run(
        [*LABKIT, "fit", "日本.csv"], capture_output=True, check=False, timeout=120,
        env=os.environ | {"PYTHONIOENCODING": "ascii"},
    )  # fmt: skip

    assert (told.returncode, told.stderr.strip()) == (1, b"labkit: No such file or directory: ??.csv")


@pytest.mark.skipif(os.name != "posix", reason="a pipe with a name, to know when it reads")
def test_stopped_by_hand_it_says_so(tmp_path):
    """Ctrl-C while a file is read: one word and the status that shells expect."""
    os.mkfifo(tmp_path / "slow.csv")
    with (
        subprocess.Popen([*LABKIT, "fit", str(tmp_path / "slow.csv")], stderr=subprocess.PIPE, text=True) as run,
        (tmp_path / "slow.csv").open("w"),  # opens once the command reads it
    ):
        run.send_signal(signal.SIGINT)
        _, said = run.communicate(timeout=60)

    assert (run.returncode, said) == (130, "labkit: stopped.\n")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a disk that is full")
def test_a_full_disk_is_told(capsys):
    """The page that finds no room costs no traceback."""
    status = main(["fit", str(demo_bench()), "--page", "/dev/full"])

    assert status == 1
    assert capsys.readouterr().err == "labkit: there is no room left on the disk. Free some, and try again.\n"


@pytest.mark.parametrize("command", ["fit", "room"])
def test_a_page_is_written_over_a_page_and_over_nothing_else(command, tmp_path, capsys):
    """``--page`` with the name of the readings would lose them: it is refused, and a page of before is renewed."""
    readings, page = tmp_path / "mine.csv", tmp_path / "mine.html"
    typed = demo_bench().read_bytes()
    readings.write_bytes(typed)

    assert main([command, str(readings), "--page", str(readings)]) == 1
    assert "mine.csv is there already and is no page" in capsys.readouterr().err
    assert readings.read_bytes() == typed

    for _ in range(2):
        assert main([command, str(readings), "--page", str(page)]) == 0
    assert page.read_text(encoding="utf-8").startswith("<!doctype html>")
