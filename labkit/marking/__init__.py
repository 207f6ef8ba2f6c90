"""Run and mark returned sheets, so that marks stand: whatever a sheet does, it changes no mark but its own.

::

    collecting -> notebooks -> owners -> running -> judging -> register -> reports
    files         code         whose     answers    verdicts   SQLite      pages and tables

``running`` starts ``_child``, which forks a process for each sheet; ``_confine`` shuts it in and ``_cells`` runs it.
Between the two lies one pipe with lines of JSON. What crosses it is data, read with a fixed shape and bounded length:
the judging side never imports, unpickles or evaluates anything that a learner wrote.

The rules of what counts:

- Whose a file is: its metadata, its code and its name may say; when two of them name different learners of the class,
  it is not marked but reported.
- The last answer to a question counts; an empty one takes nothing back. An answer worked with new numbers, from
  ``sheet.again()``, is judged by them, and each question counts at its best attempt; an assessed sheet has only one.
- A cell that wanted a name from further down runs once more at the end; a question cell that became text is run.
- Of several files for one sheet the best counts, of equally good ones the later.
- A sheet is due at the time that ``--due`` says, or at one that the class list gives its learner in a column ``due``;
  of a pair the later holds for both. A date alone is the end of that day. The time holds for what the run marks.
- A file changed after that is marked and noted as late, and keeps the part of its marks that ``--late-keeps`` says:
  all of them where it says nothing.
- Learners whom the class list puts into one pair share their files: each is judged by the numbers of whom it names,
  and the best counts for both. Others who worked together each hand in a sheet of their own, with their own numbers.
- One folder of marks is one class's: a class list of which nobody was in it with the same group is refused.
- A mark set by hand stands, with its reason, however often the sheets are marked again; it is that learner's alone.
- Tries and times are what a learner's own notebook says: the teacher sees them, and no mark depends on them.

On Linux each sheet is shut in by bubblewrap.
Linux without it keeps limits on time, memory and file size, Windows and macOS on time alone.
There sheets run only when ``--without-isolation`` says that they come from people whom the teacher trusts.
"""

from labkit.marking.folder import REGISTER, Marking, Result, mark_folder
from labkit.marking.isolation import Allowance
from labkit.marking.register import Register
from labkit.marking.results import comment_path, write_results

__all__ = [
    "REGISTER",
    "Allowance",
    "Marking",
    "Register",
    "Result",
    "comment_path",
    "mark_folder",
    "write_results",
]
