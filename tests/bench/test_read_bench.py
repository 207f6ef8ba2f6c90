"""Bench files: what can be read is read, and what cannot is listed with its place."""

import csv
import io
import itertools
import runpy
from pathlib import Path

import numpy as np
import pytest

from labkit.bench import BenchTable, Meter, bench_record, procedure, read_bench
from labkit.errors import BenchError
from labkit.units import Q_

pytestmark = pytest.mark.core

PLAIN = """# a comment
motor: fan motor
voltmeter: 0.5 % + 2 counts
table: locked rotor
position, voltage [V], current [mA]
1, 0.412, 148
2, 1.120, 402

table: free running
voltage [V], current [mA], speed [rpm]
3.00, 96, 4830
6.00, 110, 9920
"""


@pytest.fixture
def bench_file(tmp_path):
    """Return a function that writes bytes or text and reads it as a bench file."""

    def write(content, name="fan.csv"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return read_bench(path)

    return write


def _same(record):
    """Return whether *record* holds the readings of PLAIN."""
    return (
        np.allclose(record.locked_rotor.si("voltage"), [0.412, 1.12])
        and np.allclose(record.locked_rotor.si("current"), [0.148, 0.402])
        and np.allclose(record.free_running.si("speed"), np.array([4830, 9920]) * np.pi / 30)
    )


def test_plain_file(bench_file):
    """Tables, notes, meters, lines and last digits of a sound file are all there, and no problem is."""
    record = bench_file(PLAIN)

    assert _same(record)
    assert record.problems == ()
    assert record.notes == {"motor": "fan motor"}
    assert record.meters == {"voltage": Meter(percent=0.5, counts=2)}
    assert list(record.locked_rotor.line) == [6, 7]
    assert record.locked_rotor.step["voltage"].to("V").magnitude == pytest.approx(0.001)
    assert record.free_running.step["voltage"].to("V").magnitude == pytest.approx(0.01)


@pytest.mark.parametrize(
    "content",
    [
        b"\xef\xbb\xbf" + PLAIN.encode(),
        PLAIN.encode("utf-16"),
        PLAIN.replace("\n", "\r\n").encode(),
        PLAIN.replace("\n", "\r").encode(),
        PLAIN.replace(", ", ";").replace(".", ",").encode(),
        PLAIN.replace(", ", "\t").encode(),
        PLAIN.replace("\n", ",,,\n").encode(),
        PLAIN.replace(", ", ";").replace("\n", ";;\n").replace("table: free running;;", '"table: no load";;').encode(),
        ("sep=,\n" + PLAIN).encode(),
        PLAIN.replace("current [mA]", "Current (mA)").replace("voltage [V]", "U / V").encode(),
        PLAIN.replace("1, 0.412, 148", '"1", "0.412", "148"').encode(),
        PLAIN.replace("1, 0.412, 148", "1, 412 mV, 0.148 A").encode(),
        PLAIN.replace("locked rotor", "Locked-Rotor").replace("free running", "no load").encode(),
    ],
    ids=["mark", "utf-16", "crlf", "cr", "decimal commas", "tabs", "trailing commas", "quoted notes", "sep line",
         "other headings", "quoted cells", "units in cells", "other names"],
)  # fmt: skip
def test_what_spreadsheets_and_people_make_of_it(bench_file, content):
    """Byte-order marks, line ends, separators, decimal commas, empty cells and spellings change no reading."""
    record = bench_file(content)

    assert _same(record)
    assert record.problems == ()


def _through_a_spreadsheet(text, typed):
    """Return a sheet as a German spreadsheet saves it: cells parted as ``sep=`` says, UTF-8 taken for Windows-1252."""
    first, *lines = text.encode().decode("cp1252").splitlines()
    rows = [[cell.strip() for cell in row] for row in csv.reader(lines, delimiter=first.removeprefix("sep="))]
    filled = [next(typed) if row and not any(row) else row for row in rows]
    saved = io.StringIO()
    csv.writer(saved, delimiter=";").writerows(row + [""] * (9 - len(row)) for row in filled)
    return saved.getvalue().encode("utf-8-sig")


def test_an_empty_sheet_comes_back_from_a_spreadsheet_filled_in(bench_file):
    """With decimal commas, semicolons, and every ° written as two signs: all readings are there, and no complaint."""
    sheet = procedure("case temperature").sheet()
    assert "[°C]" in sheet
    typed = ([str(10 * place), f"2{place},5"] for place in itertools.count(1))

    record = bench_file(_through_a_spreadsheet(sheet, typed))

    assert record.problems == ()
    (table,) = record.apart
    assert table.temperature.m_as("degC")[:3] == pytest.approx([21.5, 22.5, 23.5])
    assert table.time.m_as("s")[:3] == pytest.approx([10, 20, 30])


@pytest.mark.parametrize(
    ("old", "new", "line", "column", "read", "expected"),
    [
        ("0.412", "o.412", 6, "voltage [V]", "'o.412'", "a number in V"),
        ("0.412", "", 6, "voltage [V]", "an empty cell", "a number"),
        ("0.412", "nan", 6, "voltage [V]", "'nan'", "a number in V"),
        ("0.412", "1e999", 6, "voltage [V]", "'1e999'", "a number of a sensible size"),
        ("0.412", "4e300", 6, "voltage", "4×10³⁰⁰ V", "a number of a sensible size"),
        ("0.412", "4e-200", 6, "voltage", "4×10⁻²⁰⁰ V", "a voltage other than zero"),
        ("148", "148 V", 6, "current [mA]", "'148 V'", "a number in mA"),
        ("148", "0", 6, "current", "0.0 mA", "a current other than zero"),
        ("148", "-148", 6, "current", "-148.0 mA", "the sign of the voltage: a motor that takes power"),
        ("1, 0.412, 148", "1, 0,412, 148", 6, "", "4 cells", "3 as in the header; decimal commas need semicolons"),
        ("4830", "0", 11, "speed", "0.0 rpm", "a speed other than zero: the shaft must turn"),
    ],
)
def test_bad_row_is_listed_and_the_rest_stays(bench_file, old, new, line, column, read, expected):  # noqa: PLR0917 (a table)
    """A bad row is left out with file, line, column, what was read and what was expected; its neighbours stay."""
    record = bench_file(PLAIN.replace(old, new, 1))
    (problem,) = record.problems

    assert (problem.source, problem.line, problem.column) == ("fan.csv", line, column)
    assert problem.read == read
    assert problem.expected.startswith(expected)
    assert str(problem).startswith(f"fan.csv, line {line}")
    assert len(record.locked_rotor) + len(record.free_running) == 3


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        ("current [mA]\n1", "current\n1", "a unit of current, such as 'current [A]'"),
        ("current [mA]\n1", "current [V]\n1", "a unit of current, such as 'current [A]'"),
        ("current [mA]\n1", "current [milliampères]\n1", "a unit of current, such as 'current [A]'"),
        ("current [mA]\n1", "\n1", "a column of current or torque with its unit"),
        ("table: locked rotor", "table: lunch", "one of locked rotor, free running"),
    ],
)
def test_bad_table_is_listed_and_the_other_stays(bench_file, old, new, expected):
    """A table without a needed unit, column or known name is left out with the reason; the other table stays."""
    record = bench_file(PLAIN.replace(old, new, 1))

    assert record.locked_rotor is None
    assert len(record.free_running) == 2
    assert any(problem.expected.startswith(expected) for problem in record.problems)


def test_speed_in_hertz_is_refused_in_words(bench_file):
    """A speed column in Hz is no shaft speed: the reason says what to write."""
    record = bench_file(PLAIN.replace("speed [rpm]", "speed [Hz]"))

    assert record.free_running is None
    assert any("rad/s or rpm" in problem.expected for problem in record.problems)


def test_table_without_its_line_is_taken_by_its_columns_and_said_so(bench_file):
    """A header without a ``table:`` line is read by its columns where only one table has them, never silently."""
    record = bench_file("voltage [V], current [mA], speed [rpm]\n3.00, 96, 4830\n")

    assert len(record.free_running) == 1
    assert "taken as free running" in record.problems[0].consequence


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (bytes(range(256)), "no text file"),
        (b"\x89PNG\r\n\x1a\n\0\0", "no text file"),
        (b"nothing here but words", "no usable reading"),
        (PLAIN.replace("[", "{").encode(), "no usable reading"),
    ],
)
def test_file_without_readings_is_refused(bench_file, content, words):
    """An empty, binary or unusable file is refused with a sentence, not a traceback."""
    with pytest.raises(BenchError, match=words):
        bench_file(content)


def test_a_thousand_bad_rows_are_not_a_thousand_sentences(bench_file):
    """Many bad rows are listed up to fifty, and then counted."""
    record = bench_file(PLAIN + "x, y, z\n" * 1000)

    assert len(record.problems) == 51
    assert record.problems[-1].read == "950 further bad rows"


def test_tables_of_one_kind_are_joined_in_one_unit(bench_file):
    """A second locked-rotor table in ampere continues the first in milliampere."""
    record = bench_file(PLAIN + "\ntable: locked rotor\nposition, voltage [mV], current [A]\n3, 800, 0.284\n")

    assert record.locked_rotor.si("current") == pytest.approx([0.148, 0.402, 0.284])
    assert record.locked_rotor.si("voltage") == pytest.approx([0.412, 1.12, 0.8])
    assert list(record.locked_rotor.line) == [6, 7, 16]


@pytest.mark.parametrize(
    ("first", "second", "words"),
    [
        ("voltage [V], current [A]\n0.3, 0.1", "voltage [V], torque [mN*m]\n0.6, 1.0", "This table is left out"),
        (
            "voltage [V], current [A], torque [mN*m]\n0.3, 0.1, 0.5",
            "voltage [V], current [A]\n0.6, 0.2",
            "Only voltage, current are used, which both have",
        ),
    ],
)
def test_tables_of_one_kind_with_other_columns_are_said(bench_file, first, second, words):
    """What cannot be joined is left out with a word, and the file is read all the same."""
    record = bench_file(f"table: locked rotor\n{first}\n\ntable: locked rotor\n{second}\n")
    (problem,) = record.problems

    assert problem.line == 7
    assert words in problem.consequence
    assert "current" in record.locked_rotor.columns


def test_a_spreadsheet_that_is_not_there_is_told_as_any_file(tmp_path):
    """It is missing; it is not "no spreadsheet that can be read"."""
    with pytest.raises(FileNotFoundError):
        read_bench(tmp_path / "none.xlsx")


def test_named_positions_are_kept_apart(bench_file):
    """Rotor positions may be words; equal words are one position."""
    named = PLAIN.replace("1, 0.412", "north, 0.412").replace(
        "2, 1.120, 402", "South, 1.120, 402\nsouth, 0.43, 150\nx, 1, 360"
    )
    position = bench_file(named).locked_rotor.position

    assert position[1] == position[2]
    assert len(set(position)) == 3


def test_spreadsheet_gives_what_its_csv_gives(tmp_path):
    """An .xlsx workbook with one sheet a table reads like the text file."""
    openpyxl = pytest.importorskip("openpyxl")
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.title = "locked rotor"
    for row in (("position", "voltage [V]", "current [mA]"), (1, 0.412, 148), (2, 1.12, 402)):
        sheet.append(row)
    free = book.create_sheet("runs")
    for row in (
        ("table: free running",),
        ("voltage [V]", "current [mA]", "speed [rpm]"),
        (3.0, 96, 4830),
        (6, 110, 9920),
    ):
        free.append(row)
    path = tmp_path / "fan.xlsx"
    book.save(path)
    record = read_bench(path)

    assert _same(record)
    assert record.problems == ()  # the first sheet's name says which table it is, the other's own line does


def test_broken_spreadsheet_is_refused(tmp_path):
    """A file that only calls itself .xlsx is refused with what to do."""
    pytest.importorskip("openpyxl")
    path = tmp_path / "fan.xlsx"
    path.write_bytes(b"PK\x03\x04 no zip at all")

    with pytest.raises(BenchError, match="Save it as CSV"):
        read_bench(path)


@pytest.mark.parametrize(
    ("text", "percent", "counts", "resolution"),
    [
        ("0.5 % + 2 counts", 0.5, 2, None),
        ("± 0,5 % of reading ± 3 digits", 0.5, 3, None),
        ("1% rdg", 1, 0, None),
        ("2 counts, resolution 10 mV", 0, 2, Q_("10 mV")),
        ("resolution 100 rpm", 0, 0, Q_("100 rpm")),
    ],
)
def test_meter_texts(text, percent, counts, resolution):
    """What meters' manuals say is understood in their usual spellings."""
    assert Meter.from_text(text) == Meter(percent=percent, counts=counts, resolution=resolution)


@pytest.mark.parametrize("text", ["", "good", "0.5", "0.5 % + 2 lunches", "-1 %", "90 %", "resolution 1 glass"])
def test_meter_texts_that_mean_nothing(text):
    """A meter text that is not understood in full is refused, not half used."""
    with pytest.raises(BenchError):
        Meter.from_text(text)


def test_bad_meter_note_is_listed(bench_file):
    """A meter note that cannot be read, or has a resolution in another unit, becomes a problem; the readings stay."""
    record = bench_file(PLAIN.replace("0.5 % + 2 counts", "resolution 1 mA"))

    assert _same(record)
    assert record.meters == {}
    assert record.problems[0].line == 3


def test_record_from_a_notebook_keeps_the_same_rules():
    """Readings typed in a cell pass the same checks as a file's."""
    held = BenchTable(kind="locked rotor", voltage=Q_([0.41, 0.83, 0.9], "V"), current=Q_([148, 0, np.nan], "mA"))
    record = bench_record(held, source="my bench", meters={"ammeter": "1 % + 3 counts"})

    assert len(record.locked_rotor) == 1
    assert [problem.line for problem in record.problems] == [3, 2]
    assert record.meters["current"].counts == 3


@pytest.mark.parametrize(
    "columns",
    [
        {"voltage": Q_([1.0, 2.0], "V")},
        {"voltage": Q_([1.0, 2.0], "V"), "current": Q_([1.0], "A")},
        {"voltage": Q_([1.0], "A"), "current": Q_([1.0], "A")},
        {"voltage": [1.0, 2.0], "current": Q_([1.0, 2.0], "A")},
        {"voltage": Q_([1.0, 2.0], "V"), "current": Q_([1.0, 2.0], "A"), "position": [1.0]},
        {"voltage": Q_([1.0, 2.0], "V"), "current": Q_([1.0, 2.0], "A"), "position": ["a", "b"]},
        {"voltage": Q_([1.0, 2.0], "V"), "current": Q_([1.0, 2.0], "A"), "line": [7]},
    ],
)
def test_table_that_cannot_be_is_refused(columns):
    """A missing column, unequal lengths, bare numbers or a unit of another kind is refused at birth."""
    with pytest.raises(ValueError, match="locked rotor"):
        BenchTable(kind="locked rotor", **columns)


def test_demo_files_are_what_their_script_makes():
    """The demo readings that ship with the kit are the output of the script beside this test, byte for byte."""
    script = Path(__file__).with_name("make_demo_bench.py")
    names = runpy.run_path(str(script))
    for name, make in names["FILES"].items():
        assert (names["FOLDER"] / name).read_text(encoding="utf-8") == make()
