"""The whole LilyPond file of a part: stylesheet, paper, titles, marks and music.

The file is meant to be opened and edited: it needs nothing but LilyPond 2.24 or newer, every bar is
one line that ends with its number, and diagrams and letters stand in variables of their own.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from importlib import metadata, resources
from typing import Any

from pedalsetter.analysis.marking import ChangeMark, Diagram, Markings
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.lanes import build_lanes, mark_places
from pedalsetter.engrave.notation import engraver_score
from pedalsetter.engrave.notation.escaping import comment, quoted
from pedalsetter.engrave.notation.mark_row import build_mark_row
from pedalsetter.engrave.notation.score import build_score
from pedalsetter.engrave.notation.timeline import bar_units, grace_skips

__all__ = ["LilypondDocument", "lilypond_source", "stylesheet"]

VERSION = "2.24.0"
"""The LilyPond that the source is written for; newer ones read it too."""

STYLESHEET = "pedals.ily"


@dataclass(frozen=True, slots=True)
class LilypondDocument:
    """A part as LilyPond source."""

    text: str
    marks: Mapping[str, Diagram | ChangeMark]
    """Every pedal mark by its name in the source."""
    warnings: tuple[Notice, ...]
    """What the notation could show only in part."""


def lilypond_source(
    part: HarpPart, markings: Markings, style: HouseStyle, *, standalone: bool = True
) -> LilypondDocument:
    """Write the LilyPond source of a marked part.

    With ``standalone`` the stylesheet is in the file; without, the file includes ``pedals.ily``,
    which :func:`stylesheet` gives and which must lie beside it.
    """
    units = bar_units(part, mark_places(markings))
    lanes = build_lanes(part, markings, style, units, grace_skips(part))
    notated = build_score(part, units)
    _number_bars(notated.staves, style)
    music = {
        "pedalDiagrams": _block(lanes.diagrams),
        "pedalLetters": _block(lanes.letters),
        "marksAbove": engraver_score.source(build_mark_row(part, units)),
        "timeAndBarlines": engraver_score.source(notated.timing),
        "harpStaves": engraver_score.source(notated.staves),
    }
    pieces = [
        _opening(part),
        stylesheet() if standalone else f'\\include "{STYLESHEET}"\n',
        _paper(style),
        _header(part, style),
        *(f"{name} = {text.strip()}\n" for name, text in music.items()),
        _score(style),
    ]
    return LilypondDocument("\n\n".join(pieces), lanes.marks, tuple(notated.warnings))


def stylesheet() -> str:
    """The stylesheet ``pedals.ily``: diagrams, letters and the rows in which they stand."""
    text = resources.files("pedalsetter.templates").joinpath(STYLESHEET).read_text("utf-8")
    return text.removeprefix(f'\\version "{VERSION}"\n').strip() + "\n"


def _opening(part: HarpPart) -> str:
    named = " – ".join(comment(text) for text in (part.title, part.part_name) if text)
    return (
        f'\\version "{VERSION}"\n'
        f'\\language "{engraver_score.LANGUAGE}"\n\n'
        f"% {named or 'Harp'}\n"
        f"% Made by Pedalsetter {metadata.version('pedalsetter')}.\n"
        "% Pedal marks stand in pedalDiagrams and pedalLetters, the music in harpStaves."
    )


def _paper(style: HouseStyle) -> str:
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
        f"  ragged-last-bottom = {_scheme(style.ragged_last_bottom)}\n"
        f"{numbered}"
        "  markup-system-spacing.padding = 2\n"
        "  system-system-spacing.padding = 2\n"
        "}"
    )


def _header(part: HarpPart, style: HouseStyle) -> str:
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


def _block(lines: str) -> str:
    inner = "\n".join(f"  {line}" for line in lines.splitlines())
    return f"{{\n{inner}\n}}"


def _number_bars(staves: Any, style: HouseStyle) -> None:
    """Let the upper staff print the bar numbers; the stylesheet has taken them from the score."""
    if style.bar_numbers == "none":
        return
    upper = next(child for child in staves if getattr(child, "lilypond_type", "") == "Staff")
    upper.consists_commands.append("Bar_number_engraver")
    upper.consists_commands.append("Staff_collecting_engraver")


def _score(style: HouseStyle) -> str:
    every = (
        "      barNumberVisibility = #all-bar-numbers-visible\n"
        "      \\override BarNumber.break-visibility = #end-of-line-invisible\n"
        if style.bar_numbers == "every"
        else ""
    )
    return (
        "\\score {\n"
        "  <<\n"
        "    \\marksAbove\n"
        '    \\new PedalLane = "diagrams" \\with {\n'
        f"      \\override TextScript.font-size = #{style.diagram_size:g}\n"
        "    } \\pedalDiagrams\n"
        '    \\new PedalLane = "letters" \\with {\n'
        f"      \\override TextScript.font-size = #{style.letter_size:g}\n"
        "    } \\pedalLetters\n"
        "    \\timeAndBarlines\n"
        "    \\harpStaves\n"
        "  >>\n"
        "  \\layout {\n"
        "    \\context {\n"
        "      \\PedalLane\n"
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


def _scheme(value: bool) -> str:
    return "##t" if value else "##f"
