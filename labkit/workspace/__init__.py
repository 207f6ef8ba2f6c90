"""A learner's own folder: lessons, sheets and bench files put into it, and JupyterLab opened there.

Three rules hold at every start, also after one that was killed half-way:

1. What a learner changed stays as it is; a newer version from labkit is put beside it, under a name of its own.
2. What a learner did not change is renewed when labkit has a newer version.
3. A file is there whole or not at all.
"""

from labkit.workspace.folder import FolderReport, prepare_folder
from labkit.workspace.self_test import SelfTest, self_test
from labkit.workspace.server import serve

__all__ = ["FolderReport", "SelfTest", "prepare_folder", "self_test", "serve"]
