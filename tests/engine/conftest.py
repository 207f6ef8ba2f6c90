"""The engine's tests share one independent integrator."""

from __future__ import annotations

import importlib.util
import pathlib

import pytest


@pytest.fixture(scope="session")
def oracle():
    """The module beside this file that integrates the same circuit with an ODE solver."""
    spec = importlib.util.spec_from_file_location("engine_oracle", pathlib.Path(__file__).with_name("oracle.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
