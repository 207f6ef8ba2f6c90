"""The command line, whatever it writes to and whenever it is stopped: a sentence, no traceback, and no work lost."""

import errno
import io
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

import labkit
from labkit.bench import demo_bench
from labkit.cli import main
from labkit.cli._say import speak_anywhere

LABKIT = [sys.executable, "-m", "labkit"]


ROOT = Path(labkit.__file__).parent
DESIGN = str(ROOT / "data/designs/desk_wind_tunnel.toml")


class Terminal(io.TextIOWrapper):
    """A standard output of some encoding, in this process."""

    def __init__(self, encoding: str, raw: io.RawIOBase | None = None) -> None:
        self.raw_bytes = io.BytesIO()
        super().__init__(io.BufferedWriter(raw) if raw else self.raw_bytes, encoding=encoding)

    def shown(self) -> str:
        """Return what a person sees."""
        self.flush()
        return self.raw_bytes.getvalue().decode(self.encoding)


@pytest.fixture
def terminal(monkeypatch):
    """Return a function that makes a terminal of some encoding the standard output."""

    def make(encoding, raw=None):
        made = Terminal(encoding, raw)
        monkeypatch.setattr(sys, "stdout", made)
        return made

    return make


@pytest.mark.parametrize(
    "command",
    [
        ["fit", str(demo_bench())],
        ["fit", str(ROOT / "data/bench/drive_parts.csv")],
        ["procedure", "resistance"],
        ["room", str(ROOT / "data/bench")],
        ["review", DESIGN],
        ["first-power", DESIGN],
        ["shopping", DESIGN],
        ["diagnose", DESIGN, "--symptom", "does not turn"],
        ["self-test"],
    ],
    ids=" ".join,
)
def test_a_terminal_without_our_signs_gets_plain_ones(terminal, command):
    """What Windows and old terminals write with knows no ω or ⁻⁷: each has a plain form, and nothing stops."""
    shown = {}
    for encoding in ("utf-8", "ascii", "cp437", "cp850", "cp1252"):
        out = terminal(encoding)
        status = main(command)
        shown[encoding] = status, out.shown().count("?")

    assert out.shown().strip()
    assert len(set(shown.values())) == 1, shown


def test_every_sign_of_ours_has_a_plain_form(terminal):
    """Not one that a table of the bench, a report or an error may hold ends as a question mark."""
    texts = [path.read_text(encoding="utf-8") for path in ROOT.rglob("*") if path.suffix in {".py", ".toml", ".csv"}]
    signs = {sign for text in texts for sign in text if not sign.isascii()}
    drawn_with = set("─│┌┐└┘├┤┬┴┼━😀✎∫≫")  # in docstrings, and on pages, which are UTF-8 everywhere
    out = terminal("ascii")

    speak_anywhere()
    out.write("".join(signs - drawn_with))

    assert signs > {"Ω", "⁻", "½"}
    assert "?" not in out.shown()


@pytest.mark.parametrize(
    ("encoding", "text", "seen"),
    [
        ("ascii", "2.80 Ω ± 27 mΩ, 12\u202f300 rpm", "2.80 ohm +/- 27 mohm, 12 300 rpm"),
        ("ascii", "1.20 × 10⁻⁷ kg·m²", "1.20 x 10^-7 kg*m^2"),
        ("cp1252", "470 µA ± 5 µA, √½ Ω, 4 °C", "470 µA ± 5 µA, sqrt½ ohm, 4 °C"),
        ("cp437", "10⁶ Ω, Δω → ∞", "10^6 Ω, deltaomega -> ∞"),
        ("cp850", "λ ≤ 3, Zoë ✓", "lamda <= 3, Zoë ok"),
        ("ascii", "日本.csv", "??.csv"),
    ],
)  # fmt: skip
def test_how_signs_are_written_plainly(terminal, encoding, text, seen):
    """Powers keep their meaning, Greek letters their names; a sign that nobody thought of is a question mark."""
    out = terminal(encoding)

    speak_anywhere()
    out.write(text)

    assert out.shown() == seen


def test_a_program_of_its_own_speaks_as_this_one(tmp_path):
    """The same through a real pipe, with the encoding that the environment names, on both streams."""
    told = subprocess.run(
        [*LABKIT, "fit", "Ω.csv"], capture_output=True, check=False, timeout=300, cwd=tmp_path,
        env=os.environ | {"PYTHONIOENCODING": "ascii"},
    )  # fmt: skip

    assert (told.returncode, told.stderr.strip()) == (1, b"labkit: No such file or directory: ohm.csv")


def test_the_list_of_names_is_the_same_in_every_code():
    """The lazy loader reads it in the machine's own: on Windows one sign beyond ASCII might end every import."""
    assert (ROOT / "__init__.pyi").read_bytes().isascii()


# --- streams that end -----------------------------------------------------------------------------


@pytest.mark.parametrize("command", [["--help"], ["fit", "--help"], ["procedure"]], ids=" ".join)
def test_whoever_has_read_enough_sees_no_error(command):
    """``labkit --help | head``: the pipe is closed before anything is written."""
    buffered = {name: value for name, value in os.environ.items() if name != "PYTHONUNBUFFERED"}
    reader, writer = os.pipe()
    os.close(reader)
    with os.fdopen(writer, "wb") as nobody_reads:
        run = subprocess.run(
            [*LABKIT, *command], stdout=nobody_reads, stderr=subprocess.PIPE, env=buffered, check=False, timeout=300
        )

    assert (run.returncode, run.stderr) == (1, b"")


class _GoneOnWindows(io.RawIOBase):
    """A pipe whose reader has gone, as Windows tells of it: CPython's own subprocess says so at ``_stdin_write``."""

    def __init__(self, pipe: int) -> None:
        super().__init__()
        self._pipe, self._is = pipe, os.fstat(pipe).st_ino

    def writable(self) -> bool:
        return True

    def fileno(self) -> int:
        return self._pipe

    def write(self, data: bytes) -> int:
        if os.fstat(self._pipe).st_ino == self._is:
            raise OSError(errno.EINVAL, os.strerror(errno.EINVAL))
        return os.write(self._pipe, data)  # something else has taken its place


def test_on_windows_a_broken_pipe_is_an_invalid_argument(terminal, tmp_path, capsys):
    """It has another name there, and is no more an error than elsewhere."""
    with (tmp_path / "pipe").open("wb") as pipe:
        out = terminal("utf-8", _GoneOnWindows(pipe.fileno()))

        assert main(["procedure"]) == 1
        assert capsys.readouterr().err == ""
        out.detach()


def test_an_error_that_is_no_ones_file_is_not_hushed_up(monkeypatch):
    """Only when the output itself cannot be written is an invalid argument passed over."""

    def fails(_: Path) -> None:
        raise OSError(errno.EINVAL, "from somewhere else")

    monkeypatch.setattr(Path, "read_bytes", fails)
    with pytest.raises(OSError, match="from somewhere else"):
        main(["fit", str(demo_bench())])


# --- stopped, full, locked ------------------------------------------------------------------------


@pytest.mark.skipif(os.name != "posix", reason="a pipe with a name, to know when it reads")
def test_stopped_by_hand_it_says_so(tmp_path):
    """Ctrl-C while a file is read: one word and the status that shells expect."""
    os.mkfifo(tmp_path / "slow.csv")
    with (
        subprocess.Popen([*LABKIT, "fit", str(tmp_path / "slow.csv")], stderr=subprocess.PIPE, text=True) as run,
        (tmp_path / "slow.csv").open("w"),  # opens once the command reads it
    ):
        run.send_signal(signal.SIGINT)
        _, said = run.communicate(timeout=300)

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


def test_a_file_that_another_program_holds_is_told_with_what_to_do(tmp_path, monkeypatch, capsys):
    """On Windows a spreadsheet keeps others from writing what it has open; here the system's refusal is imitated."""
    page = tmp_path / "mine.html"
    page.write_text("<!doctype html>earlier", encoding="utf-8")

    def refuses(path: Path, *_arguments: object, **_options: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    monkeypatch.setattr(Path, "write_text", refuses)

    assert main(["fit", str(demo_bench()), "--page", str(page)]) == 1
    assert capsys.readouterr().err == (
        f"labkit: Permission denied: {page}. "
        "If another program has it open, such as a spreadsheet, close it there and try again.\n"
    )
    assert page.read_text(encoding="utf-8") == "<!doctype html>earlier"


def test_a_folder_in_the_place_of_a_file_is_told_on_windows_too(tmp_path, monkeypatch, capsys):
    """Linux says that it is a folder; Windows only that access is denied, which is imitated here."""
    assert main(["fit", str(tmp_path)]) == 1
    assert capsys.readouterr().err == f"labkit: Is a directory: {tmp_path}\n"

    def refuses(path: Path) -> None:
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    monkeypatch.setattr(Path, "read_bytes", refuses)
    assert main(["fit", str(tmp_path)]) == 1
    assert "It is a folder: where a file is asked for, name one." in capsys.readouterr().err
