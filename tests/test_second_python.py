"""The core holds on another Python: 3.11 gets one pint, later ones the next, with another unit parser."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
CORE = [
    "numpy", "scipy", "sympy", "pint", "platformdirs", "lazy-loader", "rich", "control", "mpmath",
    "pytest", "pytest-xdist", "hypothesis",
]  # fmt: skip

#: Long, and what they ask of units the others ask too: proofs of each derivation, the oracles of the engine, reviews.
LONG = {"symbolic", "engine", "reviews"}


def _other_python():
    """Return a Python of another version that really starts, or None."""
    for minor in (13, 12, 14, 11):
        if minor == sys.version_info.minor:
            continue
        program = shutil.which(f"python3.{minor}")
        if program and subprocess.run([program, "-c", ""], capture_output=True, check=False).returncode == 0:
            return program
    return None


def test_core_on_a_second_python(tmp_path):
    """The tests marked ``core`` pass in a fresh environment of another Python."""
    program = _other_python()
    if program is None:
        (pytest.fail if os.environ.get("LABKIT_REQUIRE_ALL") == "1" else pytest.skip)(
            "no second Python (3.12 or later)"
        )
    subprocess.run([program, "-m", "venv", tmp_path / "venv"], check=True)
    python = tmp_path / "venv" / ("Scripts" if os.name == "nt" else "bin") / "python"
    subprocess.run([python, "-m", "pip", "install", "-q", "--retries", "10", *CORE], check=True)
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1"}
    tests = set((ROOT / "tests").rglob("test_*.py")) - {Path(__file__)}
    core = [
        path for path in tests if "pytestmark = pytest.mark.core" in path.read_text() and path.parent.name not in LONG
    ]
    run = subprocess.run(
        [python, "-m", "pytest", "-q", "-n", "2", "-p", "no:cacheprovider", *sorted(core)],
        cwd=ROOT, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip

    assert run.returncode == 0, run.stdout[-4000:] + run.stderr[-2000:]
    assert " passed" in run.stdout
