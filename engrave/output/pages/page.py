"""The frame around the music: stylesheet, paper, titles, and the order of the rows."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from importlib import resources

from pedalsetter.analysis.part import HarpPart
from pedalsetter.engrave.house_style import HouseStyle
from pedalsetter.engrave.layout.rows import Row, row_place
from pedalsetter.engrave.notation.escaping import quoted

__all__ = [
    "STYLESHEET",
    "VERSION",
    "font_of_row",
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

_SYSTEM_DISTANCE = 17
_SYSTEM_PADDING = 2.0
_OVERCOUNTED = 5.0
"""Staff spaces by which the engraver overrates the height of a system when it divides pages."""

_CHARACTERS = {
    "title": 44,
    "subtitle": 60,
    "instrument": 16,
    "running": 90,
    "composer": 40,
    "poet": 40,
    "arranger": 40,
    "copyright": 100,
}
"""How many characters of each title fit on a line of A4 beside what else stands there."""

_INSTRUMENT = r"\larger \larger \bold \fromproperty #'header:instrument"

_TITLES = r"""
  bookTitleMarkup = \markup \override #'(baseline-skip . 3.5) \column {
    \fill-line { \fromproperty #'header:dedication }
%(above)s    \fill-line {
      %(left)s
      %(sized)s\center-column {
        \huge \larger \larger \bold \fromproperty #'header:title
        \large \bold \fromproperty #'header:subtitle
        \smaller \bold \fromproperty #'header:subsubtitle
      }
      %(right)s
    }
    \fill-line { \fromproperty #'header:poet \fromproperty #'header:composer }
    \fill-line { \fromproperty #'header:meter \fromproperty #'header:arranger }
  }
  oddHeaderMarkup = \markup \fill-line {
    \null
    \unless \on-first-page-of-part \smaller \fromproperty #'header:running
    \if \should-print-page-number \fromproperty #'page:page-number-string
  }
  evenHeaderMarkup = \markup \fill-line {
    \if \should-print-page-number \fromproperty #'page:page-number-string
    \unless \on-first-page-of-part \smaller \fromproperty #'header:running
    \null
  }
"""
"""Part name, title in the middle, authors below; a quiet head on later pages."""


def _titles(style: HouseStyle) -> str:
    """The titles, the heads and the feet of pages."""
    place = style.instrument_place
    titles = _TITLES % {
        "left": _INSTRUMENT if place == "left" else r"\null",
        "right": _INSTRUMENT if place == "right" else r"\null",
        "above": f"    \\fill-line {{ {_INSTRUMENT} }}\n    \\vspace #0.5\n"
        if place == "above"
        else "",
        "sized": f"\\fontsize #{style.title_size:g} " if style.title_size else "",
    }
    return titles + _foot(style)


def _foot(style: HouseStyle) -> str:
    """The feet of pages, where they are not LilyPond's own: the copyright on the first page."""
    if style.copyright_on == "first" and not style.plate_number:
        return ""
    page = {"first": r"\if \on-first-page ", "last": r"\if \on-last-page "}
    line = f"{page.get(style.copyright_on, '')}\\fill-line {{ \\fromproperty #'header:copyright }}"
    plate = f"    \\fill-line {{ \\smaller {quoted(style.plate_number)} }}\n"
    return (
        "  oddFooterMarkup = \\markup \\column {\n    \\vspace #0.7\n"
        f"    {line}\n{plate if style.plate_number else ''}"
        "  }\n"
        "  evenFooterMarkup = \\oddFooterMarkup\n"
    )


def _fonts(style: HouseStyle) -> str:
    """The families of text, where they are not LilyPond's own."""
    families = {"roman": style.text_font, "sans": style.letter_font}
    said = [f"#:{name} {quoted(family)}" for name, family in families.items() if family]
    if not said:
        return ""
    factor = "#:factor (/ staff-height pt 20)"
    return f"  #(define fonts (set-global-fonts {' '.join(said)} {factor}))\n"


UPWARDS = "\\override VerticalAxisGroup.staff-affinity = #UP"
"""A row belongs to the staff above it; the stylesheet's rows belong to the one below."""


_ROW_NAMES = {Row.OUTER_DIAGRAMS: "outer", Row.SECOND_LETTERS: "second", Row.OUTER_LETTERS: "outer"}
"""How the report of boxes names the rows of marks that found no room in the common one."""


def stylesheet() -> str:
    """The stylesheet ``pedals.ily``: diagrams, letters and the rows in which they stand."""
    text = resources.files("pedalsetter.templates").joinpath(STYLESHEET).read_text("utf-8")
    return text.removeprefix(f'\\version "{VERSION}"\n').strip() + "\n"


def paper_block(
    style: HouseStyle,
    *,
    ragged_last_page: bool = False,
    least_systems: int = 1,
    dense: bool = True,
    free_turns: bool = False,
    staff_size_points: float | None = None,
    head_room: float = 0.0,
    foot_room: float = 0.0,
) -> str:
    """Staff size, paper, margins and distances of a house style, and where the titles stand.

    ``dense`` pages take what fits by its true height; otherwise pages are filled with more caution.
    With ``free_turns`` right-hand pages end only where the music allows a turn. No page has fewer
    than ``least_systems`` if it can be helped. ``staff_size_points`` goes before the style's;
    ``head_room`` and ``foot_room`` are staff spaces more below the running head and above the foot
    of a page.
    """
    give_back = _OVERCOUNTED if dense else _OVERCOUNTED / 2
    turning = "  page-breaking = #ly:page-turn-breaking\n" if free_turns else ""
    least = f"  min-systems-per-page = {least_systems}\n" if least_systems > 1 else ""
    foot = f"  last-bottom-spacing.padding = {1 + foot_room:g}\n" if foot_room else ""
    numbered = "" if style.page_numbers else "  print-page-number = ##f\n"
    if style.first_page_number:
        numbered += "  print-first-page-number = ##t\n"
    return (
        f"#(set-global-staff-size {staff_size_points or style.staff_size_points:g})\n\n"
        "\\paper {\n"
        f'  #(set-paper-size "{style.paper_size}")\n'
        f"  top-margin = {style.margin_top_mm:g}\\mm\n"
        f"  bottom-margin = {style.margin_bottom_mm:g}\\mm\n"
        f"{_sides(style)}"
        "  indent = 0\n"
        "  short-indent = 0\n"
        f"  ragged-last-bottom = {'##t' if ragged_last_page else '##f'}\n"
        f"{numbered}"
        "  markup-system-spacing.padding = 2\n"
        f"  top-system-spacing.padding = {2 + head_room:g}\n"
        f"  system-system-spacing.basic-distance = {_SYSTEM_DISTANCE}\n"
        f"  system-system-spacing.padding = {_SYSTEM_PADDING:g}\n"
        "  % Before pages are filled, rows are counted at their full height along the whole line;\n"
        "  % what that is too much is given back here.\n"
        f"  page-breaking-system-system-spacing.padding = {_SYSTEM_PADDING - give_back:g}\n"
        f"{foot}{least}{turning}{_fonts(style)}"
        f"{_titles(style)}"
        "}"
    )


def _sides(style: HouseStyle) -> str:
    """The margins at the sides; a left-hand page is one with an even number."""
    names = ("inner", "outer") if style.mirrored else ("left", "right")
    sizes = (style.margin_left_mm, style.margin_right_mm)
    lines = ["  two-sided = ##t\n"] if style.mirrored else []
    lines += [f"  {name}-margin = {size:g}\\mm\n" for name, size in zip(names, sizes, strict=True)]
    if style.first_page == "left":
        lines.append("  first-page-number = 2\n")
    return "".join(lines)


def header_block(part: HarpPart, style: HouseStyle) -> str:
    """Titles, part name, authors and copyright of the part; long ones are broken into lines."""
    fields = {
        "title": (part.title, "center"),
        "subtitle": (part.subtitle, "center"),
        "instrument": (part.part_name if style.part_name else "", "left"),
        "running": (_running(part, style), "center"),
        "composer": (part.composer, "right"),
        "poet": (part.lyricist, "left"),
        "arranger": (part.arranger, "right"),
        "copyright": (style.copyright or part.rights, "center"),
    }
    lines = [
        f"  {field} = {_lines_of(text, _CHARACTERS[field], side)}"
        for field, (text, side) in fields.items()
        if text.strip()
    ]
    return "\n".join(["\\header {", *lines, "  tagline = ##f", "}"])


def _running(part: HarpPart, style: HouseStyle) -> str:
    """Part and title for the heads of later pages, in one line; a long title is left out."""
    shown = style.running_head
    name = " ".join(part.part_name.split()) if style.part_name and shown != "title" else ""
    title = " ".join(part.title.split())
    if shown in ("part", "none"):
        return name if shown == "part" else ""
    both = " – ".join(text for text in (name, title) if text)
    return both if len(both) <= _CHARACTERS["running"] else name


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


def font_of_row(style: HouseStyle) -> tuple[tuple[str, str], ...]:
    """What LilyPond calls the font of pedal marks: (``family``, ``series`` or ``shape``, value)."""
    return (
        ("family", "sans" if style.font == "sans" else "roman"),
        ("series", "bold" if style.bold else "medium"),
        ("shape", "italic" if style.italic else "upright"),
    )


def rows_block(style: HouseStyle, rows: Iterable[Row], where: str, indent: str = "    ") -> str:
    """Those of the ``rows`` of pedal marks that stand ``above``, ``between`` or ``below``."""
    overrides = [
        *([UPWARDS] if where == "below" else []),
        *(f"\\override TextScript.font-{name} = #'{value}" for name, value in font_of_row(style)),
    ]
    written = []
    for row in rows:
        if row_place(row, style) != where:
            continue
        name = row.value
        size = style.diagram_size if row.holds_diagrams else style.letter_size
        lines = [f"\\override TextScript.font-size = #{size:g}", *overrides]
        if row.holds_names:  # as at the notes
            lines = overrides[:1] if where == "below" else []
        if row in _ROW_NAMES:
            lines.append(f'\\override TextScript.details.row = "{_ROW_NAMES[row]}"')
        inner = "".join(f"{indent}  {line}\n" for line in lines)
        written.append(
            f'{indent}\\new PedalLane = "{name[0].lower()}{name[1:]}" \\with {{\n'
            f"{inner}{indent}}} \\rowOf{name}\n"
        )
    return "".join(written)


def score_block(style: HouseStyle, rows: Sequence[Row], *, words: bool = False) -> str:
    """The score: rows of marks by the staves, each from the variable of its name.

    With ``words`` those that bend the tempo have a row of their own, under the diagrams, so that
    they stand by their notes. Rows between the staves are not here but in the variable of the
    staves.
    """
    words_row = "    \\wordsAbove\n" if words else ""
    above = (
        rows_block(style, [row for row in rows if row.holds_diagrams], "above")
        + words_row
        + rows_block(style, [row for row in rows if not row.holds_diagrams], "above")
    )
    below = rows_block(style, rows, "below")
    contexts = {
        "PedalLane": [
            "\\override VerticalAxisGroup.nonstaff-nonstaff-spacing.minimum-distance =",
            f"  #{style.row_distance_spaces:g}",
            "\\override VerticalAxisGroup.nonstaff-relatedstaff-spacing.padding =",
            f"  #{style.staff_distance_spaces:g}",
        ],
        "Dynamics": [
            "\\override VerticalAxisGroup.nonstaff-nonstaff-spacing.padding =",
            f"  #{style.staff_distance_spaces:g}",
        ]
        if "between" in (style.diagram_place, style.letter_place)
        else [],
        "Score": [
            "barNumberVisibility = #(lambda (number position) (> number 0))",
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
        f"{above}    \\harpStaves\n{below}"
        "  >>\n"
        "  \\layout {\n"
        f"{''.join(_context(name, lines) for name, lines in contexts.items() if lines)}"
        "  }\n"
        "}\n"
    )


def _context(name: str, lines: Sequence[str]) -> str:
    inner = "".join(f"      {line}\n" for line in lines)
    return f"    \\context {{\n      \\{name}\n{inner}    }}\n"
