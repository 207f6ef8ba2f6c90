"""Finding what was handed in: folders, archives, any names, and what is made to do harm."""

from __future__ import annotations

import io
import os
import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

import pytest

from labkit.marking.collecting import count_files, hand_ins


def _zipped(**files: bytes) -> bytes:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in files.items():
            archive.writestr(name, data)
    return packed.getvalue()


def test_folders_archives_and_loose_files(tmp_path: Path) -> None:
    """Each file is found once, wherever it lies, in an archive within an archive too; leftovers of tools are not."""
    (tmp_path / "group" / ".ipynb_checkpoints").mkdir(parents=True)
    (tmp_path / "group" / ".ipynb_checkpoints" / "old.ipynb").write_bytes(b"old")
    (tmp_path / "group" / "a sheet.txt").write_bytes(b"one")
    (tmp_path / "group" / "a sheet.tries").write_bytes(b"notes")
    inner = _zipped(**{"jade-2/sheet.ipynb": b"two"})
    archive = _zipped(
        **{
            "inner.zip": inner,
            "b.ipynb": b"three",
            "__MACOSX/b.ipynb": b"junk",
            "b.tries": b"notes",
            "folder/": b"",
            "folder/.DS_Store": b"junk",
            ".hidden/b.ipynb": b"junk",
        }
    )
    (tmp_path / "all.zip").write_bytes(archive)
    found = {one.path: one.data for one in hand_ins(tmp_path)}
    assert found == {
        "group/a sheet.txt": b"one",
        "all.zip/inner.zip/jade-2/sheet.ipynb": b"two",
        "all.zip/b.ipynb": b"three",
    }


def test_one_file_alone(tmp_path: Path) -> None:
    """A single file can be marked by its own name."""
    (tmp_path / "b.ipynb").write_bytes(b"one")
    assert [(one.path, one.data) for one in hand_ins(tmp_path / "b.ipynb")] == [("b.ipynb", b"one")]
    assert count_files(tmp_path / "b.ipynb") == 1


def test_a_text_document_is_one_file(tmp_path: Path) -> None:
    """Documents that are archives inside are told as the one file that they are."""
    for name in ("essay.docx", "Table.XLSX", "notes.odt"):
        (tmp_path / name).write_bytes(_zipped(**{"[Content_Types].xml": b"x", "word/document.xml": b"y"}))
    packed = _zipped(**{"essay.docx": (tmp_path / "essay.docx").read_bytes(), "b.ipynb": b"three"})
    (tmp_path / "all.zip").write_bytes(packed)
    found = [one.path for one in hand_ins(tmp_path)]
    assert found == ["Table.XLSX", "all.zip/essay.docx", "all.zip/b.ipynb", "essay.docx", "notes.odt"]
    assert count_files(tmp_path) == 5


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_blocks_nobody(tmp_path: Path) -> None:
    """What is no ordinary file is not opened, neither to be counted nor to be read."""
    os.mkfifo(tmp_path / "pipe.ipynb")
    code = "import sys; from pathlib import Path; from labkit.marking.collecting import count_files, hand_ins\n"
    code += "print(count_files(Path(sys.argv[1])), [one.problem for one in hand_ins(Path(sys.argv[1]))])"
    run = subprocess.run(
        [sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, timeout=300, check=True
    )
    assert run.stdout == "1 ['it is no ordinary file']\n"


def test_a_folder_that_cannot_be_looked_into() -> None:
    """A folder that this user may not read is told, and the files beside it are found."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "closed").mkdir()
        (folder / "closed" / "a.ipynb").write_bytes(b"one")
        (folder / "open.ipynb").write_bytes(b"two")
        folder.chmod(0o755)
        (folder / "closed").chmod(0)
        root = os.geteuid() == 0
        try:
            if root:
                os.seteuid(12_345)
            found = [(one.path, one.problem) for one in hand_ins(folder)]
        finally:
            if root:
                os.seteuid(0)
            (folder / "closed").chmod(0o755)
    assert found == [("closed", "it cannot be read: Permission denied"), ("open.ipynb", "")]


def test_a_time_that_nobody_knows(tmp_path: Path) -> None:
    """An entry whose packer knew no time, and one with a time that cannot be, have none."""
    with zipfile.ZipFile(tmp_path / "all.zip", "w") as archive:
        for name, moment in (
            ("a", (1980, 1, 1, 0, 0, 0)),
            ("b", (2026, 0, 0, 0, 0, 0)),
            ("c", (2026, 11, 20, 9, 8, 6)),
        ):
            archive.writestr(zipfile.ZipInfo(name, moment), b"x")
    assert [one.changed for one in hand_ins(tmp_path)] == ["", "", "2026-11-20T09:08:06"]


def test_names_that_climb_lead_nowhere(tmp_path: Path) -> None:
    """An entry named ``../../x`` or ``/etc/x`` writes no file: nothing is unpacked to the disk."""
    folder = tmp_path / "deep" / "returned"
    folder.mkdir(parents=True)
    (folder / "evil.zip").write_bytes(_zipped(**{"../../escaped.ipynb": b"x", "/absolute.ipynb": b"y"}))
    before = sorted(tmp_path.rglob("*"))
    assert [one.data for one in hand_ins(folder)] == [b"x", b"y"]
    assert sorted(tmp_path.rglob("*")) == before
    assert not Path("/absolute.ipynb").exists()


def test_an_archive_that_swells_is_stopped(tmp_path: Path) -> None:
    """60 MB of zeros in 60 kB are not unpacked whole, and what lies beside them is still read."""
    (tmp_path / "bomb.zip").write_bytes(_zipped(**{"a.ipynb": bytes(60_000_000), "b.ipynb": b"good"}))
    bomb, good = hand_ins(tmp_path)
    assert (bomb.data, bomb.problem) == (b"", "it is larger than 20 MB")
    assert (good.data, good.problem) == (b"good", "")


def test_an_archive_of_archives_of_archives(tmp_path: Path) -> None:
    """Archives are opened two deep and no deeper; the third is given as the file it is."""
    third = _zipped(**{"x.ipynb": b"deep"})
    (tmp_path / "a.zip").write_bytes(_zipped(**{"b.zip": _zipped(**{"c.zip": third})}))
    assert [(one.path, one.data) for one in hand_ins(tmp_path)] == [("a.zip/b.zip/c.zip", third)]


def test_damaged_archives_are_named(tmp_path: Path) -> None:
    """An archive that cannot be opened, and an entry that cannot be unpacked, are given with the reason."""
    whole = _zipped(**{"a.ipynb": b"abcdefgh" * 50})
    (tmp_path / "entry.zip").write_bytes(whole.replace(whole[40:50], b"\xff" * 10, 1))
    (tmp_path / "list.zip").write_bytes(whole[:40] + b"garbage" + whole[-22:])
    problems = {one.path: one.problem for one in hand_ins(tmp_path)}
    assert "it cannot be unpacked" in problems["entry.zip/a.ipynb"]
    assert "the archive is damaged" in problems["list.zip"]


def test_links_and_pipes_are_not_followed(tmp_path: Path) -> None:
    """A link and a named pipe are reported; reading them could reach elsewhere, or wait for ever."""
    secret = tmp_path / "secret"
    secret.write_text("key")
    folder = tmp_path / "returned"
    folder.mkdir()
    (folder / "link.ipynb").symlink_to(secret)
    (folder / "linked").symlink_to(tmp_path)
    os.mkfifo(folder / "pipe.ipynb")
    problems = {one.path: one.problem for one in hand_ins(folder)}
    assert problems == {
        "link.ipynb": "it is a link to another place, which is not followed",
        "linked": "it is a link to another place, which is not followed",
        "pipe.ipynb": "it is no ordinary file",
    }


def test_no_such_folder(tmp_path: Path) -> None:
    """A folder that is not there is an error, and no empty class."""
    with pytest.raises(FileNotFoundError):
        list(hand_ins(tmp_path / "nowhere"))
