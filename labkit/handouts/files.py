"""Which notebook a name stands for, and handouts written to a folder, never over another file unasked."""

from __future__ import annotations

from pathlib import Path

from labkit.errors import HandoutError
from labkit.handouts.document import Handout
from labkit.handouts.paper import pdf
from labkit.workspace.shipped import shipped_files

__all__ = ["find_notebook", "write_handout"]


def find_notebook(name: str, *, sheet: bool = False) -> Path:
    """Return the notebook that a person means: a file, or one of the kit's own by number or name.

    Parameters
    ----------
    name : str
        ``"3"``, ``"generator-action"`` or a path.
    sheet : bool
        The homework sheet of that lesson, not the lesson.

    Raises
    ------
    HandoutError
        Lists what there is.
    """
    path = Path(name)
    if path.suffix == ".ipynb":
        if not path.is_file():
            raise HandoutError(f"There is no file {name}. Check the path, or name a lesson by its number.")
        return path
    room = "exercises" if sheet else "notebooks"
    known = {
        Path(file).stem: where
        for file, where in shipped_files().items()
        if file.startswith(f"{room}/") and file.endswith(".ipynb")
    }
    wanted = name.lower().removesuffix(".ipynb")
    for stem, where in known.items():
        number, _, words = stem.partition("-")
        if wanted in {stem, words} or (wanted.isdigit() and number.isdigit() and int(wanted) == int(number)):
            return where
    kind = "sheet" if sheet else "lesson"
    raise HandoutError(f"There is no {kind} {name!r}. There is: {', '.join(known)}. Or name a notebook's file.")


def write_handout(
    handout: Handout, folder: Path, *, html: bool = True, as_pdf: bool = True, replace: bool = False
) -> list[Path]:
    """Write one copy, and return the paths.

    Parameters
    ----------
    handout : Handout
    folder : Path
        Made where it is missing.
    html, as_pdf : bool
        Which forms.
    replace : bool
        Whether files that are there already may be overwritten.

    Raises
    ------
    HandoutError
        When a file is in the way, or no PDF can be made; in both cases nothing that was there is touched.
    """
    forms = [(".html", html), (".pdf", as_pdf)]
    paths = {ending: folder / f"{handout.name}{ending}" for ending, wanted in forms if wanted}
    for path in paths.values():
        if path.exists() and not replace:
            raise HandoutError(f"{path} is there already. Name another folder, or write --replace.")
    folder.mkdir(parents=True, exist_ok=True)
    if html:
        paths[".html"].write_text(handout.html, encoding="utf-8")
    if as_pdf:
        paths[".pdf"].write_bytes(pdf(handout.html))
    return list(paths.values())
