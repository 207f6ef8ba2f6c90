"""Mathematics as drawings, for a PDF library that does not set MathML: a fraction must not lose its bar."""

from __future__ import annotations

import base64
import re
from html import escape, unescape
from typing import Any
from xml.etree import ElementTree as ET

__all__ = ["with_drawn_formulas"]

_MATH = re.compile(r"<math\b[^>]*>.*?</math>", re.DOTALL)
_SPOKEN = re.compile(r'aria-label="([^"]*)"')
#: Height of a letter with its leading, in CSS pixels: as the text around it.
_SIZE = 17.0


def with_drawn_formulas(html: str) -> str:
    """Return *html* with an SVG picture in the place of each formula, its spoken form as alternative text."""
    return _MATH.sub(lambda match: _drawn(match[0]), html)


def _drawn(mathml: str) -> str:
    from ziamath.zmath import Math  # noqa: PLC0415 (only a PDF without a browser needs it)

    spoken = _SPOKEN.search(mathml[: mathml.index(">")])
    # a minus is wider than a hyphen, and has room on both sides
    formula: Any = Math(ET.fromstring(mathml.replace("<mo>-</mo>", "<mo>\N{MINUS SIGN}</mo>")), size=_SIZE)  # noqa: S314 (made here)
    drawn = formula.svgxml()
    width, height = (float(drawn.get(side)) for side in ("width", "height"))
    source = base64.b64encode(ET.tostring(drawn)).decode("ascii")
    words = unescape(spoken[1]) if spoken else unescape(re.sub(r"<[^>]*>", " ", mathml))
    look = f"width: {width:.1f}px; height: {height:.1f}px; vertical-align: {formula.getyofst():.1f}px; background: none"
    return f'<img src="data:image/svg+xml;base64,{source}" alt="{escape(words.strip())}" style="{look}">'
