"""What a sheet's process gets to see, where nothing shuts it in."""

import ntpath
import os
import posixpath
import sys

import pytest

from labkit.marking import Allowance
from labkit.marking.cold import ColdRunner
from labkit.marking.isolation import child_environment
from labkit.marking.running import Runner, new_runner


@pytest.mark.parametrize("system", [posixpath, ntpath], ids=["unix", "windows"])
def test_its_home_is_its_folder_by_the_rules_of_each_system(monkeypatch, system):
    """As Python itself finds a home on Unix and on Windows: the teacher's own is neither read nor written."""
    for name in set(os.environ):
        monkeypatch.delenv(name)
    for name, value in child_environment("folder-of-the-sheet").items():
        monkeypatch.setenv(name, value)

    assert system.expanduser("~") == "folder-of-the-sheet"


def test_no_other_variable_of_the_teachers_reaches_it(monkeypatch):
    """Passwords and tokens are often kept in the environment."""
    monkeypatch.setenv("MY_TOKEN", "secret")

    assert "secret" not in child_environment("folder").values()


def test_nothing_is_forked_where_a_fork_is_not_safe(monkeypatch):
    """Python's page on multiprocessing calls a fork on macOS unsafe; Windows has none."""
    assert isinstance(new_runner(Allowance(), wall=None), Runner)

    monkeypatch.setattr(sys, "platform", "darwin")
    assert isinstance(new_runner(Allowance(), wall=None), ColdRunner)

    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.delattr(os, "fork")
    assert isinstance(new_runner(Allowance(), wall=None), ColdRunner)
