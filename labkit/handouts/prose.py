"""Markdown as HTML, its mathematics as MathML: what stands in a notebook's text cells."""

from __future__ import annotations

from functools import cache
from html import escape

from latex2mathml.converter import convert
from markdown_it import MarkdownIt
from mdit_py_plugins.dollarmath import dollarmath_plugin

__all__ = ["prose_html"]


@cache
def _parser() -> MarkdownIt:
    parser = MarkdownIt("commonmark", {"html": False}).enable(["table", "strikethrough"])
    return parser.use(dollarmath_plugin, renderer=_mathml, double_inline=True)


def _mathml(latex: str, options: dict[str, bool]) -> str:
    display = "block" if options.get("display_mode") else "inline"
    try:
        return str(convert(latex, display=display)).replace("<math ", f'<math aria-label="{escape(latex)}" ', 1)
    except Exception:  # noqa: BLE001 (the converter raises many kinds; the text itself is better than no handout)
        return f"<code>{escape(latex)}</code>"


def prose_html(markdown: str) -> str:
    """Return Markdown as HTML; ``$…$`` comes out as MathML, and raw HTML as the text that it is.

    Examples
    --------
    >>> print(prose_html("**R** is `2.8 Ω`").strip())
    <p><strong>R</strong> is <code>2.8 Ω</code></p>
    """
    return str(_parser().render(markdown))
