"""What all pages share: a shell that needs nothing from anywhere, and tables with headings for each row."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

__all__ = ["page", "table"]

_STYLE = """
:root { color-scheme: light dark; }
body { font: 1rem/1.5 system-ui, sans-serif; max-width: 60rem; margin: 2rem auto; padding: 0 1rem; }
h1, h2, h3 { line-height: 1.2; break-after: avoid; }
table { border-collapse: collapse; margin: 1rem 0; } caption { text-align: left; font-weight: bold; padding: .3rem 0; }
th, td { border: 1px solid #767676; padding: .3rem .5rem; text-align: left; vertical-align: top; }
td:empty { min-width: 8rem; } section, tr { break-inside: avoid; }
.wide { overflow-x: auto; }
@media print { :root { color-scheme: light; } body { max-width: none; margin: 0; font-size: 10pt; } }
""".strip()

#: The browser loads and runs nothing, whatever stands in the page.
_NOTHING_ELSE = (
    '<meta http-equiv="Content-Security-Policy" '
    "content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\">"
)


def page(title: str, body: str, *, style: str = "") -> str:
    """Return a whole page in UTF-8, with *body* as HTML below its title, and more *style* where it needs some."""
    return (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"{_NOTHING_ELSE}\n<title>{escape(title)}</title>\n"
        f"<style>\n{_STYLE}\n{style}\n</style>\n</head>\n<body>\n<main>\n<h1>{escape(title)}</h1>\n{body}\n</main>\n</body>\n</html>\n"
    )


def table(caption: str, headings: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Return a table of texts; the first of each row is its heading."""
    left = 'style="text-align: left"'  # a notebook sets cells to the right
    top = "".join(f'<th scope="col" {left}>{escape(heading)}</th>' for heading in headings)
    lines = "".join(
        f'<tr><th scope="row" {left}>{escape(first)}</th>'
        + "".join(f"<td {left}>{escape(cell)}</td>" for cell in rest)
        + "</tr>\n"
        for first, *rest in rows
    )
    return (
        f'<div class="wide" role="region" aria-label="{escape(caption)}" tabindex="0"><table>'
        f"<caption>{escape(caption)}</caption><thead><tr>{top}</tr></thead><tbody>\n{lines}</tbody></table></div>\n"
    )
