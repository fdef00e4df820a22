"""Small notes that the source calls cues: which of them are played, and which only guide the harp.

MusicXML's ``<cue/>`` is a silent note, but one widely used exporter writes it for every note that
is printed small, played or not. So it is decided by what is heard.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from pedalsetter.analysis.part import Bar, Direction, DirectionKind
from pedalsetter.analysis.reading.draft import EventDraft
from pedalsetter.analysis.reading.notices import Notices
from pedalsetter.analysis.reading.part_list import folded_name

__all__ = ["settle_small_notes"]

_INSTRUMENT = re.compile(
    r"\b(picc|fl|flutes?|flauti?o?|floten?|ob|oboe|hautbois|cor anglais|cl|clar|clarinets?|"
    r"klarinetten?|bsn|fg|fag|fagotti?o?|bassoons?|basson|hns?|cor|corno|corni|horns?|horner|tpts?|"
    r"tromba|trombe|trumpets?|trompeten?|tbns?|trb|pos|posaunen?|trombones?|tuba|timp|timpani|"
    r"pauken|perc|glock|glsp|cel|celesta|pno|organ|orgel|vlns?|vl|vn|viol|violins?|violini?o?|"
    r"violinen?|vla|violas?|viole|bratschen?|vcl?|vlc|cello|celli|choir|coro|chor|strings|str|"
    r"archi|streicher|winds|brass|orch|orchestra)\b"
)
"""Instruments and their usual abbreviations in five languages (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class _Run:
    """Small notes of one voice, one after another."""

    events: list[EventDraft]
    start: Fraction
    end: Fraction


def settle_small_notes(
    events: Sequence[EventDraft],
    bars: Sequence[Bar],
    directions: Iterable[Direction],
    names: Iterable[str],
    notices: Notices,
) -> None:
    """Decide in place which events that are marked as cues are played.

    A run of them is a cue where an instrument is named at its beginning (``names`` are those of the
    score's other parts), where the staff shows rests beside it, where all the rest of the part
    rests, and where other notes stand beside it on its staff. It is played where its voice has
    ordinary notes in the same bars, and everywhere in a part that is mostly small notes.
    """
    small = [event for event in events if _is_open(event)]
    if not any(event.heads for event in small):
        return
    known = {folded_name(name) for name in names if name.strip()}
    named = [each for each in directions if _names_an_instrument(each, known)]
    voices: defaultdict[str, list[EventDraft]] = defaultdict(list)
    by_bar: defaultdict[int, list[EventDraft]] = defaultdict(list)
    for event in events:
        voices[event.voice].append(event)
        by_bar[event.bar].append(event)
    heads = sum(len(event.heads) for event in events)
    mostly = 2 * sum(len(event.heads) for event in small) > heads
    for voice in voices.values():
        for run in _runs(voice, bars):
            first = run.events[0]
            if _is_cue(run, by_bar, bars, named, mostly=mostly):
                notices.at(first.bar, first.offset, first.staff)
                notices.add("small notes are taken for a cue: shown, and not planned for")
                continue
            for event in run.events:
                event.cue = False
            notices.at(first.bar, first.offset, first.staff)
            notices.add("small notes that the source marks as cues are taken for notes to play")


def _is_open(event: EventDraft) -> bool:
    """Whether it may be a cue or not; nobody plays what is hidden or an ossia."""
    seen = not event.heads or any(head.visible for head in event.heads)
    return event.cue and not event.ossia and seen


def _runs(voice: Sequence[EventDraft], bars: Sequence[Bar]) -> Iterable[_Run]:
    """The runs of small notes of a voice; a rest that is marked as a cue belongs to them."""
    current: list[EventDraft] = []
    for event in [*voice, None]:
        goes_on = (
            event is not None
            and _is_open(event)
            and (not current or event.staff == current[-1].staff)
            and (not current or _onset(event, bars) <= _end(current[-1], bars))
        )
        if not goes_on and current:
            if any(each.heads for each in current):
                end = max(_end(each, bars) for each in current)
                yield _Run(current, _onset(current[0], bars), end)
            current = []
        if event is not None and _is_open(event):
            current = [*current, event] if goes_on else [event]


def _is_cue(
    run: _Run,
    by_bar: dict[int, list[EventDraft]],
    bars: Sequence[Bar],
    named: Sequence[Direction],
    *,
    mostly: bool,
) -> bool:
    first, last = run.events[0], run.events[-1]
    for name in named:
        if name.bar == first.bar and name.onset <= run.start and name.staff in (None, first.staff):
            return True
    around = [event for bar in range(first.bar, last.bar + 1) for event in by_bar[bar]]
    own = [event for event in around if event.voice == first.voice and not event.cue]
    beside = [
        event
        for event in around
        if event.voice != first.voice
        and event.visible
        and not event.cue
        and _onset(event, bars) < max(run.end, run.start + Fraction(1, 1000))
        and _end(event, bars) > run.start
    ]
    here = [event for event in beside if event.staff == first.staff]
    if any(event.is_rest for event in here):
        return True
    if mostly or any(event.heads for event in own):
        return False
    notes = [event for event in beside if event.heads]
    return bool(here) or (bool(beside) and not notes)


def _names_an_instrument(direction: Direction, known: set[str]) -> bool:
    if direction.kind not in (DirectionKind.WORDS, DirectionKind.TEMPO_WORDS):
        return False
    text = folded_name(direction.text)
    return text in known or (len(text) < 24 and _INSTRUMENT.search(text) is not None)


def _onset(event: EventDraft, bars: Sequence[Bar]) -> Fraction:
    return bars[event.bar].start + event.offset


def _end(event: EventDraft, bars: Sequence[Bar]) -> Fraction:
    return bars[event.bar].start + event.end
