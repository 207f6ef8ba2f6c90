"""Handouts: a lesson or a sheet on paper, for the learner with blanks, for the teacher with answers."""

from labkit.handouts.document import COPIES, Handout, handouts
from labkit.handouts.files import find_notebook, write_handout
from labkit.handouts.paper import pdf, printer

__all__ = ["COPIES", "Handout", "find_notebook", "handouts", "pdf", "printer", "write_handout"]
