"""The wheel carries all that an installed kit needs: no repository, no network after the set-up."""

import os
import re
import signal
import subprocess
import sys
import urllib.error
import urllib.request
import zipfile
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]
#: Files of the checkout that are not Python, by where they lie in the wheel.
CARRIED = {
    "labkit/_shipped/notebooks": ("notebooks", "*.ipynb"),
    "labkit/_shipped/exercises": ("exercises", "*.ipynb"),
    "labkit/data": ("labkit/data", "**/*.csv"),
    "labkit/panels": ("labkit/panels", "*.js"),
}


@pytest.fixture(scope="session")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the wheel, built from this checkout by the build tool that is installed, without a network."""
    target = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation", "--no-index"]
    subprocess.run([*build, "--wheel-dir", str(target), str(TOP)], check=True, timeout=600)
    return next(target.glob("labkit-*.whl"))


@pytest.fixture(scope="session")
def names(wheel: Path) -> set[str]:
    """Return the names of all files in the wheel."""
    with zipfile.ZipFile(wheel) as archive:
        return set(archive.namelist())


@pytest.mark.parametrize("place", CARRIED)
def test_the_wheel_carries_what_is_not_python(names: set[str], place: str) -> None:
    """Every lesson, sheet, bench file and script of the checkout is in the wheel."""
    folder, pattern = CARRIED[place]
    wanted = {f"{place}/{path.relative_to(TOP / folder).as_posix()}" for path in (TOP / folder).glob(pattern)}

    assert wanted, f"no {pattern} in {folder}"
    assert wanted <= names


def test_the_wheel_carries_styles_and_type_marks(names: set[str]) -> None:
    """The stylesheets, the figure style, the list of public names and the mark that labkit is typed are there."""
    assert {"labkit/__init__.pyi", "labkit/py.typed", "labkit/data/labkit.mplstyle"} <= names
    assert {f"labkit/panels/{path.name}" for path in (TOP / "labkit/panels").glob("*.css")} <= names


def test_the_wheel_carries_nothing_of_the_workshop(names: set[str]) -> None:
    """No tests, no check-points of an editor, no caches."""
    stray = [name for name in names if re.search(r"checkpoints|__pycache__|(^|/)tests/|\.ipynb_|/\.", name)]

    assert stray == []


@pytest.mark.slow
def test_an_installed_kit_starts_without_its_checkout(wheel: Path, tmp_path: Path) -> None:
    """In an environment of its own, ``labkit start`` fills a folder, serves it behind a token and ends on Ctrl-C."""
    subprocess.run([sys.executable, "-m", "venv", str(tmp_path / "venv")], check=True, timeout=120)
    python = tmp_path / "venv" / "bin" / "python"
    subprocess.run([python, "-m", "pip", "install", "--quiet", str(wheel)], check=True, timeout=600)
    home = {"HOME": str(tmp_path / "home"), "PATH": os.environ["PATH"]}
    command = [python.with_name("labkit"), "start", "mine", "--no-browser"]
    with subprocess.Popen(command, cwd=tmp_path, env=home, stdout=subprocess.PIPE, text=True) as server:
        try:
            address = next(m[0] for line in server.stdout or () if (m := re.search(r"http://\S+", line)))
            with pytest.raises(urllib.error.HTTPError, match="403"):
                urllib.request.urlopen(address.partition("/lab")[0] + "/api/contents", timeout=30)
            with urllib.request.urlopen(address, timeout=30) as page:
                assert b"JupyterLab" in page.read()
            server.send_signal(signal.SIGINT)
            assert server.wait(timeout=30) == 0
        finally:
            server.kill()

    lessons = {path.name for path in (tmp_path / "mine/notebooks").glob("*.ipynb")}
    assert lessons == {path.name for path in (TOP / "notebooks").glob("*.ipynb")}
    assert "labkit" not in {path.name for path in (tmp_path / "mine").iterdir()}
