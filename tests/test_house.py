"""The house rules that tools can hold: style, types, rooms, and the public names."""

from __future__ import annotations

import ast
import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import labkit

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "notebooks", "labkit", "tests", "exercises"}


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
        ["lint-imports", "--no-cache"],
    ],
    ids=" ".join,
)
def test_tools_find_nothing(command):
    """Ruff, mypy and import-linter are clean, as the developers' guide says they are."""
    program = Path(sys.executable).parent / command[0]
    run = subprocess.run([program, *command[1:]], cwd=ROOT, capture_output=True, text=True, check=False)

    assert run.returncode == 0, run.stdout + run.stderr


def test_the_rooms_would_be_missed(tmp_path):
    """The contracts can fail: a kernel that imports pint breaks them."""
    copy = tmp_path / "labkit"
    shutil.copytree(ROOT / "labkit", copy, ignore=shutil.ignore_patterns("__pycache__"))  # others write there just now
    (copy / "_kernels" / "spoilt.py").write_text("import pint\n")
    (tmp_path / "pyproject.toml").write_text((ROOT / "pyproject.toml").read_text())
    linter = Path(sys.executable).parent / "lint-imports"
    run = subprocess.run([linter], cwd=tmp_path, capture_output=True, text=True, check=False)

    assert run.returncode == 1
    assert "Kernels know numpy and scipy only BROKEN" in run.stdout


def _tracked():
    listing = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listing.returncode:
        pytest.skip("not a git checkout")
    return [Path(name) for name in listing.stdout.split("\0") if name]


def test_the_top_level_is_what_was_agreed():
    """Nothing else is visible at the top."""
    visible = {path.parts[0] for path in _tracked() if not path.parts[0].startswith(".")}

    assert visible <= TOP_LEVEL


def test_notebooks_carry_no_outputs():
    """Outputs and execution counts are stripped from every notebook that is kept."""
    notebooks = [path for path in _tracked() if path.suffix == ".ipynb" and "tests" not in path.parts]
    for path in notebooks:
        cells = json.loads((ROOT / path).read_text(encoding="utf-8"))["cells"]
        assert not any(cell.get("outputs") or cell.get("execution_count") for cell in cells), path
    assert notebooks


def test_modules_stay_readable():
    """No module of the package is longer than 300 lines, and no function, its docstring left out, than 65."""
    for path in (ROOT / "labkit").rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        assert len(text.splitlines()) <= 300, path
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.FunctionDef):
                doc = ast.get_docstring(node, clean=False) or ""
                assert node.end_lineno - node.lineno - doc.count("\n") <= 65, f"{path}:{node.name}"


def test_every_public_name_can_be_had_and_says_what_it_is():
    """Each name that the package promises exists, and is documented; an alias of another library's type need not be."""
    assert len(labkit.__all__) > 50
    for name in set(labkit.__all__) - {"Quantity"}:
        assert getattr(labkit, name).__doc__, name
    assert labkit.Quantity
