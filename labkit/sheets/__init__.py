"""A learner's own sheet: opened in a notebook, written from a class list, and drawn again for marking.

The contract between sheets, lessons and marking is in the developers' page.
"""

from labkit.problems import PRACTICE_KEY
from labkit.sheets.classlist import Learner, read_class_list
from labkit.sheets.keys import new_key, read_key
from labkit.sheets.notebook import sheet_notebook, sheet_opening, write_practice_sheets, write_sheets
from labkit.sheets.opening import open_sheet, personal_sheet
from labkit.sheets.sheet import Sheet
from labkit.sheets.withholding import withhold

__all__ = [
    "PRACTICE_KEY",
    "Learner",
    "Sheet",
    "new_key",
    "open_sheet",
    "personal_sheet",
    "read_class_list",
    "read_key",
    "sheet_notebook",
    "sheet_opening",
    "withhold",
    "write_practice_sheets",
    "write_sheets",
]
