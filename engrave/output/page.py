"""The frame around the music: stylesheet, paper, titles, and the order of the rows."""

from __future__ import annotations

from importlib import resources

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.notation.escaping import quoted

__all__ = ["STYLESHEET", "VERSION", "header_block", "paper_block", "score_block", "stylesheet"]

VERSION = "2.24.0"
"""The LilyPond that the source is written for; newer ones read it too."""

STYLESHEET = "pedals.ily"
"""File name of the stylesheet."""

UPWARDS = "\\override VerticalAxisGroup.staff-affinity = #UP\n"
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
    """Titles, part name, authors and copyright of the part."""
    fields = {
        "title": part.title,
        "subtitle": part.subtitle,
        "instrument": part.part_name if style.part_name else "",
        "composer": part.composer,
        "poet": part.lyricist,
        "arranger": part.arranger,
        "copyright": part.rights,
    }
    lines = [f"  {field} = {quoted(text)}" for field, text in fields.items() if text.strip()]
    return "\n".join(["\\header {", *lines, "  tagline = ##f", "}"])


def score_block(style: HouseStyle) -> str:
    """The score: rows of marks by the staves, each from the variable of its name."""
    every = (
        "      barNumberVisibility = #all-bar-numbers-visible\n"
        "      \\override BarNumber.break-visibility = #end-of-line-invisible\n"
        if style.bar_numbers == "every"
        else ""
    )
    rows = (
        '    \\new PedalLane = "diagrams" \\with {\n'
        f"      \\override TextScript.font-size = #{style.diagram_size:g}\n"
        "    } \\pedalDiagrams\n"
        '    \\new PedalLane = "letters" \\with {\n'
        f"      \\override TextScript.font-size = #{style.letter_size:g}\n"
        "    } \\pedalLetters\n"
    )
    staves = "    \\harpStaves\n"
    below = style.place == "below"
    return (
        "\\score {\n"
        "  <<\n"
        "    \\timeAndBarlines\n"
        "    \\marksAbove\n"
        f"{staves + rows if below else rows + staves}"
        "  >>\n"
        "  \\layout {\n"
        "    \\context {\n"
        "      \\PedalLane\n"
        f"{'      ' + UPWARDS if below else ''}"
        "      \\override VerticalAxisGroup.nonstaff-nonstaff-spacing.minimum-distance =\n"
        f"        #{style.row_distance_spaces:g}\n"
        "      \\override VerticalAxisGroup.nonstaff-relatedstaff-spacing.padding =\n"
        f"        #{style.staff_distance_spaces:g}\n"
        "    }\n"
        f"{_score_context(every)}"
        "  }\n"
        "}\n"
    )


def _score_context(every: str) -> str:
    return f"    \\context {{\n      \\Score\n{every}    }}\n" if every else ""
