"""A learner's folder is filled, renewed and repaired, and no work in it is ever lost."""

import errno
import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labkit.errors import FolderError
from labkit.workspace import prepare_folder
from labkit.workspace.shipped import shipped_files

LESSON = "notebooks/03-generator.ipynb"
SHEET = "exercises/03-generator.ipynb"


class Kit:
    """What a version of the kit ships, as real files in a folder of their own."""

    def __init__(self, home: Path) -> None:
        self.home = home

    def ship(self, **contents: str) -> dict[str, Path]:
        """Return files with these contents, given by room (``notebooks="version 1"``)."""
        files = {}
        for room, text in contents.items():
            path = self.home / room / "03-generator.ipynb"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text)
            files[f"{room}/03-generator.ipynb"] = path
        return files


@pytest.fixture
def kit(tmp_path: Path) -> Kit:
    """A kit whose shipped files a test may write."""
    return Kit(tmp_path / "kit")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A learner's folder that is not there yet, with a space in its name."""
    return tmp_path / "lessons of mine"


def test_a_new_folder_gets_every_file_and_says_so(kit: Kit, folder: Path) -> None:
    """The first start makes the folder, fills it and names what it put there."""
    report = prepare_folder(folder, kit.ship(notebooks="lesson 1", exercises="sheet 1"))

    assert (folder / LESSON).read_text() == "lesson 1"
    assert (folder / SHEET).read_text() == "sheet 1"
    assert report.new == (LESSON, SHEET)
    assert report.first_lesson == LESSON
    assert report.sentences() == [f"Your folder: {folder}", "New in it: 1 lesson, 1 sheet."]


def test_a_second_start_changes_nothing(kit: Kit, folder: Path) -> None:
    """With the same version, no file is touched and the report says that nothing had to be added."""
    prepare_folder(folder, kit.ship(notebooks="lesson 1"))
    before = (folder / LESSON).stat().st_mtime_ns

    report = prepare_folder(folder, kit.ship(notebooks="lesson 1"))

    assert (folder / LESSON).stat().st_mtime_ns == before
    assert (report.new, report.renewed, report.kept, report.beside) == ((), (), (), ())
    assert "Nothing had to be added." in report.sentences()


def test_an_unchanged_lesson_is_renewed(kit: Kit, folder: Path) -> None:
    """A lesson that nobody changed becomes the newer version, and the report says why that was right."""
    prepare_folder(folder, kit.ship(notebooks="lesson 1"))

    report = prepare_folder(folder, kit.ship(notebooks="lesson 2"))

    assert (folder / LESSON).read_text() == "lesson 2"
    assert report.renewed == (LESSON,)
    assert f"Renewed, as you had not changed them: {LESSON}." in report.sentences()


def test_a_changed_lesson_stays_and_the_newer_one_is_put_beside_it_once(kit: Kit, folder: Path) -> None:
    """The learner's version keeps its name; the newer one gets a name of its own, and comes but once."""
    prepare_folder(folder, kit.ship(notebooks="lesson 1"))
    (folder / LESSON).write_text("my notes")
    beside = folder / "notebooks/03-generator.newer.ipynb"

    report = prepare_folder(folder, kit.ship(notebooks="lesson 2"))

    assert (folder / LESSON).read_text() == "my notes"
    assert beside.read_text() == "lesson 2"
    assert report.kept == (LESSON,)
    assert report.beside == ("notebooks/03-generator.newer.ipynb",)
    assert f"Newer versions, put beside yours: {report.beside[0]}." in report.sentences()

    beside.unlink()  # the learner does not want it
    assert prepare_folder(folder, kit.ship(notebooks="lesson 2")).beside == ()
    assert not beside.exists()


def test_a_newer_version_that_was_worked_on_is_not_overwritten_either(kit: Kit, folder: Path) -> None:
    """A third version finds both earlier names taken by the learner's work and takes the next free one."""
    prepare_folder(folder, kit.ship(notebooks="lesson 1"))
    (folder / LESSON).write_text("my notes")
    prepare_folder(folder, kit.ship(notebooks="lesson 2"))
    (folder / "notebooks/03-generator.newer.ipynb").write_text("more notes")

    report = prepare_folder(folder, kit.ship(notebooks="lesson 3"))

    assert (folder / LESSON).read_text() == "my notes"
    assert (folder / "notebooks/03-generator.newer.ipynb").read_text() == "more notes"
    assert report.beside == ("notebooks/03-generator.newer-2.ipynb",)
    assert (folder / report.beside[0]).read_text() == "lesson 3"


def test_a_changed_lesson_without_a_newer_version_gets_no_copy(kit: Kit, folder: Path) -> None:
    """Working on a lesson and starting again with the same version adds nothing beside it."""
    prepare_folder(folder, kit.ship(notebooks="lesson 1"))
    (folder / LESSON).write_text("my notes")

    report = prepare_folder(folder, kit.ship(notebooks="lesson 1"))

    assert report.kept == (LESSON,)
    assert sorted(p.name for p in (folder / "notebooks").iterdir()) == ["03-generator.ipynb"]


def test_a_deleted_lesson_comes_back(kit: Kit, folder: Path) -> None:
    """Deleting a lesson is the way to a fresh copy of it."""
    prepare_folder(folder, kit.ship(notebooks="lesson 1"))
    (folder / LESSON).unlink()

    assert prepare_folder(folder, kit.ship(notebooks="lesson 1")).new == (LESSON,)
    assert (folder / LESSON).read_text() == "lesson 1"


def test_a_file_that_was_there_first_is_kept(kit: Kit, folder: Path) -> None:
    """A file of the learner's own that happens to have a lesson's name is never replaced."""
    (folder / "notebooks").mkdir(parents=True)
    (folder / LESSON).write_text("older than labkit")

    prepare_folder(folder, kit.ship(notebooks="lesson 1"))

    assert (folder / LESSON).read_text() == "older than labkit"
    assert (folder / "notebooks/03-generator.newer.ipynb").read_text() == "lesson 1"


def test_a_link_to_nowhere_is_not_replaced(kit: Kit, folder: Path) -> None:
    """What is no plain file under a lesson's name is the learner's as well."""
    (folder / "notebooks").mkdir(parents=True)
    (folder / LESSON).symlink_to(folder / "gone")

    prepare_folder(folder, kit.ship(notebooks="lesson 1"))

    assert (folder / LESSON).is_symlink()
    assert (folder / "notebooks/03-generator.newer.ipynb").read_text() == "lesson 1"


@pytest.mark.parametrize("damage", ["", "{", "[]", '{"files": 3}', '{"files": {"a": {}}}', "\xff\x00"])
def test_a_damaged_record_costs_no_work(kit: Kit, folder: Path, damage: str) -> None:
    """Where the record of hashes cannot be read, every file that differs is taken for the learner's."""
    prepare_folder(folder, kit.ship(notebooks="lesson 1", exercises="sheet 1"))
    (folder / LESSON).write_text("my notes")
    (folder / ".labkit/shipped.json").write_bytes(damage.encode("latin-1"))

    report = prepare_folder(folder, kit.ship(notebooks="lesson 2", exercises="sheet 2"))

    assert (folder / LESSON).read_text() == "my notes"
    assert (folder / SHEET).read_text() == "sheet 1"
    assert len(report.beside) == 2
    assert json.loads((folder / ".labkit/shipped.json").read_text())["files"].keys() == {LESSON, SHEET}


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(["write", "delete", "release", "start", "start", "lose record"]), max_size=14))
def test_no_order_of_events_loses_what_a_learner_wrote(
    tmp_path_factory: pytest.TempPathFactory, events: list[str]
) -> None:
    """However edits, deletions, new versions and starts follow each other, the learner's last text is there."""
    home = tmp_path_factory.mktemp("any")
    folder, kit, version, mine = home / "mine", Kit(home / "kit"), 1, None
    prepare_folder(folder, kit.ship(notebooks="lesson 1"))
    for number, event in enumerate(events):
        if event == "write":
            mine = f"my notes {number}"
            (folder / LESSON).write_text(mine)
        elif event == "delete":
            (folder / LESSON).unlink(missing_ok=True)
            mine = None
        elif event == "release":
            version += 1
        elif event == "lose record":
            (folder / ".labkit/shipped.json").unlink(missing_ok=True)
        else:
            prepare_folder(folder, kit.ship(notebooks=f"lesson {version}"))
        if mine is not None:
            assert (folder / LESSON).read_text() == mine
    prepare_folder(folder, kit.ship(notebooks=f"lesson {version}"))

    texts = {path.read_text() for path in (folder / "notebooks").iterdir()}
    assert mine is None or mine in texts
    assert all(text.startswith(("lesson ", "my notes ")) for text in texts)


# --- folders that cannot be -----------------------------------------------------------------------


def test_a_file_in_the_way_is_named(kit: Kit, tmp_path: Path) -> None:
    """Where the folder, one above it or one inside it is a file, the error names that file and what to do."""
    (tmp_path / "taken").write_text("a file")
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine/notebooks").write_text("a file")

    for folder, named in [
        (tmp_path / "taken", "taken"),
        (tmp_path / "taken/deep/er", "taken"),
        (tmp_path / "mine", "mine/notebooks"),
    ]:
        with pytest.raises(FolderError) as caught:
            prepare_folder(folder, kit.ship(notebooks="lesson 1"))
        assert str(caught.value).startswith(f"{tmp_path / named} is a file where a folder is needed.")
        assert "labkit start FOLDER" in str(caught.value)
    assert (tmp_path / "taken").read_text() == "a file"


def _in_a_child(script: str, *arguments: str, before: str = "") -> subprocess.CompletedProcess[str]:
    """Run *script* in a Python of its own, where limits on it cannot hurt the test run."""
    code = f"{before}\nfrom pathlib import Path\nimport sys\nfrom labkit.workspace import prepare_folder\n{script}"
    command = [sys.executable, "-c", code, *arguments]
    return subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)


def test_a_folder_that_may_not_be_written_is_refused_with_a_reason(kit: Kit, tmp_path: Path) -> None:
    """In a read-only folder nothing is done, and the sentence says that another one is needed."""
    shut = tmp_path / "shut"
    shut.mkdir()
    shut.chmod(0o555)
    files = kit.ship(notebooks="lesson 1")
    if os.geteuid() == 0:  # root may write anywhere but where the system itself refuses
        shut = Path("/sys/kernel")
        if not shut.is_dir():
            pytest.skip("root may write everywhere here")

    with pytest.raises(FolderError, match=r"cannot be read or written\. .* Nothing of yours was changed\. Choose"):
        prepare_folder(shut / "mine", files)


def test_a_file_that_cannot_be_finished_leaves_the_old_one_whole(kit: Kit, folder: Path) -> None:
    """When a write fails half-way, the older file stays as it was and no remains of the newer one are left."""
    prepare_folder(folder, kit.ship(notebooks="lesson 1"))
    source = kit.ship(notebooks="x" * 100_000)[LESSON]

    result = _in_a_child(
        "prepare_folder(Path(sys.argv[1]), {sys.argv[2]: Path(sys.argv[3])})", str(folder), LESSON, str(source),
        before="import resource; resource.setrlimit(resource.RLIMIT_FSIZE, (50_000, 50_000))",
    )  # fmt: skip

    assert "FolderError: There is no room left on the disk" in result.stderr
    assert (folder / LESSON).read_text() == "lesson 1"
    assert [p.name for p in (folder / "notebooks").iterdir()] == ["03-generator.ipynb"]
    assert prepare_folder(folder, kit.ship(notebooks="x" * 100_000)).renewed == (LESSON,)


def test_a_full_disk_is_said_to_be_full(kit: Kit, tmp_path: Path) -> None:
    """On a file system without room the sentence says so, and what was there is unharmed."""
    small = tmp_path / "small"
    small.mkdir()
    mount = ["unshare", "-rm", "sh", "-c", 'mount -t tmpfs -o size=64k none "$0" && exec "$@"', str(small)]
    if shutil.which("unshare") is None or subprocess.run([*mount, "true"], check=False, capture_output=True).returncode:
        pytest.skip("no small file system can be mounted here")
    source = kit.ship(notebooks="x" * 200_000)[LESSON]
    script = (
        "import sys; from pathlib import Path; from labkit.workspace import prepare_folder; "
        "here = Path(sys.argv[1]); (here / 'notebooks').mkdir(); (here / 'notebooks/mine.txt').write_text('mine')\n"
        "try: prepare_folder(here, {sys.argv[2]: Path(sys.argv[3])})\n"
        "except Exception as error: print(type(error).__name__, error)\n"
        "print([p.name for p in (here / 'notebooks').iterdir()], (here / 'notebooks/mine.txt').read_text())"
    )

    result = subprocess.run(
        [*mount, sys.executable, "-c", script, str(small), LESSON, str(source)],
        capture_output=True, text=True, check=False, timeout=300,
    )  # fmt: skip

    sentence = (
        f"There is no room left on the disk for {small}. Nothing of yours was changed. Free some and start again."
    )
    assert result.stdout.splitlines() == [f"FolderError {sentence}", "['mine.txt'] mine"], result.stderr


def test_a_bench_file_that_is_open_in_a_spreadsheet_is_named(kit: Kit, folder: Path, monkeypatch) -> None:
    """On Windows a file that is held cannot be renewed: it is named, not its draft, and stays until it is closed."""
    prepare_folder(folder, kit.ship(notebooks="lesson 1"))
    newer, put = kit.ship(notebooks="lesson 2"), Path.replace

    def replace(path: Path, target: Path) -> Path:
        if target == folder / LESSON:
            raise PermissionError(errno.EACCES, "Access is denied", str(path), None, str(target))
        return put(path, target)

    with monkeypatch.context() as windows:
        windows.setattr(Path, "replace", replace)
        with pytest.raises(FolderError) as caught:
            prepare_folder(folder, newer)

    assert str(caught.value).startswith(f"{folder / LESSON} cannot be read or written. If another program has it open")
    assert (folder / LESSON).read_text() == "lesson 1"
    assert [path.name for path in (folder / "notebooks").iterdir()] == ["03-generator.ipynb"]
    assert prepare_folder(folder, newer).renewed == (LESSON,)


# --- killed half-way ------------------------------------------------------------------------------


def _visible(folder: Path) -> list[Path]:
    return [path for path in folder.glob("notebooks/*") if not path.name.startswith(".")]


def _kill_at(files: int, folder: Path, home: Path) -> bool:
    """Fill *folder* from *home* in a child, kill it once so many files are there; return whether that was in time."""
    script = (
        "import sys; from pathlib import Path; from labkit.workspace import prepare_folder; "
        "home = Path(sys.argv[2]); print('ready', flush=True); "
        "prepare_folder(Path(sys.argv[1]), {f'notebooks/{p.name}': p for p in sorted(home.iterdir())})"
    )
    command = [sys.executable, "-c", script, str(folder), str(home)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as child:
        assert child.stdout is not None
        child.stdout.readline()
        while child.poll() is None and len(_visible(folder)) < files:
            time.sleep(0.001)
        child.kill()
        return child.wait() == -signal.SIGKILL


@pytest.mark.parametrize("kills", [4, pytest.param(40, marks=pytest.mark.slow)])
def test_a_start_that_was_killed_is_repaired_by_the_next(tmp_path: Path, kills: int) -> None:
    """Wherever the kill falls, every visible file is whole and the next start completes the folder."""
    home, folder = tmp_path / "kit", tmp_path / "mine"
    home.mkdir()
    for number in range(60):
        (home / f"{number:02d}-lesson.ipynb").write_text(f"lesson {number} " * 20_000)
    shipped = {f"notebooks/{path.name}": path for path in home.iterdir()}
    interrupted = 0
    for number in range(kills):
        shutil.rmtree(folder, ignore_errors=True)
        interrupted += _kill_at(60 * number // kills, folder, home)
        visible = _visible(folder)
        assert all(path.read_bytes() == shipped[f"notebooks/{path.name}"].read_bytes() for path in visible)

        prepare_folder(folder, shipped)

        assert {path.name for path in folder.glob("notebooks/*")} == {path.name for path in home.iterdir()}
    assert interrupted > 0, "no kill came before the end"


# --- what is really shipped -----------------------------------------------------------------------


def test_the_kits_own_files_reach_the_folder(folder: Path) -> None:
    """Every lesson and sheet of this checkout is copied byte for byte, and the first lesson is the first by name."""
    top = Path(__file__).parents[2]
    wanted = {
        f"{room}/{path.name}": path.read_bytes()
        for room in ("notebooks", "exercises")
        for path in (top / room).glob("*.ipynb")
    }

    report = prepare_folder(folder)

    assert wanted
    assert {name: (folder / name).read_bytes() for name in wanted} == wanted
    assert report.first_lesson == min(name for name in wanted if name.startswith("notebooks/"))
    assert set(report.new) == set(shipped_files())
