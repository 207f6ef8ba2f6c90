"""Run and mark returned sheets, so that marks stand: whatever a sheet does, it changes no mark but its own.

::

    collecting -> notebooks -> owners -> running -> judging -> register -> reports
    files         code         whose     answers    verdicts   SQLite      pages and tables

``running`` starts ``_child``, which forks a process for each sheet; ``_confine`` shuts it in and ``_cells`` runs it.
Between the two lies one pipe with lines of JSON. What crosses it is data, read with a fixed shape and bounded length:
the judging side never imports, unpickles or evaluates anything that a learner wrote.
"""

from labkit.marking.folder import REGISTER, Marking, Result, comment_path, mark_folder, write_reports
from labkit.marking.isolation import Allowance
from labkit.marking.register import Register

__all__ = [
    "REGISTER",
    "Allowance",
    "Marking",
    "Register",
    "Result",
    "comment_path",
    "mark_folder",
    "write_reports",
]
