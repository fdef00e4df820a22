"""Diagrams and letters off the staff, in the form, the language and the font of a house style."""

from __future__ import annotations

from collections.abc import Sequence

from pedalsetter.analysis.instrument.harp import Letter, Setting
from pedalsetter.analysis.marks.marking import Diagram
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.lanes import diagram_lines, diagram_pattern
from pedalsetter.engrave.mark_text import pedal_word, setting_lines
from pedalsetter.engrave.output.pages.page import font_of_row

__all__ = ["diagram_markup", "diagram_width_spaces", "letters_markup"]

_STROKES_SPACES = 9.8
"""Width of strokes on their line; the stylesheet draws it so."""
_CHARACTER_SPACES = 1.3
"""Width of a letter of the text font, about, beside a staff of any size."""
_GAP_SPACES = 0.85
"""Between two names, so that a ring fits; the stylesheet prints it so."""
_AIR_SPACES = 0.8
"""On both sides of letters together."""


def diagram_markup(diagram: Diagram, style: HouseStyle, size: float) -> str:
    """LilyPond markup of a diagram that is ``size`` steps larger than as drawn."""
    if style.diagram_form == "strokes":
        pattern = diagram_pattern(diagram, rings=style.ring_changed)
        return f'\\fontsize #{size:g} \\pedal-diagram "{pattern}"'
    lines = " ".join(diagram_lines(diagram, style))
    return f"{_font(style)}\\fontsize #{size:g} \\pedal-setting #'({lines})"


def letters_markup(setting: Setting, letters: Sequence[Letter], style: HouseStyle) -> str:
    """LilyPond markup of the positions of some pedals, in one line."""
    words = " ".join(pedal_word(one, setting[one], style, natural=True) for one in letters)
    return f'{_font(style)}\\pedal-letters #\'("{words}")'


def diagram_width_spaces(diagram: Diagram, style: HouseStyle) -> float:
    """About how wide a diagram is at step 0, in staff spaces; strokes are as wide as any other."""
    if style.diagram_form == "strokes":
        return _STROKES_SPACES
    return _AIR_SPACES + max(
        sum(len(word.text) * _CHARACTER_SPACES + _GAP_SPACES for word in line)
        for line in setting_lines(diagram, style)
    )


def _font(style: HouseStyle) -> str:
    pairs = " ".join(f"(font-{name} . {value})" for name, value in font_of_row(style))
    return f"\\override #'({pairs}) "
