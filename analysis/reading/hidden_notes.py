"""Notes that the source hides: read with the others, but neither printed nor planned."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from fractions import Fraction

from pedalsetter.analysis.instrument.respelling import Pitch
from pedalsetter.analysis.reading.draft import EventDraft, HeadDraft
from pedalsetter.analysis.reading.notices import Notices

__all__ = ["settle_hidden_notes"]


def settle_hidden_notes(events: Sequence[EventDraft], notices: Notices) -> list[EventDraft]:
    """The events with the hidden heads of chords in events of their own, which are not visible.

    Nothing is told of a note whose head another voice prints.
    """
    printed: defaultdict[tuple[int, Fraction, int], set[Pitch]] = defaultdict(set)
    for event in events:
        if event.grace is None:
            printed[event.bar, event.offset, event.staff] |= {
                head.pitch for head in event.heads if head.visible
            }
    settled = []
    for event in events:
        settled.append(event)
        hidden = [head for head in event.heads if not head.visible]
        if not event.heads:
            continue
        event.visible = len(hidden) < len(event.heads)
        if not hidden:
            continue
        elsewhere = printed[event.bar, event.offset, event.staff]
        shared = event.grace is None and all(head.pitch in elsewhere for head in hidden)
        if not shared:
            notices.at(event.bar, event.offset, event.staff)
            notices.add("a note that the source hides is neither printed nor planned")
        if event.visible:
            event.heads = [head for head in event.heads if head.visible]
            settled.append(_apart(event, hidden))
    return settled


def _apart(chord: EventDraft, hidden: list[HeadDraft]) -> EventDraft:
    """The hidden heads of a chord as an event in a voice of its own, without any sign."""
    return EventDraft(
        id=f"{chord.id}-hidden",
        offset=chord.offset,
        length=chord.length,
        staff=chord.staff,
        voice=f"{chord.voice}~",
        order=chord.order,
        bar=chord.bar,
        notated=chord.notated,
        heads=hidden,
        visible=False,
        grace=chord.grace,
        tuplets=chord.tuplets,
    )
