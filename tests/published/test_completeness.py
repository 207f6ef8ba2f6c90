"""No published case is left aside."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

pytestmark = pytest.mark.core

HERE = Path(__file__).parent


def test_every_case_is_compared_somewhere_and_names_a_source():
    """Each case of the collection is used by a test of this folder, and its source is described."""
    cases = json.loads((HERE / "cases.json").read_text(encoding="utf-8"))
    sources = json.loads((HERE / "sources.json").read_text(encoding="utf-8"))
    tests = "".join(path.read_text(encoding="utf-8") for path in HERE.glob("test_*.py"))
    sheets = (HERE / "motors.json").read_text(encoding="utf-8")

    assert len(cases) == 86
    assert sum(len(case["figures"]) for case in cases) > 400
    for case in cases:
        assert f'"{case["id"]}"' in tests + sheets, case["id"]
        assert case["source"] in sources, case["id"]
        assert case["trust"][0] in "ABCD", case["id"]
