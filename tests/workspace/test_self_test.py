"""The self-test sees what is broken, says what to do, and does not call an option a need."""

from __future__ import annotations

import importlib
import importlib.util
from importlib.metadata import PackageNotFoundError, version

import pytest

from labkit.cli import main
from labkit.workspace import self_test
from labkit.workspace.self_test import _NEEDED

_MODULE = importlib.import_module(self_test.__module__)


def test_a_whole_installation_is_called_whole(tmp_path, capsys):
    """Here everything that lessons need is there; the command says so and ends well."""
    tried = self_test(tmp_path)

    assert tried.whole
    assert {line.what for line in tried.lines if line.needed} == {*_NEEDED, "your folder"}
    assert main(["self-test"]) == 0
    assert capsys.readouterr().out.startswith("✓ The installation is whole.")
    assert list(tmp_path.iterdir()) == []


def test_a_package_that_is_missing_is_named(monkeypatch, tmp_path):
    """One missing package: not whole, the package and the remedy are said, in both forms."""

    def without_pint(name):
        if name == "pint":
            raise PackageNotFoundError(name)
        return version(name)

    monkeypatch.setattr(_MODULE, "version", without_pint)
    tried = self_test(tmp_path)

    assert not tried.whole
    assert tried.verdict == "✗ Not whole: packages. The table says what to do."
    assert "pint is not installed. Install labkit again" in str(tried)
    assert "pint is not installed. Install labkit again" in tried._repr_html_()
    assert (
        str(tried).split("pip install --force-reinstall ")[1].split()[0] == "."
    )  # a name would be fetched from anywhere


def test_a_package_that_is_too_old_is_named(monkeypatch, tmp_path):
    """Its version, and the one that is asked for."""
    monkeypatch.setattr(_MODULE, "version", lambda name: "0.1" if name == "sympy" else version(name))

    assert "sympy must be >=1.13; got 0.1" in str(self_test(tmp_path))


def test_sliders_without_their_half_in_the_browser_are_noticed(monkeypatch, tmp_path):
    """JupyterLab without the widgets' part would show no slider."""
    monkeypatch.setattr("jupyter_core.paths.jupyter_path", lambda *_: [str(tmp_path)])

    assert [line.what for line in self_test(tmp_path).lines if line.needed and not line.works] == ["sliders"]


def test_a_folder_that_takes_no_files_is_noticed(tmp_path):
    """A learner's work could not be kept there."""
    assert self_test(tmp_path / "nowhere").verdict.startswith("✗ Not whole: your folder.")


@pytest.mark.parametrize("missing", ["openpyxl", "numba"])
def test_what_only_some_need_may_be_missing(monkeypatch, tmp_path, missing):
    """It is said what it is for and how to get it, and the installation is whole all the same."""
    real = importlib.util.find_spec
    monkeypatch.setattr(importlib.util, "find_spec", lambda name, *rest: None if name == missing else real(name, *rest))
    tried = self_test(tmp_path)

    assert tried.whole
    assert [line for line in tried.lines if not line.works and "pip install" in line.said]
