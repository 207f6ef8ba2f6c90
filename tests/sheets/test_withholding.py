"""What an assessed sheet withholds of the kit; tried in a process of its own, since it stays withheld."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from labkit.problems import plan
from labkit.problems.plans import SheetPlan

_TRY = """
import labkit
from IPython.core.interactiveshell import InteractiveShell

InteractiveShell.instance()
{before}
labkit.open_sheet({sheet!r}, bank={bank!r}, assessed={assessed})
try:
    labkit.{function}()
except BaseException as error:
    print(type(error).__name__, error)
"""


def _tried(sheet, function, *, assessed=True, bank="2026-12", before=""):
    program = _TRY.format(sheet=sheet, function=function, assessed=assessed, bank=bank, before=before)
    root = Path(__file__).parents[2]
    run = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True, cwd=root)
    return run.stdout


def test_an_assessed_sheet_withholds_what_it_does_not_allow():
    """A withheld function names itself, the sheet and what may be used; also where its room was loaded before."""
    said = _tried("running-motor", "junction_temperature", before="import labkit.simulation")

    assert "SheetError junction_temperature is withheld where the sheet 'running-motor' is assessed or marked" in said
    assert "you may use operating_point" in said
    assert "Work it by hand." in _tried("generator-action", "check")


@pytest.mark.parametrize(
    ("sheet", "function", "given"),
    [
        ("running-motor", "operating_point", {}),  # a question of it allows this one
        ("running-motor", "junction_temperature", {"assessed": False}),
        ("running-motor", "junction_temperature", {"bank": "2026-11"}),  # it said nothing about the kit
        ("running-motor", "show", {}),  # what a calculator does
    ],
)
def test_what_is_allowed_is_there(sheet, function, given):
    """An allowed function answers by itself: called without arguments it misses them."""
    assert _tried(sheet, function, **given).startswith("TypeError")


def test_a_sheet_whose_questions_say_nothing_allows_all():
    """One question that says nothing leaves the whole kit; else the sheet allows what any of its questions does."""
    november, december = plan("running-motor", "2026-11"), plan("running-motor", "2026-12")

    assert november.kit is None
    assert december.kit == {"operating_point"}
    assert isinstance(december, SheetPlan)
    assert plan("transistor-switch").kit == {"review", "generic_part"}
    assert plan("pin-limits").kit == set()
