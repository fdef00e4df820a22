"""Chords whose notes stand on two staves: one event on each, with one stem for both."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from pedalsetter.analysis.reading.draft import EventDraft

__all__ = ["split_over_staves"]


def split_over_staves(events: Sequence[EventDraft]) -> list[EventDraft]:
    """The events, with the notes of a chord that stand on another staff in events of their own.

    The signs of the chord, its beam and its flags stay where its stem ends: with the notes of the
    upper staff if it points up, of the lower if it points down. The other notes get a voice of
    their own and share that stem.
    """
    split: list[EventDraft] = []
    for event in events:
        staves = sorted({head.staff or event.staff for head in event.heads})
        if len(staves) < 2:
            if staves:
                event.staff = staves[0]
            split.append(event)
            continue
        by_staff = {
            staff: [head for head in event.heads if (head.staff or event.staff) == staff]
            for staff in staves
        }
        event.staff = staves[-1] if event.stem == "down" else staves[0]
        event.heads = by_staff.pop(event.staff)
        has_stem = event.notated is not None and event.notated.log >= 1 and event.stem != "none"
        if has_stem and event.stem is None:
            event.stem = "up"
        split.append(event)
        for staff, heads in by_staff.items():
            first = heads[0].id
            split.append(
                EventDraft(
                    id=first if first != event.id else f"{event.id}-staff-{staff}",
                    offset=event.offset,
                    length=event.length,
                    staff=staff,
                    voice=f"{event.voice}&{staff}",
                    order=event.order,
                    bar=event.bar,
                    notated=event.notated,
                    heads=heads,
                    visible=event.visible,
                    cue=event.cue,
                    small=event.small,
                    ossia=event.ossia,
                    grace=event.grace,
                    harmonic=event.harmonic,
                    harmonic_printed_at_sound=event.harmonic_printed_at_sound,
                    tuplets=tuple(
                        replace(group, bracket=False, show_number="none") for group in event.tuplets
                    ),
                    stem=event.stem,
                    stem_with=event.id if has_stem else "",
                    tremolo=event.tremolo,
                    arpeggio=event.arpeggio,
                )
            )
    return split
