"""The letters of the charts: DejaVu Sans, which comes with matplotlib, and how wide it runs.

The SVG names the same font and falls back on others, which run narrower, so that what was measured
here has room there too.
"""

from __future__ import annotations

from functools import cache
from importlib.util import find_spec
from pathlib import Path

from PIL import ImageFont

from pedalsetter.analysis.errors import OutputError

__all__ = ["FONT_FAMILY", "font", "shortened", "text_width", "wrapped"]

FONT_FAMILY = "DejaVu Sans, Verdana, Helvetica, Arial, sans-serif"

_MEASURED = 100
"""Pixels an em at which widths are measured."""


@cache
def font(pixels: int, bold: bool = False) -> ImageFont.FreeTypeFont:
    """The font at a size in pixels an em.

    Raises:
        OutputError: the font file is not where matplotlib keeps it.
    """
    name = "DejaVuSans-Bold.ttf" if bold else "DejaVuSans.ttf"
    spec = find_spec("matplotlib")
    for folder in (spec.submodule_search_locations or []) if spec else []:
        path = Path(folder) / "mpl-data" / "fonts" / "ttf" / name
        if path.is_file():
            return ImageFont.truetype(str(path), pixels, layout_engine=ImageFont.Layout.BASIC)
    raise OutputError(
        f"the font {name} was not found", mend="It comes with matplotlib: install that anew."
    )


def text_width(text: str, size: float, bold: bool = False) -> float:
    """How wide a line of text runs, in the unit of ``size``."""
    return font(_MEASURED, bold).getlength(text) * size / _MEASURED


def shortened(text: str, size: float, most: float, bold: bool = False) -> str:
    """The text, or as much of it as fits into ``most`` with an ellipsis; empty if nothing does."""
    text = " ".join(text.split())
    if text_width(text, size, bold) <= most:
        return text
    while text and text_width(f"{text}…", size, bold) > most:
        text = text[:-1].rstrip()
    return f"{text}…" if text else ""


def wrapped(text: str, size: float, most: float) -> list[str]:
    """The text in lines that fit into ``most``; a word too long for a line is cut."""
    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}".strip()
        if text_width(longer, size) <= most:
            line = longer
            continue
        if line:
            lines.append(line)
        line = shortened(word, size, most)
    return [*lines, line] if line else lines
