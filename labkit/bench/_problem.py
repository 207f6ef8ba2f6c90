"""What could not be used as it stands."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Problem"]


@dataclass(frozen=True, kw_only=True, slots=True)
class Problem:
    """Something in a bench file or record that could not be used as it stands.

    Parameters
    ----------
    source : str
        The file, or the name of the record.
    line : int, optional
        Line of the file, counted from 1.
    column : str
        The header cell, or empty.
    read : str
        What was found.
    expected : str
        What should have been there.
    consequence : str
        What was done about it: a full sentence.
    """

    source: str
    line: int | None = None
    column: str = ""
    read: str
    expected: str
    consequence: str

    def __str__(self) -> str:
        where = ", ".join(
            part
            for part in (
                self.source,
                f"line {self.line}" if self.line else "",
                f"column '{self.column}'" if self.column else "",
            )
            if part
        )
        found = f"read {self.read}, expected" if self.line else f"{self.read}; expected"
        return f"{where}: {found} {self.expected}. {self.consequence}"
