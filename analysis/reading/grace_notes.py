"""Grace notes: before the note that follows, or after the note that ends the bar."""

from __future__ import annotations

from dataclasses import replace

from pedalsetter.analysis.reading.draft import EventDraft

__all__ = ["place_grace_notes"]


def place_grace_notes(voice: list[EventDraft]) -> None:
    """Tell after-notes from grace notes in one voice of one bar, events in document order.

    Grace notes with no further note of their voice in the bar can only belong to the note before
    them (the close of a trill); so can those that the source says take their time from it. Both
    stand at the end of that note.
    """
    before: EventDraft | None = None
    waiting: list[EventDraft] = []
    for event in voice:
        if event.grace is None:
            before = event
            waiting.clear()
        elif before is not None and not before.is_rest:
            if event.grace.after:
                event.offset = before.end
            else:
                waiting.append(event)
        elif event.grace.after:
            event.grace = replace(event.grace, after=False)
    for event in waiting:
        if event.grace is not None and before is not None:
            event.grace = replace(event.grace, after=True)
            event.offset = before.end
