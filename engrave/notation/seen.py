"""What of a part is seen on its page."""

from __future__ import annotations

from dataclasses import replace

from pedalsetter.analysis.part import Event, HarpPart, Head
from pedalsetter.engrave.notation.heads import signature_of
from pedalsetter.engrave.notation.stems import diatonic_step

__all__ = ["as_seen"]


def as_seen(part: HarpPart) -> HarpPart:
    """The part with silence where notes are hidden, and crosses for sounds of the body.

    Under a beam the stem stays where another voice prints the head: the two share it.
    """
    if any(event.knocks for event in part.events):
        part = replace(part, events=tuple(_with_crosses(part, event) for event in part.events))
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


def _with_crosses(part: HarpPart, event: Event) -> Event:
    """The event with a cross for each knock, altered as the signature has it: without a sign."""
    if not event.knocks:
        return event
    own = [
        key for key in part.keys if key.onset <= event.onset and key.staff in (None, event.staff)
    ]
    signature = signature_of(own[-1].fifths) if own else {}
    crosses = tuple(
        Head(
            f"{event.id}-knock-{number}",
            replace(pitch, alter=signature.get(pitch.letter, 0)),
            shape="x",
        )
        for number, pitch in enumerate(event.knocks)
    )
    heads = sorted((*event.heads, *crosses), key=lambda head: diatonic_step(head.pitch))
    return replace(event, heads=tuple(heads), knocks=())
