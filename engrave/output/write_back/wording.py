"""Marks as text in the user's own file: the words of a house style in runs of one lettering each.

A ring around a pedal, or an editor's small type, makes a run of its own; brackets stand in the
text, where every program shows them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pedalsetter.analysis.marks.marking import Diagram, Mark
from pedalsetter.analysis.marks.string_marks import StringMark
from pedalsetter.engrave.house_style import HouseStyle, load_house_style
from pedalsetter.engrave.mark_text import (
    STRING_NAME_SIZE,
    Word,
    change_words,
    mark_font_points,
    setting_lines,
    string_text,
)

__all__ = ["SMALL", "Font", "Run", "font_of", "runs_of"]

SMALL = 0.75
"""Size of an editor's additions beside the others, where small type tells them."""

_BRACKETS = {"square": ("[", "]"), "round": ("(", ")"), "small": ("", "")}


@dataclass(frozen=True, slots=True)
class Run:
    """Text of one lettering; a line break is a line break in it."""

    text: str
    ringed: bool = False
    small: bool = False


def runs_of(mark: Mark, style: HouseStyle | None) -> tuple[Run, ...]:
    """The text of a mark, in the wording of a style or, without one, of ``final-part``.

    Letters stand one a line, right foot above left; a setting stands as the style wants it, in two
    lines or in one.
    """
    style = style or load_house_style()
    if isinstance(mark, StringMark):
        return (Run("\n".join(string_text(mark, style))),)
    opening, closing = _BRACKETS[style.brackets]
    if isinstance(mark, Diagram):
        lines = [
            [replace(word, added=mark.editorial) for word in line]
            for line in setting_lines(mark, style)
        ]
        pieces = _pieces(lines)
        if mark.editorial:
            pieces = [Word(opening, added=True), *pieces, Word(closing, added=True)]
    else:
        lines = [
            [replace(word, text=f"{opening}{word.text}{closing}") if word.added else word]
            for word in change_words(mark, style)
        ]
        pieces = _pieces(lines)
    runs: list[Run] = []
    for word in pieces:
        small = word.added and style.brackets == "small"
        if runs and (runs[-1].ringed, runs[-1].small) == (word.ringed, small):
            runs[-1] = replace(runs[-1], text=runs[-1].text + word.text)
        elif word.text:
            runs.append(Run(word.text, word.ringed, small))
    return tuple(runs)


def _pieces(lines: list[list[Word]]) -> list[Word]:
    """The words with what stands between them: spaces in a line, a break behind it."""
    found: list[Word] = []
    for line in lines:
        if found:
            found.append(replace(found[-1], text="\n", ringed=False))
        for index, word in enumerate(line):
            if index:
                found.append(replace(word, text=" ", ringed=False))
            found.append(word)
    return found


@dataclass(frozen=True, slots=True)
class Font:
    """How letters look."""

    family: str
    points: float
    italic: bool
    bold: bool


def font_of(mark: Mark, style: HouseStyle) -> Font:
    """The font of a mark's text; its size is that on the page of the style."""
    if isinstance(mark, StringMark):
        return Font("serif", mark_font_points(style, STRING_NAME_SIZE), italic=False, bold=False)
    size = style.diagram_size if isinstance(mark, Diagram) else style.letter_size
    family = "sans-serif" if style.font == "sans" else "serif"
    return Font(family, mark_font_points(style, size), style.italic, style.bold)
