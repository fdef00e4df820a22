"""Ties: every start finds its end, or is taken back with a notice.

A tie usually ends where its note ends. In a written-out arpeggio it ends later, at the chord that
gathers the notes; after a repeat it may end at the start of a second ending. Both are kept.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from fractions import Fraction

from pedalsetter.analysis.part import Bar
from pedalsetter.analysis.reading.draft import EventDraft, HeadDraft
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["close_ties"]

_Sounding = tuple[Fraction, EventDraft, HeadDraft]


def close_ties(events: Sequence[EventDraft], bars: Sequence[Bar], notices: Notices) -> None:
    """Make tie starts and stops agree; ``events`` in order of onset.

    A start is met by the next note of its pitch, at once or (if that note is marked as the end of
    a tie) later. What stays unmet loses its tie and earns a notice.
    """
    tied = {
        head.pitch.midi
        for event in events
        for head in event.heads
        if head.tie_start or head.tie_stop
    }
    if not tied:
        return
    by_pitch: dict[int, list[_Sounding]] = defaultdict(list)
    for event in events:
        for head in event.heads:
            if head.pitch.midi in tied and not event.cue:
                onset = bars[event.bar].start + event.offset
                by_pitch[head.pitch.midi].append((onset, event, head))
    for sounding in by_pitch.values():
        _close(sounding, bars, notices)


def _close(sounding: list[_Sounding], bars: Sequence[Bar], notices: Notices) -> None:
    met: set[int] = set()
    open_starts: list[int] = []
    for index, (_, _, head) in enumerate(sounding):
        if head.tie_start and not _meet(sounding, index, _at_once, met, notices):
            open_starts.append(index)
    # Only when every tie that ends at once has its end may a longer one take what is left.
    dangling = [index for index in open_starts if not _meet(sounding, index, _later, met, notices)]
    for onset, event, head in sounding:
        unmet = head.tie_stop and id(head) not in met
        if unmet and not _is_late_entry(onset, event, sounding, bars):
            head.tie_stop = False
            notices.at(event.bar, event.offset, event.staff)
            notices.add("a tie has an end but no beginning; the note is played anew")
    for index in dangling:
        _, event, head = sounding[index]
        head.tie_start = False
        notices.at(event.bar, event.offset, event.staff)
        notices.add("a tie has a beginning but no end; it was left out")


def _meet(
    sounding: list[_Sounding],
    index: int,
    search: Callable[[list[_Sounding], int, set[int]], _Sounding | None],
    met: set[int],
    notices: Notices,
) -> bool:
    partner = search(sounding, index, met)
    if partner is None:
        return False
    _, event, head = partner
    met.add(id(head))
    if not head.tie_stop:
        head.tie_stop = True
        notices.at(event.bar, event.offset, event.staff)
        notices.add("the end of a tie is not marked; the note at once after it is taken")
    return True


def _at_once(sounding: list[_Sounding], index: int, met: set[int]) -> _Sounding | None:
    """The note that begins just where the tied note ends, if one does."""
    start, event, head = sounding[index]
    end = start + event.length
    best: tuple[tuple[bool, bool, bool, bool], _Sounding] | None = None
    for candidate in sounding[index + 1 :]:
        onset, other, other_head = candidate
        if onset > end:
            break
        if onset < end or other is event or id(other_head) in met:
            continue
        rank = (
            not other_head.tie_stop,
            other_head.pitch != head.pitch,
            other.voice != event.voice,
            other.staff != event.staff,
        )
        # An unmarked end is believed only where voice and spelling agree.
        if not other_head.tie_stop and (rank[1] or rank[2] or other.grace is not None):
            continue
        if best is None or rank < best[0]:
            best = (rank, candidate)
    return best[1] if best else None


def _later(sounding: list[_Sounding], index: int, met: set[int]) -> _Sounding | None:
    """The next note of the pitch, if it is marked as the end of a tie and none is between."""
    start, event, _ = sounding[index]
    for candidate in sounding[index + 1 :]:
        onset, other, head = candidate
        if onset >= start + event.length and other is not event and other.grace is None:
            return candidate if head.tie_stop and id(head) not in met else None
    return None


def _is_late_entry(
    onset: Fraction, event: EventDraft, sounding: list[_Sounding], bars: Sequence[Bar]
) -> bool:
    """Whether the tie comes from before the first ending, or from the end of a repeat."""
    bar = bars[event.bar]
    if onset != bar.start:
        return False
    sources = []
    if bar.ending is not None and bar.ending.starts and bar.ending.numbers != (1,):
        index = event.bar - 1
        while index >= 0 and bars[index].ending is not None:
            index -= 1
        sources.append(index)
    if bar.repeat_start or bar.index == 0:
        sources.extend(later.index for later in bars[event.bar :] if later.repeat_times)
    ends = {bars[index].end for index in sources if index >= 0}
    return any(head.tie_start and start + other.length in ends for start, other, head in sounding)
