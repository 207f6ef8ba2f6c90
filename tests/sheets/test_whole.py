"""A file is there whole or not at all, whatever stops its writing, and spreadsheets take a table for what it is."""

import codecs
import errno
from pathlib import Path

import pytest

from labkit.cli import main
from labkit.sheets.whole import whole_file


def test_a_table_begins_with_the_mark_that_spreadsheets_look_for(tmp_path):
    """Without the byte-order mark, common practice says, they take UTF-8 for an older code: Ω becomes Î©."""
    for name, begins in (("marks.csv", codecs.BOM_UTF8), ("class.html", b"")):
        with whole_file(tmp_path / name) as file:
            file.write("Zoë\n2.8 Ω\n")
        assert (tmp_path / name).read_bytes() == begins + "Zoë\n2.8 Ω\n".encode()


def test_what_was_there_stays_until_all_is_written(tmp_path):
    """Stopped half-way, the earlier file is as it was, and nothing is left beside it."""
    path = tmp_path / "marks.csv"
    path.write_bytes(b"earlier")

    def lines():
        yield "half"
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt), whole_file(path) as file:
        file.writelines(lines())

    assert path.read_bytes() == b"earlier"
    assert list(tmp_path.iterdir()) == [path]


@pytest.fixture
def held(monkeypatch):
    """Return a set of files that another program holds: none can be put in their place, as it is on Windows."""
    files, put = set(), Path.replace

    def replace(path: Path, target: Path) -> Path:
        if Path(target) in files:
            raise PermissionError(errno.EACCES, "Access is denied", str(path), None, str(target))
        return put(path, target)

    monkeypatch.setattr(Path, "replace", replace)
    return files


def test_a_file_that_is_held_is_named_and_keeps_what_it_has(tmp_path, held):
    """The error names the file that a person knows, not the draft that was to take its place; no draft stays."""
    path = tmp_path / "marks.csv"
    path.write_bytes(b"open in a spreadsheet")
    held.add(path)

    with pytest.raises(PermissionError) as caught, whole_file(path) as file:
        file.write("newer")

    assert caught.value.filename == str(path)
    assert path.read_bytes() == b"open in a spreadsheet"
    assert list(tmp_path.iterdir()) == [path]


def test_marks_open_in_a_spreadsheet_are_told_and_written_the_next_time(tmp_path, held, monkeypatch, capsys):
    """The marking itself is kept: once the table is closed, the same command writes it."""
    monkeypatch.chdir(tmp_path)
    Path("class.csv").write_text("id\namber-17\n", encoding="utf-8")
    key = ["--key", "my.key"]
    assert main(["sheets", "--new-key", "my.key"]) == 0
    assert main(["sheets", "class.csv", "--sheet", "generator-action", *key, "--folder", "out"]) == 0
    Path("returned").mkdir()
    Path("returned/notes.txt").write_text("no notebook", encoding="utf-8")
    mark = ["mark", "returned", "--class-list", "class.csv", *key, "--without-isolation"]
    held.add(Path("returned-marks/marks.csv"))

    assert main(mark) == 1
    assert "marks.csv. If another program has it open, such as a spreadsheet, close it" in capsys.readouterr().err
    held.clear()
    assert main(mark) == 0
    assert "amber-17" in Path("returned-marks/marks.csv").read_text(encoding="utf-8-sig")
