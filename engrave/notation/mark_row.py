"""The mark row above the system: tempo, rehearsal marks, segno, coda, words of navigation.

Words that only bend the tempo, as *rit.*, have a row of their own under it, so that they stand near
their notes where no diagram is in between, however high the tempo mark of the same system stands.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Any

from pedalsetter.analysis.part import Direction, DirectionKind, HarpPart, NotatedLength
from pedalsetter.engrave.notation import engraver_score as es
from pedalsetter.engrave.notation.escaping import markup, quoted
from pedalsetter.engrave.notation.lane import Lane
from pedalsetter.engrave.notation.timeline import BarUnit, grace_skips

__all__ = ["build_mark_row", "build_words_row"]

_TEMPO = (DirectionKind.TEMPO_WORDS, DirectionKind.METRONOME)

_ABOVE = (
    *_TEMPO,
    DirectionKind.REHEARSAL,
    DirectionKind.SEGNO,
    DirectionKind.CODA,
    DirectionKind.JUMP_WORDS,
)


def build_mark_row(
    part: HarpPart,
    units: Sequence[BarUnit],
    *,
    words_apart: bool = False,
    movement_titles: bool = False,
) -> Any:
    """The ``MarkRow`` context: skips that carry marks, and at the end of bars words of navigation.

    Everything that belongs to the tempo at one moment is one mark, for LilyPond prints only one.
    With ``words_apart`` what :func:`build_words_row` sets is left out. ``movement_titles`` puts the
    title of every movement but the first over its first system, and *tacet* where it has no notes.
    """
    lane = Lane(part)
    for bar_index, heading in _headings(part) if movement_titles else ():
        text = rf"\textMark \markup \fontsize #3 \bold {quoted(heading)}"
        lane.command(bar_index, Fraction(0), text)
    for (bar, offset), directions in _moments(part):
        if words_apart and _only_bends(directions):
            continue
        rehearsals = [d for d in directions if d.kind is DirectionKind.REHEARSAL]
        if rehearsals:
            text = "  ".join(direction.text for direction in rehearsals)
            lane.command(bar, offset, rf"\mark \markup {_rehearsal(rehearsals[0], text)}")
        for direction in directions:
            glyph = {DirectionKind.SEGNO: "segno", DirectionKind.CODA: "coda"}.get(direction.kind)
            if glyph is not None:
                lane.command(
                    bar, offset, rf'\textMark \markup \fontsize #1 \musicglyph "scripts.{glyph}"'
                )
        tempo = [direction for direction in directions if direction.kind in _TEMPO]
        if tempo:
            lane.command(bar, offset, _tempo(tempo))
        for direction in directions:
            if direction.kind is DirectionKind.JUMP_WORDS:
                style = [r"\bold"] if direction.bold and not direction.italic else [r"\italic"]
                lane.close(bar, rf"\textEndMark \markup {markup(direction.text, style)}")
    for bar_value in part.bars:
        if "above" in bar_value.barline_fermatas:
            lane.close(
                bar_value.index,
                r"\tweak self-alignment-X #CENTER "
                r'\textEndMark \markup \musicglyph "scripts.ufermata"',
            )
    return es.context("MarkRow", "marks", lane.bars(units, grace_skips(part)))


def _headings(part: HarpPart) -> Iterator[tuple[int, str]]:
    """First bar and heading of the movements: their titles, and *tacet* where the harp is silent.

    The title of the first movement stands among those of the piece, if anywhere.
    """
    played = {part.bars[event.bar].movement for event in part.events if event.heads}
    firsts = {bar.movement: bar.index for bar in reversed(part.bars)}
    for movement, index in sorted(firsts.items()):
        titles = part.movement_titles[movement : movement + 1] if index else ()
        said = [title for title in titles if title]
        if movement not in played and len(firsts) > 1:
            said.append("tacet")
        if said:
            yield index, " – ".join(said)


def build_words_row(part: HarpPart, units: Sequence[BarUnit]) -> Any | None:
    """The ``WordRow`` of the words that only bend the tempo; None where there are none."""
    lane = Lane(part)
    for (bar, offset), directions in _moments(part):
        if _only_bends(directions):
            words = [one for one in directions if one.kind is DirectionKind.TEMPO_WORDS]
            lane.command(bar, offset, _tempo(words))
    return es.context("WordRow", "words", lane.bars(units, grace_skips(part))) if lane else None


def _moments(part: HarpPart) -> list[tuple[tuple[int, Fraction], list[Direction]]]:
    """The directions by bar and offset, in order."""
    moments: dict[tuple[int, Fraction], list[Direction]] = defaultdict(list)
    for direction in part.directions:
        offset = max(direction.onset - part.bars[direction.bar].start, Fraction(0))
        moments[direction.bar, offset].append(direction)
    return sorted(moments.items(), key=lambda item: item[0])


def _only_bends(directions: Sequence[Direction]) -> bool:
    """Whether words such as *rit.* are all that a moment has, no heading, figure or sign."""
    above = [direction for direction in directions if direction.kind in _ABOVE]
    return bool(above) and all(
        direction.kind is DirectionKind.TEMPO_WORDS
        and not direction.bold
        and not direction.text.strip()[:1].isupper()
        for direction in above
    )


def _rehearsal(direction: Direction, text: str) -> str:
    frame = {"circle": r"\circle", "none": ""}.get(direction.enclosure or "rectangle", r"\box")
    return " ".join(part for part in (frame, r"\bold", quoted(text.strip())) if part)


def _tempo(directions: Sequence[Direction]) -> str:
    r"""One ``\tempo`` of all words and figures at a moment, in the order of the source."""
    figures = [d for d in directions if d.kind is DirectionKind.METRONOME]
    words = [d for d in directions if d.kind is DirectionKind.TEMPO_WORDS and d.text.strip()]
    plain = (
        len(figures) == 1
        and not figures[0].parentheses
        and figures[0].beat_unit_to is None
        and figures[0].beat_unit is not None
        and re.fullmatch(r"[1-9][0-9]{0,3}", figures[0].text.strip())
    )
    head = " ".join(_words(direction) for direction in words)
    if len(words) > 1:
        head = rf"\line {{ {head} }}"
    if plain and figures[0].beat_unit is not None:
        unit = _duration(figures[0].beat_unit)
        text = rf"\markup {head} " if words else ""
        return rf"\tempo {text}{unit} = {figures[0].text.strip()}"
    pieces = [head] if words else []
    pieces += [_metronome(figure) for figure in figures]
    return rf"\tempo \markup \line {{ {' '.join(pieces)} }}"


def _words(direction: Direction) -> str:
    """Words as the source has them; a plain heading is bold, a plain change of speed italic."""
    commands = [r"\normal-text"]
    if direction.bold or (not direction.italic and direction.text.strip()[:1].isupper()):
        commands.append(r"\bold")
    if direction.italic or (not direction.bold and not direction.text.strip()[:1].isupper()):
        commands.append(r"\italic")
    # a heading is one line: line breaks of the source only fitted it to its page
    return markup(" ".join(direction.text.split()), commands)


def _metronome(direction: Direction) -> str:
    if direction.beat_unit is None:
        return rf"\normal-text {quoted(direction.text)}"
    pieces = [_note(direction.beat_unit), '" = "']
    if direction.beat_unit_to is not None:
        pieces.append(_note(direction.beat_unit_to))
    else:
        pieces.append(quoted(direction.text))
    if direction.parentheses:
        pieces = ['"("', *pieces, '")"']
    return rf"\normal-text \concat {{ {' '.join(pieces)} }}"


def _note(length: NotatedLength) -> str:
    return rf"\fontsize #-2 \note {{{_duration(length)}}} #1"


def _duration(length: NotatedLength) -> str:
    base = {-1: r"\breve", -2: r"\longa", -3: r"\maxima"}.get(length.log) or str(2**length.log)
    return base + "." * length.dots
