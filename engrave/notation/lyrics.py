"""Lyrics: one context for each voice and verse, with lengths of its own."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from pedalsetter.analysis.part import Event, HarpPart, Lyric
from pedalsetter.engrave.notation import engraver_score as es
from pedalsetter.engrave.notation.escaping import quoted
from pedalsetter.engrave.notation.streams import Stream
from pedalsetter.engrave.notation.timeline import BarUnit, bar_comment, grace_skips

__all__ = ["build_lyrics"]


def build_lyrics(
    part: HarpPart, units: Sequence[BarUnit], streams: Sequence[Stream]
) -> dict[int, list[Any]]:
    """``Lyrics`` contexts of each staff, verses from top to bottom."""
    found: dict[int, list[Any]] = {staff: [] for staff in range(1, part.staves + 1)}
    for stream in streams:
        verses = sorted({lyric.verse for event in stream.events for lyric in event.lyrics})
        for number, verse in enumerate(verses, 1):
            found[stream.home].append(_verse(part, units, stream, verse, number))
    return found


def _verse(
    part: HarpPart, units: Sequence[BarUnit], stream: Stream, verse: str, number: int
) -> Any:
    graces = grace_skips(part)
    sung = [
        event
        for event in stream.events
        if _syllable(event, verse) is not None and event.grace is None
    ]
    last = sung[-1].id if sung else ""
    bars = []
    for unit in units:
        leaves: list[Any] = []
        cursor = Fraction(0)
        for event in stream.by_bar.get(unit.first, ()):
            syllable = _syllable(event, verse)
            offset = event.onset - part.bars[event.bar].start
            if syllable is None or event.grace is not None or unit.gathered:
                continue
            if offset > cursor:
                leaves.append(es.lyric("", offset - cursor))
            leaves.append(_written(syllable, event.length, event.id == last))
            cursor = offset + event.length
        if cursor < unit.length:
            leaves.append(es.lyric("", unit.length - cursor))
        if (unit.first, Fraction(0)) in graces:
            es.grace(leaves[0], [es.lyric("", graces[unit.first, Fraction(0)])])
        bars.append(
            es.BarLine.of(leaves, bar_comment(part, unit), opening=r"\lyricmode {", closing="}")
        )
    opening = [rf'\set associatedVoice = "{stream.name}"']
    return es.context("Lyrics", f"{stream.name} verse {number}", bars, opening=opening)


def _syllable(event: Event, verse: str) -> Lyric | None:
    return next((lyric for lyric in event.lyrics if lyric.verse == verse), None)


def _written(syllable: Lyric, length: Fraction, is_last: bool) -> Any:
    # a hyphen leads to the next syllable, so the last one has none
    goes_on = syllable.syllabic in ("begin", "middle") and not is_last
    suffix = " --" if goes_on else " __" if syllable.extend else ""
    return es.lyric(quoted(syllable.text), length, suffix)
