"""The whole LilyPond file of a part: stylesheet, paper, titles, marks and music.

The file is meant to be opened and edited: it needs nothing but LilyPond 2.24 or newer, every bar is
one line that ends with its number, and diagrams and letters stand in variables of their own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib import metadata
from typing import Any

from pedalsetter.analysis.marks.marking import Mark, Markings
from pedalsetter.analysis.part import HarpPart, Notice
from pedalsetter.engrave.house_style import HouseStyle, style_for
from pedalsetter.engrave.layout.adjustments import Adjustments
from pedalsetter.engrave.layout.lanes import build_lanes, mark_places
from pedalsetter.engrave.layout.remedies import first_adjustments
from pedalsetter.engrave.layout.rows import Row
from pedalsetter.engrave.notation import engraver_score
from pedalsetter.engrave.notation.escaping import comment
from pedalsetter.engrave.notation.mark_row import build_mark_row, build_words_row
from pedalsetter.engrave.notation.score import build_score
from pedalsetter.engrave.notation.string_names import name_marks, string_events
from pedalsetter.engrave.notation.timeline import bar_units, grace_skips
from pedalsetter.engrave.output.pages.page import (
    STYLESHEET,
    VERSION,
    header_block,
    paper_block,
    rows_block,
    score_block,
    stylesheet,
)

__all__ = ["LilypondDocument", "lilypond_source"]


@dataclass(frozen=True, slots=True)
class LilypondDocument:
    """A part as LilyPond source."""

    text: str
    marks: Mapping[str, Mark]
    """Every pedal mark by its name in the source."""
    warnings: tuple[Notice, ...]
    """What the notation could show only in part."""


def lilypond_source(
    part: HarpPart,
    markings: Markings,
    style: HouseStyle,
    *,
    standalone: bool = True,
    source_systems: bool = False,
    adjustments: Adjustments | None = None,
) -> LilypondDocument:
    """Write the LilyPond source of a marked part.

    With ``standalone`` the stylesheet is in the file; without, the file includes ``pedals.ily``,
    which :func:`~pedalsetter.engrave.output.pages.page.stylesheet` gives and which must lie beside
    it. ``source_systems`` breaks systems and pages where the source does. ``adjustments`` are what
    an earlier engraving has shown to be needed; see
    :mod:`~pedalsetter.engrave.output.pages.press`. In a part of one staff, or of more than two,
    marks that the style wants between stand below.
    """
    style = style_for(style, part)
    chosen = first_adjustments(part, style) if adjustments is None else adjustments
    units = bar_units(part, mark_places(markings))
    lanes = build_lanes(part, markings, style, units, grace_skips(part), chosen)
    strings = name_marks(markings, style)
    notated = build_score(
        part,
        units,
        source_systems=source_systems,
        string_names=string_events(strings, style, chosen.room, chosen.named_in_row),
        remedied=chosen.music,
    )
    _number_bars(notated.staves, style)
    words = build_words_row(part, units)
    music = {
        **{f"rowOf{row.value}": _block(lane) for row, lane in lanes.rows.items()},
        "marksAbove": engraver_score.source(
            build_mark_row(part, units, words_apart=True, movement_titles=style.movement_titles)
        ),
        **({} if words is None else {"wordsAbove": engraver_score.source(words)}),
        "timeAndBarlines": engraver_score.source(notated.timing),
        "harpStaves": _staves(engraver_score.source(notated.staves), style, tuple(lanes.rows)),
    }
    pieces = [
        _opening(part),
        stylesheet() if standalone else f'\\include "{STYLESHEET}"\n',
        paper_block(
            style,
            ragged_last_page=chosen.ragged_last_page,
            least_systems=chosen.least_systems,
            dense=chosen.dense_pages,
            free_turns=chosen.free_turns,
            staff_size_points=chosen.staff_size_points,
            head_room=chosen.head_room,
            foot_room=chosen.foot_room,
        ),
        header_block(part, style),
        *(f"{name} = {text.strip()}" for name, text in music.items()),
        score_block(style, tuple(lanes.rows), words=words is not None),
    ]
    marks: dict[str, Mark] = {**lanes.marks, **strings}
    return LilypondDocument("\n\n".join(pieces), marks, tuple(notated.warnings))


def _opening(part: HarpPart) -> str:
    named = " – ".join(comment(text) for text in (part.title, part.part_name) if text)
    return (
        f'\\version "{VERSION}"\n'
        f'\\language "{engraver_score.LANGUAGE}"\n\n'
        f"% {named or 'Harp'}\n"
        f"% Made by Pedalsetter {metadata.version('pedalsetter')}.\n"
        "% Pedal marks stand in rowOfDiagrams and rowOfLetters, the music in harpStaves."
    )


def _block(lines: str) -> str:
    inner = "\n".join(f"  {line}" for line in lines.splitlines())
    return f"{{\n{inner}\n}}"


def _staves(source: str, style: HouseStyle, rows: Sequence[Row]) -> str:
    """The staves, with the rows of marks before the lower one if they stand between the two."""
    lower = re.search(r'^( *)\\context Staff = "lower"$', source, re.MULTILINE)
    if lower is None:
        return source
    between = rows_block(style, rows, "between", lower[1])
    return source[: lower.start()] + between + source[lower.start() :]


def _number_bars(staves: Any, style: HouseStyle) -> None:
    """Let the upper staff print the bar numbers; the stylesheet has taken them from the score."""
    if style.bar_numbers == "none":
        return
    upper = staves
    while _of(upper, "lilypond_type") != "Staff":
        upper = upper[0]
    _of(upper, "consists_commands").extend(["Bar_number_engraver", "Staff_collecting_engraver"])


def _of(context: Any, name: str) -> Any:
    """A property of a context; from abjad 3.31 on it is a method."""
    value = getattr(context, name)
    return value() if callable(value) else value
