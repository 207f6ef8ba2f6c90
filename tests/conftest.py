"""What every test may ask for."""

from __future__ import annotations

import os
import shutil
from collections.abc import Callable

import pytest


@pytest.fixture(scope="session")
def needs() -> Callable[[str], str]:
    """Return a function that finds a program, and skips where it is missing.

    With ``LABKIT_REQUIRE_ALL=1`` in the environment, as in CI, a missing program is a failure.
    """

    def find(program: str) -> str:
        path = shutil.which(program)
        if path is None:
            reason = f"{program} is not on this machine"
            (pytest.fail if os.environ.get("LABKIT_REQUIRE_ALL") == "1" else pytest.skip)(reason)
        return str(path)

    return find
