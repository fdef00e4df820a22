"""What of a part is seen on its page."""

from __future__ import annotations

from dataclasses import replace

from pedalsetter.analysis.part import HarpPart

__all__ = ["as_seen"]


def as_seen(part: HarpPart) -> HarpPart:
    """The part with silence where notes are hidden.

    Under a beam the stem stays where another voice prints the head: the two share it.
    """
    unseen = [event for event in part.events if event.heads and not event.visible]
    if not unseen:
        return part
    printed = {
        (event.onset, event.staff, head.pitch) for event, head in part.notes() if event.visible
    }
    hidden = {
        event.id
        for event in unseen
        if event.beam is None
        or event.grace is not None
        or any((event.onset, event.staff, head.pitch) not in printed for head in event.heads)
    }
    seen = {event.voice for event in part.events if event.id not in hidden}
    kept = {event.id for event in unseen} - hidden
    events = []
    for event in part.events:
        if event.voice not in seen:
            continue
        if event.id in hidden or event.id in kept:
            heads = tuple(replace(head, fingerings=()) for head in event.heads)
            shown = heads if event.id in kept else ()
            event = replace(event, heads=shown, dynamics=(), lyrics=(), technical=())
        events.append(event)
    return replace(part, events=tuple(events))
