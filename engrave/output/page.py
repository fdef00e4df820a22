"""The frame around the music: stylesheet, paper, titles, and the order of the rows."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from importlib import resources

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.notation.escaping import quoted

__all__ = [
    "STYLESHEET",
    "VERSION",
    "header_block",
    "paper_block",
    "rows_block",
    "score_block",
    "stylesheet",
]

VERSION = "2.24.0"
"""The LilyPond that the source is written for; newer ones read it too."""

STYLESHEET = "pedals.ily"
"""File name of the stylesheet."""

_CHARACTERS = {
    "title": 56,
    "subtitle": 72,
    "instrument": 60,
    "composer": 40,
    "poet": 40,
    "arranger": 40,
    "copyright": 100,
}
"""How many characters of each title fit on a line of A4 beside what else stands there."""

UPWARDS = "\\override VerticalAxisGroup.staff-affinity = #UP"
"""A row belongs to the staff above it; the stylesheet's rows belong to the one below."""


def stylesheet() -> str:
    """The stylesheet ``pedals.ily``: diagrams, letters and the rows in which they stand."""
    text = resources.files("pedalsetter.templates").joinpath(STYLESHEET).read_text("utf-8")
    return text.removeprefix(f'\\version "{VERSION}"\n').strip() + "\n"


def paper_block(style: HouseStyle, *, ragged_last_page: bool = False) -> str:
    """Staff size, paper, margins and distances of a house style."""
    numbered = "" if style.page_numbers else "  print-page-number = ##f\n"
    return (
        f"#(set-global-staff-size {style.staff_size_points:g})\n\n"
        "\\paper {\n"
        f'  #(set-paper-size "{style.paper_size}")\n'
        f"  top-margin = {style.margin_top_mm:g}\\mm\n"
        f"  bottom-margin = {style.margin_bottom_mm:g}\\mm\n"
        f"  left-margin = {style.margin_left_mm:g}\\mm\n"
        f"  right-margin = {style.margin_right_mm:g}\\mm\n"
        "  indent = 0\n"
        "  short-indent = 0\n"
        f"  ragged-last-bottom = {'##t' if ragged_last_page else '##f'}\n"
        f"{numbered}"
        "  markup-system-spacing.padding = 2\n"
        "  system-system-spacing.basic-distance = 18\n"
        "  system-system-spacing.padding = 1.5\n"
        "}"
    )


def header_block(part: HarpPart, style: HouseStyle) -> str:
    """Titles, part name, authors and copyright of the part; long ones are broken into lines."""
    fields = {
        "title": (part.title, "center"),
        "subtitle": (part.subtitle, "center"),
        "instrument": (part.part_name if style.part_name else "", "center"),
        "composer": (part.composer, "right"),
        "poet": (part.lyricist, "left"),
        "arranger": (part.arranger, "right"),
        "copyright": (part.rights, "center"),
    }
    lines = [
        f"  {field} = {_lines_of(text, _CHARACTERS[field], side)}"
        for field, (text, side) in fields.items()
        if text.strip()
    ]
    return "\n".join(["\\header {", *lines, "  tagline = ##f", "}"])


def _lines_of(text: str, characters: int, side: str) -> str:
    """A text as one string, or as a column of lines of at most so many characters."""
    lines = [
        line
        for given in text.splitlines()
        if given.strip()
        for line in textwrap.wrap(given, characters, break_on_hyphens=False)
    ]
    if len(lines) == 1:
        return quoted(lines[0])
    return f"\\markup \\{side}-column {{ {' '.join(map(quoted, lines))} }}"


def rows_block(style: HouseStyle, indent: str = "    ") -> str:
    """The two rows of pedal marks, diagrams above letters."""
    sizes = {"Diagrams": style.diagram_size, "Letters": style.letter_size}
    return "".join(
        f'{indent}\\new PedalLane = "{name.lower()}" \\with {{\n'
        f"{indent}  \\override TextScript.font-size = #{size:g}\n"
        f"{indent}}} \\pedal{name}\n"
        for name, size in sizes.items()
    )


def score_block(style: HouseStyle) -> str:
    """The score: rows of marks by the staves, each from the variable of its name.

    Rows between the staves are not here but in the variable of the staves.
    """
    rows, staves = rows_block(style), "    \\harpStaves\n"
    order = {"above": rows + staves, "between": staves, "below": staves + rows}[style.place]
    contexts = {
        "PedalLane": [
            *([UPWARDS] if style.place == "below" else []),
            "\\override VerticalAxisGroup.nonstaff-nonstaff-spacing.minimum-distance =",
            f"  #{style.row_distance_spaces:g}",
            "\\override VerticalAxisGroup.nonstaff-relatedstaff-spacing.padding =",
            f"  #{style.staff_distance_spaces:g}",
        ],
        "Dynamics": [
            "\\override VerticalAxisGroup.nonstaff-nonstaff-spacing.padding =",
            f"  #{style.staff_distance_spaces:g}",
        ]
        if style.place == "between"
        else [],
        "Score": [
            "barNumberVisibility = #all-bar-numbers-visible",
            "\\override BarNumber.break-visibility = #end-of-line-invisible",
        ]
        if style.bar_numbers == "every"
        else [],
    }
    return (
        "\\score {\n"
        "  <<\n"
        "    \\timeAndBarlines\n"
        "    \\marksAbove\n"
        f"{order}"
        "  >>\n"
        "  \\layout {\n"
        f"{''.join(_context(name, lines) for name, lines in contexts.items() if lines)}"
        "  }\n"
        "}\n"
    )


def _context(name: str, lines: Sequence[str]) -> str:
    inner = "".join(f"      {line}\n" for line in lines)
    return f"    \\context {{\n      \\{name}\n{inner}    }}\n"
