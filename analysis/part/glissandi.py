"""Which two noteheads a glissando, or a slide, is drawn between."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pedalsetter.analysis.part.events import Event, Head

__all__ = ["glissando_lines"]


def glissando_lines(
    events: Iterable[Event],
) -> Iterator[tuple[tuple[Event, Head], tuple[Event, Head]]]:
    """Where each line starts and where it stops, in the order of the stops; others have no end."""
    waiting: dict[tuple[str, int], tuple[Event, Head]] = {}
    for event in events:
        for head in event.heads:
            # One that ends where the next begins may have its number.
            for end in sorted(head.spanners, key=lambda end: end.start):
                if end.start:
                    waiting[end.kind, end.number] = (event, head)
                elif (end.kind, end.number) in waiting:
                    yield waiting.pop((end.kind, end.number)), (event, head)
