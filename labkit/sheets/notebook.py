"""Write sheets as notebooks: one for each learner of a class, or the practice sheet that the kit ships."""

from __future__ import annotations

import itertools
import json
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from labkit.checks import Question
from labkit.checks.plots import plot_html
from labkit.errors import SheetError
from labkit.problems import SheetPlan, is_private, newest, plan, plans
from labkit.sheets.carried import carried_questions
from labkit.sheets.classlist import Learner, file_name
from labkit.sheets.opening import open_sheet, personal_sheet
from labkit.sheets.sheet import Sheet
from labkit.sheets.whole import whole_file

__all__ = ["practice_notebook", "sheet_notebook", "sheet_opening", "write_practice_sheets", "write_sheets"]

_HOW = """\
- Each time that you open this sheet, run its first cell: click into it, and press Shift and Enter.
  Until then an answer only brings `name 'sheet' is not defined`.
- Then type an answer between its quotation marks, and run that cell.
  Left empty, it shows the question.
- Answer as you would write it on paper, with the unit: `"472 mA"`, `"0,472 A"`, `"22.5 mohm"`.
  Keep three figures to the end.
  A duty or an efficiency is a bare number.
- Of a choice give the letter, and the number of the reason where it asks for one.
- A formula is written as on paper too: `"V²/R"`, `"V^2/R"`.
- Between three quotation marks an answer has several lines.
- Your tries are kept in a small file beside this notebook, so that a restart forgets nothing."""

_WORKED = """\
- After a right answer, or three tries, `sheet.worked("…")` shows the worked answer.
  Write it into a cell of its own: press Esc and then B for a new one."""

_PRACTICE = f"""\
- Put a word of your own in place of `practice`, and you have numbers of your own.
{_WORKED}
- `sheet = sheet.again()`, in a cell of its own too, brings new numbers.
  Empty an answer to see its question with them."""

_RETRIED = f"""\
{_WORKED}
- `sheet = sheet.again()`, in a cell of its own too, brings new numbers.
  Empty an answer to see its question with them: work no longer with those that are written here.
- When this sheet is marked, each question counts at its best.
- Save the notebook with your answers in it, and hand in the file."""

_ASSESSED = """\
- This sheet is marked later: a cell says only that your answer is of the right kind and recorded.
- Save the notebook with your answers in it, and hand in the file."""


def sheet_notebook(sheet: Sheet) -> str:
    """Return a personal sheet as the text of a notebook, the questions written out with the learner's numbers.

    The same sheet gives the same text, to the byte.
    """
    opened = f"{sheet_opening(sheet)}\nsheet"
    questions = [(title, _as_markdown(sheet, title)) for title in sheet.titles]
    about = sheet.own.fill(sheet.plan.about)
    intro = f"{about}\n\n{_HOW}\n{_ASSESSED if sheet.assessed else _RETRIED}\n\n{sheet.plan.caution}"
    return _notebook(sheet, opened, intro, questions)


def sheet_opening(sheet: Sheet) -> str:
    """Return the code that opens a personal sheet as ``sheet``; one of a private bank carries its questions."""
    carried: dict[str, Any] = {"retries": sheet.retries} if sheet.retries else {}
    if is_private(sheet.name):
        carried["questions"] = carried_questions(sheet.plan, sheet.own)
    return _opening(
        sheet.name, learner=sheet.learner, group=sheet.group, bank=sheet.bank, numbers=dict(sheet.numbers),
        assessed=sheet.assessed, tries=f"{sheet.name}-{file_name(sheet.learner)}.tries", **carried,
    )  # fmt: skip


def practice_notebook(sheet_plan: SheetPlan) -> str:
    """Return the practice sheet of a lesson as the text of a notebook: its numbers are drawn when it is run."""
    sheet = open_sheet(sheet_plan.name)
    opening = _opening(sheet.name, learner="practice", bank=sheet.bank, tries=f"{sheet.name}.tries")
    questions = [(title, "Run the cell to see the question with your numbers.") for title in sheet.titles]
    return _notebook(
        sheet, f"{opening}\nsheet", f"{sheet_plan.about}\n\n{_HOW}\n{_PRACTICE}\n\n{sheet_plan.caution}", questions
    )


def write_practice_sheets(folder: Path) -> list[Path]:
    """Write the practice sheet of each lesson, the lesson's number before its name, and return their paths.

    Raises
    ------
    SheetError
        When a file that is not this very sheet stands in the way; nothing is overwritten.
    """
    texts = {f"{plan.number:02}-{plan.name}.ipynb": practice_notebook(plan) for plan in plans()}
    return [_written(Path(folder) / name, text) for name, text in texts.items()]


def _written(path: Path, text: str) -> Path:
    """Write a sheet, unless a file that somebody may have worked in stands there."""
    path.parent.mkdir(parents=True, exist_ok=True)
    if path.exists() and path.read_bytes() != text.encode():
        msg = f"{path} exists and is another file. Name an empty folder, so that nobody's work is lost."
        raise SheetError(msg)
    with whole_file(path) as file:
        file.write(text)
    return path


def _as_markdown(sheet: Sheet, title: str) -> str:
    """Return a question so that Markdown keeps its lines: indented ones as they are, and a picture below them."""
    parts = []
    for indented, lines in itertools.groupby(sheet.asked(title).splitlines(), lambda line: line.startswith("    ")):
        if indented:
            parts.append("\n".join(["```text", *(line[4:] for line in lines), "```"]))
        else:
            parts += [line.replace("*", "\\*") for line in lines]
    if plot := sheet.plan.question(title).plot:
        parts.append(plot_html(plot, sheet.own))
    return "\n\n".join(parts)


def _answer_cell(question: Question) -> str:
    blank = f'"""\n{question.blank.lstrip()}"""' if question.blank else '""'
    return f'sheet.answer("{question.title}", {blank})'


def _opening(name: str, **given: Any) -> str:
    lines = [f"    {key}={_literal(value)}," for key, value in given.items()]
    return "\n".join(["from labkit import open_sheet", "", "sheet = open_sheet(", f'    "{name}",', *lines, ")"])


def _literal(value: Any) -> str:
    if isinstance(value, dict):
        inner = "".join(f"        {_literal(key)}: {_literal(item)},\n" for key, item in value.items())
        return f"{{\n{inner}    }}"
    if isinstance(value, list):
        return "[\n" + "".join(f"        {json.dumps(item, ensure_ascii=False)},\n" for item in value) + "    ]"
    return json.dumps(value, ensure_ascii=False) if isinstance(value, str) else repr(value)


def _notebook(sheet: Sheet, opened: str, intro: str, questions: Iterable[tuple[str, str]]) -> str:
    import nbformat  # noqa: PLC0415 (a learner's sheet opens without it)

    v4: Any = nbformat.v4  # its functions have no types
    cells = [
        v4.new_markdown_cell(f"# {sheet.plan.title}: homework\n\n{intro}", id="about"),
        v4.new_code_cell(opened, id="open", metadata={"tags": ["open"]}),
    ]
    for index, (title, wording) in enumerate(questions, start=1):
        cells.append(v4.new_markdown_cell(f"## {index}. {title}\n\n{wording}", id=f"question-{index}"))
        cells.append(
            v4.new_code_cell(
                _answer_cell(sheet.plan.question(title)),
                id=f"answer-{index}",
                metadata={"tags": ["answer"], "labkit": {"question": title}},
            )
        )
    metadata = {
        "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
        "language_info": {"name": "python"},
        "labkit": {
            "sheet": sheet.name,
            "bank": sheet.bank,
            "group": sheet.group,
            "learner": sheet.learner,
            "assessed": sheet.assessed,
            **({"retries": sheet.retries} if sheet.retries else {}),
        },
    }
    book = v4.new_notebook(cells=cells, metadata=metadata)
    nbformat.validate(book)
    return str(v4.writes(book, indent=1, sort_keys=True, ensure_ascii=False)) + "\n"


def write_sheets(
    learners: Iterable[Learner], *, sheet: str, key: bytes, folder: Path, assessed: bool = False, bank: str = ""
) -> list[Path]:
    """Write one notebook for each learner, and return their paths.

    Parameters
    ----------
    learners : iterable of Learner
    sheet : str
        The sheet's name.
    key : bytes
        The teacher's.
    folder : Path
        Made where it is missing.
    assessed : bool
        One of a private bank always is: it carries no answers.
    bank : str
        The newest where it is empty.

    Raises
    ------
    SheetError
        When there is no such sheet, or a file that is not this very sheet stands in the way; nothing is overwritten.
    """
    bank = bank or newest(sheet)
    plan(sheet, bank)
    folder = Path(folder)
    paths = []
    for learner in learners:
        own = personal_sheet(sheet, learner=learner.id, group=learner.group, bank=bank, key=key, assessed=assessed)
        paths.append(_written(folder / f"{sheet}-{file_name(learner.id)}.ipynb", sheet_notebook(own)))
    return paths
