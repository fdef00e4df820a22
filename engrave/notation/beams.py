"""Beams as the source has them, checked so that LilyPond can draw each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from pedalsetter.analysis.part import Beam, Event, HarpPart
from pedalsetter.engrave.notation.sheet import Notices, Sheet
from pedalsetter.engrave.notation.streams import Stream

__all__ = ["add_beams", "beamed_groups", "crossed_bars", "crossing_groups", "source_has_beams"]


def source_has_beams(part: HarpPart) -> bool:
    """Whether the source says anything about beams; if not, the engraver makes them."""
    return any(event.beam is not None for event in part.events)


def beamed_groups(stream: Stream) -> tuple[tuple[Event, ...], ...]:
    """The beams of a stream that can be drawn: two flagged notes or more, without a break."""
    groups: list[tuple[Event, ...]] = []
    for grace in (False, True):
        current: list[Event] = []
        for event in stream.events:
            if (event.grace is not None) is not grace:
                if grace:
                    # graces of two notes never share a beam
                    current = _close(current, groups)
                continue
            if event.beam is Beam.BEGIN:
                current = _close(current, groups)
                current = [event] if _can_be_beamed(event) else []
            elif current and not _continues(current[-1], event):
                current = _close(current, groups)
            elif current:
                current.append(event)
                if event.beam is Beam.END:
                    current = _close(current, groups)
        _close(current, groups)
    return tuple(groups)


def crossing_groups(part: HarpPart, stream: Stream) -> tuple[tuple[Event, ...], ...]:
    """Beams that go from staff to staff.

    Where the source says nothing of beams, all flagged notes of a bar in which the voice crosses
    count as one, for the engraver may beam any of them.
    """
    groups: Iterable[Sequence[Event]] = beamed_groups(stream)
    if not source_has_beams(part):
        groups = (
            [event for event in events if event.grace is None and _can_be_beamed(event)]
            for events in stream.by_bar.values()
        )
    return tuple(
        tuple(group) for group in groups if len({event.staff for event in group if event.heads}) > 1
    )


def crossed_bars(part: HarpPart, streams: Sequence[Stream]) -> frozenset[int]:
    """Indices of bars in which beams or stems go from one staff to another."""
    beams = {
        event.bar
        for stream in streams
        for group in crossing_groups(part, stream)
        for event in group
    }
    return frozenset(beams | {event.bar for event in part.events if event.stem_with})


def add_beams(streams: Sequence[Stream], sheet: Sheet, notices: Notices) -> None:
    """Write ``[`` and ``]`` at the ends of every beam."""
    for stream in streams:
        drawn: set[str] = set()
        for group in beamed_groups(stream):
            sheet.events[group[0].id].after.append("[")
            sheet.events[group[-1].id].after.append("]")
            drawn.update(event.id for event in group)
        for event in stream.events:
            starts = event.beam is Beam.BEGIN and (event.heads or event.visible)
            if starts and event.id not in drawn and not _is_in_tremolo(event):
                notices.at(event, "a beam cannot be drawn as the source has it: flags instead")


def _close(current: list[Event], groups: list[tuple[Event, ...]]) -> list[Event]:
    while current and not current[-1].heads:
        current.pop()
    while current and not current[0].heads and not current[0].visible:
        del current[0]
    if sum(bool(event.heads) for event in current) > 1:
        groups.append(tuple(current))
    return []


def _can_be_beamed(event: Event) -> bool:
    return event.notated is not None and event.notated.log >= 3 and not _is_in_tremolo(event)


def _is_in_tremolo(event: Event) -> bool:
    """Whether the event is half of a tremolo, which brings its own beams."""
    return event.tremolo is not None and event.tremolo.kind in ("start", "stop")


def _continues(last: Event, event: Event) -> bool:
    """Whether the event may stand under the beam: flagged, and directly behind the last."""
    if not _can_be_beamed(event) and not (not event.heads and event.length < 1):
        return False
    if event.beam is None and event.heads:
        return False
    gap = event.onset - last.end
    return gap == Fraction(0) or event.grace is not None
