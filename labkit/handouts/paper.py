"""A handout as PDF: by the browser that is there, or else by a library; a browser sets MathML as it should be."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from labkit.errors import HandoutError
from labkit.handouts.formulas import with_drawn_formulas

__all__ = ["pdf", "pdf_by_browser", "pdf_by_library", "printer"]

#: Programs that print a page, by what distributions call them.
_BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "microsoft-edge")
#: Where they lie on Windows, below one of these folders, and on macOS: on no search path.
_WINDOWS_FOLDERS = ("PROGRAMFILES", "PROGRAMFILES(X86)", "LOCALAPPDATA")
_WINDOWS = (
    "Chromium/Application/chrome.exe",
    "Google/Chrome/Application/chrome.exe",
    "Microsoft/Edge/Application/msedge.exe",
)
_MACOS = ("Chromium", "Google Chrome", "Microsoft Edge")
_QUIET = (
    "--headless", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-extensions", "--no-pdf-header-footer",
    "--host-resolver-rules=MAP * ~NOTFOUND",
)  # fmt: skip
_PATIENCE = 120  # seconds
_NEITHER = (
    'A PDF needs Chromium, or the library that comes with: pip install "labkit[handout]". Neither is here. '
    "The HTML needs neither: open it in any browser and print it from there."
)
_OTHERWISE = "Install Pango or Chromium, or write the HTML with --form html and print it from any browser."


def printer() -> str:
    """Return what would make a PDF here: a browser's program, ``"library"``, or nothing."""
    found = next((path for name in (*_BROWSERS, *_off_the_path()) if (path := shutil.which(name))), "")
    has_library = all(importlib.util.find_spec(name) for name in ("weasyprint", "ziamath"))
    return found or ("library" if has_library else "")


def _off_the_path() -> Iterator[str]:
    for folder in filter(None, map(os.environ.get, _WINDOWS_FOLDERS)):
        yield from (str(Path(folder) / program) for program in _WINDOWS)
    yield from (f"/Applications/{name}.app/Contents/MacOS/{name}" for name in _MACOS)


def pdf(html: str) -> bytes:
    """Return a page as PDF.

    Raises
    ------
    HandoutError
        When nothing here makes PDFs, or what does fails.
    """
    by = printer()
    if not by:
        raise HandoutError(_NEITHER)
    return pdf_by_library(html) if by == "library" else pdf_by_browser(html, by)


def pdf_by_browser(html: str, program: str) -> bytes:
    """Return a page as a browser prints it, shut off from the network."""
    with tempfile.TemporaryDirectory(prefix="labkit-", ignore_cleanup_errors=True) as folder:
        source, target = Path(folder) / "page.html", Path(folder) / "page.pdf"
        source.write_text(html, encoding="utf-8")
        as_root = ["--no-sandbox"] if getattr(os, "geteuid", lambda: 1)() == 0 else []  # its sandbox refuses root
        command = [program, *_QUIET, *as_root, f"--user-data-dir={folder}/profile", f"--print-to-pdf={target}"]
        try:
            done = subprocess.run(  # noqa: S603 (a browser of this machine, on a page that was made here)
                [*command, source.as_uri()], capture_output=True, timeout=_PATIENCE, check=False
            )
        except subprocess.TimeoutExpired:
            raise HandoutError(
                f"{program} printed nothing within {_PATIENCE} s. Print the HTML from a browser."
            ) from None
        if not target.is_file():
            said = done.stderr.decode(errors="replace").strip().splitlines()[-1:] or ["nothing"]
            raise HandoutError(f"{program} printed nothing; it said: {said[0]}. Print the HTML from a browser.")
        return target.read_bytes()


def pdf_by_library(html: str) -> bytes:
    """Return a page as the PDF library sets it, with its formulas drawn; it fetches nothing."""
    try:
        from weasyprint import HTML  # noqa: PLC0415 (only a PDF without a browser needs it)
        from weasyprint.urls import URLFetcher  # noqa: PLC0415 (as above)
    except OSError as error:  # what it sets text with is no Python package, and seldom there on Windows and macOS
        raise HandoutError(f"The library that makes PDFs does not find Pango: {error}. {_OTHERWISE}") from error

    document: Any = HTML(string=with_drawn_formulas(html), url_fetcher=URLFetcher(allowed_protocols=["data"]))
    return bytes(document.write_pdf(pdf_tags=True))
