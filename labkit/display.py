"""Notebook formatters for everything below: the one room that IPython meets."""

from __future__ import annotations

__all__ = ["register"]


def register() -> None:
    """Teach the running notebook to show labkit's results; does nothing outside one."""
