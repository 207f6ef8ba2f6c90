"""Makes ``pairs``, which the tests of both routes share, importable: test folders are not packages."""

from __future__ import annotations

import importlib.util
import pathlib
import sys

_SPEC = importlib.util.spec_from_file_location("pairs", pathlib.Path(__file__).with_name("pairs.py"))
sys.modules["pairs"] = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(sys.modules["pairs"])
