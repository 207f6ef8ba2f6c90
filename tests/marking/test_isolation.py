"""What a sheet's process gets to see, where nothing shuts it in."""

import ntpath
import os
import posixpath

import pytest

from labkit.marking.isolation import child_environment


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
