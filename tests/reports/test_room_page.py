"""The room's page and its command."""

from __future__ import annotations

import errno
import re
from pathlib import Path

import pytest

from labkit.bench import demo_bench
from labkit.cli import main


@pytest.fixture
def benches(tmp_path):
    """A folder with six files of one motor, in the fifth of which all free running speeds are taken at half."""
    text = demo_bench().read_text(encoding="utf-8")
    head, free = text.split("table: free running")
    free, *rest = re.split(r"(?=\ntable:)", free)
    for number in range(1, 7):
        wrong = re.sub(r"\d+$", lambda rpm: str(int(rpm[0]) // 2), free, flags=re.MULTILINE) if number == 5 else free
        (tmp_path / "room" / f"table {number}").mkdir(parents=True)
        body = head + "table: free running" + wrong + ("" if number == 5 else "".join(rest))
        (tmp_path / "room" / f"table {number}" / f"bench-{number}.csv").write_text(body, encoding="utf-8")
    (tmp_path / "room" / "notes.txt").write_text("<b>tidy up")
    return tmp_path / "room"


def test_a_folder_of_benches_becomes_one_page(benches, tmp_path, capsys):
    """The command finds the files in folders, names who is off and what could not be used, and writes the picture."""
    page = tmp_path / "room.html"
    assert main(["room", str(benches), "--page", str(page)]) == 0
    said = capsys.readouterr().out
    assert "6 benches gave constants." in said
    assert "bench-5.csv is far off the others in its EMF constant k" in said
    assert "notes.txt could not be used." in said
    written = page.read_text(encoding="utf-8")
    assert written.count("<svg") >= 3
    assert 'aria-label="EMF constant k of 6 benches, their mean 5.' in written
    assert "left out: bench-5.csv" in written
    assert "<b>" not in written
    assert len(re.findall(r"<th[^>]*>bench-\d", written)) == 6


def test_a_room_of_one_and_a_room_of_none(benches, tmp_path, capsys):
    """One bench has no mean, and says so; files that hold nothing end with a sentence."""
    assert main(["room", str(benches / "table 1" / "bench-1.csv"), "--page", str(tmp_path / "one.html")]) == 0
    assert "a mean needs two" in capsys.readouterr().out
    assert "<svg" not in (tmp_path / "one.html").read_text(encoding="utf-8")
    assert main(["room", str(benches / "notes.txt")]) == 1
    assert "No bench gives a constant" in capsys.readouterr().err
    assert main(["room", str(benches / "no-such.csv")]) == 1
    assert "no-such.csv" in capsys.readouterr().err


def test_a_room_of_which_nothing_can_be_read_says_why(tmp_path, capsys):
    """Each file is named with what is wrong in it, and a folder without any is told as that."""
    (tmp_path / "a.csv").write_text("hello\n")
    (tmp_path / "b.csv").write_text("")
    assert main(["room", str(tmp_path)]) == 1
    said = capsys.readouterr().err
    assert "a.csv, line 1: read 'hello'" in said
    assert "b.csv is empty" in said
    (tmp_path / "none").mkdir()
    assert main(["room", str(tmp_path / "none")]) == 1
    assert "none has no file of readings: none ends in .csv" in capsys.readouterr().err


def test_a_file_that_a_program_holds_keeps_nobody_else_out(benches, capsys, monkeypatch):
    """On Windows a program may let nobody read what it has open, which is imitated here: the others are fitted."""
    held = benches / "table 1" / "bench-1.csv"
    read = Path.read_bytes

    def read_bytes(path):
        if path == held:
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return read(path)

    monkeypatch.setattr(Path, "read_bytes", read_bytes)

    assert main(["room", str(benches)]) == 0
    said = capsys.readouterr().out
    assert "bench-1.csv cannot be read: Permission denied. Close it where it is open." in said
    assert "bench-2" in said


def test_tables_whose_files_have_one_name(tmp_path, capsys):
    """They are told apart by their folders; what a spreadsheet or an archive leaves hidden is passed over."""
    for number in (1, 2, 3):
        (tmp_path / f"table {number}").mkdir()
        (tmp_path / f"table {number}" / "readings.csv").write_text("" if number == 3 else demo_bench().read_text())
    (tmp_path / "table 1" / "._readings.csv").write_text("x")
    (tmp_path / "table 1" / "~$readings.xlsx").write_text("x")
    assert main(["room", str(tmp_path)]) == 0
    said = capsys.readouterr().out
    assert re.search(r"table 1/readings\.csv: 2\.\d+ ± .* Ω\n  table 2/readings\.csv: 2\.", said)
    assert "table 3/readings.csv could not be used. readings.csv is empty" in said
    assert "._" not in said
    assert "~$" not in said
